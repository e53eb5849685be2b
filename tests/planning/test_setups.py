"""How surely the turn of a skewed part is known: from what is stated of the picks, or from what they have left over."""

from __future__ import annotations

import json
import math
import random
from typing import Any

import pytest

from holecam.job.models import job_from_dict
from holecam.output.plan_json import plan_json
from holecam.plan.facts import Setup
from holecam.planning.plan_job import make_plan

PLACES = ((5.0, 5.0), (95.0, 5.0), (95.0, 45.0), (5.0, 45.0))


def set_up(reads: list[tuple[float, float]], **more: Any) -> Setup:
    picked = [{"part": list(p), "reads": list(r)} for p, r in zip(PLACES, reads, strict=False)]
    job = {
        "title": "plate",
        "unit": "mm",
        "part": {"material": "brass", "thickness": 3, "outline": {"rectangle": [100, 50]}},
        "setup": {"skew": {"holes": picked, **more}},
        "pattern": [{"name": "hole", "points": [[50, 25]], "drill": "3 mm"}],
    }
    plan = make_plan(job_from_dict(job))
    assert json.loads(plan_json(plan))["setup"]["turn_doubt_deg"] == plan.setup.turn_doubt_deg
    return plan.setup


def turned(by_deg: float, noise: list[tuple[float, float]] | None = None) -> list[tuple[float, float]]:
    a = math.radians(by_deg)
    found = [(10 + x * math.cos(a) - y * math.sin(a), 20 + x * math.sin(a) + y * math.cos(a)) for x, y in PLACES]
    return [(x + dx, y + dy) for (x, y), (dx, dy) in zip(found, noise or [(0.0, 0.0)] * 4, strict=True)]


def test_four_holes_found_within_a_stated_doubt() -> None:
    # Half-width 0.05: standard 0.05 / sqrt 3 (GUM 4.3.7). Each hole is hypot(45, 20) = 49.244 from the middle
    found = set_up(turned(3.0), within=0.05)
    expected = math.degrees(0.05 / math.sqrt(3.0) / (2.0 * math.hypot(45.0, 20.0)))
    assert found.turn_doubt_deg == pytest.approx(expected)
    assert f"the turn is sure to about {expected:.4f} degrees" in found.words


def test_without_a_stated_doubt_what_is_left_over_tells_it() -> None:
    """Many sets of picks with a known scatter: the turns scatter as much as is said, on the average."""
    dice = random.Random(4)
    turns, said = [], []
    for _ in range(300):
        noise = [(dice.gauss(0.0, 0.04), dice.gauss(0.0, 0.04)) for _ in PLACES]
        found = set_up(turned(3.0, noise))
        turns.append(found.turn_deg - 3.0)
        said.append(found.turn_doubt_deg**2)
    scatter = math.sqrt(sum(t * t for t in turns) / len(turns))
    assert scatter == pytest.approx(math.degrees(0.04 / (2.0 * math.hypot(45.0, 20.0))), rel=0.12)
    assert math.sqrt(sum(said) / len(said)) == pytest.approx(scatter, rel=0.15)


def test_two_holes_say_it_too() -> None:
    found = set_up(turned(3.0)[:2], within=0.05)
    assert found.turn_doubt_deg == pytest.approx(math.degrees(0.05 / math.sqrt(3.0) * math.sqrt(2.0) / 90.0))
    assert "the turn is sure to about" in found.words
    assert "sure" not in set_up(turned(3.0)[:2]).words
