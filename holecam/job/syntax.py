"""Mistakes in the writing of a TOML file, in plain words: a missing quote, a key twice, a length without quotes."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from holecam.errors import FileContentError, InputError, Problem
from holecam.job.faults import shown
from holecam.lengths import parse_length

DEEPEST = 32
"""Tables and lists inside each other; no job needs a third of it."""

_WORDS: tuple[tuple[str, str, str], ...] = (
    ("Cannot overwrite a value", "each key once", "The same key stands above in this table."),
    ("Duplicate inline table key", "each key once", "The same key is there twice."),
    ("twice", "each [table] once", "Put its keys together, or write [[...]] for several of them."),
    ("Cannot mutate immutable namespace", "each table in one place", "It was closed above; put its keys together."),
    ("Unterminated string", "a closing quote", "A quote is missing."),
    ("Illegal character '\\n'", "a closing quote", "A quote is missing at the end of this line."),
    ("Illegal character", "a character that may stand here", "A control character is in the text; take it out."),
    ("Unclosed array", "a closing ]", "A list is not closed, or a comma is missing in it."),
    ("Unclosed inline table", "a closing }", "A table in braces is not closed, or a comma is missing in it."),
    ("Expected '=' after a key", 'key = value, or "text in quotes"', "An equals sign or a quote is missing."),
    ("Expected newline or end of document", "one key = value on a line", "Text needs quotes."),
    ("Expected ']'", "a closing ] after the name of a table", ""),
    ("Invalid initial character for a key part", "the name of a key", ""),
    ("Invalid statement", "key = value, or a [table]", ""),
    ("Invalid value", "a value: a number, text in quotes, a list or a table", "Text needs quotes."),
    ("Unescaped '\\'", "a double \\\\ in text", "Or put the text in single quotes, as for a file path."),
    ("Invalid hex value", "a double \\\\ in text", "Or put the text in single quotes, as for a file path."),
    ("Invalid date or datetime", "a date such as 2024-05-31", ""),
    ("Empty key", "the name of a key", ""),
)

_PLACE = re.compile(r"\(at (?:line (\d+), column (\d+)|end of document)\)")
_CURLY = re.compile("[=\\[,{]\\s*[\u2018\u2019\u201a\u201c\u201d\u201e]")
_BARE = re.compile(r"=\s*([^\s\"'\[{,#][^,\]}#]*)|[\[,]\s*([^\s\"'\[{,#][^,\]}#]*)")


def parse_toml(text: str, *, file: str) -> dict[str, Any]:
    """Return the values of a TOML text.

    Raises
    ------
    FileContentError
        It is not valid TOML, or things lie inside each other too deeply; line and a plain reason are given.
    """
    endless = _endless_key(text)
    if endless:
        raise FileContentError([Problem(file, endless, "", "", f"keys of at most {DEEPEST} parts")])
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FileContentError([_problem(str(error), text, file)]) from None
    except RecursionError:
        raise FileContentError([_too_deep(file)]) from None
    except ValueError:  # a number of thousands of digits is refused by Python itself
        line = next((n for n, row in enumerate(text.split("\n"), 1) if re.search(r"\d{300}", row)), 0)
        raise FileContentError([Problem(file, line, "", "", "numbers of usual length")]) from None
    if _deeper_than(data, DEEPEST):
        raise FileContentError([_too_deep(file)])
    return data


_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"|\'[^\']*\'')


def _endless_key(text: str) -> int:
    """Return the line of a dotted key of very many parts, or 0: the standard reader takes their number squared."""
    for number, row in enumerate(text.split("\n"), 1):
        if row.count(".") <= DEEPEST:
            continue
        for piece in re.split(r"[,\[\]{}=#]", _QUOTED.sub("q", row)):
            if piece.count(".") > DEEPEST and ".." not in piece:
                return number
    return 0


def _too_deep(file: str) -> Problem:
    return Problem(file, 0, "", "", f"lists and tables at most {DEEPEST} deep inside each other")


def _deeper_than(data: Any, most: int) -> bool:
    level: list[Any] = [data]
    for _ in range(most):
        level = [v for x in level if isinstance(x, (dict, list)) for v in (x.values() if isinstance(x, dict) else x)]
        if not level:
            return False
    return True


def _problem(message: str, text: str, file: str) -> Problem:
    rows = text.replace("\r\n", "\n").split("\n")
    place = _PLACE.search(message)
    line = int(place[1]) if place and place[1] else len(rows)
    while line > 1 and not rows[line - 1].strip() and not (place and place[1]):
        line -= 1
    row = rows[min(line, len(rows)) - 1]
    if _CURLY.search(row):
        hint = 'The curly quotes of a word processor do not count: write " in their place.'
        return Problem(file, line, "", shown(row.strip()), "straight quotes round text", hint)
    bare = _length_without_quotes(row, text)
    if bare:
        return Problem(
            file, line, "", shown(row.strip()), "quotes round a length with a fraction or a unit", f'Write "{bare}".'
        )
    if "end of document" in message and "Invalid value" in message:
        message = "Unclosed array"  # the reader looked for one more item and found the end
    line, row = _opening(message, line, rows)
    for sign, expected, hint in _WORDS:
        if sign in message:
            return Problem(file, line, "", shown(row.strip()), expected, hint)
    return Problem(file, line, "", shown(row.strip()), "valid TOML", "")


def _opening(message: str, line: int, rows: list[str]) -> tuple[int, str]:
    """Return the line to look at: where a list was opened that is never closed, not where the reader gave up."""
    if "Unclosed array" in message or "Unclosed inline table" in message:
        mark = "[" if "array" in message else "{"
        other = "]" if mark == "[" else "}"
        for number in range(min(line, len(rows)), 0, -1):
            if rows[number - 1].count(mark) > rows[number - 1].count(other):
                return number, rows[number - 1]
    return line, rows[min(line, len(rows)) - 1]


def _length_without_quotes(row: str, text: str) -> str:
    """Return a length such as 3/16 or 12 thou that stands in the row without quotes, or nothing."""
    for match in _BARE.finditer(row):
        written = (match[1] or match[2]).strip()
        if re.fullmatch(r"[+-]?\d+(\.\d*)?|true|false", written):
            continue
        try:
            parse_length(written, unit="mm")
        except InputError:
            if not re.fullmatch(r"\d+,\d+( ?mm| ?in)?", written):
                continue
        return written
    return ""
