"""Which cutter is taken and what is said of each, with areas, counts and minutes worked out by hand."""

from __future__ import annotations

import math

import pytest

from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.cutter_choice import choose_cutter
from holecam.cuts.cutters import MillingCutter
from holecam.errors import InputError
from holecam.shapes import Arc, Outline, Segment, outline_through, rectangle

BOX = rectangle(0, 0, 60, 40)
SHARE = 1 - math.pi / 4
"""Of the square of the radius: what stays in a square corner."""


def mill(diameter: float, **more: float) -> MillingCutter:
    return MillingCutter(f"{diameter:g} mm mill", diameter, **more)  # type: ignore[arg-type]


def minutes(diameter: float, rate: float) -> float:
    """The centre covers its room in rows 0.4 D apart and goes once round."""
    wide, high = 60 - diameter, 40 - diameter
    return (wide * high / (0.4 * diameter) + 2 * (wide + high)) / rate


def test_the_largest_that_gets_everywhere_and_a_second_for_half_of_what_it_leaves() -> None:
    """10 mm leaves 4 x 0.2146 x 25 = 21.46 mm2; a second may leave half: R up to 3.536 mm."""
    cutters = [mill(7.2), mill(7.0), mill(10.0), mill(3.0)]
    choice = choose_cutter(BOX, cutters, what="patch", depth=4.0)
    assert (choice.best, choice.second) == (cutters[2], cutters[1])
    assert [v.cutter for v in choice.verdicts] == cutters
    for verdict in choice.verdicts:
        d = verdict.cutter.diameter
        assert verdict.fits
        assert verdict.left_area == pytest.approx(4 * SHARE * d * d / 4)
        assert (verdict.corners, verdict.narrow_places) == (4, 0)
        assert verdict.minutes == pytest.approx(minutes(d, 100.0 * d))
    ratio = [minutes(d, 100 * d) / minutes(10.0, 1000.0) for d in (7.2, 7.0, 10.0, 3.0)]
    assert [v.reason for v in choice.verdicts] == [
        f'"7.2 mm mill" leaves 11.12 mm2 in 4 inside corners: smaller than needed, about {ratio[0]:.1f} times as long',
        '"7 mm mill" leaves 10.52 mm2 in 4 inside corners: for what the first one leaves',
        '"10 mm mill" leaves 21.46 mm2 in 4 inside corners: taken, the largest that gets everywhere',
        f'"3 mm mill" leaves 1.93 mm2 in 4 inside corners: smaller than needed, about {ratio[3]:.1f} times as long',
    ]
    fed = choose_cutter(BOX, cutters, what="patch", depth=4.0, feed=lambda c: 50.0 * c.diameter)
    assert fed.verdicts[0].minutes == pytest.approx(2 * choice.verdicts[0].minutes)


def test_a_radius_that_corners_may_have_bounds_the_cutter_where_one_is_small_enough() -> None:
    cutters = [mill(6.0), mill(8.0), mill(8.1)]
    for radius, best in ((4.0, 1), (4.05, 2), (3.99, 0), (2.0, 2)):
        choice = choose_cutter(BOX, cutters, what="patch", depth=4.0, corner_radius=radius)
        assert choice.best is cutters[best], radius
    assert choose_cutter(BOX, cutters, what="patch", depth=4.0).best is cutters[2]


FLASK = outline_through([(0, 0), (40, 0), (40, 30), (22, 30), (22, 36), (17, 36), (17, 30), (0, 30)])
"""A niche 5 mm wide and 6 mm deep in one wall."""


