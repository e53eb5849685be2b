"""Three distances to measure with a calliper when the holes are made, none of which needs the readout."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from holecam.plan.facts import CheckDistance
from holecam.plan.holes import PlannedHole, hole_name
from holecam.shapes import Outline, distance

MANY_HOLES = 400
"""Above this only each pattern's first and last hole are paired: all pairs would cost more than they tell."""


def calliper_checks(holes: Sequence[PlannedHole], outline: Outline | None) -> tuple[CheckDistance, ...]:
    """Return up to three distances for each pattern: first to last hole, the longest other pair, nearest hole to edge.

    Centre to centre; the sheet says to add or take off a diameter. Holes that are withheld are left out.
    """
    checks: list[CheckDistance] = []
    for name in dict.fromkeys(h.pattern for h in holes):
        made = [h for h in holes if h.pattern == name and not h.withheld]
        if len(made) > 1:
            first, last = made[0], made[-1]
            checks.append(_pair(first, last))
            other = _longest_other(made, (first.number, last.number))
            if other is not None:
                checks.append(other)
        if made and outline is not None:
            near = min(made, key=lambda h: outline.distance_to(h.xy_part))
            away = outline.distance_to(near.xy_part)
            checks.append(
                CheckDistance(f"{hole_name(near)}, centre to the nearest edge of the part", away, (near.number,))
            )
    return tuple(checks)


def _pair(a: PlannedHole, b: PlannedHole) -> CheckDistance:
    return CheckDistance(f"{_pair_name(a, b)}, centre to centre", distance(a.xy_part, b.xy_part), (a.number, b.number))


def _pair_name(a: PlannedHole, b: PlannedHole) -> str:
    """Return two holes of one pattern in words, by both their numbers where these differ."""
    if (a.number, b.number) == (a.number_in_pattern, b.number_in_pattern):
        return f'hole {a.number} to hole {b.number} of "{a.pattern}"'
    own = f'{a.number_in_pattern} to {b.number_in_pattern} of "{a.pattern}"'
    return f"hole {a.number} to hole {b.number} ({own})"


def _longest_other(made: Sequence[PlannedHole], taken: tuple[int, int]) -> CheckDistance | None:
    candidates = made if len(made) <= MANY_HOLES else [made[0], made[len(made) // 2], made[-1]]
    pairs = [(a, b) for a, b in combinations(candidates, 2) if {a.number, b.number} != set(taken)]
    if not pairs:
        return None
    a, b = max(pairs, key=lambda p: distance(p[0].xy_part, p[1].xy_part))
    return _pair(a, b)
