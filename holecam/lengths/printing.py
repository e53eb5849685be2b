"""Print lengths: decimal inch, nearest 64th with the remainder, thou, millimetres. Never a minus zero."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from holecam.errors import InputError
from holecam.lengths.parsing import MM_PER_INCH, MM_PER_UNIT, Unit
from holecam.lengths.rounding import decimals_of, exact, round_half_away

DEFAULT_DECIMALS: dict[str, int] = {"in": 4, "mm": 3}
AREA_DECIMALS: dict[str, int] = {"in": 4, "mm": 2}


def decimal_text(value: Fraction, decimals: int, *, signed: bool = False) -> str:
    """Return a plain number with fixed decimals, rounded half away from zero; ``signed`` prints + as well.

    >>> decimal_text(Fraction(1, 32), 4)
    '0.0313'
    >>> decimal_text(Fraction(-1, 10**9), 3)
    '0.000'
    """
    return _with_point(_scaled(value.numerator, value.denominator, decimals), decimals, signed=signed)


def _scaled(top: int, bottom: int, decimals: int) -> int:
    """Return a quotient in steps of its last decimal, rounded half away from zero, by whole numbers alone."""
    steps: int = (2 * abs(top) * 10**decimals + bottom) // (2 * bottom)
    return -steps if top < 0 else steps


def _with_point(scaled: int, decimals: int, *, signed: bool) -> str:
    sign = "-" if scaled < 0 else "+" if signed and scaled > 0 else ""
    whole, rest = divmod(abs(scaled), 10**decimals)
    return f"{sign}{whole}.{rest:0{decimals}d}" if decimals else f"{sign}{whole}"


def number_in(value_mm: float | Fraction, unit: Unit, *, decimals: int | None = None, signed: bool = False) -> str:
    """Return a length as a bare number in the unit: 4 decimals of an inch or 3 of a millimetre unless told."""
    places = DEFAULT_DECIMALS[unit] if decimals is None else decimals
    length, per = exact(value_mm), MM_PER_UNIT[unit]
    scaled = _scaled(length.numerator * per.denominator, length.denominator * per.numerator, places)
    return _with_point(scaled, places, signed=signed)


def length_text(value_mm: float | Fraction, unit: Unit, *, decimals: int | None = None, signed: bool = False) -> str:
    """Return a length with its unit.

    >>> length_text(12.7, "in"), length_text(12.7, "mm")
    ('0.5000 in', '12.700 mm')
    """
    return f"{number_in(value_mm, unit, decimals=decimals, signed=signed)} {unit}"


def area_text(square_mm: float | Fraction, unit: Unit) -> str:
    """Return an area with its unit; a small one with two more decimals, so that no patch reads as nought.

    >>> area_text(645.16, "in"), area_text(645.16, "mm"), area_text(0.02, "in")
    ('1.0000 sq in', '645.16 sq mm', '0.000031 sq in')
    """
    area = exact(square_mm) / MM_PER_UNIT[unit] ** 2
    small = 0 < area < (Fraction(1, 100) if unit == "in" else Fraction(1, 10))
    return f"{decimal_text(area, AREA_DECIMALS[unit] + 2 * small)} sq {unit}"


def area_number(square_mm: float | Fraction, unit: Unit) -> str:
    """Return an area as a bare number, with the same decimals for every row of a table."""
    return decimal_text(exact(square_mm) / MM_PER_UNIT[unit] ** 2, AREA_DECIMALS[unit])


def volume_text(cubic_mm: float | Fraction, unit: Unit) -> str:
    """Return a volume with its unit: five decimals of a cubic inch or one of a cubic millimetre.

    >>> volume_text(16387.064, "in"), volume_text(16387.064, "mm")
    ('1.00000 cu in', '16387.1 cu mm')
    """
    return f"{decimal_text(exact(cubic_mm) / MM_PER_UNIT[unit] ** 3, 5 if unit == 'in' else 1)} cu {unit}"


def reading_text(count: int, resolution: Fraction, unit: Unit, *, signed: bool = True) -> str:
    """Return what the readout shows for a count of its steps, with the decimals that its step needs."""
    decimals, step = _step_in(resolution.numerator, resolution.denominator, unit)
    return _with_point(count * step, decimals, signed=signed)


@lru_cache(maxsize=64)
def _step_in(top: int, bottom: int, unit: Unit) -> tuple[int, int]:
    """Return how many decimals show a readout's step, and the step in units of the last of them.

    The step comes as the two parts of its fraction: the cache finds them sooner than the fraction.
    """
    step = Fraction(top, bottom) / MM_PER_UNIT[unit]
    decimals = decimals_of(step)
    return decimals, int(step * 10**decimals)


def thou_text(value_mm: float | Fraction, *, decimals: int = 1) -> str:
    """Return a length in thousandths of an inch.

    >>> thou_text(0.0254)
    '1.0 thou'
    """
    return f"{decimal_text(exact(value_mm) / MM_PER_UNIT['thou'], decimals)} thou"


def nearest_fraction(value_mm: float | Fraction, *, denominator: int = 64) -> tuple[Fraction, Fraction]:
    """Return the nearest fraction of an inch and the remainder, both in inches: ``value = fraction + remainder``."""
    if denominator < 1:
        raise InputError(f"denominator {denominator}: expected 1 or more")
    inches = exact(value_mm) / MM_PER_INCH
    near = Fraction(round_half_away(inches * denominator), denominator)
    return near, inches - near


def fraction_text(value_mm: float | Fraction, *, denominator: int = 64) -> str:
    """Return the nearest 64th and what is left over, in inches.

    >>> fraction_text(Fraction(254, 10) * Fraction(39, 32))
    '1-7/32 in'
    >>> fraction_text(4.5)
    '11/64 in + 0.0053'
    """
    near, rest = nearest_fraction(value_mm, denominator=denominator)
    whole, part = divmod(abs(near), 1)
    pieces = [str(whole)] if whole or not part else []
    if part:
        pieces.append(f"{part.numerator}/{part.denominator}")
    text = ("-" if near < 0 else "") + "-".join(pieces) + " in"
    left = decimal_text(abs(rest), 4)
    if left == "0.0000":
        return text
    return f"{text} {'+' if rest > 0 else '-'} {left}"
