"""How the work grows with its size: 10 to 100,000 holes, 10 to 10,000 vertices.

Run ``python tests/benchmarks/growth.py [--quick]``. Each cell is the least processor time of two or three rounds; the
exponent is the slope between the last two sizes on a double logarithmic scale: 1 grows as the size, 2 as its square.
A job holds at most 10,000 holes in a pattern, and a drawing or outline at most 20,000 vertices. All data are invented.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable

from sheets import grid_job, least_time

from holecam.cuts.offsets import OffsetStack
from holecam.cuts.walls import chains_of_region, walls_of
from holecam.job.reader import parse_job
from holecam.layout.grids import grid
from holecam.layout.placing import place_from_one
from holecam.layout.spacing_holes import old_hole_pairs
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import OldHole, Plug
from holecam.plan.motions import (
    DrillCycle,
    ExpectedHole,
    Motion,
    ProgramLimits,
    ProgramPlan,
    SpindleOn,
    ToolChange,
    ToolKind,
    ToolUse,
)
from holecam.planning.plan_job import make_plans
from holecam.program import check_program, write_program
from holecam.shapes import Outline, outline_through
from holecam.shapes.curve_arrays import ClosedArea, points_array

STEEPEST = 1.5
"""The exponent that is allowed between the two largest sizes."""

Work = Callable[[], object]


def places(count: int) -> list[tuple[float, float]]:
    """Return a grid of so many places, 12 mm apart."""
    side = math.ceil(math.sqrt(count))
    return [(12.0 * (k % side), 12.0 * (k // side)) for k in range(count)]


def placing(count: int) -> Work:
    """Placing a grid from one hole."""
    side = max(2, round(math.sqrt(count)))
    return lambda: list(
        place_from_one(
            grid(side, max(1, count // side), column_pitch=12.0, row_pitch=12.0), hole=1, at=(5.0, 5.0)
        ).holes()
    )


def spacing(count: int) -> Work:
    """Spacing of so many new holes against as many old ones."""
    profile, limits = plain_profile(3.2, pitch=0.635), table_limits()
    sites = [DrillSite(k + 1, "rows", xy, profile) for k, xy in enumerate(places(count))]
    old = [
        OldHole(f"old {k}", (x + 5.5, y + 4.0), 3.2, Plug("brass screw, soft soldered"))
        for k, (x, y) in enumerate(places(count))
    ]
    return lambda: old_hole_pairs(sites, old, limits).notable()


def hole_program(count: int) -> Work:
    """Writing a program of so many holes and checking it against its plan."""
    tool = ToolUse(
        1, "3.2 mm drill", ToolKind.TWIST_DRILL, 3.2, point_angle_deg=118.0, flute_length=30.0, overhang=40.0
    )
    motions: list[Motion] = [ToolChange(1), SpindleOn(1500)]
    motions += [DrillCycle(k, x, y, 2.0, -6.2, 60.0) for k, (x, y) in enumerate(places(count), 1)]
    holes = tuple(ExpectedHole(k, x, y, -6.2, 1) for k, (x, y) in enumerate(places(count), 1))
    plan = ProgramPlan("growth", (tool,), tuple(motions), 15.0, ProgramLimits(holes=holes))

    def work() -> None:
        assert check_program(write_program(plan), plan).passed

    return work


def whole_job(count: int) -> Work:
    """Planning a job of so many holes, programs apart."""
    side = round(math.sqrt(count)) if count > 10 else 5
    from holecam.job.reader import check_data

    data = grid_job(side, count // side)
    return lambda: make_plans(check_data(data))


def papers(count: int) -> Work:
    """Writing all papers of a planned job of so many holes."""
    from holecam.delivery.plan_folder import papers_of, plan_job
    from holecam.job.reader import check_data

    side = round(math.sqrt(count)) if count > 10 else 5
    planned = plan_job(check_data(grid_job(side, count // side)))
    return lambda: papers_of(planned)


def star(count: int) -> list[tuple[float, float]]:
    """Return the corners of a wavy outline, 200 mm across."""
    turn = [math.tau * k / count for k in range(count)]
    return [
        (100.0 * (1 + 0.1 * math.sin(5 * a)) * math.cos(a), 100.0 * (1 + 0.1 * math.sin(5 * a)) * math.sin(a))
        for a in turn
    ]


def outline_of(count: int) -> Outline:
    """Return it as an outline."""
    return outline_through(star(count))


def reading(count: int) -> Work:
    """Reading a job whose outline lists so many points."""
    points = ", ".join(f"[{x:.4f}, {y:.4f}]" for x, y in star(count))
    text = (
        'title = "star"\nunit = "mm"\n[part]\nmaterial = "brass"\nthickness = 4\n'
        f"outline = {{ points = [{points}] }}\n"
        '[[pattern]]\nname = "p"\nline = { count = 2, pitch = 10 }\nclearance_for = "M3"\nplace = { at = [0, 0] }\n'
    )
    return lambda: parse_job(text)


def room(count: int) -> Work:
    """Planning twelve holes inside an outline of so many vertices, with the room that they have."""
    from holecam.job.reader import check_data

    data = {
        "title": "traced",
        "unit": "mm",
        "part": {"material": "brass", "thickness": 4, "outline": {"points": [[x, y] for x, y in star(count)]}},
        "machine": {"kind": "cnc"},
        "tools": {"drills": ["metric"]},
        "pattern": [
            {"name": "p", "circle": {"count": 12, "diameter": 90}, "drill": "3 mm", "place": {"at": [0, 0]}},
        ],
    }
    return lambda: make_plans(check_data(data))


def edges(count: int) -> Work:
    """The distance of a thousand places to an outline of so many vertices."""
    area = ClosedArea(outline_of(count))
    points = points_array([(2.0 * (k % 40) - 40.0, 3.0 * (k // 40) - 40.0) for k in range(1000)])
    return lambda: area.inside_by(points)


def offset(count: int) -> Work:
    """One exact offset of an outline of so many vertices."""
    outline = outline_of(count)
    return lambda: OffsetStack(walls_of(chains_of_region(outline, ()))).at(3.0)


HOLES: dict[str, tuple[Callable[[int], Work], int]] = {
    "placing a grid": (placing, 100_000),
    "spacing, as many old holes": (spacing, 100_000),
    "program written and checked": (hole_program, 100_000),
    "whole plan of a job": (whole_job, 10_000),
    "all papers of a job": (papers, 10_000),
}
VERTICES: dict[str, tuple[Callable[[int], Work], int]] = {
    "reading the job": (reading, 10_000),
    "1000 places to the edge": (edges, 10_000),
    "room of 12 holes in it": (room, 1_000),
    "one exact offset": (offset, 10_000),
}


def table(title: str, works: dict[str, tuple[Callable[[int], Work], int]], largest: int) -> list[float]:
    """Print one table and return the exponents."""
    sizes = [10**k for k in range(1, round(math.log10(largest)) + 1)]
    print(f"| {title} | " + " | ".join(f"{n:,}" for n in sizes) + " | exponent |")
    print("|---|" + "---:|" * (len(sizes) + 1))
    steepest = []
    for name, (make, most) in works.items():
        times = [least_time(make(n), 3 if n < 10_000 else 1) for n in sizes if n <= most]
        slope = math.log10(times[-1] / times[-2])
        steepest.append(slope)
        cells = [f"{1e3 * t:.1f}" for t in times] + ["-"] * (len(sizes) - len(times))
        print(f"| {name} | " + " | ".join(cells) + f" | {slope:.2f} |", flush=True)
    return steepest


def main() -> int:
    """Print both tables, ms, and return the exit code."""
    quick = "--quick" in sys.argv
    slopes = table("holes, ms", HOLES, 10_000 if quick else 100_000)
    print()
    slopes += table("vertices, ms", VERTICES, 1_000 if quick else 10_000)
    print(f"\nworst exponent {max(slopes):.2f}, allowed {STEEPEST}")
    return 0 if max(slopes) <= STEEPEST else 1


if __name__ == "__main__":
    sys.exit(main())
