"""What belongs to a pocket beside its path: defaults, the widest cutter that enters, widths, notes, words, progress."""

from __future__ import annotations

import inspect
import math

import pytest
from msgspec.structs import replace

from holecam.cuts.clearance import ClearanceSum
from holecam.cuts.cut_choices import Corners, Direction, Entry, KeepAway, SneakWish, Strategy
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.kept_curves import walls_of_cut
from holecam.cuts.path_values import MoveKind
from holecam.cuts.pocket import _width_near, direction_words, plan_pocket, widest_cutter, widest_size
from holecam.cuts.pocket_values import PocketRequest, ReliefShape, ReliefWish
from holecam.cuts.slot_values import SlotRequest
from holecam.errors import InputError
from holecam.shapes import Circle, Outline, Segment, circle_outline, outline_through, rectangle

SIX = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
THREE = MillingCutter("3 mm end mill", 3.0)
BOX = rectangle(0, 0, 30, 20)
PATCH = PocketRequest("patch", BOX, 2.0, SIX, step_depth=9.0)


def told(request: PocketRequest) -> str:
    with pytest.raises(InputError) as refused:
        plan_pocket(request)
    return str(refused.value)


def test_what_a_pocket_is_without_being_asked() -> None:
    plain = PocketRequest("patch", BOX, 2.0, SIX)
    assert (plain.engagement_ratio, plain.ramp_deg, plain.clearance_z, plain.finish) == (1.25, 3.0, 5.0, 0.0)
    assert (plain.row_angle_deg, plain.through, plain.body_name) == (0.0, False, "part")
    assert plain.direction is Direction.CONVENTIONAL
    assert (plain.strategy, plain.corners) == (Strategy.ALONG_OUTLINE, Corners.SLOW)
    default = inspect.signature(SlotRequest).parameters
    assert default["engagement_ratio"].default == 1.25
    assert default["ramp_deg"].default == 3.0
    assert (ReliefWish().shape, ReliefWish().corners) == (ReliefShape.DIAGONAL, None)


def test_a_plan_tells_the_steps_that_it_uses() -> None:
    """A step-over of 0.4 D by itself; 5 mm deep in steps of at most 2.2 mm are three of 1.667 mm."""
    plan = plan_pocket(replace(PATCH, depth=5.0, step_depth=2.2))
    assert plan.step_over == pytest.approx(2.4)
    assert plan.step_depth == pytest.approx(5 / 3)
    assert [level.z for level in plan.path.levels] == pytest.approx([-5 / 3, -10 / 3, -5.0])
    assert plan.path.name == "rough and finish"
    assert plan_pocket(replace(PATCH, step_over=1.0)).step_over == 1.0


@pytest.mark.parametrize(
    ("outline", "islands", "kept", "widest"),
    [
        (BOX, (), (), 20.0),
        (circle_outline(Circle((5.0, 5.0), 7.0)), (), (), 14.0),
        (outline_through([(0, 0), (40, 0), (0, 30)]), (), (), 20.0),  # inscribed in 30, 40, 50
        (BOX, (rectangle(12, 2, 18, 18),), (), 12.0),
        (BOX, (), (KeepAway("line", (Segment((18, -3), (18, 23)),), 1.0),), 17.0),
    ],
)
def test_the_widest_cutter_that_enters_is_found_to_a_micron(
    outline: Outline, islands: tuple[Outline, ...], kept: tuple[KeepAway, ...], widest: float
) -> None:
    named, allowed = walls_of_cut(outline, islands, kept)
    found = widest_cutter(named, allowed)
    assert widest - 1.1e-3 < found <= widest + 1e-6


def test_how_wide_a_pocket_is_round_a_place() -> None:
    """Twice the depth of the deepest place within a radius, on a grid of 9 by 9 over it."""
    named, _ = walls_of_cut(rectangle(0, 0, 60, 20), (), ())
    assert _width_near(named, (30.0, 10.0), 3.0) == pytest.approx(20.0)
    assert _width_near(named, (30.0, 5.0), 3.0) == pytest.approx(16.0)
    assert _width_near(named, (6.0, 10.0), 3.0) == pytest.approx(18.0)
    # Toward both walls of a corner: 3 mm at 45 degrees would be 2.12; of the grid 2.25 and 1.5 lie within the circle
    assert _width_near(named, (3.0, 3.0), 3.0) == pytest.approx(2 * (3.0 + 1.5))


