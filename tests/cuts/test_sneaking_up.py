"""Sneaking up on a size: stages, stops, rules, and the proof of all stages together."""

from __future__ import annotations

from itertools import pairwise

import pytest
from clipper_measure import difference, rings, swept, thick
from cut_chains import chains_at_depth
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from holecam.cuts.clearance import Cleared
from holecam.cuts.cut_choices import KeepAway, SneakWish
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.path_values import MoveKind, joined
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketRequest
from holecam.cuts.slot import plan_slot
from holecam.cuts.slot_values import Bar, OpenEnd, SlotRequest, StopShort
from holecam.cuts.sneaking_up import stages
from holecam.cuts.sneaking_values import next_side_offset
from holecam.shapes import Segment, rectangle

SIX = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
STOP = KeepAway("line", (Segment((90, -50), (90, 50)),), 1.0)
SLOT = SlotRequest(
    "rail",
    (Segment((0, 0), (80, 0)),),
    11.0,
    4.0,
    SIX,
    (OpenEnd(), StopShort(STOP)),
    body=rectangle(0, -30, 150, 30),
    bar=Bar("foot rail", 10.0, 0.5),
    sneak=SneakWish(0.6, 3),
    step_depth=2.0,
)


@given(st.floats(5, 100), st.floats(-2, 2))
def test_the_next_offset_is_half_of_what_is_missing_on_each_side(target: float, missing: float) -> None:
    assert next_side_offset(target=target, measured=target - missing) == pytest.approx(missing / 2, abs=1e-9)


@given(st.floats(0.01, 5), st.integers(1, 20))
def test_stages_take_equal_amounts_and_end_at_the_size(undersize: float, steps: int) -> None:
    found = stages(SneakWish(undersize, steps))
    assert len(found) == steps + 1
    assert found[0].side_allowance == pytest.approx(undersize / 2)
    assert found[-1].side_allowance == 0.0
    assert found[-1].last
    gaps = [a.side_allowance - b.side_allowance for a, b in pairwise(found)]
    assert gaps == pytest.approx([undersize / 2 / steps] * steps)


def test_a_slot_starts_undersize_and_grows_by_separate_passes_with_stops() -> None:
    plan = plan_slot(SLOT)
    assert plan.proof.proved
    assert [s.size for s in plan.sneak] == pytest.approx([10.4, 10.6, 10.8, 11.0])
    assert plan.sneak[0].path == plan.path
    for stage in plan.sneak:
        cut = swept(chains_at_depth(stage.path), 3.0)
        low = min(y for ring in cut for _, y in ring) / 1e6
        high = max(y for ring in cut for _, y in ring) / 1e6
        assert high - low == pytest.approx(stage.size, abs=2e-3)
        assert joined(tuple(stage.path.moves()))
        assert stage.by_hand.followable
        assert "Measure the width" in stage.measure
        assert '"foot rail"' in stage.measure
        # The middle pass reaches the stop at once, the walls come up to it stage by stage
        tip = 89.0 if stage.number == 0 else 89.0 - stage.side_allowance
        assert max(x for ring in cut for x, _ in ring) / 1e6 == pytest.approx(tip, abs=2e-3)
    assert "(11.000 - measured) / 2" in plan.sneak[0].next_rule
    assert plan.sneak[-1].next_rule == ""


def test_clean_up_passes_cut_both_walls_only_and_enter_where_it_is_open() -> None:
    plan = plan_slot(SLOT)
    for stage in plan.sneak[1:]:
        moves = tuple(stage.path.moves())
        assert all(m.kind is not MoveKind.ENTRY for m in moves)
        for move in moves:
            if move.kind is MoveKind.FINISH and move.curve is not None and move.curve.length > 20:
                off = abs(move.curve.start[1])
                assert off == pytest.approx(stage.size / 2 - 3.0, abs=1e-6)
                assert move.engagement_deg is not None
                assert move.engagement_deg < 90 + 20  # 0.1 mm off the wall, and the end wall in the corner


def test_all_stages_of_a_pocket_together_reach_its_size_and_no_farther() -> None:
    request = PocketRequest("patch", rectangle(0, 0, 50, 30), 4.0, SIX, sneak=SneakWish(0.5, 2), step_depth=4.0)
    plan = plan_pocket(request)
    assert plan.proof.proved
    sizes = [30 - 0.5, 30 - 0.25, 30.0]
    assert [s.size for s in plan.sneak] == pytest.approx(sizes)
    for stage, inset in zip(plan.sneak, (0.25, 0.125, 0.0), strict=True):
        cut = swept(chains_at_depth(stage.path), 3.0)
        assert thick(difference(cut, rings(rectangle(inset, inset, 50 - inset, 30 - inset), ()))) == 0.0
    rooms = [s.path.cutting_length for s in plan.sneak]
    assert rooms[0] > rooms[1]


def test_undersize_down_to_the_cutter_leaves_one_pass() -> None:
    plan = plan_slot(replace(SLOT, width=6.6, bar=None))
    assert plan.proof.proved
    first = chains_at_depth(plan.sneak[0].path)
    assert sum(len(c) for c in first) <= 3


def test_what_the_pocket_is_for_is_tried_in_it_at_every_stop() -> None:
    """The name comes from the sum that the size was worked out from; without one nothing is tried."""
    patch = Cleared("patch", 3.0, position_doubt=0.2)
    request = PocketRequest("bed", rectangle(0, 0, 30, 20), 4.0, SIX, sneak=SneakWish(0.5, 2), step_depth=4.0)
    named = plan_pocket(replace(request, sums=(patch.depth_sum,)))
    assert ['"' in patch.depth_sum.words, len(named.sneak)] == [True, 3]
    assert all("then try patch in it" in stage.measure for stage in named.sneak)
    assert not any("then try" in stage.measure for stage in plan_pocket(request).sneak)
