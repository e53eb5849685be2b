"""A full-size paper template: lay it on the part's edges and prick the centres, to see a mistake before metal."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from msgspec import Struct

from holecam.errors import InputError
from holecam.output.paper_font import REGULAR, STRONG, paper_text, width_of
from holecam.output.template_labels import WindowLabels
from holecam.output.template_tiles import EDGE, FOOT, OVERLAP, SIDE, Chain, Marks, Tile, TileSheet, squares, tiles_for
from holecam.plan.holes import PlannedHole, StandingHole
from holecam.plan.plan import Plan
from holecam.shapes import Arc, Circle, Curve, Point, Segment, circle_outline
from holecam.shapes.curves import curve_bounds

POINTS_PER_MM = 72.0 / 25.4
PAGES = {"Letter": (215.9, 279.4), "A4": (210.0, 297.0)}
"""Width and height, mm (ANSI/ASME Y14.1 size A; ISO 216)."""

AROUND = 8.0
"""mm drawn around the part."""

ARM = 3.0
"""mm by which the cross of a centre stands out of its hole."""

SCALE_LIMITS = (0.9, 1.1)
"""A printer that is more than a tenth off has its scaling switched on; that is to be mended, not corrected for."""

ARC_BIT = math.pi / 8
"""Radians a Bezier curve stands for: it leaves the true circle by less than 1e-6 of the radius."""


def paper_template(plan: Plan, *, page: str = "", printer_scale: tuple[float, float] = (1.0, 1.0)) -> bytes:
    """Return ``template.pdf``, true to size when it is printed without scaling.

    Parameters
    ----------
    page : str
        ``Letter`` or ``A4``; without it the page of the plan's unit.
    printer_scale : (float, float)
        What the printer makes of a length, across and up the page: measured length over the length it should have.
        Everything is drawn larger or smaller by as much the other way, the scale checks too.

    Raises
    ------
    InputError
        Unknown page, a scale out of reason, or a part that would need more than 200 pages.
    """
    from reportlab.pdfgen.canvas import Canvas

    _check_scale(printer_scale)
    name = page or ("Letter" if plan.unit == "in" else "A4")
    if name not in PAGES:
        raise InputError(f'page "{name}": expected Letter or A4')
    sheet = tiles_for(_bounds(plan), PAGES[name], printer_scale)
    buffer = io.BytesIO()
    width, height = sheet.page
    canvas = Canvas(buffer, pagesize=(width * POINTS_PER_MM, height * POINTS_PER_MM), invariant=1, pageCompression=1)
    canvas.setTitle(paper_text(f"{plan.title}: full-size template"))
    canvas.setViewerPreference("PrintScaling", "None")
    drawn = _Drawn.of(plan)
    for number, tile in enumerate(sheet.tiles, start=1):
        _Page(plan, drawn, canvas, sheet, tile, printer_scale).draw(number)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _check_scale(scale: tuple[float, float]) -> None:
    low, high = SCALE_LIMITS
    for axis, value in zip("XY", scale, strict=True):
        if not low <= value <= high:
            raise InputError(
                f"printer scale {axis} {value}: expected the measured length over the printed one, {low} to {high}; "
                "a printer farther off has its own scaling on: switch it off"
            )


def _bounds(plan: Plan) -> tuple[float, float, float, float]:
    boxes: list[tuple[float, float, float, float]] = [(0.0, 0.0, 0.0, 0.0)]
    if plan.part.outline is not None:
        boxes.append(plan.part.outline.bounds)
    for (x, y), d in _circles(plan):
        boxes.append((x - d / 2, y - d / 2, x + d / 2, y + d / 2))
    boxes += [curve_bounds(c) for s in plan.part.surroundings for c in s.curves]
    return (
        min(b[0] for b in boxes) - AROUND,
        min(b[1] for b in boxes) - AROUND,
        max(b[2] for b in boxes) + AROUND,
        max(b[3] for b in boxes) + AROUND,
    )


def _circles(plan: Plan) -> list[tuple[Point, float]]:
    new = [(h.xy_part, h.finished_diameter) for h in plan.holes]
    return new + [(h.xy_part, h.diameter) for h in plan.standing_holes]


class _Drawn(Struct, frozen=True, eq=False):
    """What the pages draw: the part's edges, what stands around it, and its holes with the boxes round their marks."""

    edges: tuple[Chain, ...]
    surroundings: tuple[Chain, ...]
    holes: Marks[PlannedHole]
    standing: Marks[StandingHole]

    @classmethod
    def of(cls, plan: Plan) -> _Drawn:
        part = plan.part
        return cls(
            tuple(Chain(o.curves) for o in (part.outline, *part.openings) if o is not None),
            tuple(Chain((curve,)) for thing in part.surroundings for curve in thing.curves),
            Marks(plan.holes, squares([(h.xy_part, h.finished_diameter / 2 + ARM) for h in plan.holes])),
            Marks(plan.standing_holes, squares([(h.xy_part, h.diameter / 2) for h in plan.standing_holes])),
        )