def test_the_size_that_a_calliper_measures_is_the_smaller() -> None:
    assert widest_size(rectangle(1, 2, 31, 14)) == 12.0
    assert widest_size(rectangle(1, 2, 11, 34)) == 10.0


def test_what_a_direction_means_at_the_machine() -> None:
    assert direction_words(Direction.CLIMB) == "climb: the material on the right of the travel"
    assert direction_words(Direction.CONVENTIONAL) == "conventional: the material on the left of the travel"


def test_progress_goes_from_loops_to_the_proof() -> None:
    heard: list[tuple[str, float]] = []
    plan_pocket(PATCH, progress=lambda what, share: heard.append((what, share)))
    assert heard[-1] == ("proof", 0.9)
    assert [share for _, share in heard[:-1]] == pytest.approx([1 - 1 / (n + 1) for n in range(1, len(heard))])


def test_what_does_not_fit_is_refused_with_the_figure_that_would() -> None:
    short = MillingCutter("stub", 6.0, flute_length=8.0, overhang=5.0)
    assert told(replace(PATCH, cutter=short, depth=5.5)) == (
        'pocket "patch": cutter "stub" reaches 5.000 mm, the cut is 5.500 mm deep. Take a longer one, or make the cut '
        "shallower."
    )
    line = KeepAway("line", (Segment((15, -3), (15, 23)),), 10.0)
    kept = told(replace(PATCH, keep_away=(line,)))
    assert kept.startswith('pocket "patch": cutter "6 mm end mill" of 6.000 mm enters nowhere with the margins that it')
    assert "The widest that enters has 5.000 mm" in kept or "The widest that enters has 4.999 mm" in kept
    for finish in (-0.1, math.nan, math.inf):
        wanted = f'pocket "patch": finishing allowance {finish} mm: expected a length of 0 or more'
        assert told(replace(PATCH, finish=finish)) == wanted
    second = MillingCutter("stub", 3.0, flute_length=1.5)
    assert (
        told(replace(PATCH, second_cutter=second)) == 'pocket "patch": second cutter "stub" is too short for 2.000 mm'
    )
    wide = MillingCutter("wide", 6.0)
    assert told(replace(PATCH, second_cutter=wide)) == (
        'pocket "patch": second cutter "wide" of 6.000 mm is not smaller than the first, 6.000 mm'
    )


@pytest.mark.parametrize(
    ("corners", "slowed"), [(Corners.SLOW, True), (Corners.NIBBLE, True), (Corners.AS_THEY_COME, False)]
)
def test_a_second_cutter_slows_in_corners_unless_they_are_taken_as_they_come(corners: Corners, slowed: bool) -> None:
    rest = plan_pocket(replace(PATCH, second_cutter=THREE, corners=corners)).rest_path
    assert rest is not None
    assert any(m.feed_factor < 1.0 for m in rest.moves() if m.kind is MoveKind.FINISH) is slowed


def test_a_second_cutter_is_not_planned_where_the_first_leaves_nothing() -> None:
    rounded = replace(PATCH, outline=rectangle(0, 0, 30, 20, corner_radius=3.0), second_cutter=THREE)
    assert plan_pocket(rounded).rest_path is None
    # Nor for crumbs of less than 0.0001 D^2 of its own: corners of 3.05 mm leave 0.2146 (3^2 - ...) nothing at all
    assert plan_pocket(replace(rounded, outline=rectangle(0, 0, 30, 20, corner_radius=3.05))).rest_path is None
    assert plan_pocket(replace(rounded, outline=rectangle(0, 0, 30, 20, corner_radius=2.5))).rest_path is not None


def test_a_corner_into_which_the_cutter_does_not_get_is_told() -> None:
    """A niche 4 mm wide at the top: its two corners stay, and the others are overcut."""
    niche = outline_through([(0, 0), (30, 0), (30, 20), (17, 20), (17, 32), (13, 32), (13, 20), (0, 20)])
    plan = plan_pocket(replace(PATCH, outline=niche, relief=ReliefWish(corners=(3, 6))))
    assert [r.corner for r in plan.reliefs] == [(30, 20)]
    assert plan.notes == (
        "the corner at X 13.000 Y 32.000 mm is not relieved: the cutter does not get into it",
    )  # fmt: skip
    assert plan_pocket(replace(PATCH, outline=niche)).reliefs == ()


