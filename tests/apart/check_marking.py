"""Marking out: how the outlines lie on each other, every height, radius, angle, what comes off, areas, both sides.

The first good edge is laid on exactly, the second in what that leaves open: a straight one so that its ends and its
middle lie on the drawn line by least squares, an arc centre on centre as far as can be. Rays against lines and circles
tell what comes off square to an edge and along a station line; shapely measures areas of fine polygons. Heights are
held to 2e-6 mm, what comes off to 1e-4 mm (where a ray meets an edge at a slant that is 20 times its own error), areas
to 0.01 mm2. The tables in ``sheet.txt``, ``sheet.pdf`` and on the page have to say the same, each figure rounded once.

Not covered: outlines of drawings; what is left open by a single good edge that is an arc;
pictures.
"""

from __future__ import annotations

import cmath
import math
import re
from dataclasses import replace
from functools import cached_property
from typing import Any

import numpy as np
from account import Account
from marking_jobs import Listed, MarkingJob
from paper_figures import number
from paper_texts import squeezed, text_of_pdf
from planned_work import Plan, PlannedWork
from scipy.optimize import minimize_scalar
from shapely.geometry import LineString, Point, Polygon
from walked_lines import Piece

HEIGHT, OFF, AREA = 2e-6, 1e-4, 0.01
"""How closely heights, what comes off, and areas are held, mm and mm2."""

ON_EDGE = 2e-5
"""So near to the edge as made nothing comes off, mm."""

NEARLY = 0.01
"""The same for the greatest distances, which are looked for at places that are not quite the same, mm."""

SLANTED = 5e-4
"""What such an edge may give where a ray meets it at a slant, mm."""

BESIDE_CORNER = 1e-3
"""At a corner what comes off is told right beside it on the edge that leaves, mm."""

GRAZING = 0.2
"""Cosine between station line and the edge's normal below which nothing is told along the line."""

LEAST_SLANT = math.sin(math.radians(1.0))
"""Two good edges nearer to parallel than this place no point: heights then stand on A and square to it."""

LOOKS = 200
"""Places on each edge where the most that comes off is looked for."""

MOST = 2e-3
"""Share by which the most that comes off may be found smaller, for the places between looks."""


def check_marking_job(job: MarkingJob, work: PlannedWork, account: Account) -> None:
    """Hold the marking out of a planned job."""
    truth = _Truth(job)
    papers = work.papers or {}
    for hand, plan in enumerate(work.plans):
        told = plan["marking_out"][0]
        account.hold("SIDES", [side["side"] for side in told["sides"]] == ["face", "back"][: 1 + job.back])
        for side in told["sides"]:
            # the face of the mirror image is what the part as given shows from its back
            mirrored = (side["side"] == "back") != bool(hand)
            truth.check_points(side, mirrored, account)
            truth.check_stations(side, mirrored, account)
        truth.check_areas(told, plan, account)
        for name in ("sheet.txt", "sheet.html", "sheet.pdf"):
            paper = papers[f"{'other-hand-' if hand else ''}{name}"]
            text = text_of_pdf(paper) if name.endswith("pdf") else re.sub(r"<[^>]+>", "", paper.decode("utf-8"))
            _check_paper(name, squeezed(text), told, job.unit, account)


def _moved(piece: Piece, turn: complex, shift: complex) -> Piece:
    return replace(
        piece, start=turn * piece.start + shift, end=turn * piece.end + shift, centre=turn * piece.centre + shift
    )


def _middle(piece: Piece) -> complex:
    return piece.point(piece.length / 2)


def _height(line: Piece, p: complex) -> float:
    """Return how far a point lies to the left of a line."""
    return ((p - line.start) / line.way(at_end=False)).imag


