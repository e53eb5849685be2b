"""The grammar of thread names: everything that :mod:`thread_names` does not find in the tables as it stands."""

from __future__ import annotations

import re
from fractions import Fraction

from holecam.errors import InputError
from holecam.lengths.parsing import MM_PER_INCH, Unit
from holecam.standards.thread_forms import ThreadForm, thread_form
from holecam.standards.thread_names import EXAMPLES
from holecam.standards.threads import (
    METRIC_SERIES,
    MODEL_SERIES,
    UNIFIED_SERIES,
    WHITWORTH_SERIES,
    Thread,
    all_threads,
    free_thread,
)

LONGEST = 60

_SERIES_WORDS: dict[str, tuple[str, ...]] = {
    "unc": ("UNC",), "nc": ("UNC",), "unf": ("UNF",), "nf": ("UNF",), "unef": ("UNEF",), "nef": ("UNEF",),
    "bsw": ("BSW",), "bsf": ("BSF",), "me": MODEL_SERIES, "model engineer": MODEL_SERIES,
    "whitworth": WHITWORTH_SERIES, "whit": WHITWORTH_SERIES,
}  # fmt: skip

_NUMBER = r"(?:\d+\s*-\s*\d+\s*/\s*\d+|\d+\s+\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d+\.?\d*|\.\d+)"
_SIGNS = str.maketrans(
    {"×": "x", "✕": "x", "*": "x", "‐": "-", "‑": "-", "–": "-", "—": "-", "−": "-", "°": " deg", "º": " deg"}
)

_CLASS = r"[\s-]+(1a|2a|1b|2b|6h|6g|5h|4h)$"
_FINER_CLASS = r"[\s-]+(3a|3b|4g|8g|7h)$"
_ELSEWHERE = r"\b(nptf?|npsm?|bspp?|bspt|acme|stub|pg|rc)\b|^(g|r|tr)\s*\d"
_LEFT_HAND = r"\b(lh|left(?:[\s-]*hand(?:ed)?)?)\b"
_BA = r"(?:#\s*|no\.?\s*)?(\d+)\s*-?\s*ba|ba\s*-?\s*(\d+)"
_METRIC = r"m\s*(\d+\.?\d*)(?:\s*(?:x|-|\s)\s*(\d*\.?\d+)\s*(?:mm)?)?(?:\s*(coarse|fine))?"
_FORM = r"\b(60|55|47\.5)\s*(?:deg|degrees?)\b|\b(unified|metric|whitworth|whit|ba)(?:\s+form)?\b|\b(uns?)\b"
_INCH = rf"(?:(?P<hash>#|no\.?|nr\.?)\s*)?(?P<size>{_NUMBER})(?:\s*(?P<sep>-|x|\s)\s*(?P<tpi>\d+)\s*(?:tpi)?)?"
_FREE = rf"(?P<size>{_NUMBER})\s*(?P<unit>mm|in|inch)?\s*(?:x|-)\s*(?P<pitch>{_NUMBER})\s*(?P<pitch_unit>mm|tpi)?"


def read_thread(text: str) -> Thread:
    """Return the thread that the text names; see :func:`thread_names.parse_thread`.

    Raises
    ------
    InputError
        Unknown, ambiguous, or of a kind that is not in the tables.
    """
    if len(text) > LONGEST:
        raise _refuse(text, f"The text is longer than {LONGEST} characters.")
    plain = _plain_text(text)
    if not plain:
        raise _refuse(text, "")
    if re.search(r"\d,\d", plain):
        raise _refuse(text, f'Write the decimal with a point: "{re.sub(r"(?<=[0-9]),(?=[0-9])", ".", text.strip())}".')
    plain = " ".join(plain.replace(",", " ").split())
    if re.search(_ELSEWHERE, plain):
        raise _refuse(text, "Pipe and trapezoidal threads are not in the tables.")
    if re.search(_LEFT_HAND, plain):
        raise _refuse(
            text,
            "Left-hand threads are not in the tables. The hole is that of the right-hand thread of the same size and "
            "pitch, but the tap turns the other way, by hand and under power; drill it here and tap it by hand.",
        )
    if re.search(_FINER_CLASS, plain):
        raise _refuse(text, "Only the limits of classes 2B and 6H are in the tables; leave the class out.")
    plain = re.sub(_CLASS, "", plain)
    if match := re.fullmatch(_BA, plain):
        return _ba(text, int(match[1] or match[2]))
    if match := re.fullmatch(_METRIC, plain):
        return _metric(text, match)
    return _inch(text, plain) or _free(text, plain)


