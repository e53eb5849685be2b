"""What stands round a cut: the nearest wall, the bottom under it, and how near it comes to what is kept."""

from __future__ import annotations

import pytest

from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.wall_report import wall_report
from holecam.shapes import Segment, rectangle

BLOCK = rectangle(0, 0, 60, 20)
# The centre of a 6 mm cutter goes from 10 to 40, 8 mm above the lower edge
WAY = [Segment((10.0, 8.0), (40.0, 8.0)), Segment((40.0, 8.0), (10.0, 8.0))]


def test_the_thinnest_wall_counts_from_the_rim() -> None:
    """8 mm less the radius of 3 leaves 5 under the way; 12 - 3 = 9 above it."""
    report = wall_report(WAY, 3.0, body=BLOCK, depth=4.0, stock_thickness=6.0, through=False)
    assert report.thinnest_wall == pytest.approx(5.0)
    assert report.wall_at is not None
    assert report.wall_at[1] == 0.0
    assert report.wall_from == pytest.approx((report.wall_at[0], 5.0))
    assert report.bottom == pytest.approx(2.0)
    lower = [c for c in BLOCK.curves if c.start[1] == c.end[1] == 0.0]
    opened = wall_report(WAY, 3.0, body=BLOCK, opened=lower, depth=4.0, stock_thickness=None, through=False)
    assert opened.thinnest_wall == pytest.approx(7.0), "the left end is next: 10 - 3"
    assert opened.bottom is None


def test_where_no_wall_stands_none_is_told() -> None:
    for report in (
        wall_report(WAY, 3.0, body=None, depth=4.0, stock_thickness=6.0, through=True),
        wall_report(WAY, 3.0, body=BLOCK, opened=BLOCK.curves, depth=4.0, stock_thickness=6.0, through=True),
        wall_report([], 3.0, body=BLOCK, depth=4.0, stock_thickness=6.0, through=True),
    ):
        assert (report.thinnest_wall, report.wall_at, report.wall_from) == (None, None, None)
        assert report.bottom == 0.0


def test_what_is_kept_is_told_with_its_name_and_distance() -> None:
    keep = (
        KeepAway("nose", (Segment((50.0, 0.0), (50.0, 20.0)),), 1.0),
        KeepAway("rib", (Segment((0.0, 19.0), (60.0, 19.0)), Segment((0.0, 14.0), (9.0, 14.0))), 1.0),
    )
    report = wall_report(WAY, 3.0, body=None, depth=4.0, stock_thickness=None, through=False, kept=keep)
    (nose, to_nose, at_nose), (rib, to_rib, _) = report.to_kept
    assert (nose, rib) == ("nose", "rib")
    assert to_nose == pytest.approx(50 - 40 - 3.0)
    assert at_nose == pytest.approx((50.0, 8.0))
    assert to_rib == pytest.approx((6.0**2 + 1.0**2) ** 0.5 - 3.0)
    assert report.kept_from[0] == pytest.approx((43.0, 8.0))
