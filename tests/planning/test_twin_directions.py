"""The twin of a part: what is told of it has the directions as they are there, and says the same otherwise."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest

from holecam.job.models import job_from_dict
from holecam.plan.finding import Finding
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plans

DIRECTION = re.compile(r"(?:[+-]X)? ?(?:[+-]Y)? ?\((-?\d+) degrees\)|toward (\d+) degrees")


def pair(flip: str) -> tuple[Plan, Plan]:
    data: dict[str, Any] = {
        "title": "plate",
        "unit": "mm",
        "hand": "left",
        "machine": {"readout": 0.01},
        "tools": {"drills": ["metric"]},
        "part": {"material": "mild steel", "thickness": 6, "outline": {"rectangle": [120, 60]}},
        "keep_out": [{"name": "weld", "line": [[100, 5], [115, 20]], "width": 3}],
        "old_holes": [
            {"name": "old", "points": [[30, 30]], "diameter": 6, "plug": "brass screw, soft soldered"},
            {"name": "open", "points": [[72, 30]], "diameter": 6},
        ],
        "pattern": [
            {"name": "a", "points": [[0, 0], [40, 0]], "drill": "5 mm", "place": {"at": [34, 32]}},
            {"name": "c", "line": {"count": 3, "pitch": 20}, "clearance_for": "M4", "place": {"at": [20, 50]}},
            {"name": "d", "points": [[105, 12]], "drill": "3 mm"},
        ],
        "mate": [
            {
                "name": "base",
                "pattern": "c",
                "holes": {"like": "c", "thread": "M4"},
                "measured": [{"hole": 2, "off": [1.3, 0.3]}],
            }
        ],
        "other_hand": {"flip": flip, "hand": "right"},
    }
    given, twin = make_plans(job_from_dict(data))
    return given, twin


def directions(texts: list[str]) -> list[float]:
    return [float(a or b) for text in texts for a, b in DIRECTION.findall(text)]


def told(found: tuple[Finding, ...]) -> list[str]:
    return [text for f in found for text in (f.message, f.remedy)]


@pytest.mark.parametrize(("flip", "mirrored"), [("x", lambda a: 180 - a), ("y", lambda a: -a)])
def test_where_a_drill_runs_and_a_slot_is_filed_is_mirrored_on_the_twin(flip: str, mirrored: Any) -> None:
    given, twin = pair(flip)
    here, there = directions(told(given.findings)), directions(told(twin.findings))
    assert len(here) >= 3  # a plug, an open hole, a slot
    assert [math.remainder(mirrored(a) - b, 360) for a, b in zip(here, there, strict=True)] == pytest.approx(
        [0.0] * len(here)
    )
    advice = [directions([a.words for a in p.mates[0].advice]) for p in (given, twin)]
    assert math.remainder(mirrored(advice[0][0]) - advice[1][0], 360) == pytest.approx(0.0)


@pytest.mark.parametrize("flip", ["x", "y"])
def test_all_else_that_is_told_of_the_twin_is_the_same(flip: str) -> None:
    given, twin = pair(flip)
    same = [[DIRECTION.sub("", t) for t in told(p.findings)] for p in (given, twin)]
    assert same[0] == same[1]
    assert [(f.code, f.severity, f.holes) for f in given.findings] == [
        (f.code, f.severity, f.holes) for f in twin.findings
    ]
    assert [f.measured for f in given.findings] == pytest.approx([f.measured for f in twin.findings])
    (gx, gy), (tx, ty) = given.mates[0].shift, twin.mates[0].shift
    assert (tx, ty) == pytest.approx((-gx, gy) if flip == "x" else (gx, -gy))
    assert twin.mates[0].turn_deg == pytest.approx(-given.mates[0].turn_deg)
