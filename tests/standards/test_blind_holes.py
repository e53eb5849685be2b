"""Blind holes: published worked depth, drill points by geometry, and the two functions against each other."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.standards.blind_holes import (
    MALE_CENTRE_LARGEST,
    below_thread,
    blind_hole,
    deepest_hole,
    has_male_centre,
    point_length,
)
from holecam.standards.tap_leads import all_tap_leads, tap_lead
from holecam.standards.thread_names import parse_thread


@pytest.mark.outside_check(
    subject="depth of a blind hole",
    source="technical note of a tap supplier: 1/4-20, 3/8 in of thread, chamfer of 2 threads: 0.525 in",
    closeness="exact",
    standing="published",
)
def test_worked_depth_of_the_source() -> None:
    """Tap supplier's technical note: 1/4-20, 3/8 in of thread, chamfer of 2 threads, 1 of clearance: 0.525 in."""
    thread = parse_thread("1/4-20")
    below = below_thread(thread, lead_pitches=2)
    hole = blind_hole(thread, full_thread=0.375 * 25.4, drill=0.201 * 25.4, below=below)
    assert hole.cylinder / 25.4 == pytest.approx(0.525, abs=1e-12)
    assert hole.threads == pytest.approx(7.5)
    assert hole.tip - hole.cylinder == pytest.approx(0.3004 * 0.201 * 25.4, abs=0.001)


@pytest.mark.outside_check(
    subject="drill point",
    source="the triangle of the point; handbook factors 0.3004 and 0.2071",
    closeness="0.00005 of the diameter",
    standing="mathematics",
)
@pytest.mark.parametrize(("angle", "factor"), [(118, 0.3004), (135, 0.2071), (90, 0.5), (120, 0.2887), (180, 0.0)])
def test_point_length(angle: float, factor: float) -> None:
    """Handbook: 118 degrees 0.3004 d, 135 degrees 0.2071 d; 90 and 120 degrees from the triangle."""
    assert point_length(10.0, point_deg=angle) == pytest.approx(10 * factor, abs=0.0005)


@pytest.mark.outside_check(
    subject="table tap_leads",
    source="US Army TM 9-254 par. 4-27: taper 7 to 10, plug 3 to 5, bottoming 1 to 2 threads",
    closeness="exact",
    standing="published",
)
@pytest.mark.parametrize(
    ("name", "least", "most"),
    [("taper", 7, 10), ("plug", 3, 5), ("bottoming", 1, 2)],
)
def test_tap_leads(name: str, least: float, most: float) -> None:
    """US Army TM 9-254 par. 4-27: taper 7 to 10, plug 3 to 5, bottoming 1 to 2 threads."""
    lead = tap_lead(f"{name} tap")
    assert (lead.least_pitches, lead.most_pitches) == (least, most)


def test_tap_words_and_centres() -> None:
    assert tap_lead("second tap").name == "plug"
    assert len(all_tap_leads()) == 3
    with pytest.raises(InputError, match='tap "gun" is not known'):
        tap_lead("gun")
    assert has_male_centre(parse_thread("3/8-16"), male_centre_d=0.5)
    assert parse_thread("3/8-16").major == pytest.approx(MALE_CENTRE_LARGEST)
    assert not has_male_centre(parse_thread("7/16-14"), male_centre_d=0.5)
    assert not has_male_centre(parse_thread("6-32"), male_centre_d=tap_lead("bottoming").male_centre_d)


def test_what_lies_below_the_thread_adds_up() -> None:
    thread = parse_thread("M4")
    assert below_thread(thread, lead_pitches=5) == pytest.approx(6 * 0.7)
    assert below_thread(thread, lead_pitches=5, male_centre=True) == pytest.approx(6 * 0.7 + 2)
    assert below_thread(thread, lead_pitches=5, chips_stay=True) == pytest.approx(6 * 0.7 + 4)
    assert below_thread(thread, lead_pitches=0, clearance_pitches=0) == 0


def test_bottom_is_measured_from_the_tip_and_goes_negative_when_the_drill_comes_through() -> None:
    thread = parse_thread("M4")
    hole = blind_hole(thread, full_thread=5.0, drill=3.3, below=2.1, thickness=8.0)
    assert hole.bottom == pytest.approx(8.0 - 7.1 - point_length(3.3))
    through = blind_hole(thread, full_thread=5.0, drill=3.3, below=2.1, thickness=7.5)
    assert through.bottom is not None
    assert through.bottom < 0


