"""Reads the rows of a run sheet back: from the plain text, from the PDF by pdftotext, from the page by html.parser."""

from __future__ import annotations

import json
import re
import subprocess
import tempfile
from dataclasses import dataclass, field
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

_NUMBER = r"[+-]?\d+\.\d+"
_FOUR = rf"({_NUMBER}) +({_NUMBER}) +({_NUMBER}) +({_NUMBER})"
_TEXT_ROW = re.compile(rf"^ *(\d+) (back to \d+|.{{9}}) +{_FOUR}(?: +({_NUMBER}))? +\[ \]$")
_PDF_ROW = re.compile(rf"^(\d+)\s+(?:(back to \d+|\d+|[^\d]*?[^\d\s+-])\s*){_FOUR}(?: ({_NUMBER}))?$")
_NAME_ALONE = re.compile(r"^\d+ (?:back to \d+|\d+)$")
_TO_TEXT = re.compile(rf"^ +to +({_NUMBER}) +({_NUMBER})$")
_TO = re.compile(rf"^to X ({_NUMBER}) Y ({_NUMBER})$")
_DIAL = re.compile(
    r"\b(to )?([XY]) ([+-]?)(\d+) turns \+ (\d+)(?:, dial shows|, shows) (\d+)(?:; count (-?\d+(?: (?:to )?-?\d+)*))?"
)
_PAST = re.compile(rf"([XY]): go ({_NUMBER}) (in|mm) past it toward ([+-])([XY]), come back in ([+-])([XY])")


@dataclass(frozen=True)
class Dialled:
    """One setting of a handwheel as a paper says it."""

    end: bool
    axis: str
    sign: str
    turns: int
    marks: int
    shows: int
    counts: str


@dataclass
class PaperRow:
    """One row as a paper says it: texts, the long minus written as a hyphen."""

    number: int
    name: str
    x: str
    y: str
    step_x: str
    step_y: str
    z: str
    to: tuple[str, str] | None = None
    dials: list[Dialled] = field(default_factory=list)
    past: dict[str, tuple[str, str, str, str]] = field(default_factory=dict)
    """For each axis that is passed by: how far, its unit, toward which side, and the side of coming back."""


@dataclass
class Sheet:
    """A run sheet as it was read: all of its words in one line, and the rows of each operation by its number."""

    words: str
    rows: dict[int, list[PaperRow]]

    def says(self, words: str) -> bool:
        """Return whether the sheet has these words, however they are broken into lines."""
        return squeezed(words) in self.words


def squeezed(text: str) -> str:
    """Return a text for comparison: in one line, the long minus as a hyphen, all in capitals."""
    return " ".join(text.replace("\N{MINUS SIGN}", "-").split()).upper()


def _more(row: PaperRow, line: str) -> None:
    """Add what a line below a row says of it."""
    for to, axis, sign, turns, marks, shows, counts in _DIAL.findall(line):
        row.dials.append(Dialled(bool(to), axis, sign, int(turns), int(marks), int(shows), counts.strip()))
    for axis, far, unit, toward, axis_past, back, axis_back in _PAST.findall(line):
        if axis == axis_past == axis_back:
            row.past[axis] = (far, unit, toward, back)


def read_text_sheet(text: str) -> Sheet:
    """Return ``sheet.txt`` as read."""
    lines = text.replace("\N{MINUS SIGN}", "-").split("\n")
    rows: dict[int, list[PaperRow]] = {}
    below: list[str] = []
    operation, row = 0, None

    def close() -> None:
        if row is not None:
            _more(row, " ".join(" ".join(below).split()))
        below.clear()

    for number, line in enumerate(lines):
        begin = re.match(r"^(\d+)\. \S", line)
        if begin and number >= 1 and not lines[number - 1]:
            close()
            operation, row = int(begin[1]), None
            rows[operation] = []
        elif found := _TEXT_ROW.match(line):
            close()
            row = PaperRow(int(found[1]), found[2].strip(), *found.group(3, 4, 5, 6), found[7] or "")
            rows[operation].append(row)
        elif row is not None and (end := _TO_TEXT.match(line)):
            row.to = (end[1], end[2])
            _more(row, " ".join(" ".join(below).split()))
            below.clear()
            below.append("")
        elif row is not None and line.startswith("        "):
            # the dials of the end of a pass stand below its "to"
            below.append(re.sub(r"\b([XY]) (?=[+-]?\d+ turns)", r"to \1 ", line) if row.to else line)
    close()
    return Sheet(squeezed(text), rows)


