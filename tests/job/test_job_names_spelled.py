"""A name written with other capitals or blanks leads to the same thing, all the way to the plan."""

from __future__ import annotations

from typing import Any

from holecam.delivery.plan_folder import plan_job
from holecam.job.reader import check_data


def _job() -> dict[str, Any]:
    return {
        "title": "rail",
        "unit": "mm",
        "machine": {"kind": "cnc", "readout": 0.005, "safe_height": 10, "spindle": {"slowest": 100, "fastest": 3000}},
        "tools": {"drills": ["metric"], "end_mills": [6]},
        "part": {"material": "brass", "thickness": 5, "outline": {"rectangle": [100, 20]}},
        "body": [
            {"name": "former", "material": "beech", "thickness": 40, "outline": {"rectangle": [100, 60]}},
        ],
        "old_holes": [{"name": "old row", "line": {"count": 2, "pitch": 30}, "place": {"at": [15, 10]}, "diameter": 2}],
        "pattern": [{"name": "RAIL Screws", "like": "Old  Row", "clearance_for": "M3", "place": {"at": [25, 10]}}],
        "mate": [
            {"name": "base", "pattern": "rail screws", "holes": {"line": {"count": 2, "pitch": 30}, "diameter": 4}},
        ],
        "pocket": [
            {
                "name": "patch", "in": "FORMER", "rectangle": [30, 20], "at": [20, 20], "depth": 3,
                "cutter": "6 end mill",
            },
        ],
    }  # fmt: skip


def test_names_in_other_capitals_lead_to_the_same_plan() -> None:
    """Found by fuzzing: a mate whose pattern was named in capitals, and a pocket in a body, stopped the planning."""
    loose, exact = _job(), _job()
    exact["pattern"][0]["like"] = "old row"
    exact["mate"][0]["pattern"] = "RAIL Screws"
    exact["pocket"][0]["in"] = "former"
    before = str(loose)
    plans = [plan_job(check_data(job)) for job in (loose, exact)]
    assert str(loose) == before
    assert plans[0].plans[0].holes == plans[1].plans[0].holes
    assert plans[0].programs == plans[1].programs
    assert plans[0].programs[0]
