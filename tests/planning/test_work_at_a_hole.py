"""What is done at one hole: how deep the tap goes, what a recess takes of the thread, what a stated drill leaves."""

from __future__ import annotations

import math
from typing import Any

import pytest

from holecam.errors import InputError
from holecam.job.models import job_from_dict
from holecam.plan.finding import Severity
from holecam.plan.holes import HoleStep
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan


def plan(work: dict[str, Any], *, thickness: float | str = 12, unit: str = "mm", **more: Any) -> Plan:
    """Return the plan of one hole in the middle of a brass plate; the machine can tap."""
    data: dict[str, Any] = {
        "title": "plate",
        "unit": unit,
        "machine": {"kind": "cnc", "rigid_tapping": True, "spindle": {"slowest": 200, "fastest": 2000}},
        "tools": {"drills": ["all"]},
        "part": {"material": "brass", "thickness": thickness, "outline": {"rectangle": ["100 mm", "60 mm"]}},
        "pattern": [{"name": "hole", "points": [["50 mm", "30 mm"]], **work}],
        **more,
    }
    return make_plan(job_from_dict(data))


def told(result: Plan, code: str) -> list[str]:
    return [f.message for f in result.findings if f.code == code]


def step(result: Plan, kind: str) -> HoleStep:
    return next(s for s in result.holes[0].steps if s.kind.value == kind)


@pytest.mark.parametrize(
    ("kind", "past"),
    [
        ("taper", 3 + (10 + 1) * 1),  # male centre D/2, lead 10 threads, one thread more
        ("plug", 3 + (5 + 1) * 1),
        ("bottoming", 2 + 1),  # no male centre
    ],
)
def test_a_tap_goes_through_by_its_male_centre_too(kind: str, past: float) -> None:
    """Without the D/2 of the centre the last threads were not cut, and the tap met what lay under the part."""
    work = {"thread": "M6", "tap": {"tap": kind}}
    assert step(plan(work), "tap").tip_depth == pytest.approx(12 + past)
    assert "meets-table" in [f.code for f in plan(work, setup={"clearance_under": past - 0.01}).findings]
    assert "meets-table" not in [f.code for f in plan(work, setup={"clearance_under": past + 0.01}).findings]


def test_large_taps_have_no_male_centre() -> None:
    assert step(plan({"thread": "M10"}), "tap").tip_depth == pytest.approx(12 + (5 + 1) * 1.5)


def test_a_stated_drill_does_not_silence_what_there_is_to_say_of_the_thread() -> None:
    thin = {"thread": "M6", "thickness": 1.5}
    chosen, stated = plan(thin), plan({**thin, "tap": {"drill": "5.0 mm"}})
    assert len(told(chosen, "tap-drill")) == 2
    assert told(stated, "tap-drill") == told(chosen, "tap-drill")
    assert told(plan({"thread": "M6", "tap": {"drill": "5.0 mm"}}), "tap-drill") == []


def test_a_stated_drill_that_breaks_taps_or_strips_is_told() -> None:
    """M6: 100 (6 - 4.5) / (1.299038 x 1) = 115 percent; with 5.8 mm 15 percent."""
    (tight,) = told(plan({"thread": "M6", "tap": {"drill": "4.5 mm"}}), "tap-drill")
    assert "115 % of thread; above 83 % it only breaks taps" in tight
    (loose,) = told(plan({"thread": "M6", "tap": {"drill": "5.8 mm"}}), "tap-drill")
    assert "15 % of thread; below 50 % it may strip" in loose


def test_the_thread_that_a_counterbore_takes_away_holds_nothing() -> None:
    deep = {"thread": "M6", "thickness": 10, "counterbore": {"diameter": 11, "depth": 8.5}}
    assert any("only 1.5 threads in 1.5 mm" in text for text in told(plan(deep), "tap-drill"))
    blind = {"thread": "M6", "depth": {"full_thread": 6}, "counterbore": {"diameter": 11, "depth": 4}}
    assert any("only 2.0 threads in 2 mm" in text for text in told(plan(blind), "tap-drill"))
    with pytest.raises(InputError, match=r"thread away down to 6\.000 mm, and full thread reaches to 6\.000 mm"):
        plan({**blind, "counterbore": {"diameter": 11, "depth": 6}})


def test_a_cone_takes_the_thread_where_it_is_wider_than_the_thread() -> None:
    """90 degrees, 12 mm at the face: 6 mm wide at 3 mm down, where the thread of M6 begins to be whole."""
    cone = {"thread": "M6", "thickness": 5.9, "countersink": {"diameter": 12, "angle_deg": 90}}
    assert any("only 2.9 threads in 2.9 mm" in text for text in told(plan(cone), "tap-drill"))
    chamfer = {"thread": "M6", "thickness": 10, "countersink": {"diameter": 6.2}}
    assert told(plan(chamfer), "tap-drill") == []


