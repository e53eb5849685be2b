"""Moves as columns: collected one by one and in stretches, taken by index, mask and slice."""

from __future__ import annotations

import math

import numpy as np
import pytest
from moves_by_hand import columns

from holecam.program.moves import Event, EventKind, Kind, MoveColumns, Moves, Setup, as_slice

NAN = math.nan


def test_the_numbers_of_kinds_are_those_of_the_words() -> None:
    assert [(k.name, int(k)) for k in Kind] == [("RAPID", 0), ("FEED", 1), ("ARC_CW", 2), ("ARC_CCW", 3)]


def test_what_is_set_before_anything_is_stated() -> None:
    empty = Setup()
    assert (empty.tool, empty.spindle, empty.rpm) == (0, 0, None)
    assert (empty.units_stated, empty.distance_stated, empty.length_offset) == (False, False, None)
    event = Event(EventKind.STOP, 3, 4)
    assert (event.text, event.number, event.spindle_turning, event.halts) == ("", 0.0, False, False)


def test_an_index_without_gaps_is_a_slice() -> None:
    for index, told in [
        ([3, 4, 5], slice(3, 6)), ([0], slice(0, 1)), ([5], slice(5, 6)), ([0, 1], slice(0, 2)), ([3, 5], None),
        ([3, 5, 4, 6], None), ([5, 4], None), ([2, 2], None), ([1, 3, 3, 4], None), ([], None),
    ]:  # fmt: skip
        given = np.array(index, dtype=np.intp)
        found = as_slice(given)
        if told is None:
            assert found is given
        else:
            assert found == told


def test_a_mask_of_everything_is_a_slice() -> None:
    assert as_slice(np.ones(3, np.bool_)) == slice(None)
    for mask in (np.array([True, False, True]), np.zeros(3, np.bool_), np.zeros(0, np.bool_)):
        assert as_slice(mask) is mask
    assert as_slice(slice(2, 5)) == slice(2, 5)


def rows_of(moves: Moves) -> list[tuple[object, ...]]:
    return [
        (int(line), int(kind), a.tolist(), b.tolist(), c.tolist(), float(f), int(s), int(cycle))
        for line, kind, a, b, c, f, s, cycle in zip(
            moves.line,
            moves.kind,
            moves.start,
            moves.end,
            moves.center,
            moves.feed,
            moves.setup,
            moves.cycle,
            strict=True,
        )
    ]


def filled() -> tuple[MoveColumns, list[tuple[object, ...]]]:
    """Two single moves, a stretch of two, and one more."""
    made = MoveColumns()
    first, second = made.setup_index(Setup(tool=1)), made.setup_index(Setup(tool=2))
    assert (first, second, made.setup_index(Setup(tool=1)), len(made)) == (0, 1, 0, 0)
    made.add(7, Kind.FEED, (1.0, 2.0, 3.0), (4.0, 5.0, 6.0), (7.0, 8.0), 9.0, first)
    assert len(made) == 1
    made.add(8, Kind.ARC_CW, (4.0, 5.0, 6.0), (1.5, 2.5, 3.5), (0.5, 0.25), 10.0, second, 12)
    assert len(made) == 2
    made.add_arrays(
        np.array([20, 21], np.int32), np.array([0, 3], np.uint8), np.arange(6.0).reshape(2, 3),
        10 + np.arange(6.0).reshape(2, 3), 30 + np.arange(4.0).reshape(2, 2), np.array([40.0, 41.0]), second,
    )  # fmt: skip
    assert len(made) == 4
    made.add(30, Kind.RAPID, (0.0, 0.0, 0.0), (1.0, 1.0, 1.0), (2.0, 3.0), 50.0, first)
    assert len(made) == 5
    return made, [
        (7, 1, [1.0, 2.0, 3.0], [4.0, 5.0, 6.0], [7.0, 8.0], 9.0, 0, -1),
        (8, 2, [4.0, 5.0, 6.0], [1.5, 2.5, 3.5], [0.5, 0.25], 10.0, 1, 12),
        (20, 0, [0.0, 1.0, 2.0], [10.0, 11.0, 12.0], [30.0, 31.0], 40.0, 1, -1),
        (21, 3, [3.0, 4.0, 5.0], [13.0, 14.0, 15.0], [32.0, 33.0], 41.0, 1, -1),
        (30, 0, [0.0, 0.0, 0.0], [1.0, 1.0, 1.0], [2.0, 3.0], 50.0, 0, -1),
    ]


def test_moves_are_kept_in_their_order_with_all_they_say() -> None:
    made, rows = filled()
    moves = made.moves()
    assert rows_of(moves) == rows
    assert moves.setups == (Setup(tool=1), Setup(tool=2))
    assert len(moves) == 5
    assert len(made) == 0, "what was handed out is gone"
    assert [c.dtype for c in (moves.line, moves.kind, moves.feed, moves.setup, moves.cycle)] == [
        np.int32, np.uint8, np.float64, np.int32, np.int32,
    ]  # fmt: skip
    with pytest.raises(ValueError, match="read-only"):
        moves.feed[0] = 1.0
    assert len(made.moves()) == 0
    one = MoveColumns()
    one.add(7, Kind.FEED, (1.0, 2.0, 3.0), (4.0, 5.0, 6.0), (7.0, 8.0), 9.0, one.setup_index(Setup()))
    assert rows_of(one.moves()) == rows[:1]


def test_no_moves_at_all() -> None:
    nothing = MoveColumns().moves()
    shapes = [c.shape for c in (nothing.start, nothing.end, nothing.center, nothing.feed, nothing.kind)]
    assert shapes == [(0, 3), (0, 3), (0, 2), (0,), (0,)]
    assert nothing.setups == ()
    assert nothing.per_setup([]).tolist() == []


def test_some_of_the_moves() -> None:
    made, rows = filled()
    moves = made.moves()
    assert rows_of(moves.take(np.array([1, 2]))) == rows[1:3]
    assert rows_of(moves.take(np.array([4, 0]))) == [rows[4], rows[0]]
    assert rows_of(moves.take(np.array([True, False, False, True, True]))) == [rows[0], rows[3], rows[4]]
    assert rows_of(moves.take(slice(1, None, 2))) == [rows[1], rows[3]]
    assert rows_of(moves.take(np.ones(5, np.bool_))) == rows
    assert moves.per_setup([5.0, 6.5]).tolist() == [5.0, 6.5, 6.5, 6.5, 5.0]
    assert columns().per_setup([]).tolist() == []
