"""Planning a pocket of 500 vertices with islands against the bare offsets that it needs, in one run.

Run ``python tests/benchmarks/pocket.py``. Timed in turns, the least of several rounds each: the exact offsets of the
plan's own distances, each from the walls; the same worked out one from the other, as the planner does it; polylines of
a general-purpose polygon library at the same distances; and the whole plan with its proof. Exits 1 when the plan takes
more than 3 times the quicker of the offsets from the walls. All data are invented.
"""

from __future__ import annotations

import gc
import math
import random
import sys
import time
from collections.abc import Callable

import numpy as np
import shapely

from holecam.cuts.cutters import MillingCutter
from holecam.cuts.offsets import OffsetStack
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketRequest
from holecam.cuts.walls import chains_of_region, walls_of
from holecam.shapes import Circle, Outline, circle_outline, outline_through, rectangle

ROUNDS = 7
ALLOWED_RATIO = 3.0
VERTICES = 500
CUTTER = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
STEP_OVER = 2.4
SEGMENTS = 64
"""Chords a quarter: 4 micron on a shape like this (measured); 1 micron would need twice as many."""


def least_times(*works: Callable[[], object]) -> list[float]:
    """Return the least time of each of several works over the rounds, seconds."""
    best = [math.inf] * len(works)
    for _ in range(ROUNDS):
        for i, work in enumerate(works):
            gc.collect()
            start = time.perf_counter()
            work()
            best[i] = min(best[i], time.perf_counter() - start)
    return best


def pocket() -> tuple[Outline, tuple[Outline, ...]]:
    """Return a star-like pocket of 500 vertices, 100 mm across, with four islands."""
    draw = random.Random(3)
    points = []
    for k in range(VERTICES):
        angle = math.tau * k / VERTICES
        reach = 50 * (0.6 + 0.32 * (0.5 + 0.5 * math.sin(5 * angle)) + 0.08 * draw.random())
        points.append((reach * math.cos(angle), reach * math.sin(angle)))
    islands = (
        circle_outline(Circle((12, 5), 4)),
        rectangle(-20, -10, -12, -2),
        circle_outline(Circle((0, -15), 3)),
        rectangle(-5, 12, 3, 20, corner_radius=2),
    )
    return outline_through(points), islands


def chorded(outline: Outline) -> np.ndarray:
    """Return an outline as points, arcs in fine chords."""
    return np.array([c.point_at(t) for c in outline.curves for t in np.linspace(0, 1, 65)[:-1]])


def main() -> int:
    """Time it and print the figures."""
    outline, islands = pocket()
    request = PocketRequest("benchmark", outline, 2.0, CUTTER, islands, step_over=STEP_OVER, step_depth=9.0)
    walls = walls_of(chains_of_region(outline, islands))
    distances = []
    stack = OffsetStack(walls)
    while stack.at(3.0 + STEP_OVER * len(distances)).loops:
        distances.append(3.0 + STEP_OVER * len(distances))
    polygon = shapely.Polygon([c.start for c in outline.curves], [chorded(i) for i in islands])

    def each_by_itself() -> None:
        for d in distances:
            OffsetStack(walls_of(chains_of_region(outline, islands))).at(d)

    def as_stack() -> None:
        one = OffsetStack(walls_of(chains_of_region(outline, islands)))
        for d in distances:
            one.at(d)

    def polylines() -> None:
        for d in distances:
            shapely.buffer(polygon, -d, quad_segs=SEGMENTS)

    def whole_plan() -> None:
        plan_pocket(request)

    plan = plan_pocket(request)
    assert plan.proof.proved
    alone, stacked, plain, planned = least_times(each_by_itself, as_stack, polylines, whole_plan)
    moves = sum(1 for _ in plan.path.moves())
    print(f"{VERTICES} vertices, {len(islands)} islands, {len(distances)} levels, {moves} moves, proved")
    print(f"exact offsets, each from the walls   {1e3 * alone:8.1f} ms")
    print(f"exact offsets, one from the other    {1e3 * stacked:8.1f} ms")
    print(f"polylines of a polygon library       {1e3 * plain:8.1f} ms   (no arcs, {SEGMENTS} chords a quarter)")
    print(f"plan with proof                      {1e3 * planned:8.1f} ms")
    ratio = planned / min(alone, plain)
    print(f"plan / quicker of the bare offsets from the walls {ratio:.2f} (allowed {ALLOWED_RATIO:.0f})")
    print(f"plan / offsets worked out one from the other {planned / stacked:.2f}")
    return 0 if ratio <= ALLOWED_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