@pytest.mark.parametrize("screw", ["1/4 BSW", "1/4 BSF", "2 BA", "1/4 x 40 ME", "M6", "1/4-20"])
def test_a_countersink_by_its_diameter_has_the_angle_of_the_heads_of_its_screw(screw: str) -> None:
    """British countersunk heads have 90 degrees like metric ones (common practice), unified ones 82 (ASME B18.6.3)."""
    for cone in ("flat", {"diameter": 15}):
        sunk = step(plan({"clearance_for": screw, "countersink": cone}), "countersink")
        angle = 82 if screw == "1/4-20" else 90
        assert sunk.tip_depth == pytest.approx(sunk.diameter / 2 / math.tan(math.radians(angle / 2)))


@pytest.mark.parametrize(
    ("drill", "thickness"), [("2.6 mm", "3/8 in"), ("4.0 mm", "3/8 in"), ("1.3 mm", "3/16 in"), ("4.0 mm", "6 mm")]
)
def test_a_bottom_of_nought_that_was_asked_for_is_not_told_as_broken_through(drill: str, thickness: str) -> None:
    """The sum of cylinder and point is some 1e-15 mm more than the thickness with the first three."""
    result = plan({"drill": drill, "depth": {"leave_bottom": 0}}, thickness=thickness)
    assert not [f for f in result.findings if f.severity is Severity.STOP]


def test_a_flat_head_without_a_countersink_stands_on_the_face() -> None:
    """ISO 2009 M5: sharp edge 10.4 mm; 5 mm from the edge it hangs 0.2 mm over."""
    place = {"points": [["5 mm", "30 mm"]], "clearance_for": "M5", "head": "flat"}
    (over,) = told(plan(place), "head-overhang")
    assert "0.200 mm over the edge" in over
    assert told(plan({**place, "countersink": "flat"}), "head-overhang") == []


def test_speeds_and_feeds_are_traced_in_the_unit_of_the_job() -> None:
    for unit, value in (("in", "50.00 in a minute"), ("mm", "1270.0 mm a minute")):
        result = plan({"thread": "1/4-20"}, unit=unit, thickness="1/4 in", machine={"rigid_tapping": True, **SLOW})
        (figure,) = (f for f in result.figures if f.about.endswith("tap") and f.name == "speed and feed")
        assert figure.value == f"1000 turns a minute, {value}"


SLOW: dict[str, Any] = {"spindle": {"slowest": 100, "fastest": 1000}}


def test_the_drills_that_a_thread_takes_are_told_in_one_unit() -> None:
    """6-32: D - 0.83 x 1.299038 P = 0.1043 in, D - 0.50 x 1.299038 P = 0.1177 in."""
    with pytest.raises(InputError, match=r"take a drill of 0\.1043 to 0\.1177 in\. The nearest owned are #40"):
        plan({"thread": "6-32"}, unit="in", thickness=0.25, tools={"drills": ["#40"]})


def test_a_hexagon_in_a_recess_needs_room_for_its_spanner() -> None:
    """M6: 10 mm across flats, 11.547 across corners, and 0.5 mm room: the next tool, 12.5 mm, lets no socket in."""
    tight = plan({"clearance_for": "M6", "counterbore": "hex"}, thickness=14)
    assert step(tight, "counterbore").diameter == pytest.approx(12.5)
    (words,) = told(tight, "no-room-for-spanner")
    assert "takes the hexagon of M6 but no socket spanner" in words
    roomy = plan({"clearance_for": "M6", "counterbore": {"head": "hex", "diameter": 18}}, thickness=14)
    assert told(roomy, "no-room-for-spanner") == []
    assert step(roomy, "counterbore").full_depth == pytest.approx(4.0)
    assert told(plan({"clearance_for": "M6", "counterbore": "pan"}, thickness=14), "no-room-for-spanner") == []


def test_a_recess_without_a_table_is_rounded_up_to_a_tool_that_there_is() -> None:
    metric = step(plan({"clearance_for": "M5", "counterbore": "cheese"}), "counterbore").diameter
    assert metric * 2 == pytest.approx(round(metric * 2))
    inch = step(
        plan({"clearance_for": "10-32", "counterbore": "pan"}, unit="in", thickness=0.5), "counterbore"
    ).diameter
    assert inch / 25.4 * 32 == pytest.approx(round(inch / 25.4 * 32))
    stated = plan({"clearance_for": "M5", "counterbore": {"head": "cheese", "diameter": 10.2}})
    assert step(stated, "counterbore").diameter == pytest.approx(10.2)


def test_a_flat_head_sits_in_no_flat_recess() -> None:
    with pytest.raises(InputError, match='write countersink = "flat"'):
        plan({"clearance_for": "M6", "counterbore": "flat"})
    own = plan({"clearance_for": "M6", "counterbore": {"head": "flat", "diameter": 13, "depth": 3}})
    assert step(own, "counterbore").diameter == pytest.approx(13.0)
