"""Random jobs of one marking out: an outline as drawn, the same as made a little wrong, and the edges that are good.

Corners are listed either way round and from any corner, the piece as made lies anywhere on the drawing. Edges are
straight or flat arcs. One good edge, two of them, or an arc and a straight one hold the outlines together.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from shop_figures import XY, ShopFigures, Turned
from walked_lines import Piece, arc_of_radius, straight

STRAIGHT = 0.0


@dataclass(frozen=True)
class Listed:
    """An outline as the job lists it; its sides in that order, each travelled anticlockwise about the piece."""

    words: str
    sides: tuple[Piece, ...]
    clockwise: bool
    """The corners are listed clockwise."""

    @property
    def round_about(self) -> list[tuple[int, Piece]]:
        """The sides with their numbers, anticlockwise round the piece from the corner that is listed first."""
        numbered = list(enumerate(self.sides, start=1))
        return numbered[::-1] if self.clockwise else numbered


@dataclass(frozen=True)
class MarkingJob:
    """A job and its truth; lengths in mm."""

    text: str
    unit: str
    drawn: Listed
    made: Listed
    held: tuple[tuple[int, int], ...]
    """Numbers of the good edges, drawn and made."""
    stations: float | None
    along: str
    back: bool
    within: float
    flip: str
    wants_papers: bool = True
    drawings: dict[str, Callable[[Path], None]] = field(default_factory=dict)


def draw_marking_job(seed: int) -> MarkingJob:
    """Return the random job of a seed."""
    figures = ShopFigures(f"marking {seed}")
    draw = figures.random
    corners, radii = _draw_shape(figures)
    count = len(corners)
    good = draw.randrange(count)
    held = [good, *([(good + draw.choice((1, count - 1))) % count] if figures.chance(0.85) else [])]
    if figures.chance(0.3):
        held.reverse()
    if all(radii[k] for k in held) or (len(held) == 1 and radii[held[0]]):
        radii[held[0]] = STRAIGHT
    kept = {k % count for edge in held for k in (edge, edge + 1)}
    wrong = [
        p if k in kept else (p[0] + draw.uniform(-3, 3), p[1] + draw.uniform(-3, 3)) for k, p in enumerate(corners)
    ]
    made_radii = [r and (r if k in held else r * draw.uniform(0.95, 1.2)) for k, r in enumerate(radii)]
    lies = Turned(math.radians(draw.choice((0.0, 1.0, draw.uniform(-40, 40)))), (draw.uniform(-30, 30), 5.0))
    drawn, number_drawn = _listed(figures, corners, radii, Turned())
    made, number_made = _listed(figures, wrong, made_radii, lies)
    pairs = tuple((number_drawn[k], number_made[k]) for k in held)
    stations = figures.between(4.0, 12.0) if figures.chance(0.7) else None
    along, back = draw.choice(("x", "x", "y")), not figures.chance(0.25)
    within = figures.exact(0.5) if figures.chance(0.25) else 0.0
    flip = draw.choice(("x", "y")) if figures.chance(0.2) else ""
    text = [
        f'title = "Invented: marking out {seed}"',
        f'unit = "{figures.unit}"',
        *([f'hand = "left"\nother_hand = {{ hand = "right", flip = "{flip}" }}'] if flip else []),
        "[part]",
        'material = "beech"',
        f"thickness = {figures.text(20.0)}",
        "[[marking_out]]",
        'name = "m1"',
        f"drawn = {{ {drawn.words} }}",
        f"made = {{ {made.words} }}",
        f"held_at = [{', '.join(f'{{ drawn = {a}, made = {b} }}' for a, b in pairs)}]",
        *([f"stations = {figures.text(stations)}"] if stations else []),
        *([f'along = "{along}"'] if along == "y" or figures.chance(0.5) else []),
        *(["back_too = false"] if not back else []),
        *([f"within = {figures.text(within)}"] if within else []),
    ]
    return MarkingJob(
        "\n".join(text) + "\n", figures.unit, drawn, made, pairs, stations, along, back, within, flip
    )  # fmt: skip


def _draw_shape(figures: ShopFigures) -> tuple[list[XY], list[float]]:
    """Return corners anticlockwise and for each edge its radius: above nought bending out, below nought in."""
    draw = figures.random
    wide, high = draw.uniform(60, 120), draw.uniform(40, 70)
    if figures.chance(0.3):
        corners = [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]
    else:
        corners = [(draw.uniform(0, 6), draw.uniform(0, 6)), (wide * 0.5, draw.uniform(-6, 4)),
                   (wide, draw.uniform(0, 8)), (wide - draw.uniform(-8, 8), high),
                   (wide * 0.45, high * draw.uniform(0.7, 1.2)), (draw.uniform(-8, 8), high)]  # fmt: skip
    corners = [figures.exact_point(p) for p in corners]
    radii = []
    for p, q in zip(corners, [*corners[1:], corners[0]], strict=True):
        size = math.dist(p, q) * draw.uniform(0.8, 1.6)
        radii.append(draw.choice((1, -1)) * size if figures.chance(0.3) else STRAIGHT)
    return corners, radii


def _listed(figures: ShopFigures, corners: list[XY], radii: list[float], lies: Turned) -> tuple[Listed, dict[int, int]]:
    """Return the outline as a job lists it, and the number of each edge there."""
    draw = figures.random
    there = [figures.exact_point(lies.point(p)) for p in corners]
    order = list(range(len(there)))
    first = draw.randrange(len(order))
    order = order[first:] + order[:first]
    clockwise = figures.chance(0.4)
    if clockwise:
        order.reverse()
    steps, sides, numbers = [figures.pair(there[order[0]])], [], {}
    for number, (a, b) in enumerate(zip(order, [*order[1:], order[0]], strict=True), start=1):
        edge = b if clockwise else a
        numbers[edge] = number
        p, q = there[edge], there[(edge + 1) % len(there)]
        if not radii[edge]:
            sides.append(straight(p, q))
            steps.append(figures.pair(there[b]))
            continue
        radius = figures.exact(abs(radii[edge]))
        sides.append(arc_of_radius(p, q, radius, left=radii[edge] > 0, long_way=False))
        turn = "left" if (radii[edge] > 0) != clockwise else "right"
        arc = f'radius = {figures.text(radius)}, turn = "{turn}"'
        steps.append(f"{{ arc_to = {figures.pair(there[b])}, {arc} }}")
    if steps[-1] == steps[0]:
        steps.pop()
    return Listed(f"points = [{', '.join(steps)}]", tuple(sides), clockwise), numbers