def _plain_text(text: str) -> str:
    """Return the text in lower case with look-alike signs, inch marks and one-character fractions written out."""
    import unicodedata  # a library of its own, loaded only for what people write

    spaced = "".join(f" {c}" if unicodedata.category(c) == "No" else c for c in text.translate(_SIGNS))
    plain = unicodedata.normalize("NFKC", spaced).replace("\u2044", "/").lower()
    plain = re.sub(r"[\"″”“]|''", " ", plain)
    return " ".join(plain.split())


def _ba(text: str, number: int) -> Thread:
    for thread in all_threads():
        if thread.nominal == f"{number} BA":
            return thread
    raise _refuse(text, "BA threads run from 0 BA to 16 BA.")


def _metric(text: str, match: re.Match[str]) -> Thread:
    size, pitch, word = Fraction(match[1]), match[2], match[3]
    of_size = [t for t in all_threads() if t.series in METRIC_SERIES and t.size == size]
    if not of_size:
        raise _refuse(text, _metric_hint(size))
    if pitch is not None:
        found = [t for t in of_size if t.pitch_size == Fraction(pitch)]
        if found:
            kind = found[0].series.removeprefix("metric ")
            if word in (None, kind):
                return found[0]
            raise _refuse(text, f'M{match[1]} with {found[0].pitch_text} is the {kind} thread; leave "{word}" out.')
        pitches = ", ".join(t.pitch_text for t in of_size)
        raise _refuse(text, f'M{match[1]} has these pitches: {pitches}. Another one is "{match[1]} x {pitch} 60 deg".')
    coarse = [t for t in of_size if t.series == "metric coarse"]
    if word == "fine":
        found = [t for t in of_size if t.series == "metric fine"]
        if len(found) == 1:
            return found[0]
        raise _choose(text, found)
    if coarse or len(of_size) == 1:
        return (coarse or of_size)[0]
    raise _choose(text, of_size)


def _metric_hint(size: Fraction) -> str:
    sizes = {t.size: t.nominal for t in all_threads() if t.series in METRIC_SERIES}
    around = [max((s for s in sizes if s < size), default=None), min((s for s in sizes if s > size), default=None)]
    names = " and ".join(sizes[s] for s in around if s is not None)
    return f"Metric threads run from M1 to M24; nearest: {names}."


def _inch(text: str, plain: str) -> Thread | None:
    """Return a tabulated inch thread; ``None`` when the text has another form."""
    series, rest = _take_series(plain)
    match = re.fullmatch(_INCH, rest)
    if match is None:
        return None
    size, tpi, separator = match["size"], match["tpi"], match["sep"]
    if series is None and tpi is None and (hint := _swapped_hint(size)):
        raise _refuse(text, hint)
    nominal = _nominals(size, numbered=match["hash"] is not None)
    of_size = [t for t in all_threads() if t.unit == "in" and (t.nominal in nominal or t.size in nominal)]
    found = [t for t in of_size if series is None or t.series in series]
    if tpi is not None:
        found = [t for t in found if t.pitch_size == Fraction(1, int(tpi))] if int(tpi) else []
    if series is None and separator == "-":
        # a fraction is no way to write a numbered size: 1/8-40 may be 5-40 UNC, but Whitworth has a thread of that name
        as_fraction = "/" in size
        by_standard = [
            t for t in found if t.series in ("UNC", "UNF") and not (as_fraction and t.nominal.startswith("#"))
        ]
        if by_standard:
            found = by_standard
        elif len(found) == 1 and found[0].series not in UNIFIED_SERIES:
            raise _refuse(text, f'It is no unified thread. If you mean the other series, write "{found[0].name}".')
    if series == WHITWORTH_SERIES:
        if tpi is not None and found:
            return found[0]  # one diameter, pitch and form: the same thread under either name
        found = [t for t in found if t.series == "BSW"]  # "1/4 Whitworth" without a pitch is the standard series
    if len(found) == 1:
        return found[0]
    if found:
        raise _choose(text, found)
    if series == WHITWORTH_SERIES and tpi is not None:
        return None  # a Whitworth form of another pitch is a free thread
    raise _refuse(text, _inch_hint(text, of_size, series))


