"""Read lengths as people in a shop write them, exactly.

``3/16``, ``1-7/32``, ``1 7/32``, ``1½``, ``0.187"``, ``12 thou``, ``4.5 mm``, ``2 cm``: every form ends as an exact
:class:`fractions.Fraction` of millimetres. A bare number takes the unit that the caller states; the unit is never
guessed from the size of the number.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal

from holecam.errors import InputError

Unit = Literal["in", "mm"]

MM_PER_INCH = Fraction(254, 10)
"""Exact since 1959 (international yard and pound agreement)."""

MM_PER_UNIT: dict[str, Fraction] = {
    "mm": Fraction(1),
    "millimetre": Fraction(1),
    "millimetres": Fraction(1),
    "millimeter": Fraction(1),
    "millimeters": Fraction(1),
    "cm": Fraction(10),
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "thou": MM_PER_INCH / 1000,
}


def unit_named(word: str) -> Unit | None:
    """Return the unit of bare numbers that a word names: ``inch``, ``IN``, ``mm``; ``None`` where it names neither."""
    size = MM_PER_UNIT.get(word.strip().lower().rstrip("."))
    return "in" if size == MM_PER_INCH else "mm" if size == 1 else None


LONGEST_TEXT = 60
"""Longer texts are refused before they are looked at: no length needs more, and a long run of digits costs time."""

MOST_DIGITS = 24
"""Digits in one number; beyond it the text is a mistake (float64 carries 17)."""

EXAMPLES = "a length such as 4.5 mm, 3/16, 1-7/32, 0.187 in or 12 thou"

# Every sign that a keyboard, a phone or a drawing puts where an inch mark, a minus or a fraction bar belongs
_SAME_SIGN = str.maketrans(
    {
        "″": '"',
        "”": '"',
        "“": '"',
        "\u2212": "-",
        "\u2010": "-",
        "\u2011": "-",
        "\u2013": "-",
        "\u2044": "/",
        "\u2215": "/",
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
    }
)

_SMALL_FRACTION = "([\u00b9\u00b2\u00b3\u2070-\u2079]+)[/\u2044\u2215]([\u2080-\u2089]+)"
"""A fraction of raised and lowered digits, as some keyboards make them."""

# Compiled at the first use (re keeps it): a look-up that reads no length does not pay for it
_NUMBER = r"""(?P<sign>[+-]?)\s*(?:
        (?P<whole>\d+)(?:\s*-\s*|\s+)(?P<top>\d+)\s*/\s*(?P<bottom>\d+)   # 1-7/32, 1 7/32
      | (?P<top_only>\d+)\s*/\s*(?P<bottom_only>\d+)                      # 3/16
      | (?P<decimal>\d+\.?\d*|\.\d+)                                      # 0.1875, .5, 4.
    )\s*(?P<unit>[A-Za-zµμ"'′][^\d]*)?"""


def parse_length(text: str | int | float | Fraction, *, unit: Unit | None, key: str = "length") -> Fraction:
    """Return a length in exact millimetres.

    Parameters
    ----------
    text : str or number
        A number with or without a unit. Floats are read as their shortest decimal text (0.1 is one tenth).
    unit : {"in", "mm"} or None
        The unit of a bare number. With ``None`` a bare number is refused.
    key : str
        What is being read, for the message.

    Raises
    ------
    InputError
        Not a length, not finite, a decimal comma, an unknown unit or a zero denominator.

    Examples
    --------
    >>> parse_length("1-7/32", unit="in") == Fraction(39, 32) * MM_PER_INCH
    True
    >>> parse_length("12 thou", unit="mm")
    Fraction(381, 1250)
    >>> float(parse_length("4.5 mm", unit="in"))
    4.5
    """
    if isinstance(text, bool):
        raise _refuse(key, str(text).lower(), "Give a number with its unit in quotes.")
    if isinstance(text, (int, float, Fraction)):
        return _bare_number(text, unit, key)
    shown = text if len(text) <= LONGEST_TEXT else text[:LONGEST_TEXT] + "..."
    if len(text) > LONGEST_TEXT:
        raise _refuse(key, shown, f"The text is longer than {LONGEST_TEXT} characters.")
    plain = _plain_signs(text)
    match = re.fullmatch(_NUMBER, plain, re.VERBOSE)
    if match is None:
        raise _refuse(key, shown, _hint_for(plain))
    if max((len(run) for run in re.findall(r"\d+", plain)), default=0) > MOST_DIGITS:
        raise _refuse(key, shown, f"A number has more than {MOST_DIGITS} digits.")
    number = _exact_number(match, key, shown)
    return number * _factor(match["unit"], unit, key, shown)


def _bare_number(number: int | float | Fraction, unit: Unit | None, key: str) -> Fraction:
    if isinstance(number, float) and (number != number or number in (float("inf"), float("-inf"))):
        raise _refuse(key, str(number), "Give a finite number.")
    exact = Fraction(repr(number)) if isinstance(number, float) else Fraction(number)
    return exact * _factor(None, unit, key, str(number))


def _plain_signs(text: str) -> str:
    """Return the text with unicode fractions written out and look-alike signs replaced."""
    import unicodedata  # a library of its own, loaded only for what people write

    small = re.sub(_SMALL_FRACTION, r" \1/\2", text)
    small = unicodedata.normalize("NFKC", small) if small != text else text
    plain = small.translate(_SAME_SIGN).strip()
    out: list[str] = []
    for char in plain:
        written = unicodedata.normalize("NFKC", char) if unicodedata.category(char) == "No" else char
        if "\u2044" in written:  # a fraction in one character: 1½ is one and a half, not 11/2
            out.append((" " if out and out[-1].isdigit() else "") + written.replace("\u2044", "/"))
        else:
            out.append(char)
    return "".join(out).replace("''", '"').replace("′′", '"')


def _exact_number(match: re.Match[str], key: str, shown: str) -> Fraction:
    if match["decimal"] is not None:
        number = Fraction(match["decimal"])
    else:
        bottom = int(match["bottom"] or match["bottom_only"])
        if bottom == 0:
            raise _refuse(key, shown, "The number under the fraction bar is zero.")
        number = int(match["whole"] or 0) + Fraction(int(match["top"] or match["top_only"]), bottom)
    return -number if match["sign"] == "-" else number


def _factor(written: str | None, unit: Unit | None, key: str, shown: str) -> Fraction:
    name = (written or "").strip().lower().rstrip(".")
    if not name:
        if unit is None:
            raise _refuse(key, shown, f'A bare number has no unit here; write "{shown} mm" or "{shown} in".')
        return MM_PER_UNIT[unit]
    if name in MM_PER_UNIT:
        return MM_PER_UNIT[name]
    raise _refuse(key, shown, _unit_hint(name))


def _unit_hint(name: str) -> str:
    if name in ("m", "metre", "meter", "metres", "meters"):
        return "Metres are not used here; write mm or cm."
    if name in ("mil", "mils"):
        return 'A mil means a thousandth of an inch to some and a millimetre to others; write "thou" or "mm".'
    if name in ("'", "ft", "feet", "foot", "′"):
        return "Feet are not used here; write inches."
    if name in ("um", "µm", "μm", "micron", "microns"):
        return "Write microns as thousandths of a millimetre, such as 0.005 mm."
    if name in ("dia", "diam", "diameter", "rad", "radius"):
        return "Write the length alone; the key says whether it is a diameter."
    if name in ("ga", "gauge", "swg", "awg", "bwg", "g"):
        return "Gauge numbers mean other sizes from table to table; write the thickness."
    if name in ("tenth", "tenths"):
        return "Write tenths of a thou as decimals of an inch, such as 0.0003 in."
    if "/" in name or name in ("mmpm", "ipm", "mmpr"):
        return "Write the length alone; a feed is a length a minute."
    return f'The unit "{name}" is not known; the units are mm, cm, in, " and thou.'


def _hint_for(plain: str) -> str:
    with_point = re.sub(r"(\d),(\d)", r"\1.\2", plain)
    if with_point != plain and re.fullmatch(_NUMBER, with_point, re.VERBOSE):
        thousands = re.match(r"[+-]?[1-9]\d{0,2},\d{3}(?!\d)", plain)  # 1,200: which of the two, only the user knows
        whole = plain.replace(",", "")
        return (
            f'Write "{with_point}", or "{whole}" if the comma marks thousands.'
            if thousands
            else f'Write "{with_point}".'
        )
    dotted = re.sub(r"^([+-]?\d+)\.(\d+\s*/\s*\d+)", r"\1-\2", plain)
    if dotted != plain and re.fullmatch(_NUMBER, dotted, re.VERBOSE):
        return f'Write "{dotted}".'
    if "\u00b1" in plain or "+-" in plain or "+/-" in plain:
        return "Write the size alone; how surely it is known stands under within."
    if re.match(r"[\u00d8\u00f8\u2300\u2205RrDd]\s*[\d.]", plain):
        return "Write the length without a sign in front; the key says whether it is a diameter."
    if re.fullmatch(r"\d+/\d+\s*-\s*\d+.*|[Mm]\d.*", plain):
        return "This reads like a thread; here a size is wanted."
    if re.search(r"\d[eE][+-]?\d", plain):
        return "Write the number out, without a power of ten."
    return ""


def _refuse(key: str, shown: str, hint: str) -> InputError:
    message = f'{key} = "{shown}": expected {EXAMPLES}.'
    return InputError(f"{message} {hint}" if hint else message, key=key, value=shown, expected=EXAMPLES)
