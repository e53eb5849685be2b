"""The quick way through long programs: lines that only move, taken apart by the thousand as arrays.

A plain line has at most one each of ``N G X Y Z I J F``, its G is 0, 1, 2 or 3, and nothing in it is odd: no remark, no
space within a number, no missing digits. Everything else, and every plain line that would be refused, is left to the
interpreter, which is the definition; a test holds the two against each other on random programs.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.program.blocks import LONGEST_LINE, LONGEST_NUMBER
from holecam.program.moves import Floats, Integers, Mask

LETTERS = "NGXYZIJF"
N, G, X, Y, Z, I, J, F = range(8)  # noqa: E741  # the letters of the language

_OTHER, _BLANK, _LINE_END, _LETTER, _DIGIT, _POINT, _SIGN = range(7)


def _class_table() -> NDArray[np.uint8]:
    table = np.full(256, _OTHER, np.uint8)
    table[[ord(" "), ord("\t")]] = _BLANK
    table[ord("\n")] = _LINE_END
    for letter in LETTERS:
        table[[ord(letter), ord(letter.lower())]] = _LETTER
    table[ord("0") : ord("9") + 1] = _DIGIT
    table[ord(".")] = _POINT
    table[[ord("+"), ord("-")]] = _SIGN
    return table


def _column_table() -> NDArray[np.int8]:
    table = np.full(256, -1, np.int8)
    for column, letter in enumerate(LETTERS):
        table[[ord(letter), ord(letter.lower())]] = column
    return table


def _pair_table() -> NDArray[np.bool_]:
    """Which class may follow which; what is missing here is left to the interpreter."""
    allowed = np.zeros(64, np.bool_)
    ends = (_BLANK, _LINE_END, _LETTER)
    for first, followers in {
        _BLANK: ends,
        _LINE_END: ends,
        _LETTER: (_DIGIT, _POINT, _SIGN),
        _DIGIT: (_DIGIT, _POINT, *ends),
        _POINT: (_DIGIT, *ends),
        _SIGN: (_DIGIT, _POINT),
    }.items():
        for second in followers:
            allowed[first * 8 + second] = True
    return allowed


_CLASS, _COLUMN, _PAIR = _class_table(), _column_table(), _pair_table()
_POWERS = 10.0 ** np.arange(LONGEST_NUMBER + 1)  # exact in float64 up to 10^22


class PlainLines(Struct, frozen=True, eq=False):
    """The words of a stretch of lines.

    ``values`` is (8, lines), a row for each of ``LETTERS``, nan where a word is missing; ``plain`` says which lines
    are plain; an empty line is plain and has no words.
    """

    values: Floats
    plain: Mask


def take_apart(data: NDArray[np.uint8], line_ends: NDArray[np.int64]) -> PlainLines:
    """Return the words of lines.

    Parameters
    ----------
    data : uint8 array
        The text, one byte a character, every line ended by a newline.
    line_ends : int64 array
        Positions of the newlines in ``data``.

    Notes
    -----
    A number is its digits as an integer divided by a power of ten. Both are exact in float64 up to 15 digits, and one
    division rounds once, so the value is the same as ``float`` gives.
    """
    count = len(line_ends)
    classes = _CLASS[data]
    odd = np.zeros(count, np.bool_)

    def mark(positions: NDArray[np.int64]) -> None:
        odd[np.searchsorted(line_ends, positions)] = True

    mark(np.flatnonzero(classes == _OTHER))
    pairs = classes[:-1] * np.uint8(8) + classes[1:]
    mark(np.flatnonzero(~_PAIR[pairs]) + 1)  # the second of a pair: after a line end it belongs to the next line
    starts = np.concatenate(([0], line_ends[:-1] + 1))
    odd |= line_ends - starts > LONGEST_LINE
    if classes[0] not in (_BLANK, _LETTER, _LINE_END):
        odd[0] = True

    letters = np.flatnonzero(classes == _LETTER)
    words = len(letters)
    values = np.full((8, count), np.nan)
    if not words:
        return PlainLines(values, ~odd)
    digits = np.flatnonzero(classes == _DIGIT)
    points = np.flatnonzero(classes == _POINT)
    # Running counts tell how many of each stand before a character; a search for each word takes twice as long
    digits_before = np.cumsum(classes == _DIGIT, dtype=np.int32)
    points_before = np.cumsum(classes == _POINT, dtype=np.int32)
    line_of = np.cumsum(classes == _LINE_END, dtype=np.int32)[letters]
    word_ends = np.minimum(np.append(letters[1:], len(data)), line_ends[line_of])
    first_digit = digits_before[letters]
    digit_count = digits_before[word_ends] - first_digit
    first_point = points_before[letters]
    point_count = points_before[word_ends] - first_point
    column = _COLUMN[data[letters]]

    bad = (digit_count == 0) | (digit_count > LONGEST_NUMBER) | (point_count > 1)
    decimals = np.zeros(words, np.int64)
    has_point = point_count == 1
    at_point = points[first_point[has_point]]
    decimals[has_point] = (first_digit + digit_count)[has_point] - digits_before[at_point]
    number = column == N
    if number.any():
        after = classes[np.minimum(letters + 1, len(classes) - 1)]
        first_of_line = np.concatenate(([True], line_of[1:] != line_of[:-1]))
        bad |= number & (has_point | (after != _DIGIT) | (digit_count > 5) | ~first_of_line)
    odd[line_of[bad]] = True
    bad |= odd[line_of]

    good = np.flatnonzero(~bad)
    shown = (data[digits] - np.uint8(ord("0"))).astype(np.float64)
    start, size = first_digit[good], digit_count[good]
    total = shown[start]
    for k in range(1, int(size.max(initial=1))):
        more = np.flatnonzero(size > k)
        if len(more) * 2 > len(good):
            total = np.where(size > k, total * 10.0 + shown[np.minimum(start + k, len(shown) - 1)], total)
        else:
            total[more] = total[more] * 10.0 + shown[start[more] + k]
    total /= _POWERS[decimals[good]]
    total[data[letters[good] + 1] == ord("-")] *= -1.0
    slot = column[good].astype(np.int64) * count + line_of[good]
    values.reshape(-1)[slot] = total
    repeated = np.bincount(slot, minlength=8 * count).reshape(8, count) > 1
    odd |= repeated.any(axis=0)
    g = values[G]
    moving = ~np.isnan(values[X]) | ~np.isnan(values[Y]) | ~np.isnan(values[Z])
    any_word = ~np.isnan(values).all(axis=0)
    odd |= any_word & ~moving
    with np.errstate(invalid="ignore"):
        odd |= ~(np.isnan(g) | (g == 0) | (g == 1) | (g == 2) | (g == 3))
        odd |= values[F] < 0
    return PlainLines(values, ~odd)


def carried(values: Floats, initial: float) -> Floats:
    """Return the values with each gap filled by the last one before it, the first ones by ``initial``."""
    known = ~np.isnan(values)
    if known.all():
        return values
    index = np.where(known, np.arange(1, len(values) + 1), 0)
    np.maximum.accumulate(index, out=index)
    return np.concatenate(([initial], values))[index]


def line_numbers(first: int, moving: Mask) -> Integers:
    """Return the numbers of the lines that move."""
    return (np.flatnonzero(moving) + first).astype(np.int32)