def test_a_bar_over_thin_sheet_keeps_its_bottom() -> None:
    """A bar of 3/16 in soldered on thin sheet, 6-32, bottoming tap: what remains above 1 mm, by hand."""
    thread = parse_thread("6-32")
    drill = 0.1065 * 25.4
    below = below_thread(thread, lead_pitches=2)
    hole = deepest_hole(thread, thickness=4.7625, bottom=1.0, drill=drill, below=below)
    assert hole.tip == pytest.approx(3.7625)
    assert hole.cylinder == pytest.approx(3.7625 - drill / 2 / math.tan(math.radians(59)))
    assert hole.full_thread == pytest.approx(hole.cylinder - 3 * 25.4 / 32)
    assert hole.why_none == ""


def test_when_no_thread_remains_the_reason_is_given() -> None:
    thread = parse_thread("M6")
    shallow = deepest_hole(thread, thickness=3.0, bottom=1.0, drill=5.0, below=3.0)
    assert shallow.threads == 0
    assert shallow.why_none == "the cylinder is 0.498 mm deep, the tap takes 3 mm below its last full thread"
    point_only = deepest_hole(thread, thickness=2.0, bottom=1.0, drill=5.0, below=3.0)
    assert point_only.cylinder == 0
    assert point_only.tip == pytest.approx(1.0)
    assert point_only.why_none == "the point of the drill alone is 1.5 mm long, 1 mm may be drilled"


@settings(max_examples=200, deadline=None)
@given(
    name=st.sampled_from(["0-80", "6-32", "1/4-20", "M3", "M8", "2 BA"]),
    thickness=st.floats(1, 60),
    share=st.floats(0, 0.95),
    drill_share=st.floats(0.7, 0.9),
    angle=st.floats(90, 150),
    lead=st.floats(0, 10),
)
def test_the_deepest_hole_is_the_blind_hole_for_its_own_thread(
    name: str, thickness: float, share: float, drill_share: float, angle: float, lead: float
) -> None:
    """Both functions are inverse: drilling for the thread that remains leaves exactly the stated bottom, never less."""
    thread = parse_thread(name)
    drill, bottom = thread.major * drill_share, thickness * share
    below = below_thread(thread, lead_pitches=lead)
    deepest = deepest_hole(thread, thickness=thickness, bottom=bottom, drill=drill, below=below, point_deg=angle)
    assert thickness - deepest.tip >= bottom - 1e-12
    assert deepest.tip >= deepest.cylinder
    if deepest.full_thread > 0:
        again = blind_hole(
            thread, full_thread=deepest.full_thread, drill=drill, below=below, point_deg=angle, thickness=thickness
        )
        assert again.bottom == pytest.approx(bottom, abs=1e-9)
        assert again.cylinder == pytest.approx(deepest.cylinder, abs=1e-9)
    else:
        assert deepest.why_none


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"thickness": 0.0}, "thickness 0 mm: expected a positive length"),
        ({"bottom": -0.1}, r"bottom -0\.1 mm: expected zero or a positive length"),
        ({"bottom": 8.0}, "bottom 8 mm: expected less than the thickness, 8 mm; there is nothing to drill"),
        ({"drill": float("nan")}, "drill nan mm: expected a positive diameter"),
        ({"below": float("inf")}, "length below the thread inf mm"),
        ({"point_deg": 10.0}, "drill point 10 deg: expected an included angle of 30 to 180"),
        ({"point_deg": float("nan")}, "drill point nan deg"),
    ],
)
def test_wrong_lengths_are_refused(change: dict[str, float], message: str) -> None:
    sizes = {"thickness": 8.0, "bottom": 1.0, "drill": 3.3, "below": 2.0} | change
    with pytest.raises(InputError, match=message):
        deepest_hole(parse_thread("M4"), **sizes)


def test_blind_hole_and_below_refuse_what_is_no_length() -> None:
    thread = parse_thread("M4")
    with pytest.raises(InputError, match="full thread 0 mm: expected a positive length"):
        blind_hole(thread, full_thread=0, drill=3.3, below=1)
    with pytest.raises(InputError, match="lead_pitches -1: expected a number of pitches"):
        below_thread(thread, lead_pitches=-1)
    with pytest.raises(InputError, match="clearance_pitches nan"):
        below_thread(thread, lead_pitches=1, clearance_pitches=math.nan)