def _laid_on(drawn: Listed, made: Listed, held: tuple[tuple[int, int], ...]) -> list[Piece]:
    """Return the sides of the outline as made, laid on the drawn one."""
    pairs = [(drawn.sides[a - 1], made.sides[b - 1]) for a, b in held]
    first, own = pairs[0]
    if first.radius:
        wanted, other = pairs[1]

        def misfit(angle: float) -> float:
            turn = cmath.exp(1j * angle)
            placed = _moved(other, turn, first.centre - turn * own.centre)
            return sum(_height(wanted, p) ** 2 for p in (placed.start, _middle(placed), placed.end))

        rough = cmath.phase(wanted.way(at_end=False) / other.way(at_end=False))
        best = minimize_scalar(misfit, bracket=(rough - 0.05, rough, rough + 0.05), tol=1e-15).x
        turn = cmath.exp(1j * best)
        return [_moved(side, turn, first.centre - turn * own.centre) for side in made.sides]
    way = first.way(at_end=False)
    turn = way / own.way(at_end=False)
    shift = _middle(first) - turn * _middle(own)
    if len(pairs) > 1:
        wanted, other = pairs[1]
        placed = _moved(other, turn, shift)
        if wanted.radius:
            shift += way * ((wanted.centre - placed.centre) / way).real
        else:
            normal = 1j * wanted.way(at_end=False)
            shift -= way * _height(wanted, _middle(placed)) / (way * normal.conjugate()).real
    return [_moved(side, turn, shift) for side in made.sides]


def _ray(start: complex, way: complex, sides: list[Piece]) -> float:
    """Return how far along a way the nearest of some sides is met; endless where none is."""
    found = [math.inf]
    for side in sides:
        if not side.radius:
            along = side.end - side.start
            cross = (way.conjugate() * along).imag
            if abs(cross) > 1e-12:
                t = ((side.start - start).conjugate() * along).imag / cross
                s = ((side.start - start).conjugate() * way).imag / cross
                if t >= 0.0 and -1e-9 <= s <= 1 + 1e-9:
                    found.append(t)
            continue
        to_centre = (side.centre - start) * way.conjugate()
        inside = side.radius**2 - to_centre.imag**2
        for root in (math.sqrt(inside), -math.sqrt(inside)) if inside >= 0 else ():
            t = to_centre.real + root
            gone = cmath.phase((start + t * way - side.centre) / (side.start - side.centre)) * math.copysign(
                1, side.sweep
            )
            if t >= 0.0 and (gone % math.tau <= abs(side.sweep) + 1e-9 or abs(gone) < 1e-9):
                found.append(t)
    return min(found)


def _sampled(sides: list[Piece]) -> Any:
    points = [side.point(far) for side in sides
              for far in np.linspace(0.0, side.length, 1000 if side.radius else 2)[:-1]]  # fmt: skip
    return Polygon([(p.real, p.imag) for p in points])


def _reach(side: Piece, axis: complex) -> list[float]:
    """Return how far a side reaches along an axis: its ends, and where an arc runs square to it."""
    points = [side.start, side.end]
    for away in (side.radius * axis, -side.radius * axis) if side.radius else ():
        gone = cmath.phase(away / (side.start - side.centre)) * math.copysign(1.0, side.sweep) % math.tau
        if gone <= abs(side.sweep):
            points.append(side.centre + away)
    return [(p * axis.conjugate()).real for p in points]


