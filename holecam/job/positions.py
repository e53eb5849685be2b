"""Where every key and list item of a TOML text stands, and how its value is written.

The standard reader gives values without places. This index is built only when there is something to report, from a
text that the standard reader has accepted, so it need not check anything itself.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from contextlib import suppress

from msgspec import Struct, field

Path = tuple[str | int, ...]
"""Keys and list numbers (from 0) from the top of the file."""

_BLANK = " \t"
_SPACE = " \t\n\r"
_ESCAPES = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\", "e": "\x1b"}


class Place(Struct, frozen=True):
    """Line of a key or item (from 1), and its value as written; the text is empty for a table with a header."""

    line: int
    written: str


class Positions(Struct):
    """Places by path."""

    places: dict[Path, Place] = field(default_factory=dict)

    def line(self, path: Path) -> int:
        """Return the line of the nearest enclosing thing that has one; 0 for the file as a whole."""
        for length in range(len(path), 0, -1):
            place = self.places.get(path[:length])
            if place is not None:
                return place.line
        return 0

    def written(self, path: Path) -> str:
        """Return the value as the user wrote it; empty when it is not in the file or is a table with a header."""
        place = self.places.get(path)
        return "" if place is None else place.written


def positions(text: str) -> Positions:
    """Return where the keys and items of a valid TOML text stand.

    Examples
    --------
    >>> found = positions('[part]\\nsize = ["1", "2"]\\n')
    >>> found.line(("part", "size", 1)), found.written(("part", "size", 1))
    (2, '"2"')
    """
    scan = _Scan(text.replace("\r\n", "\n"))
    # A text that the standard reader did not accept ends the scan early; what was found so far is still of use
    with suppress(IndexError, RecursionError, ValueError):
        scan.document()
    return Positions(scan.places)


class _Scan:
    """One pass over the text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.places: dict[Path, Place] = {}
        self.items: dict[Path, int] = {}  # how many [[tables]] there are so far
        self.starts = [0, *(n + 1 for n, char in enumerate(text) if char == "\n")]

    def line(self, at: int) -> int:
        return bisect_right(self.starts, at)

    def note(self, path: Path, start: int, written: str = "") -> None:
        # A dotted key passes the same table many times: the first mention is its place
        if path not in self.places:
            self.places[path] = Place(self.line(start), written)

    def document(self) -> None:
        table: Path = ()
        while self.skip(_SPACE):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.key_and_value(table)

    def skip(self, chars: str) -> bool:
        """Pass blanks and comments; return whether any text is left."""
        while self.at < len(self.text):
            char = self.text[self.at]
            if char in chars:
                self.at += 1
            elif char == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
                if "\n" not in chars:
                    return True
            else:
                return True
        return False

    def header(self) -> Path:
        start = self.at
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        keys = list(self.keys())
        self.at = self.text.index("]", self.at) + (2 if many else 1)
        path: Path = ()
        for number, key in enumerate(keys):
            path = (*path, key)
            if many and number == len(keys) - 1:
                self.note(path, start)
                self.items[path] = self.items.get(path, 0) + 1
            if path in self.items:
                self.note(path, start)
                path = (*path, self.items[path] - 1)
            self.note(path, start)
        return path

    def key_and_value(self, table: Path) -> None:
        start = self.at
        path = table
        passed: list[Path] = []
        for key in self.keys():
            path = (*path, key)
            passed.append(path)
        self.at = self.text.index("=", self.at) + 1
        self.skip(_BLANK)
        value = self.at
        del passed[-1]
        for outer in passed:
            self.note(outer, start)
        self.value(path)
        self.places.setdefault(path, Place(self.line(start), self.text[value : self.at].strip()))

    def keys(self) -> Iterator[str]:
        while True:
            self.skip(_BLANK)
            if self.text[self.at] in "\"'":
                yield self.string()
            else:
                end = self.at
                while self.text[end].isalnum() or self.text[end] in "_-":
                    end += 1
                if end == self.at:
                    raise ValueError("no key here")
                yield self.text[self.at : end]
                self.at = end
            self.skip(_BLANK)
            if self.text[self.at] != ".":
                return
            self.at += 1

    def value(self, path: Path) -> None:
        char = self.text[self.at]
        if char in "\"'":
            self.string()
        elif char == "[":
            self.array(path)
        elif char == "{":
            self.inline_table(path)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}#\n":
                self.at += 1

    def array(self, path: Path) -> None:
        self.at += 1
        number = 0
        while True:
            self.skip(_SPACE)
            if self.text[self.at] == "]":
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                continue
            start = self.at
            self.value((*path, number))
            self.places[(*path, number)] = Place(self.line(start), self.text[start : self.at].strip())
            number += 1

    def inline_table(self, path: Path) -> None:
        self.at += 1
        while True:
            self.skip(_SPACE)
            if self.text[self.at] == "}":
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self.key_and_value(path)

    def string(self) -> str:
        mark = self.text[self.at]
        wide = self.text.startswith(mark * 3, self.at)
        fence = mark * 3 if wide else mark
        start = self.at + len(fence)
        end = start
        while not self.text.startswith(fence, end):
            if end >= len(self.text):
                raise ValueError("no end of the string")
            end += 2 if mark == '"' and self.text[end] == "\\" else 1
        while wide and self.text.startswith(mark, end + 3):  # up to two quotes may stand before the closing three
            end += 1
        self.at = end + len(fence)
        body = self.text[start:end]
        return _unescaped(body) if mark == '"' and "\\" in body else body


def _unescaped(body: str) -> str:
    """Return the text of a quoted key without its escapes."""
    out: list[str] = []
    at = 0
    while at < len(body):
        if body[at] != "\\":
            out.append(body[at])
            at += 1
            continue
        kind = body[at + 1]
        digits = {"x": 2, "u": 4, "U": 8}.get(kind, 0)
        if digits:
            out.append(chr(int(body[at + 2 : at + 2 + digits], 16)))
        else:
            out.append(_ESCAPES.get(kind, ""))
        at += 2 + digits
    return "".join(out)
