"""Jobs with slots and pockets of many kinds, invented, for the tests of their pictures."""

from __future__ import annotations

from typing import Any

from holecam.job.models import job_from_dict
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan

MILLS = [
    {"name": "10 end mill", "diameter": "10", "flute_length": "30"},
    {"name": "6 end mill", "diameter": "6", "flute_length": "20"},
    {"name": "3 end mill", "diameter": "3", "flute_length": "12"},
]

TRAY = {
    "name": "tray",
    "points": [
        [10, 10],
        [110, 10],
        [110, 40],
        [80, 40],
        [80, 70],
        [60, 62],
        [40, 75],
        [10, 60],
    ],
    "depth": 6,
    "cutter": "10 end mill",
    "second_cutter": "3 end mill",
    "island": [{"circle": 12, "centre": [50, 38]}, {"rectangle": [14, 6], "centre": [90, 24]}],
}

ARC = {
    "name": "arc",
    "path": [
        [120, 12],
        [135, 12],
        {"arc_to": [150, 27], "centre": [135, 27], "turn": "left"},
        [150, 45],
    ],
    "width": 8,
    "depth": 5,
    "ends": ["blind", "blind"],
    "cutter": "6 end mill",
}

OPEN = {
    "name": "open",
    "from": [0, 82],
    "to": [40, 90],
    "width": 10,
    "depth": 5,
    "ends": ["open", "blind"],
    "cutter": "6 end mill",
    "sneak": {"undersize": "0.4", "steps": 2},
}

RELIEVED = {
    "name": "square",
    "rectangle": [40, 24],
    "at": [112, 52],
    "depth": 4,
    "cutter": "6 end mill",
    "relief": {"shape": "diagonal"},
}

RIB = {"name": "rib", "kind": "curve", "line": [[70, 95], [120, 80], [155, 80]], "margin": 2}


def cut_plan(**tables: Any) -> Plan:
    """Return the plan of a plate of 160 x 100 mm with these tables in its job."""
    data: dict[str, Any] = {
        "title": "cuts",
        "unit": "mm",
        "hand": "as drawn",
        "machine": {"kind": "cnc", "readout": "0.005"},
        "tools": {"end_mills": MILLS},
        "part": {
            "material": "aluminium",
            "thickness": 12,
            "datum": "lower left corner",
            "outline": {"rectangle": [160, 100]},
        },
    }
    data.update(tables)
    return make_plan(job_from_dict(data))