class _Truth:
    def __init__(self, job: MarkingJob) -> None:
        self.job = job
        self.round_about = job.drawn.round_about
        self.made = _laid_on(job.drawn, job.made, job.held)
        self.drawn_shape = _sampled([side for _, side in self.round_about])
        self.made_shape = _sampled([side for _, side in (replace_sides(job.made, self.made)).round_about])
        lines = [job.drawn.sides[a - 1] for a, _ in job.held if not job.drawn.sides[a - 1].radius]
        self.a = lines[0]
        slant = cmath.phase(lines[-1].way(at_end=False) / self.a.way(at_end=False))
        self.b = lines[-1] if abs(math.sin(slant)) > LEAST_SLANT else None
        reach = [value for _, side in self.round_about for value in _reach(side, 1.0 + 0j if job.along == "x" else 1j)]
        self.low, self.high = min(reach), max(reach)

    def heights(self, p: complex) -> tuple[float, float]:
        """Return the heights of a point on both datum edges; without a second one B stands square on A's start."""
        b = self.b or Piece(self.a.start + 1j * self.a.way(at_end=False), self.a.start)
        return _height(self.a, p), _height(b, p)

    def off(self, p: complex, way: complex) -> float:
        """Return how far the piece as made reaches beyond a point; below nought it falls short; endless: never met."""
        if self.made_shape.boundary.distance(Point(p.real, p.imag)) <= ON_EDGE:
            return 0.0
        if self.made_shape.contains(Point(p.real, p.imag)):
            return _ray(p, way, self.made)
        return -_ray(p, -way, self.made)

    def check_points(self, side: Plan, mirrored: bool, account: Account) -> None:
        """Hold corners, tangent points and centres in their order."""
        wanted = []
        before = self.round_about[-1][1]
        for edge, piece in self.round_about:
            way = piece.way(at_end=False)
            smooth = abs(math.degrees(cmath.phase(way / before.way(at_end=True)))) <= 0.1
            angle = math.degrees(cmath.phase(way / self.a.way(at_end=False)))
            # mirrored, the piece lies to the left of A where that is run through the other way
            angle = math.remainder(180.0 - angle, 360.0) if mirrored else angle
            near = min(piece.length / 2, BESIDE_CORNER)
            p = piece.point(near)
            outward = -1j * (piece.way(at_end=False) if not piece.radius else replace(piece, start=p).way(at_end=False))
            off = self.off(p, outward)
            wanted.append((edge, "tangent point" if smooth else "corner", piece.start, None, angle, off))
            if piece.radius:
                wanted.append((edge, "arc centre", piece.centre, piece.radius, None, None))
            before = piece
        told = side["points"]
        if not account.hold(f"POINTS {len(told)} for {len(wanted)}", len(told) == len(wanted)):
            return
        for mark, (edge, kind, at, radius, right_angle, right_off) in zip(told, wanted, strict=True):
            where = f"{side['side']} edge {edge} {kind}"
            account.hold(
                f"POINT {mark['edge']} {mark['kind']}, not {where}", (mark["edge"], mark["kind"]) == (edge, kind)
            )
            for key, right in zip(("from_a_mm", "from_b_mm"), self.heights(at), strict=True):
                account.near(f"HEIGHT {where} {key}", mark[key], right, within=HEIGHT)
            for key, right, within in (("radius_mm", radius, HEIGHT), ("angle_deg", right_angle, 1e-6)):
                self._near(f"POINT {where} {key}", mark[key], right, within, account, turn=key == "angle_deg")
            self._near(f"COMES OFF {where}", mark["comes_off_mm"], right_off, OFF, account)

    @staticmethod
    def _near(what: str, got: Any, right: float | None, within: float, account: Account, *, turn: bool = False) -> None:
        if right == 0.0 and not turn:  # on the edge as made: a ray may meet it, at a slant, or miss its very end
            account.hold(f"{what}: {got}, computed nothing", got is None or abs(got) <= SLANTED)
        elif right is None or got is None:
            account.hold(f"{what}: {got}, computed {right}", got is None and (right is None or math.isinf(right)))
        elif turn:
            account.hold(f"{what}: {got}, computed {right}", abs(math.remainder(got - right, 360.0)) <= within)
        else:
            account.near(what, got, right, within=within)

    def check_stations(self, side: Plan, mirrored: bool, account: Account) -> None:
        """Hold each crossing of a station line with the drawn outline."""
        spacing = self.job.stations or (self.high - self.low) / 10.0
        upright = self.job.along == "x"
        wanted = []
        for k in range(1, math.ceil((self.high - self.low) / spacing - 1e-9)):
            at = self.low + k * spacing
            start, way = (complex(at, -1e3), 1j) if upright else (complex(-1e3, at), 1.0 + 0j)
            for _, piece in self.round_about:
                for p in self._crossings(start, way, piece):
                    outward = (
                        -1j * replace(piece, start=p).way(at_end=False)
                        if piece.radius
                        else -1j * piece.way(at_end=False)
                    )
                    part = (outward * way.conjugate()).real
                    along = self.off(p, way * math.copysign(1.0, part)) if abs(part) > GRAZING else None
                    wanted.append((k * spacing, *self.heights(p), self.off(p, outward), along, p, part))
        left_first = -1.0 if mirrored else 1.0
        wanted.sort(key=lambda row: (round(left_first * row[5].real, 6), row[5].imag) if upright
                    else (round(row[0], 6), row[5].real))  # fmt: skip
        told = side["stations"]
        if not account.hold(f"STATIONS {len(told)} for {len(wanted)}", len(told) == len(wanted)):
            return
        if not upright:  # in the order of the piece: told are they so, or from its other end
            told = sorted(told, key=lambda s: (round(s["position_mm"], 6), self._across(s)))
            wanted.sort(key=lambda row: (round(row[0], 6), self._across_of(row)))
        for station, (position, from_a, from_b, off, along, _, part) in zip(told, wanted, strict=True):
            where = f"{side['side']} station {position:.3f}"
            account.near(f"STATION {where}", station["position_mm"], position, within=HEIGHT)
            account.near(f"HEIGHT {where} from A", station["from_a_mm"], from_a, within=HEIGHT)
            account.near(f"HEIGHT {where} from B", station["from_b_mm"], from_b, within=HEIGHT)
            self._near(f"COMES OFF {where} square", station["off_square_mm"], off, OFF, account)
            if abs(abs(part) - GRAZING) > 1e-6:
                self._near(f"COMES OFF {where} along", station["off_along_mm"], along, 5 * OFF, account)

    def _across(self, station: Plan) -> float:
        return round(station["from_a_mm"] + 1e-3 * station["from_b_mm"], 5)

    def _across_of(self, row: Any) -> float:
        return round(row[1] + 1e-3 * row[2], 5)

    @staticmethod
    def _crossings(start: complex, way: complex, piece: Piece) -> list[complex]:
        """Return where a long line meets one piece, every time."""
        found, far = [], 0.0
        while (step := _ray(start + far * way, way, [piece])) < math.inf:
            far += step + 1e-6
            found.append(start + (far - 1e-6) * way)
        return found

    def check_areas(self, told: Plan, plan: Plan, account: Account) -> None:
        """Hold areas and the most that comes off, and whether the plan speaks of it."""
        remove, missing = self.made_shape.difference(self.drawn_shape), self.drawn_shape.difference(self.made_shape)
        account.near("AREA that comes off", told["remove_area_mm2"], remove.area, within=AREA)
        account.near("AREA that is missing", told["missing_area_mm2"], missing.area, within=AREA)
        most, far = self.most, self._furthest_off()
        account.hold(
            f"MOST {told['most_off_mm']:.5f} comes off, looked for {most:.5f}",
            most * (1 - MOST) - OFF <= told["most_off_mm"] <= most * (1 + MOST) + OFF,
        )
        codes = {finding["code"]: finding for finding in plan["findings"]}
        for code, size, area in (("comes-off", most, remove.area), ("metal-missing", far, missing.area)):
            if abs(size - self.job.within) > 0.01 and abs(area) > 0.01:
                told_of = code in codes
                account.hold(
                    f"FINDING {code} at {size:.4f} mm, known within {self.job.within}",
                    told_of == (size > self.job.within),
                )
                if told_of:
                    account.near(
                        f"FINDING {code} at most", codes[code]["measured_mm"], size, within=MOST * size + NEARLY
                    )

    @cached_property
    def most(self) -> float:
        """The most that comes off, looked for all round."""
        offs = []
        for _, piece in self.round_about:
            looks = np.linspace(BESIDE_CORNER, piece.length - BESIDE_CORNER, LOOKS)
            for far in [*looks, *self._square_to_corners(piece), *self._crossed(piece)]:
                p = piece.point(far)
                way = replace(piece, start=p).way(at_end=False) if piece.radius else piece.way(at_end=False)
                offs.append(self.off(p, -1j * way))
        offs = [off for off in offs if math.isfinite(off)]
        return max([0.0, *offs])

    def _furthest_off(self) -> float:
        """Return how far the drawn edge lies from the piece as made at most."""

        def short(piece: Piece, far: float) -> float:
            p = piece.point(far)
            return float(self.made_shape.distance(Point(p.real, p.imag)))

        looks = [(piece, far) for _, piece in self.round_about for far in np.linspace(0.0, piece.length, LOOKS)]
        piece, far = max(looks, key=lambda look: short(*look))
        step = piece.length / LOOKS
        close = np.linspace(max(0.0, far - step), min(piece.length, far + step), LOOKS)
        return max(short(piece, float(at)) for at in close)

    def _square_to_corners(self, piece: Piece) -> list[float]:
        """Return how far along a piece the corners as made lie square to it, a hair before and behind each."""
        found = []
        for corner in (side.start for side in self.made):
            if piece.radius:
                turned = cmath.phase((corner - piece.centre) / (piece.start - piece.centre))
                far = turned * math.copysign(1.0, piece.sweep) % math.tau * piece.radius
            else:
                far = ((corner - piece.start) / piece.way(at_end=False)).real
            found += [far + hair for hair in (-1e-6, 1e-6) if 0.0 < far + hair < piece.length]
        return found

    def _crossed(self, piece: Piece) -> list[float]:
        """Return how far along a piece it crosses the outline as made, a little before and behind each place."""
        line = LineString([(p.real, p.imag) for p in map(piece.point, np.linspace(0.0, piece.length, 1001))])
        met = line.intersection(self.made_shape.boundary)
        points = [p for p in getattr(met, "geoms", [met]) if p.geom_type == "Point"]
        found = [line.project(p) * piece.length / line.length + hair for p in points for hair in (-2e-3, 2e-3)]
        return [far for far in found if 0.0 < far < piece.length]