def text_of_pdf(data: bytes) -> str:
    """Return all text of a PDF in the order in which it was written."""
    with tempfile.TemporaryDirectory(prefix="holecam-apart-") as folder:
        path = Path(folder) / "sheet.pdf"
        path.write_bytes(data)
        return subprocess.run(["pdftotext", "-raw", path, "-"], capture_output=True, check=True).stdout.decode("utf-8")


def read_pdf_sheet(data: bytes) -> Sheet:
    """Return ``sheet.pdf`` as pdftotext (poppler) reads it, in the order in which it was written."""
    text = text_of_pdf(data)
    lines = text.replace("\N{MINUS SIGN}", "-").replace("\f", "").split("\n")
    rows: dict[int, list[PaperRow]] = {}
    below: list[str] = []
    operation, row, title = 0, None, False

    def close() -> None:
        if row is not None:
            _more(row, " ".join(below))
        below.clear()

    for number, line in enumerate(lines):
        joined = f"{line} {lines[number + 1]}" if _NAME_ALONE.match(line) and number + 1 < len(lines) else line
        begin = re.match(r"^(\d+)\. \S", line)
        if begin and int(begin[1]) == operation + 1:
            close()
            operation, row, title = int(begin[1]), None, False
            rows[operation] = []
        elif line.startswith("row ") and "move X" in line:
            title = True
        elif title and (found := _PDF_ROW.match(joined)):
            close()
            row = PaperRow(int(found[1]), found[2] or "", *found.group(3, 4, 5, 6), found[7] or "")
            rows[operation].append(row)
        elif row is not None and (end := _TO.match(line)):
            row.to = (end[1], end[2])
        elif row is not None:
            below.append(line)
    close()
    foot = re.compile(r"^(page \d+ of \d+|initials _+.*)$")
    kept = [line for before, line in pairwise(["", *lines]) if not foot.match(line) and not before.startswith("page ")]
    return Sheet(squeezed(" ".join(kept)), rows)


class _Page(HTMLParser):
    """Gathers the words of a page, the cells of its tables, and the facts that its script computes with."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.facts = ""
        self.rows: dict[int, list[PaperRow]] = {}
        self.operation = 0
        self._cells: list[str] | None = None
        self._below = self._in_table = False
        self._inside = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "script":
            self._inside = "facts" if told.get("id") == "facts" else "script"
        elif tag in ("style", "svg", "title"):
            self._inside = tag
        elif tag == "h2" and re.match(r"t-\d+$", told.get("id") or ""):
            self.operation = int((told["id"] or "")[2:])
            self.rows[self.operation] = []
        elif tag == "tbody":
            self._in_table = True
        elif tag == "tr" and self._in_table:
            self._close()
            self._below = (told.get("class") or "").startswith("sub")
            self._cells = []
        elif tag == "td" and self._cells is not None:
            self._cells.append("")
        elif tag == "span" and self._cells:
            self._cells[-1] += "\n"
        if tag not in ("b", "i", "span", "strong"):
            self.words.append(" ")

    def handle_endtag(self, tag: str) -> None:
        if tag == self._inside or tag == "script":
            self._inside = ""
        elif tag == "tbody":
            self._close()
            self._in_table = False

    def handle_data(self, data: str) -> None:
        if self._inside == "facts":
            self.facts += data
        elif not self._inside:
            self.words.append(data)
            if self._cells:
                self._cells[-1] += data

    def _close(self) -> None:
        if not self._cells:
            return
        cells = [cell.replace("\N{MINUS SIGN}", "-") for cell in self._cells]
        self._cells = None
        if not self._below:
            number, name, x, y, step_x, step_y, *more = (cell.strip() for cell in cells)
            self.rows[self.operation].append(
                PaperRow(int(number), name, x, y, step_x, step_y, more[0] if len(more) == 3 else "")
            )
            return
        row = self.rows[self.operation][-1]
        for line in cells[1].split("\n"):
            if end := _TO.match(line.strip()):
                row.to = (end[1], end[2])
            else:
                _more(row, line)


def read_page(text: str) -> tuple[Sheet, dict[str, Any]]:
    """Return ``sheet.html`` as read without its script, and the facts that the script computes with."""
    page = _Page()
    page.feed(text)
    return Sheet(squeezed("".join(page.words)), page.rows), json.loads(page.facts)