def test_cutters_that_do_not_get_everywhere_are_told_and_the_least_is_left() -> None:
    both = choose_cutter(FLASK, [mill(6.0), mill(4.0)], what="flask", depth=1.0)
    assert both.best.diameter == 4.0
    six, four = both.verdicts
    assert (six.narrow_places, six.corners) == (1, 4)
    assert (four.narrow_places, four.corners) == (0, 6)
    # 6 mm stops at the mouth: its rim bulges in by 3 - sqrt(9 - 6.25)
    rim = math.asin(2.5 / 3.0) * 9.0 - 2.5 * math.sqrt(9 - 6.25)
    assert six.left_area == pytest.approx(30.0 - rim + 4 * SHARE * 9.0)
    assert six.reason.endswith("mm2 in 4 inside corners and 1 narrow place(s): does not get everywhere")
    assert four.reason.endswith("in 6 inside corners: taken, the largest that gets everywhere")
    assert both.second is None
    alone = choose_cutter(FLASK, [mill(8.0), mill(6.0), mill(6.0)], what="flask", depth=1.0)
    assert (alone.best.diameter, alone.second) == (6.0, None)
    assert alone.verdicts[1].reason.endswith("1 narrow place(s): taken, it leaves least")
    assert "taken" not in alone.verdicts[0].reason + alone.verdicts[2].reason


def test_one_corner_is_one_corner() -> None:
    """A disc of 20 mm with a square tip."""
    half = 10.0 * math.sqrt(0.5)
    drop = Outline(
        (
            Arc((half, half), (half, -half), (0.0, 0.0), True),
            Segment((half, -half), (2 * half, 0.0)),
            Segment((2 * half, 0.0), (half, half)),
        )
    )
    (verdict,) = choose_cutter(drop, [mill(6.0)], what="drop", depth=1.0).verdicts
    assert verdict.reason.startswith('"6 mm mill" leaves 1.93 mm2 in 1 inside corner:')
    smooth = choose_cutter(rectangle(0, 0, 30, 20, corner_radius=4), [mill(6.0), mill(2.0)], what="s", depth=1.0)
    assert smooth.verdicts[0].left_area == pytest.approx(0.0, abs=1e-6)
    assert smooth.verdicts[0].reason.startswith('"6 mm mill" leaves 0.00 mm2 in 0 inside corners:')
    assert smooth.second is None, "nothing is left for a second one"


def test_cutters_that_cannot_be_used_are_told_why() -> None:
    with pytest.raises(InputError, match=r"^patch: no cutter is listed; add one$") as told:
        choose_cutter(BOX, [], what="patch", depth=4.0)
    assert told.value.key == "cutter"
    with pytest.raises(InputError) as told:
        choose_cutter(BOX, [mill(50.0), mill(6.0, flute_length=3.0)], what="patch", depth=4.0)
    assert str(told.value) == (
        'patch: none of the cutters can cut it: "50 mm mill" of 50.000 mm does not enter; "6 mm mill" is too short for '
        "a depth of 4.000 mm. Add a smaller or longer one."
    )
    assert told.value.key == "cutter"
    choice = choose_cutter(BOX, [mill(50.0), mill(6.0, flute_length=3.0), mill(5.0)], what="patch", depth=4.0)
    wide, short, _ = choice.verdicts
    assert (wide.fits, wide.left_area, wide.corners, wide.minutes) == (False, 2400.0, 0, 0.0)
    assert (short.fits, short.left_area, short.narrow_places, short.minutes) == (False, 0.0, 0, 0.0)
    assert choice.best.diameter == 5.0


def test_islands_and_kept_curves_bound_what_a_cutter_leaves() -> None:
    """An island 5 mm from the wall shuts 6 mm out; a kept line makes four corners more, at its margin."""
    near = choose_cutter(BOX, [mill(6.0)], what="p", depth=1.0, islands=(rectangle(5, 15, 15, 25),)).verdicts[0]
    assert near.narrow_places == 1
    line = KeepAway("line", (Segment((30, -3), (30, 43)),), 1.0)
    parted = choose_cutter(BOX, [mill(6.0)], what="p", depth=1.0, keep_away=(line,)).verdicts[0]
    assert (parted.corners, parted.narrow_places) == (8, 0)
    assert parted.left_area == pytest.approx(8 * SHARE * 9.0, abs=1e-3)
