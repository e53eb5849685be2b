"""Small faults put into papers that were right; each function is one of :mod:`small_faults`."""

from __future__ import annotations

import dataclasses
import io
import re
from collections.abc import Callable

import ezdxf
from kinds_of_jobs import Trial
from planned_work import PlannedWork
from pypdf import PdfReader, PdfWriter, Transformation

STRETCH = 1.0005
"""How much larger a template is printed: 0.05 mm over 100 mm."""

OFF = 0.001
"""How far a circle of the drawing is moved, in its unit."""


def _with(trial: Trial, name: str, change: Callable[[bytes], bytes]) -> PlannedWork | None:
    """Return the outcome with one paper changed, or nothing where it comes out as it was."""
    assert trial.work is not None
    papers = dict(trial.work.papers or {})
    changed = change(papers[name])
    if changed == papers[name]:
        return None
    return dataclasses.replace(trial.work, papers=papers | {name: changed})


def _last_digit(found: re.Match[str]) -> str:
    return found[1] + str((int(found[2]) + 1) % 10)


def _replace(pattern: str, by: Callable[[re.Match[str]], str]) -> Callable[[bytes], bytes]:
    def change(data: bytes) -> bytes:
        return re.sub(pattern, by, data.decode("utf-8"), count=1, flags=re.MULTILINE).encode("utf-8")

    return change


def wrong_digit_in_text(trial: Trial) -> PlannedWork | None:
    """Raise the last digit of the first Y of the plain text by one."""
    return _with(
        trial, "sheet.txt", _replace(r"^( *\d+ .{9} +[+-]?[\d.]+ +[+-]?[\d.]*)(\d) ", lambda m: _last_digit(m) + " ")
    )


def lost_sign_in_text(trial: Trial) -> PlannedWork | None:
    """Leave out the minus of an X."""
    return _with(trial, "sheet.txt", _replace(r"^( *\d+ .{9} +)-(\d)", lambda m: f"{m[1]}+{m[2]}"))


def wrong_mark_on_dial(trial: Trial) -> PlannedWork | None:
    """Raise what the dial shows by one mark."""
    return _with(trial, "sheet.txt", _replace(r"(dial shows )(\d+)", lambda m: f"{m[1]}{int(m[2]) + 1}"))


def turn_left_out(trial: Trial) -> PlannedWork | None:
    """Leave one whole turn out of those that pass."""
    return _with(trial, "sheet.html", _replace(r"(; count \S+) \S+ (\S+)", lambda m: f"{m[1]} {m[2]}"))


def wrong_digit_on_page(trial: Trial) -> PlannedWork | None:
    """Raise the last digit of an X on the page by one."""
    return _with(trial, "sheet.html", _replace(r"(<td class=n>.?[\d.]*)(\d)(?=<)", _last_digit))


def wrong_fact_of_page(trial: Trial) -> PlannedWork | None:
    """Move the first place that the page's script computes with by 1e-9 mm."""
    found = r'("rows":\[\[\d+,\d+,\d+,)(-?\d+)'
    return _with(trial, "sheet.html", _replace(found, lambda m: f"{m[1]}{int(m[2]) + 1}"))


def approach_left_out(trial: Trial) -> PlannedWork | None:
    """Leave out how a place is passed by."""
    return _with(trial, "sheet.html", _replace(r"<span>[XY]: go [^<]*</span>", lambda _: ""))


def other_hands_paper(trial: Trial) -> PlannedWork | None:
    """Put the printed sheet of the other hand for that of the part."""
    papers = (trial.work.papers if trial.work else None) or {}
    return _with(trial, "sheet.pdf", lambda data: papers.get("other-hand-sheet.pdf", data))


def wrong_digit_in_table(trial: Trial) -> PlannedWork | None:
    """Raise the last digit of the first X of the table by one."""
    return _with(trial, "coordinates.csv", _replace(r"^(1,[^,]*,1,-?[\d.]*)(\d)(?=,)", _last_digit))


def circle_off_in_drawing(trial: Trial) -> PlannedWork | None:
    """Move a circle of the drawing by a thousandth."""

    def change(data: bytes) -> bytes:
        document = ezdxf.read(io.StringIO(data.decode("utf-8")))  # type: ignore[attr-defined]
        for circle in document.modelspace().query('CIRCLE[layer=="NEW_HOLES"]'):
            circle.translate(OFF, 0.0, 0.0)
            break
        else:
            return data
        text = io.StringIO()
        document.write(text)
        return text.getvalue().encode("utf-8")

    return _with(trial, "layout.dxf", change)


def stretched_template(trial: Trial) -> PlannedWork | None:
    """Print the template a little too large."""

    def change(data: bytes) -> bytes:
        writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
        for page in writer.pages:
            page.add_transformation(Transformation().scale(STRETCH))
        stream = io.BytesIO()
        writer.write(stream)
        return stream.getvalue()

    return _with(trial, "template.pdf", change)


def wrong_digit_in_marking(trial: Trial) -> PlannedWork | None:
    """Raise the last digit of the first height of a marking out on paper by one."""
    return _with(trial, "sheet.txt", _replace(r"^( *\d+  (?:corner|tangent point) +-?[\d.]*)(\d)(?= )", _last_digit))


PAPER_DAMAGES = (
    ("marking", wrong_digit_in_marking, "PAPER"),
    ("papers", wrong_digit_in_text, "FIGURE"),
    ("papers", lost_sign_in_text, "FIGURE"),
    ("papers", wrong_mark_on_dial, "DIAL"),
    ("papers", turn_left_out, "TURNS"),
    ("papers", wrong_digit_on_page, "FIGURE"),
    ("papers", wrong_fact_of_page, "FACTS"),
    ("papers", approach_left_out, "APPROACH"),
    ("papers", other_hands_paper, "H"),
    ("papers", wrong_digit_in_table, "TABLE"),
    ("papers", circle_off_in_drawing, "DRAWING"),
    ("papers", stretched_template, "TEMPLATE"),
)
"""As :data:`small_faults.DAMAGES`."""