def _take_series(plain: str) -> tuple[tuple[str, ...] | None, str]:
    """Return the series that a word in the text names, and the text without it."""
    for word, series in _SERIES_WORDS.items():
        match = re.search(rf"(?<![a-z]){word}(?![a-z])", plain)
        if match:
            before, after = plain[: match.start()].rstrip(" -"), plain[match.end() :].lstrip(" -")
            return series, f"{before} {after}".strip()
    return None, plain


def _nominals(size: str, *, numbered: bool) -> tuple[str | Fraction, ...]:
    """Return what the size can mean: a number size, an inch size, or for a bare 1 both."""
    if size.isdigit():
        number = f"#{int(size)}"
        return (number,) if numbered else (number, Fraction(int(size)))
    return (_exact(size),)


def _exact(text: str) -> Fraction:
    pieces = re.split(r"\s*-\s*|\s+(?=\d+\s*/)", text)
    try:
        return sum((Fraction(p.replace(" ", "")) for p in pieces), Fraction(0))
    except ZeroDivisionError:
        return Fraction(0)


def _swapped_hint(size: str) -> str:
    """Return a hint for 6/32 written for 6-32."""
    swapped = re.fullmatch(r"(\d+)\s*/\s*(\d+)", size)
    if swapped and any(t.name.startswith(f"{swapped[1]}-{swapped[2]} ") for t in all_threads()):
        return f'Did you mean "{swapped[1]}-{swapped[2]}"? For an inch size name the series.'
    return ""


def _inch_hint(text: str, of_size: list[Thread], series: tuple[str, ...] | None) -> str:
    same = [t.name for t in of_size if series is None or t.series in series] or [t.name for t in of_size]
    if same:
        return f"Of this size there are: {', '.join(same)}. Any other: diameter x threads an inch and form."
    return _nearest_hint(text)


def _free(text: str, plain: str) -> Thread:
    """Return a thread by diameter, pitch and form."""
    form_match = re.search(_FORM, plain)
    rest = re.sub(_FORM, " ", plain)
    match = re.fullmatch(_FREE, " ".join(rest.split()))
    if match is None:
        raise _refuse(text, _nearest_hint(text))
    size, pitch = _exact(match["size"]), _exact(match["pitch"])
    size_unit = match["unit"] or ("in" if "/" in match["size"] else None)  # a fraction is an inch size everywhere
    by_inch = match["pitch_unit"] == "tpi" or (
        size_unit != "mm" and size_unit is not None and match["pitch_unit"] is None and match["pitch"].isdigit()
    )
    unit: Unit = "in" if by_inch else "mm"
    if by_inch and size_unit is None:
        raise _refuse(text, f'State the unit of the diameter: "{match["size"]} in x {match["pitch"]} tpi", or mm.')
    if by_inch and size_unit == "mm":
        size = size / MM_PER_INCH
    elif not by_inch and size_unit not in (None, "mm"):
        raise _refuse(text, 'State the pitch of an inch thread in threads an inch, such as "1/4 x 36 tpi whitworth".')
    if by_inch and pitch <= 0:
        raise _refuse(text, "Threads an inch must be more than 0.")
    if form_match is None:
        raise _refuse(text, "State the form of the thread: 60 deg, 55 deg (whitworth) or 47.5 deg (ba form).")
    return free_thread(
        size=size, pitch_size=1 / pitch if by_inch else pitch, unit=unit, form=_form(form_match, by_inch=by_inch)
    )


def _form(match: re.Match[str], *, by_inch: bool) -> ThreadForm:
    word = match[1] or match[2]
    if word in ("55", "whitworth", "whit"):
        return thread_form("whitworth")
    if word in ("47.5", "ba"):
        return thread_form("ba")
    return thread_form("unified" if by_inch else "metric")


def _nearest_hint(text: str) -> str:
    from holecam.standards.names import nearest_names

    near = nearest_names(text, [t.name for t in all_threads()])
    return f"Did you mean {' or '.join(near)}?" if near else ""


def _choose(text: str, found: list[Thread]) -> InputError:
    names = ", ".join(t.name for t in found)
    return _refuse(text, f"It can mean more than one thread. Write one of: {names}.")


def _refuse(text: str, hint: str) -> InputError:
    shown = text if len(text) <= LONGEST else text[:LONGEST] + "..."
    message = f'thread = "{shown}": expected {EXAMPLES}.'
    return InputError(f"{message} {hint}".rstrip(), key="thread", value=shown, expected=EXAMPLES)