def test_what_a_pocket_notes_about_rows_and_bites() -> None:
    rows = plan_pocket(replace(PATCH, strategy=Strategy.TO_AND_FRO, corners=Corners.NIBBLE))
    assert rows.notes == ("straight rows are not nibbled; where a tooth bites more, the feed drops",)
    assert plan_pocket(replace(PATCH, strategy=Strategy.TO_AND_FRO)).notes == ()
    narrow = plan_pocket(replace(PATCH, outline=rectangle(0, 0, 30, 6.5), corners=Corners.NIBBLE))
    assert narrow.notes == ("1 place(s) hardly wider than the cutter are cut over its whole width, with less feed",)
    assert narrow.proof.peak is not None
    # On the grid of 0.75 mm round a place 3 mm from the wall none lies deeper: the next is 2.75 mm from the other wall
    assert narrow.proof.peak.width_there == pytest.approx(6.0)
    assert plan_pocket(PATCH).proof.peak is not None
    assert plan_pocket(PATCH).proof.peak.width_there is None  # type: ignore[union-attr]


def test_sneaking_up_tells_size_thing_and_rule_at_each_stop() -> None:
    """Half a millimetre under 20, in two passes: 19.5, 19.75 and 20."""
    sums = (ClearanceSum('width to clear "lamp foot"', ()),)
    plan = plan_pocket(replace(PATCH, sneak=SneakWish(0.5, 2), sums=sums, finish=0.0))
    assert plan.path.name == "first cut, 0.500 mm undersize"
    assert [(s.number, s.size, s.side_allowance) for s in plan.sneak] == [
        (0, 19.5, 0.25), (1, 19.75, 0.125), (2, 20.0, 0.0),
    ]  # fmt: skip
    assert [s.path.name for s in plan.sneak] == ["first cut, 0.500 mm undersize", "clean-up 1", "clean-up 2"]
    assert [s.measure.split(": ")[1] for s in plan.sneak] == [
        "19.500 mm is meant; then try lamp foot in it. Stop here when it fits.",
        "19.750 mm is meant; then try lamp foot in it. Stop here when it fits.",
        "20.000 mm is wanted; then try lamp foot in it.",
    ]
    assert [bool(s.next_rule) for s in plan.sneak] == [True, True, False]
    assert "(20.000 - measured) / 2" in plan.sneak[0].next_rule
    for sum_words in ("clearance all round", ""):
        silent = plan_pocket(replace(PATCH, sneak=SneakWish(0.5, 1), sums=(ClearanceSum(sum_words, ()),)))
        assert "try" not in silent.sneak[0].measure
    # The clean-up passes take their share off the walls and nothing else
    for stage in plan.sneak[1:]:
        cutting = [m for m in stage.path.moves() if m.kind is MoveKind.FINISH]
        left = stage.side_allowance
        assert sum(m.curve.length for m in cutting if m.curve) == pytest.approx(2 * (24 - 2 * left + 14 - 2 * left))
        assert max(m.engagement_deg or 0.0 for m in cutting) < 120.0
        assert {m.feed_factor for m in cutting} == {1.0}


def test_a_pocket_by_hand_asks_for_a_chain_of_holes_only_where_handwheels_cannot_follow() -> None:
    from holecam.cuts.cut_choices import ChainDrillWish

    wish = ChainDrillWish(4.0, 0.5, 0.5)
    square = replace(PATCH, chain=wish, entry=Entry.PLUNGE)
    assert plan_pocket(square).by_hand.followable
    assert plan_pocket(square).chain_drilling is None
    slanted = plan_pocket(replace(square, outline=outline_through([(0, 0), (30, 3), (30, 20), (0, 20)])))
    assert not slanted.by_hand.followable
    assert slanted.chain_drilling is not None
    assert slanted.chain_drilling.drill == 4.0
    assert plan_pocket(replace(square, chain=None)).chain_drilling is None


def test_islands_have_their_name_or_their_number() -> None:
    post = rectangle(3.9, 3.9, 4.4, 4.4)
    assert replace(PATCH, islands=(post,)).island_labels == ("island 1",)
    assert replace(PATCH, islands=(post, BOX), island_names=("boss", "")).island_labels == ('island "boss"', "island 2")
