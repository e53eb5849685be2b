"""Whether the strokes of the last pass run toward where the sheet is held, wherever they lie and whichever way."""

from __future__ import annotations

import math

import pytest

from holecam.cuts.cut_choices import Direction
from holecam.cuts.step_down_direction import direction_notes
from holecam.cuts.step_down_strokes import Stroke
from holecam.shapes import Segment

CONVENTIONAL = Direction.CONVENTIONAL


def stroke(start: tuple[float, float], end: tuple[float, float], **metal: bool) -> Stroke:
    return Stroke((), (Segment(start, end),), (), 3.0, **metal)


@pytest.mark.parametrize("at", [(0.0, 0.0), (100.0, 40.0), (-100.0, -40.0), (5.0, -80.0)])
@pytest.mark.parametrize("run_deg", [0.0, 90.0, 180.0, -90.0, 35.0, 200.0])
@pytest.mark.parametrize("lean_deg", [0.0, 60.0, -60.0, 120.0, -120.0, 180.0])
def test_toward_the_clamp_means_within_a_right_angle_of_it(
    at: tuple[float, float], run_deg: float, lean_deg: float
) -> None:
    a = math.radians(run_deg)
    end = (at[0] + 30.0 * math.cos(a), at[1] + 30.0 * math.sin(a))
    # A short stroke the other way does not count: the longest one tells
    strokes = [stroke((1.0, 1.0), (0.0, 0.0)), stroke(at, end)]
    (note,) = direction_notes(
        strokes, bends=(), direction=Direction.CONVENTIONAL, clamped_toward_deg=run_deg + lean_deg
    )
    toward = abs(lean_deg) < 90.0
    assert note.code == ("runs-toward-clamp" if toward else "runs-from-clamp")
    assert note.good is toward


def test_notes_on_bends_and_corners() -> None:
    plain, ends, starts = (
        stroke((0, 0), (9, 0)),
        stroke((0, 1), (9, 1), ends_in_metal=True),
        stroke((0, 2), (9, 2), starts_in_metal=True),
    )

    def codes(
        *strokes: Stroke, bends: tuple[str, ...] = (), direction: Direction = Direction.CONVENTIONAL
    ) -> list[str]:
        return [n.code for n in direction_notes(strokes, bends=bends, direction=direction, clamped_toward_deg=None)]

    assert codes(plain) == []
    assert codes(plain, ends) == codes(plain, starts) == ["strokes-end-in-corner"]
    assert codes(plain, bends=("front",)) == ["pushes-off-bend"]
    assert codes(plain, bends=("front",), direction=Direction.CLIMB) == ["pushes-toward-bend"]
    assert codes(plain, bends=("front", "side")) == ["pushes-off-bend", "strokes-end-at-bend"]
    assert direction_notes((), bends=(), direction=Direction.CLIMB, clamped_toward_deg=90.0) == ()
