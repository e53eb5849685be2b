"""The mirrored part of a pair gets the mirror image of every overcut, at the corners that the job names."""

from __future__ import annotations

import pytest

from holecam.job.reader import check_data
from holecam.planning.plan_job import make_plans


@pytest.mark.parametrize("shape", ["diagonal", "along one wall", "longer wall"])
@pytest.mark.parametrize("corners", [[1], [2, 3], []])
@pytest.mark.parametrize("flip", ["x", "y"])
def test_overcuts_of_the_other_hand(shape: str, corners: list[int], flip: str) -> None:
    """A pocket of 60 x 30 from 10, 10: corner 1 is the lower left one, and lies at -10, 10 on the part seen in x."""
    job = {
        "title": "invented former",
        "unit": "mm",
        "hand": "left as fitted",
        "machine": {"kind": "cnc", "safe_height": 10},
        "tools": {
            "drills": ["metric"],
            "end_mills": [{"name": "6 mm end mill", "diameter": 6, "flute_length": 16}],
        },
        "part": {"material": "beech", "thickness": 20, "outline": {"rectangle": [100, 60]}},
        "other_hand": {"hand": "right as fitted", "flip": flip},
        "pocket": [
            {
                "name": "patch",
                "rectangle": [60, 30],
                "at": [10, 10],
                "depth": 4,
                "cutter": "6 mm end mill",
                "relief": {"shape": shape, "corners": corners},
            }
        ],
    }
    given, other = make_plans(check_data(job))
    sign_x, sign_y = (-1.0, 1.0) if flip == "x" else (1.0, -1.0)
    (left,), (right,) = given.cuts, other.cuts
    there = {(o.corner, o.center) for o in right.view.overcuts}
    expected = [
        ((sign_x * o.corner[0], sign_y * o.corner[1]), (sign_x * o.center[0], sign_y * o.center[1]))
        for o in left.view.overcuts
    ]
    assert len(there) == len(expected) == (len(corners) or 4)
    if corners == [1]:
        assert left.view.overcuts[0].corner == pytest.approx((10, 10))
    for corner, center in expected:
        assert any(c == pytest.approx(corner, abs=1e-9) and m == pytest.approx(center, abs=1e-9) for c, m in there), (
            corner,
            center,
            there,
        )
