"""Mistakes that one row of a job file shows by itself, whatever stands round it, and what to write instead."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from holecam.errors import InputError
from holecam.lengths import parse_length

Told = tuple[str, str]
"""What was expected, and advice."""

LONGEST_ROW = 2000
"""Characters; a longer row is a list that no person wrote by hand, and the patterns below would take long over it."""

_CURLY = re.compile("[=\\[,{]\\s*[\u2018\u2019\u201a\u201c\u201d\u201e`\u00b4]")
_BARE = re.compile(r"=\s*([^\s\"'\[{,#][^,\]}#]*)|[\[,]\s*([^\s\"'\[{,#][^,\]}#]*)")
_TEXTS = re.compile(r'"(?:[^"\\]|\\.)*"|\'[^\']*\'')
_HEADING = re.compile(r"(\[{1,2})\s*([A-Za-z_][\w.]*)\s*(\]{0,2})\s*")
_COMMA = re.compile(r"=\s*([+-]?\d+),(\d+)\s*")
_COMMA_UNIT = re.compile(r"=\s*([+-]?\d+),(\d+)\s*(mm|cm|in|inch|inches|thou)\s*")
_COMMA_ZERO = re.compile(r"(?<![\w.,])([+-]?\d+),(0\d+)(?![\w.])")
_COLON = re.compile(r"\s*([A-Za-z_]+)\s*:\s*(\S.*?)\s*")
_ZERO_IN_FRONT = re.compile(r"(?<![\w.])([+-]?)0+(\d+)(?![\w.:/-])")
_NO_DIGIT = re.compile(r"(?<![\w.])([+-]?)(\d+\.(?!\d)|\.\d+)(?![\w.])")
_INCH = re.compile(r"=\s*(\"?)([\d./ -]*\d)\s*(\"|'')(\"?)\s*")
_DEGREES = re.compile("(?<![\\w.])([+-]?\\d+(?:\\.\\d+)?)\\s*(?:\u00b0|deg\\b|degrees\\b)")
_ROUND = re.compile(r"=\s*\(\s*[^()]*,[^()]*\)")
_TEXT_ALONE = re.compile(r"\s*[A-Za-z_]+\s*=\s*([A-Za-z][\w ./-]*?|#?[\d/]+-[A-Za-z\d][\w ./-]*?)\s*")
_NOT_TEXT = ("{\\rtf", "PK\x03", "<html", "<!doc", "<?xml", "%pdf")
_SAYS_YES = {"yes": "true", "no": "false", "true": "true", "false": "false", "on": "true", "off": "false"}


def row_mistake(row: str) -> Told | None:
    """Return what is wrong with a row that the reader of the file did not accept, None where it shows nothing.

    >>> row_mistake("thickness = 4,5")
    ('a decimal point', 'Write 4.5.')
    """
    if len(row) > LONGEST_ROW:
        return None
    without_remark = _without_remark(row)
    bare = _TEXTS.sub('""', without_remark)
    looks = (
        (_not_text, row),
        (_curly, without_remark),
        (_blank, bare),
        (_remark, bare),
        (_heading, bare),
        (_blank_in_heading, bare),
        (_half_quoted, without_remark),
        (_inch_mark, without_remark),
    )
    for look, text in looks:
        told = look(text)
        if told is not None:
            return told
    colon = _COLON.fullmatch(without_remark)
    if colon:
        return "key = value", f"Write {colon[1]} = {colon[2]}"
    return _number(bare) or _length(bare) or _word(bare) or _braces(bare)


def _without_remark(row: str) -> str:
    """Return a row without the remark at its end; a # inside quotes is none."""
    blanked = _TEXTS.sub(lambda text: "q" * len(text[0]), row)
    end = blanked.find("#")
    return row if end < 0 else row[:end]


def _not_text(row: str) -> Told | None:
    if row.lower().lstrip().startswith(tuple(mark.lower() for mark in _NOT_TEXT)):
        return "a plain text file", "This one comes from a word processor or a browser; save it as plain text."
    return None


def _curly(row: str) -> Told | None:
    if _CURLY.search(row):
        return (
            "straight quotes round text",
            'The curly quotes of a word processor do not count: write " in their place.',
        )
    return None


def _blank(row: str) -> Told | None:
    for char in row:
        if char not in " \t" and unicodedata.category(char) in ("Zs", "Cf"):
            return "a plain space", f"Here stands another one, U+{ord(char):04X}; type a space in its place."
    return None