class _Page:
    """One page in the making. Of a large part it writes only what it shows."""

    def __init__(
        self,
        plan: Plan,
        drawn: _Drawn,
        canvas: Any,
        sheet: TileSheet,
        tile: Tile,
        scale: tuple[float, float],
    ) -> None:
        self.plan, self.drawn, self.canvas, self.sheet, self.tile = plan, drawn, canvas, sheet, tile
        self.holes, self.standing = drawn.holes.on(tile), drawn.standing.on(tile)
        self.per_x, self.per_y = POINTS_PER_MM / scale[0], POINTS_PER_MM / scale[1]
        self.labels: WindowLabels
        self.left, self.low = (EDGE + SIDE) * POINTS_PER_MM, (EDGE + FOOT) * POINTS_PER_MM

    def at(self, p: Point) -> Point:
        """Return a point of the part on this page, points."""
        return (self.left + (p[0] - self.tile.x0) * self.per_x, self.low + (p[1] - self.tile.y0) * self.per_y)

    def draw(self, number: int) -> None:
        canvas, tile = self.canvas, self.tile
        self._words(number)
        self._scale_checks()
        canvas.saveState()
        clip = canvas.beginPath()
        clip.rect(self.left, self.low, tile.width * self.per_x, tile.height * self.per_y)
        canvas.clipPath(clip, stroke=0, fill=0)
        self.labels = WindowLabels(self.left, self.low, tile.width * self.per_x, tile.height * self.per_y)
        self._keep_labels_off()
        self._part()
        self._joins()
        for hole in self.standing:
            self._old(hole.xy_part, hole.diameter, filled=bool(hole.plug))
        for new in self.holes:
            self._new(new.xy_part, new.finished_diameter, new.number, withheld=new.withheld)
        canvas.restoreState()

    def _words(self, number: int) -> None:
        canvas, width, height = self.canvas, *self.sheet.page
        x, top = EDGE * POINTS_PER_MM, (height - EDGE) * POINTS_PER_MM
        plan = self.plan
        place = f"column {self.tile.column + 1} row {self.tile.row + 1}, page {number} of {len(self.sheet.tiles)}"
        room = (width - 2 * EDGE) * POINTS_PER_MM
        canvas.setFont(STRONG, 10)
        canvas.drawString(x, top - 10, _cut(f"{plan.title}: full-size template, face up", 10, room * 0.66))
        canvas.setFont(REGULAR, 8)
        canvas.drawRightString(x + room, top - 10, place)
        canvas.drawString(x, top - 21, _cut(f"HAND: {plan.part.hand}  |  job {plan.fingerprint[:16]}", 8, room))
        words = "Print without scaling, then measure both bars. Lay X 0 and Y 0 on: "
        canvas.drawString(x, top - 31, _cut(words + (plan.part.datum or "the datum of the job"), 8, room))

    def _scale_checks(self) -> None:
        """Draw a bar of known length across and one up, each with room for what it measures."""
        canvas, inch = self.canvas, self.plan.unit == "in"
        length, words = (101.6, "4 in") if inch else (100.0, "100 mm")
        x0, y0 = self.left, (EDGE + 5) * POINTS_PER_MM
        x1 = x0 + length * self.per_x
        canvas.setLineWidth(0.5)
        canvas.line(x0, y0, x1, y0)
        for x in (x0, x1):
            canvas.line(x, y0 - 6, x, y0 + 6)
        canvas.setFont(REGULAR, 8)
        told = f"{words} across; measured __________  divide by {words.split()[0]}: printer scale X __________"
        canvas.drawString(x0 + 4, y0 + 8, told)
        column = (EDGE + 4) * POINTS_PER_MM
        y1 = self.low + length * self.per_y
        canvas.line(column, self.low, column, y1)
        for y in (self.low, y1):
            canvas.line(column - 6, y, column + 6, y)
        canvas.saveState()
        canvas.translate(column + 12, self.low + 4)
        canvas.rotate(90)
        canvas.drawString(0, 0, f"{words} up; measured __________  scale Y ________")
        canvas.restoreState()

    def _part(self) -> None:
        canvas, tile = self.canvas, self.tile
        canvas.setLineWidth(0.8)
        for edge in self.drawn.edges:
            for run in edge.on(tile):
                self._chain(run)
        canvas.setDash(6, 3)
        canvas.setLineWidth(0.5)
        for thing in self.drawn.surroundings:
            for run in thing.on(tile):
                self._chain(run)
        canvas.setDash(1, 2)
        far_x, far_y = tile.x0 + tile.width, tile.y0 + tile.height
        for a, b in (((0.0, tile.y0), (0.0, far_y)), ((tile.x0, 0.0), (far_x, 0.0))):
            self._line(a, b)
        canvas.setDash()
        canvas.setLineWidth(1.2)
        self._line((-7.0, 0.0), (7.0, 0.0))
        self._line((0.0, -7.0), (0.0, 7.0))
        self._label((0.0, 0.0), 2.0, "X 0 Y 0", 8)

    def _keep_labels_off(self) -> None:
        """Take the room of everything that a label must not lie on, before the first label is placed."""
        circles = [(h.xy_part, h.finished_diameter) for h in self.holes]
        for center, diameter in circles + [(h.xy_part, h.diameter) for h in self.standing]:
            self.labels.keep_off(self.at(center), diameter / 2 * max(self.per_x, self.per_y))
        for hole in self.holes:
            (x, y), arm = hole.xy_part, hole.finished_diameter / 2 + ARM
            self.labels.keep_off_line(self.at((x - arm, y)), self.at((x + arm, y)))
            self.labels.keep_off_line(self.at((x, y - arm)), self.at((x, y + arm)))
        runs = [run for chain in (*self.drawn.edges, *self.drawn.surroundings) for run in chain.on(self.tile)]
        for curve in (c for run in runs for c in run):
            ends = [curve.start, curve.end]
            if not isinstance(curve, Segment):
                ends = [curve.start, *(end for _, _, end in bezier_bits(curve))]
            for a, b in pairwise(ends):
                self.labels.keep_off_line(self.at(a), self.at(b))
        far = (self.tile.x0 + self.tile.width, self.tile.y0 + self.tile.height)
        self.labels.keep_off_line(self.at((0.0, self.tile.y0)), self.at((0.0, far[1])))
        self.labels.keep_off_line(self.at((self.tile.x0, 0.0)), self.at((far[0], 0.0)))

    def _label(self, at: Point, radius: float, words: str, size: float) -> None:
        """Write beside a mark; nothing on a page that does not show the mark."""
        if not self.labels.shows(self.at(at)):
            return
        placed = self.labels.beside(self.at(at), radius * max(self.per_x, self.per_y), words, size)
        if placed.lead is not None:
            self.canvas.setLineWidth(0.25)
            self.canvas.line(*placed.lead[0], *placed.lead[1])
        self.canvas.setFont(STRONG, size)
        self.canvas.drawString(*placed.at, words)

    def _joins(self) -> None:
        """Draw the lines and crosses on which neighbouring pages are laid over each other."""
        canvas, tile, sheet = self.canvas, self.tile, self.sheet
        canvas.setLineWidth(0.4)
        step_x, step_y = tile.width - OVERLAP, tile.height - OVERLAP
        left, top = tile.x0 - tile.column * step_x, tile.y0 + tile.height + tile.row * step_y
        xs = [left + c * step_x + OVERLAP / 2 for c in range(1, sheet.columns)]
        ys = [top - r * step_y - OVERLAP / 2 for r in range(1, sheet.rows)]
        far_x, far_y = tile.x0 + tile.width, tile.y0 + tile.height
        for n, x in enumerate(xs, start=1):
            self._join((x, tile.y0), (x, far_y), f"join {n}", [(x, y) for y in (tile.y0 + 20, far_y - 20, *ys)])
        for n, y in enumerate(ys, start=1):
            name = chr(ord("A") + (n - 1) % 26)
            self._join((tile.x0, y), (far_x, y), f"join {name}", [(x, y) for x in (tile.x0 + 20, far_x - 20)])

    def _join(self, a: Point, b: Point, name: str, crosses: Sequence[Point]) -> None:
        self.canvas.setDash(4, 4)
        self._line(a, b)
        self.canvas.setDash()
        for x, y in crosses:
            self._line((x - 4, y - 4), (x + 4, y + 4))
            self._line((x - 4, y + 4), (x + 4, y - 4))
            self.labels.keep_off(self.at((x, y)), 4.0 * max(self.per_x, self.per_y))
        self.labels.keep_off_line(self.at(a), self.at(b))
        self._label(crosses[0], 4.0, name, 7)

    def _new(self, at: Point, diameter: float, number: int, *, withheld: bool) -> None:
        canvas, r, arm = self.canvas, diameter / 2, diameter / 2 + ARM
        canvas.setLineWidth(0.7)
        self._ring(at, r)
        canvas.setLineWidth(0.25)
        self._line((at[0] - arm, at[1]), (at[0] + arm, at[1]))
        self._line((at[0], at[1] - arm), (at[0], at[1] + arm))
        self._label(at, r, f"{number}{' WITHHELD' if withheld else ''}", 10)

    def _old(self, at: Point, diameter: float, *, filled: bool) -> None:
        canvas, r = self.canvas, diameter / 2
        canvas.setLineWidth(0.4)
        canvas.setDash(2, 1.5)
        self._ring(at, r)
        canvas.setDash()
        if filled:
            k = r * math.sqrt(0.5)
            self._line((at[0] - k, at[1] - k), (at[0] + k, at[1] + k))
            self._line((at[0] - k, at[1] + k), (at[0] + k, at[1] - k))

    def _line(self, a: Point, b: Point) -> None:
        self.canvas.line(*self.at(a), *self.at(b))

    def _ring(self, at: Point, r: float) -> None:
        self._chain(circle_outline(Circle(at, r)).curves)

    def _chain(self, curves: Sequence[Curve]) -> None:
        path = self.canvas.beginPath()
        path.moveTo(*self.at(curves[0].start))
        for curve in curves:
            if isinstance(curve, Segment):
                path.lineTo(*self.at(curve.end))
                continue
            for one, two, end in bezier_bits(curve):
                path.curveTo(*self.at(one), *self.at(two), *self.at(end))
        self.canvas.drawPath(path, stroke=1, fill=0)


def bezier_bits(arc: Arc) -> list[tuple[Point, Point, Point]]:
    """Return the two handles and the end of each Bezier curve that stands for a bit of the arc."""
    count = max(1, math.ceil(abs(arc.sweep) / ARC_BIT))
    reach = 4.0 / 3.0 * math.tan(arc.sweep / count / 4.0) * arc.radius
    (cx, cy), bits = arc.center, []
    for i in range(count):
        a0, a1 = (arc.start_angle + arc.sweep * n / count for n in (i, i + 1))
        start = (cx + arc.radius * math.cos(a0), cy + arc.radius * math.sin(a0))
        end = arc.end if i == count - 1 else (cx + arc.radius * math.cos(a1), cy + arc.radius * math.sin(a1))
        one = (start[0] - reach * math.sin(a0), start[1] + reach * math.cos(a0))
        two = (end[0] + reach * math.sin(a1), end[1] - reach * math.cos(a1))
        bits.append((one, two, end))
    return bits


def _cut(words: str, size: float, room: float) -> str:
    words = paper_text(words)
    while words and width_of(words, size, strong=size >= 10) > room:
        words = words[:-2] + "…"
    return words
