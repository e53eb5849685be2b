"""Bad pockets are refused with the place and a way out."""

from __future__ import annotations

import math
from typing import Any

import pytest
from msgspec.structs import replace

from holecam.cuts.cut_choices import Entry, EntryHole, KeepAway, SneakWish
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketRequest
from holecam.cuts.region_checks import check_chain
from holecam.errors import InputError
from holecam.shapes import Circle, Segment, circle_outline, outline_through, rectangle

SIX = MillingCutter("6 mm end mill", 6.0, flute_length=20.0)
PATCH = PocketRequest("patch", rectangle(0, 0, 60, 40), 4.0, SIX)

CASES: list[tuple[dict[str, Any], str]] = [
    (
        {"outline": outline_through([(0, 0), (40, 30), (40, 0), (0, 20)])},
        r'outline of pocket "patch" crosses itself at X 16\.000 Y 12\.000 mm, where its edges 1 and 3 meet',
    ),
    (
        {"outline": outline_through([(0, 0), (40, 0), (20, 0), (20, 30)])},
        r"crosses itself at X 20\.000 Y 0\.000 mm|crosses itself at X 40\.000 Y 0\.000 mm",
    ),
    (
        {"islands": (rectangle(0, 10, 5, 15),)},
        r'island 1 of pocket "patch" touches its wall at X 0\.000 Y 1[05]\.000 mm.*move the island off the wall',
    ),
    (
        {"islands": (rectangle(10, 10, 20, 20), circle_outline(Circle((20, 15), 4)))},
        r"island 1 and island 2 of pocket \"patch\" overlap or touch at X .* give them as one island",
    ),
    ({"islands": (rectangle(70, 10, 75, 15),)}, r"lies outside it, at X 7[05]\.000 Y 1[05]\.000 mm; move it inside"),
    ({"step_over": 0.0}, r"step-over 0\.0 mm: the cutter would never get anywhere. Give a length above zero"),
    ({"step_over": 5.9}, r"ridges would stay. Give at most 5\.700 mm"),
    ({"outline": rectangle(0, 0, 5.5, 40)}, r'"6 mm end mill" of 6\.000 mm enters nowhere. The widest .* 5\.500 mm'),
    (
        {"stock_thickness": 4.0},
        r"depth 4\.000 mm goes through the stock, 4\.000 mm. Make it shallower, or say that it goes through",
    ),
    ({"depth": 21.0}, r'cutter "6 mm end mill" reaches 20\.000 mm, the cut is 21\.000 mm deep'),
    ({"depth": 0.0}, "depth 0.0 mm: expected a length above zero"),
    ({"step_depth": -1.0}, "step-down -1.0 mm: expected a length above zero"),
    ({"through": True}, "the thickness of the stock is needed"),
    ({"finish": -0.1}, "finishing allowance -0.1 mm"),
    (
        {"keep_away": (KeepAway("nose curve", (Segment((30, -5), (30, 45)),), 28.0),)},
        r"enters nowhere with the margins that it has to keep",
    ),
    ({"entry": Entry.PLUNGE}, 'cutter "6 mm end mill" may not plunge: it does not cut on its centre'),
    ({"entry": Entry.HELIX, "outline": rectangle(0, 0, 50, 6.4)}, r"entry by helix: only 0\.200 mm of room"),
    (
        {"entry_hole": EntryHole((30, 20), 5.0)},
        r"entry hole of 5\.0 mm: narrower than the cutter, 6\.0 mm, which does not cut on its centre",
    ),
    ({"sneak": SneakWish(35.0, 2)}, r"undersize 35\.000 mm leaves 5\.000 mm.*Start at most 34\.000 mm undersize"),
    ({"clearance_z": 0.2}, "clearance height 0.2 mm: expected more than 0.5 mm above the work"),
    ({"ramp_deg": 0.0}, "ramp of 0.0 degrees"),
    (
        {"second_cutter": replace(SIX, name="other")},
        r'second cutter "other" of 6\.000 mm is not smaller than the first',
    ),
    ({"second_cutter": MillingCutter("short", 3.0, flute_length=2.0)}, r'second cutter "short" is too short'),
]


@pytest.mark.parametrize(("change", "words"), CASES)
def test_bad_input_is_named_with_place_and_remedy(change: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        plan_pocket(replace(PATCH, **change))


@pytest.mark.parametrize("value", [math.nan, math.inf, -3.0, 0.0])
def test_cutters_without_a_size_are_refused(value: float) -> None:
    with pytest.raises(InputError, match="expected a length above zero"):
        MillingCutter("x", value)


def test_wishes_that_make_no_sense_are_refused() -> None:
    with pytest.raises(InputError, match="expected a length of 0 or more"):
        KeepAway("nose", (Segment((0, 0), (1, 0)),), -1.0)
    with pytest.raises(InputError, match="at least one line or arc"):
        KeepAway("nose", (), 1.0)
    with pytest.raises(InputError, match="undersize 0"):
        SneakWish(0.0)
    with pytest.raises(InputError, match="0 steps"):
        SneakWish(0.5, 0)


@pytest.mark.parametrize("lean_deg", [0.0, 35.0, 90.0, -120.0])
def test_a_line_that_doubles_back_is_refused_and_a_sharp_turn_is_not(lean_deg: float) -> None:
    a = math.radians(lean_deg)

    def at(along: float, aside: float = 0.0) -> tuple[float, float]:
        return (along * math.cos(a) - aside * math.sin(a), along * math.sin(a) + aside * math.cos(a))

    there = Segment(at(0.0), at(10.0))
    for back, beside in ((4.0, 0.0), (-4.0, 0.0), (4.0, 5e-7), (-4.0, -5e-7), (0.0, 8e-7)):
        with pytest.raises(InputError, match=r"slot crosses itself at X .* mm, where its pieces 1 and 2 meet"):
            check_chain((there, Segment(at(10.0), at(back, beside))), "slot")
    check_chain((there, Segment(at(10.0), at(4.0, 0.01))), "slot")
    check_chain((there, Segment(at(10.0), at(16.0))), "slot")
