"""Stretches that a second cutter runs: joined over joints, and round the seam where the list of the loop begins."""

from __future__ import annotations

import numpy as np
import pytest

from holecam.cuts.distance_clip import Stretches
from holecam.cuts.elements import elements_of
from holecam.cuts.rest_cutting import _chains, _grown
from holecam.shapes import Segment, rectangle

SQUARE = rectangle(0, 0, 10, 10).curves


def stretches(*rows: tuple[int, float, float]) -> Stretches:
    row, low, high = zip(*rows, strict=True)
    return Stretches(np.array(row, dtype=np.intp), np.array(low), np.array(high))


def test_stretches_that_meet_round_the_seam_are_one_chain() -> None:
    """The last 5 mm and the first 5 mm of a square are one way round its corner; what lies apart is another."""
    parts = stretches((0, 0.0, 0.5), (1, 0.2, 0.6), (3, 0.5, 1.0))
    round_the_seam, apart = _chains(elements_of(SQUARE, closed=True), parts)
    assert round_the_seam == (Segment((0.0, 5.0), (0.0, 0.0)), Segment((0.0, 0.0), (5.0, 0.0)))
    assert apart == (Segment((10.0, 2.0), (10.0, 6.0)),)


def test_the_whole_loop_is_one_chain_and_a_gap_at_the_seam_parts_it() -> None:
    table = elements_of(SQUARE, closed=True)
    assert _chains(table, stretches(*((k, 0.0, 1.0) for k in range(4)))) == [SQUARE]
    near_the_seam = _chains(table, stretches((0, 0.1, 0.5), (3, 0.5, 1.0)))
    assert [len(chain) for chain in near_the_seam] == [1, 1]
    over_joints = _chains(table, stretches((0, 0.5, 1.0), (1, 0.0, 1.0), (2, 0.0, 0.3)))
    assert [[c.length for c in chain] for chain in over_joints] == [pytest.approx([5.0, 10.0, 3.0])]


def test_a_stretch_grows_round_the_seam_by_the_overlap_at_both_ends() -> None:
    """4 to 9 mm of the first side, 2 mm longer at both ends; 0.5 to 1 mm of it: from 1.5 mm up the last."""
    table = elements_of(SQUARE, closed=True)
    (chain,) = _chains(table, _grown(table, stretches((0, 0.4, 0.9)), 2.0))
    assert [c.length for c in chain] == pytest.approx([8.0, 1.0])
    assert chain[0].start == pytest.approx((2.0, 0.0))
    (chain,) = _chains(table, _grown(table, stretches((0, 0.05, 0.1)), 2.0))
    assert [c.length for c in chain] == pytest.approx([1.5, 3.0])
    assert chain[0].start == pytest.approx((0.0, 1.5))