def _remark(row: str) -> Told | None:
    for mark in ("//", ";", "--", "/*"):
        if row.lstrip().startswith(mark):
            return "# in front of a remark", f"Write # in place of {mark}"
    return None


def _heading(row: str) -> Told | None:
    match = _HEADING.fullmatch(row)
    if match is None or len(match[1]) == len(match[3]):
        return None
    missing = "]" * len(match[1])
    return f"a closing {missing} after the name of a table", f"Write {match[1]}{match[2]}{missing}."


def _braces(bare: str) -> Told | None:
    if re.search(r",\s*\}", bare):
        return "no comma before a closing }", "Take it out."
    if bare.count("{") > bare.count("}"):
        return "a closing } on this line", "A table in braces stands on one line; or give it a [heading] of its own."
    return None


def _blank_in_heading(row: str) -> Told | None:
    match = re.fullmatch(r"\s*(\[{1,2})\s*([A-Za-z_.]+(?:[ -]+[A-Za-z_.]+)+)\s*(\]{1,2})\s*", row)
    if match is None:
        return None
    return "a name without blanks", f"Write {match[1]}{re.sub('[ -]+', '_', match[2])}{match[3]}."


def _half_quoted(row: str) -> Told | None:
    match = re.fullmatch(r"\s*[A-Za-z_]+\s*=\s*([A-Za-z][^\"']*)[\"']\s*", row)
    return None if match is None else ("quotes round text", f'One is missing: write "{match[1]}".')


def _inch_mark(row: str) -> Told | None:
    match = _INCH.search(row)
    if match is None or (match[1] and not match[4]):
        return None
    return "a length in quotes", f'An inch mark would end the text: write "{match[2].strip()} in".'


def _number(bare: str) -> Told | None:
    halves = _COMMA_ZERO.search(bare)
    if halves:
        return "a decimal point", f"Write {halves[1]}.{halves[2]}."
    with_unit = _COMMA_UNIT.search(bare)
    if with_unit:
        return "quotes and a decimal point", f'Write "{with_unit[1]}.{with_unit[2]} {with_unit[3]}".'
    comma = _COMMA.search(bare)
    if comma and comma.end() == len(bare):
        return "a decimal point", f"Write {comma[1]}.{comma[2]}."
    degrees = _DEGREES.search(bare)
    if degrees:
        return "an angle as a plain number of degrees", f"Write {degrees[1]}."
    round_brackets = _ROUND.search(bare)
    if round_brackets:
        return "square brackets round a list", "Write [ and ] in place of ( and )."
    if re.search(r"\[[^\]]*\d\s*;", bare):
        return "a comma between the values of a list", "Write , in place of ;"
    for number in _NO_DIGIT.finditer(bare):
        whole = number[2] + "0" if number[2].endswith(".") else "0" + number[2]
        return "a digit on both sides of the decimal point", f"Write {number[1]}{whole}."
    zero = _ZERO_IN_FRONT.search(bare)
    if zero:
        hint = f"Write {zero[1]}{zero[2]}; where a comma was meant as the decimal point, write a point."
        return "a number without a zero in front", hint
    return None


def _word(bare: str) -> Told | None:
    text = _TEXT_ALONE.fullmatch(bare)
    if text and text[1].lower() not in (*_SAYS_YES, "inf", "nan"):
        return "quotes round text", f'Text needs quotes: write "{text[1]}".'
    for written in _bare_values(bare):
        if written.lower() in _SAYS_YES:
            return "true or false, in small letters", f"Write {_SAYS_YES[written.lower()]}."
    return None


def _length(row: str) -> Told | None:
    """Return advice on a length such as 3/16 or 12 thou that stands in the row without quotes."""
    for written in _bare_values(row):
        if re.fullmatch(r"[+-]?\d+(\.\d*)?|true|false", written):
            continue
        try:
            parse_length(written, unit="mm")
        except InputError:
            if re.fullmatch(r"[+-]?\d+,\d+ ?(mm|in)", written):
                return "quotes and a decimal point", f'Write "{written.replace(",", ".")}".'
            continue
        plain = re.sub("^[\u2212\u2013\u2010\u2011]\\s*", "-", written)
        if re.fullmatch(r"-\d+(\.\d+)?", plain):
            return "a plain minus sign", f"Write {plain}."
        return "quotes round a length with a fraction or a unit", f'Write "{written}".'
    return None


def _bare_values(row: str) -> Iterator[str]:
    for match in _BARE.finditer(row):
        yield (match[1] or match[2]).strip()
