"""Ten thousand new holes against ten thousand old ones: the spacing check against the bare spatial-index query.

Run ``python tests/benchmarks/spacing.py``. Timed in turns, the least of several rounds each: the bare query (points,
tree, every pair within reach) and the spacing check on plain values (columns, tree, pairs, webs, relations, severities,
limits). In the first case, a grid drilled again beside itself, the check also writes out the notable pairs as values
with their evidence; where every third hole collides that is timed apart, as so much per pair. Exits 1 when a ratio
exceeds 3. All data are invented.
"""

from __future__ import annotations

import gc
import sys
import time
from collections.abc import Callable

import numpy as np
import shapely

from holecam.layout.spacing_columns import old_columns, site_columns
from holecam.layout.spacing_holes import _reach, old_hole_pairs
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import OldHole, Plug

COUNT = 10_000
ROUNDS = 9
ALLOWED_RATIO = 3.0
PLUG = Plug("brass screw, soft soldered")


def least_times(*works: Callable[[], object]) -> list[float]:
    """Return the least time of each of several works over the rounds, seconds."""
    best = [float("inf")] * len(works)
    for _ in range(ROUNDS):
        for i, work in enumerate(works):
            gc.collect()
            start = time.perf_counter()
            work()
            best[i] = min(best[i], time.perf_counter() - start)
    return best


def jittered_grid(random: np.random.Generator, side: float) -> np.ndarray:
    """Return COUNT points on a square grid, each some tenths of a mm off."""
    steps = (np.arange(round(COUNT**0.5)) + 0.5) * side / COUNT**0.5
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    return grid + random.normal(0.0, 0.2, grid.shape)


def cases() -> list[tuple[str, np.ndarray, np.ndarray, np.ndarray]]:
    """Return (words, new centres, old centres, old diameters)."""
    random = np.random.default_rng(2)
    alike, different = np.full(COUNT, 3.2), random.uniform(2.0, 4.0, COUNT)
    grid = jittered_grid(random, 1200.0)
    beside = jittered_grid(random, 1200.0) + np.array([5.5, 4.0])
    scattered = random.uniform(0.0, 2000.0, (2, COUNT, 2))
    crowded = random.uniform(0.0, 800.0, (2, COUNT, 2))
    return [
        ("grid of 12 mm drilled again 6.8 mm beside itself", grid, beside, alike),
        ("scattered, 20 mm apart, every diameter different", *scattered, different),
        ("scattered, 8 mm apart", *crowded, alike),
    ]


def main() -> int:
    """Print the ratios and return the exit code."""
    limits, worst = table_limits(), 0.0
    profile = plain_profile(3.2, pitch=0.635)
    for words, new_points, old_points, diameters in cases():
        new_xy, old_xy, widths = new_points.tolist(), old_points.tolist(), diameters.tolist()
        sites = [DrillSite(i + 1, "rows", (x, y), profile) for i, (x, y) in enumerate(new_xy)]
        old = [OldHole(f"old {i}", (x, y), widths[i], PLUG) for i, (x, y) in enumerate(old_xy)]
        reach = _reach(site_columns(sites), old_columns(old), limits, None)
        first, found = worst == 0.0, old_hole_pairs(sites, old, limits)
        notable = len(found.notable())

        def bare(a: np.ndarray = new_points, b: np.ndarray = old_points, reach: np.ndarray = reach) -> object:
            tree = shapely.STRtree(shapely.points(b))
            return tree.query(shapely.points(a), predicate="dwithin", distance=reach)

        def ours(sites: list[DrillSite] = sites, old: list[OldHole] = old, write_out: bool = first) -> object:
            pairs = old_hole_pairs(sites, old, limits)
            return pairs, pairs.notable() if write_out else None

        bare_time, our_time, writing = least_times(bare, ours, found.notable)
        ratio = our_time / bare_time
        worst = max(worst, ratio)
        print(
            f"{words}: {len(found)} pairs in reach, {notable} notable; bare query {1e3 * bare_time:.1f} ms, "
            f"spacing{' with the notable ones' if first else ''} {1e3 * our_time:.1f} ms, ratio {ratio:.2f} "
            f"(writing out: {1e6 * writing / max(notable, 1):.1f} us a pair)"
        )
    print(f"worst ratio {worst:.2f}, allowed {ALLOWED_RATIO}")
    return 0 if worst <= ALLOWED_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
