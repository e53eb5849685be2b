"""A row along numbered sides of the part, whichever way round its corners are listed."""

from __future__ import annotations

import pytest

from holecam.errors import InputError
from holecam.job.models import job_from_dict
from holecam.planning.plan_job import make_plan

ANTICLOCKWISE = [[0, 0], [100, 0], [100, 60], [0, 60]]
CLOCKWISE = [[0, 0], [0, 60], [100, 60], [100, 0]]


def row(points: list[list[float]], **along: object) -> list[tuple[float, float]]:
    plan = make_plan(
        job_from_dict(
            {
                "title": "invented",
                "unit": "mm",
                "part": {"material": "brass", "thickness": 4, "outline": {"points": points}},
                "pattern": [{"name": "p", "drill": "3 mm", "along": {"offset": 10, **along}}],
                "tools": {"drills": ["metric"]},
            }
        )
    )
    return [(round(h.xy_part[0], 6), round(h.xy_part[1], 6)) for h in plan.holes]


def test_sides_are_counted_as_they_are_listed() -> None:
    # the left side is the fourth of the one list and the first of the other; both are travelled downwards
    down = [(10.0, 60.0), (10.0, 30.0), (10.0, 0.0)]
    assert row(ANTICLOCKWISE, edge=4, count=3) == down
    assert row(CLOCKWISE, edge=1, count=3) == down


def test_sides_that_follow_each_other_are_joined_either_way_round() -> None:
    # from the right end of the rear side to its corner, then down: cut short 10 mm before the corner on both
    joined = [(100.0, 50.0), (10.0, 50.0), (10.0, 0.0)]
    got = row(ANTICLOCKWISE, edge=[3, 4], pitch=1)
    assert got == row(CLOCKWISE, edge=[1, 2], pitch=1)
    assert [got[0], got[90], got[140]] == joined


def test_a_side_that_is_not_there_is_refused() -> None:
    with pytest.raises(InputError, match="expected numbers of sides from 1 to 4"):
        row(CLOCKWISE, edge=5, count=3)
