"""Mistakes in the writing of a TOML file, in plain words: a missing quote, a key twice, a length without quotes."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from holecam.errors import FileContentError, Problem
from holecam.job.faults import shown
from holecam.job.row_mistakes import row_mistake

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
        raise FileContentError(_problems(error, text, file)) from None
    except RecursionError:
        raise FileContentError([_too_deep(file)]) from None
    except ValueError:  # a number of thousands of digits is refused by Python itself
        line = next((n for n, row in enumerate(text.split("\n"), 1) if re.search(r"\d{300}", row)), 0)
        raise FileContentError([Problem(file, line, "", "", "numbers of usual length")]) from None
    if _deeper_than(data, DEEPEST):
        raise FileContentError([_too_deep(file)])
    return data


MOST_ROWS = 20
"""Rows with a mistake of their own that one message lists."""

LONGEST_READ_AGAIN = 100_000
"""Characters of a file that is read again for further mistakes: each time takes a moment."""


def _problems(error: tomllib.TOMLDecodeError, text: str, file: str) -> list[Problem]:
    """Return the mistakes of all rows that are wrong by themselves, such as several lengths without quotes.

    The reader gives up at the first one. A row of one key and its value is then read as if it were not there, and the
    rest is read again; any other mistake ends the search, because what follows might only follow from it.
    """
    found = [_problem(str(error), text, file)]
    rows = text.split("\n")
    while len(found) < MOST_ROWS and len(text) <= LONGEST_READ_AGAIN:
        row = rows[found[-1].line - 1] if found[-1].line else ""
        if not _ONE_KEY.fullmatch(row.rstrip("\r")) or row_mistake(row) is None:
            return found
        rows[found[-1].line - 1] = ""
        try:
            tomllib.loads("\n".join(rows))
        except tomllib.TOMLDecodeError as next_one:
            problem = _problem(str(next_one), "\n".join(rows), file)
        except (RecursionError, ValueError):
            return found
        else:
            return found
        if problem.line <= found[-1].line:
            return found
        found.append(problem)
    return found


_ONE_KEY = re.compile(r"\s*[A-Za-z_]+\s*=[^\[{\"']*|\s*[A-Za-z_]+\s*=[^\[{]*|\s*[A-Za-z_]+\s*=\s*(\{.*\}|\[.*\])\s*")
"""A row that holds one key with its whole value: blanked, it leaves nothing open."""

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
    told = row_mistake(row)
    if told is not None:
        return Problem(file, line, "", shown(row.strip()), *told)
    if "end of document" in message and "Invalid value" in message:
        message = "Unclosed array"  # the reader looked for one more item and found the end
    if row.lstrip().startswith("[[") and "Cannot overwrite a value" in message:
        return _heading_problem(row, line, rows, file)
    line, row = _opening(message, line, rows)
    for sign, expected, hint in _WORDS:
        if sign in message:
            return Problem(file, line, "", shown(row.strip()), expected, hint)
    lone = _lone_quote(rows, line)
    if lone:
        row, hint = rows[lone - 1], "A text ends with the quote that it began with."
        return Problem(file, lone, "", shown(row.strip()), "a closing quote of the same kind", hint)
    return Problem(file, line, "", shown(row.strip()), "key = value, or a [table]", "")


def _heading_problem(row: str, line: int, rows: list[str], file: str) -> Problem:
    """Return why a [[heading]] cannot stand where it does: the same above has one bracket, or a part came first."""
    name = row.strip().strip("[]").strip()
    for number, other in enumerate(rows[: line - 1], 1):
        if re.fullmatch(rf"\s*\[\s*{re.escape(name)}\s*\]\s*", other):
            return Problem(file, number, "", other.strip(), f"[[{name}]], as further down", "A bracket is missing.")
        if re.match(rf"\s*\[{{1,2}}\s*{re.escape(name)}\.", other):
            hint = f"Put it below [[{name}]]."
            return Problem(file, number, "", shown(other.strip()), f"[[{name}]] above what belongs to it", hint)
    return Problem(
        file, line, "", shown(row.strip()), f"[[{name}]] once for each", "Something of its name stands above."
    )


def _lone_quote(rows: list[str], last: int) -> int:
    """Return the first line, up to ``last``, on which a text ends with another quote than it began with, or 0."""
    for number, row in enumerate(rows[:last], 1):
        left = _QUOTED.sub("", row).partition("#")[0]
        if '"' in left or "'" in left:
            return number
    return 0


def _opening(message: str, line: int, rows: list[str]) -> tuple[int, str]:
    """Return the line to look at: where a list was opened that is never closed, not where the reader gave up."""
    if "Unclosed array" in message or "Unclosed inline table" in message:
        mark = "[" if "array" in message else "{"
        other = "]" if mark == "[" else "}"
        for number in range(min(line, len(rows)), 0, -1):
            if rows[number - 1].count(mark) > rows[number - 1].count(other):
                return number, rows[number - 1]
    return line, rows[min(line, len(rows)) - 1]
