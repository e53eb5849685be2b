"""The play of one screw: clearance, slots, threads, countersunk heads and leaning threads."""

from __future__ import annotations

import math

import pytest

from holecam.errors import InputError
from holecam.layout.bolt_up_play import (
    SEAT_TOLERANCE,
    CountersunkHole,
    RoundHole,
    ScrewPlay,
    SlottedHole,
    TappedHole,
    screw_play,
)


@pytest.mark.outside_check(
    subject="play of a screw",
    source="ISO 273 fine, medium, coarse, three reprints: radial play (H - D) / 2",
    closeness="exact",
    standing="published",
)
@pytest.mark.parametrize(
    ("screw", "hole", "play"),
    [  # ISO 273, fine / medium / coarse, radial play (H - D) / 2
        (3.0, 3.2, 0.10),
        (3.0, 3.4, 0.20),
        (3.0, 3.6, 0.30),
        (4.0, 4.5, 0.25),
        (5.0, 5.8, 0.40),
        (6.0, 6.6, 0.30),
        (8.0, 9.0, 0.50),
        (8.0, 10.0, 1.00),
    ],
)
def test_clearance_over_a_thread_gives_half_the_difference(screw: float, hole: float, play: float) -> None:
    assert screw_play(part=RoundHole(hole), mate=TappedHole(), screw=screw).play == pytest.approx(play, abs=1e-12)
    assert screw_play(part=TappedHole(), mate=RoundHole(hole), screw=screw).play == pytest.approx(play, abs=1e-12)


def test_clearance_on_both_sides_adds_up() -> None:
    answer = screw_play(part=RoundHole(4.5), mate=RoundHole(4.8), screw=4.0)
    assert answer.play == pytest.approx(0.65)
    assert math.fsum(term.amount for term in answer.terms) == answer.play


@pytest.mark.outside_check(
    subject="play of a screw",
    source="hand tapping leans 1 to 2 degrees: 0.05 to 0.10 mm over 3 mm",
    closeness="0.01 mm",
    standing="common practice",
)
def test_leaning_thread_takes_play_over_the_plate() -> None:
    # practice: hand tapping leans 1 to 2 deg (common practice), 3 mm plate takes 0.05 to 0.10 mm
    taken = [
        screw_play(part=RoundHole(4.5), mate=TappedHole(lean), screw=4.0, plate_thickness=3.0).terms[-1].amount
        for lean in (1.0, 2.0)
    ]
    assert taken == [pytest.approx(-0.0524, abs=5e-5), pytest.approx(-0.1048, abs=5e-5)]
    assert screw_play(part=RoundHole(4.5), mate=TappedHole(2.0), screw=4.0).play == 0.25


def test_countersunk_head_over_a_thread_has_only_its_seat() -> None:
    assert screw_play(part=CountersunkHole(), mate=TappedHole(), screw=4.0).play == SEAT_TOLERANCE
    leaning = screw_play(part=CountersunkHole(0.05), mate=TappedHole(2.0), screw=4.0, plate_thickness=3.0)
    assert leaning.play < 0.0
    # a nut below: the clearance of the other hole is all there is, the seat adds nothing
    assert screw_play(part=CountersunkHole(), mate=RoundHole(4.5), screw=4.0).play == 0.25


def test_slot_gives_its_width_as_play_and_its_length_as_freedom() -> None:
    answer = screw_play(part=SlottedHole(4.5, 10.5, 30.0), mate=TappedHole(), screw=4.0)
    assert (answer.play, answer.slot_half_length, answer.slot_direction_deg) == (0.25, 3.0, 30.0)
    assert answer.slot_member == "part"
    assert screw_play(part=SlottedHole(4.5, 4.5), mate=TappedHole(), screw=4.0).slot_member is None


@pytest.mark.parametrize(
    ("part", "mate", "words"),
    [
        (TappedHole(), TappedHole(), "hold the pieces apart"),
        (CountersunkHole(), CountersunkHole(), "one head"),
        (SlottedHole(4.5, 9.0), SlottedHole(4.5, 9.0), "slots in both members"),
    ],
)
def test_impossible_joints_are_refused(part: object, mate: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        screw_play(part=part, mate=mate, screw=4.0)  # type: ignore[arg-type]


def test_bad_figures_are_refused() -> None:
    with pytest.raises(InputError, match="hole diameter nan mm"):
        RoundHole(math.nan)
    with pytest.raises(InputError, match="length is measured over both ends"):
        SlottedHole(5.0, 4.0)
    with pytest.raises(InputError, match="expected a finite angle"):
        SlottedHole(5.0, 6.0, math.inf)
    with pytest.raises(InputError, match="slot width 0 mm"):
        SlottedHole(0, 4.0)
    with pytest.raises(InputError, match="lean 60 deg"):
        TappedHole(60)
    with pytest.raises(InputError, match="seat tolerance -1 mm"):
        CountersunkHole(-1)
    with pytest.raises(InputError, match="screw diameter 0 mm"):
        screw_play(part=RoundHole(4.0), mate=TappedHole(), screw=0)
    with pytest.raises(InputError, match="plate thickness -3 mm"):
        screw_play(part=RoundHole(4.0), mate=TappedHole(), screw=3, plate_thickness=-3)
    with pytest.raises(InputError, match="expected finite figures"):
        ScrewPlay(math.nan)
    with pytest.raises(InputError, match="needs the member"):
        ScrewPlay(0.2, 3.0)