def replace_sides(listed: Listed, sides: list[Piece]) -> Listed:
    """Return the same list with other sides."""
    return replace(listed, sides=tuple(sides))


def _check_paper(name: str, words: str, told: Plan, unit: str, account: Account) -> None:
    """Hold every line of the tables, as a paper has to write it."""

    def signed(value: float | None) -> str:
        return "" if value is None else ("+" if value > 0 and float(number(value, unit)) else "") + number(value, unit)

    for side in told["sides"]:
        title = "Seen from the face" if side["side"] == "face" else "Seen from the back (mirrored)"
        account.hold(f"PAPER {name} has no {title}", squeezed(title) in words)
        for mark in side["points"]:
            cells = [
                str(mark["edge"]),
                mark["kind"],
                number(mark["from_a_mm"], unit),
                number(mark["from_b_mm"], unit),
            ]
            cells += ["" if mark["radius_mm"] is None else number(mark["radius_mm"], unit)]
            cells += ["" if mark["angle_deg"] is None else _degrees(mark["angle_deg"])]
            cells += [signed(mark["comes_off_mm"])]
            account.hold(f"PAPER {name} does not say: {cells}", squeezed(" ".join(cells)) in words)
        for station in side["stations"]:
            cells = [number(station[key], unit) for key in ("position_mm", "from_a_mm", "from_b_mm")]
            cells += [signed(station["off_square_mm"]), signed(station["off_along_mm"])]
            account.hold(f"PAPER {name} does not say: {cells}", squeezed(" ".join(cells)) in words)


def _degrees(value: float) -> str:
    from fractions import Fraction

    hundredths = abs(Fraction(round(Fraction(value) * 10**9), 10**9)) * 100
    whole = int(hundredths + Fraction(1, 2))
    return f"{'-' if value < 0 and whole else ''}{whole // 100}.{whole % 100:02d}"
