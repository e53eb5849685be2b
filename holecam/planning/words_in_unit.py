"""Lengths in messages from the floors below, which know no job, said in the job's unit."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction

from holecam.errors import InputError
from holecam.lengths import Unit, area_text, length_text

FINE_DECIMALS = 6
"""Decimals of a length that would read as nought with the usual ones."""

_NUMBER = r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?"
_PLACE = re.compile(rf"X ({_NUMBER}) Y ({_NUMBER}) mm\b")
_AREA = re.compile(rf"(?<![\w.])({_NUMBER}) (?:mm2|sq mm)\b")
_BOTH = re.compile(rf"(?<![\w.])(?:{_NUMBER} to )?{_NUMBER} mm \(((?:{_NUMBER} to )?{_NUMBER} in)\)")
_RANGE = re.compile(rf"(?<![\w.])({_NUMBER}) to (?={_NUMBER} mm\b)")
_LENGTH = re.compile(rf"(?<![\w.])({_NUMBER}) mm\b(?! a minute)")


def in_unit(words: str, unit: Unit) -> str:
    """Return a message of the project with its lengths, places and areas in the job's unit.

    Geometry speaks millimetres. What stands between double quotes is the user's own and stays as it is.

    >>> in_unit('slot "8 mm bar" is 6.350 mm wide at X 25.400 Y 0.000 mm', "in")
    'slot "8 mm bar" is 0.2500 in wide at X 1.0000 in Y 0.0000 in'
    """
    if unit == "mm":
        return words
    parts = words.split('"')
    return '"'.join(part if k % 2 else _converted(part, unit) for k, part in enumerate(parts))


def _converted(words: str, unit: Unit) -> str:
    def length(text: str) -> str:
        value = Fraction(text)
        said = length_text(value, unit)
        # a small length must not read as none
        return (
            said if value == 0 or Fraction(said.split()[0]) != 0 else length_text(value, unit, decimals=FINE_DECIMALS)
        )

    words = _PLACE.sub(lambda m: f"X {length(m[1])} Y {length(m[2])}", words)
    words = _BOTH.sub(lambda m: m[1], words)
    words = _RANGE.sub(lambda m: m[0] if float(m[1]) == 0 else f"{length(m[1])} to ", words)
    words = _AREA.sub(lambda m: area_text(Fraction(m[1]), unit), words)
    return _LENGTH.sub(lambda m: length(m[1]), words)


@contextmanager
def errors_in(unit: Unit) -> Iterator[None]:
    """Let an :class:`InputError` out with its lengths in the job's unit."""
    try:
        yield
    except InputError as error:
        said = in_unit(error.message, unit)
        if type(error) is not InputError or said == error.message:
            raise
        raise InputError(said, key=error.key, value=error.value, expected=in_unit(error.expected, unit)) from error
