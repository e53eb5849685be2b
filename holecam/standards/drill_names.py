"""Read a drill's name as people write it: ``#29``, ``No. 29``, ``letter F``, ``7/32``, ``5.5 mm``.

A bare whole number is refused, because ``7`` is a number drill to one reader and 7 mm to another. A decimal needs its
unit, or the unit that the caller states.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

from holecam.errors import InputError
from holecam.lengths.parsing import MM_PER_INCH, MM_PER_UNIT, Unit, parse_length
from holecam.standards.drills import OTHER, Drill, all_drills, drill_named

EXAMPLES = "a drill such as #29, F, 7/32 or 5.5 mm"

SMALLEST, LARGEST = Fraction(1, 10), Fraction(100)
"""mm. Outside this a drill in a list is a slip of unit or of the decimal point."""

_NUMBER = r"(?:#|no|nr|num|number|n)\s*[.#]?\s*(\d{1,3})|(\d{1,3})\s*#"
_LETTER = r"(?:letter|let|ltr|lett|size)?\.?\s*([a-z])"
_FRACTION = r"(?:\d+\s*(?:-|\s)\s*)?\d+\s*/\s*\d+"


@cache
def _by_size() -> dict[tuple[Unit, Fraction], Drill]:
    return {(d.unit, d.size): d for d in all_drills()}  # of equal sizes the later set stays: 1/4, not E


def parse_drill(text: str, *, unit: Unit | None = None) -> Drill:
    """Return the drill that the text names; a size in no standard set comes back in the set ``other``.

    Parameters
    ----------
    text : str
    unit : {"in", "mm"} or None
        Unit of a bare decimal; with ``None`` it is refused.

    Raises
    ------
    InputError
        Not a drill, a number or letter that does not exist, a bare whole number, or a size that no drill has.

    Examples
    --------
    >>> [parse_drill(t).name for t in ("No. 29", "letter f", "7/32", "5.5mm", '0.136"')]
    ['#29', 'F', '7/32 in', '5.5 mm', '#29']
    """
    named = drill_named(text) or named_drill(text)
    if named is not None:
        return named
    size, size_unit = _size(text, unit)
    known = _by_size().get((size_unit, size))
    if known is not None:
        return known
    in_mm = size * MM_PER_UNIT[size_unit]
    if not SMALLEST <= in_mm <= LARGEST:
        raise _refuse(text, f"It would be {float(in_mm):.4g} mm across; drills run from 0.1 to 100 mm.")
    shown = _mixed(size) if size_unit == "in" and 64 % size.denominator == 0 else _decimal(size)
    return Drill(OTHER, f"{shown} {size_unit}", size.numerator, size.denominator, size_unit, "size as given")


def named_drill(text: str) -> Drill | None:
    """Return a number or letter drill, ``None`` when the text is not such a name.

    Raises
    ------
    InputError
        The name has the right form, but there is no such drill; or a whole number without # or mm.
    """
    plain = " ".join(text.split())
    match = re.fullmatch(_NUMBER, plain, re.IGNORECASE)
    if match:
        drill = drill_named(f"#{int(match[1] or match[2])}")
        if drill is None:
            raise _refuse(text, "Number drills run from #1 to #97.")
        return drill
    match = re.fullmatch(_LETTER, plain, re.IGNORECASE)
    if match:
        return drill_named(match[1].upper())
    if re.fullmatch(r"\d{1,2}", plain):
        number = int(plain)
        choices = f'"#{number}" or "{number} mm"' if 1 <= number <= 97 else f'"{plain} mm"'
        raise _refuse(text, f"A bare whole number can mean a number drill or a size. Write {choices}.")
    return None


def parse_size(text: str, *, unit: Unit | None = None) -> Fraction:
    """Return the diameter in exact mm of a drill's name or of any size.

    Raises
    ------
    InputError
        As :func:`parse_drill`, and for a size that is not positive.
    """
    named = named_drill(text)
    if named is not None:
        return named.exact_diameter
    size, size_unit = _size(text, unit)
    return size * MM_PER_UNIT[size_unit]


def _size(text: str, unit: Unit | None) -> tuple[Fraction, Unit]:
    """Return a positive size and the unit it was written in."""
    plain = _written_out(text)
    as_inch = re.fullmatch(_FRACTION, plain) is not None  # a fraction is an inch drill wherever it stands
    try:
        value = parse_length(plain, unit="in" if as_inch else unit, key="drill")
    except InputError as error:
        if not any(c.isdigit() for c in plain):
            raise _refuse(text, "") from error
        raise
    if value <= 0:
        raise _refuse(text, "A drill is larger than nothing.")
    if as_inch or re.search(r"in|\"|″|”|''|thou", plain.lower()) or (unit == "in" and plain[-1:].isdigit()):
        return value / MM_PER_INCH, "in"
    return value, "mm"


def _written_out(text: str) -> str:
    """Return the text with one-character fractions and their bar written out, so that they count as inch drills."""
    import unicodedata  # a library of its own, loaded only for what people write

    spaced = "".join(f" {c}" if unicodedata.category(c) == "No" else c for c in text)
    return " ".join(unicodedata.normalize("NFKC", spaced).replace("\u2044", "/").split())


def _decimal(size: Fraction) -> str:
    return f"{float(size):.6f}".rstrip("0").rstrip(".")


def _mixed(size: Fraction) -> str:
    whole, part = divmod(size, 1)
    if not part:
        return str(whole)
    return f"{whole}-{part}" if whole else str(part)


def _refuse(text: str, hint: str) -> InputError:
    shown = text if len(text) <= 40 else text[:40] + "..."
    message = f'drill = "{shown}": expected {EXAMPLES}.'
    return InputError(f"{message} {hint}".rstrip(), key="drill", value=shown, expected=EXAMPLES)
