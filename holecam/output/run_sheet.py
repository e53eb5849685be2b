"""The run sheet: one page that needs no network, for the screen at the machine and for the printer."""

from __future__ import annotations

import base64
import hashlib
import json
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holecam.lengths import length_text, number_in
from holecam.output.chain_picture import chain_pictures
from holecam.output.chain_table import chain_table
from holecam.output.cut_picture import cut_pictures, picture_name
from holecam.output.finding_groups import alike, told
from holecam.output.freedom_picture import freedom_pictures
from holecam.output.head_words import head_words
from holecam.output.marking_picture import marking_pictures
from holecam.output.marking_table import marking_table
from holecam.output.milled_table import milled_lines
from holecam.output.plain_words import plain, ranges, true_minus
from holecam.output.plan_picture import plan_picture
from holecam.output.readings import Reading, RowReading, reading, row_readings, stop_figure
from holecam.output.section_picture import section_pictures
from holecam.output.sheet_facts import sheet_facts
from holecam.output.sheet_stamp import BLANK, stamped
from holecam.output.step_down_picture import step_down_picture_name, step_down_pictures
from holecam.output.step_down_table import step_down_table
from holecam.output.svg_canvas import PICTURE_STYLE
from holecam.output.turn_counts import turn_counts
from holecam.plan.plan import Plan
from holecam.plan.work import Operation, Stop

if TYPE_CHECKING:
    from jinja2 import Template

FOLDER = Path(__file__).parent / "templates"
SCRIPTS = ("sheet_stamp.js", "plan_changes.js", "sheet.js")
"""Put together in this order: the last one runs the page with what the others define."""
GROUP = 5
"""A wider gap after this many rows keeps the eye in its row."""

LONG = 200
"""Rows of one operation beyond which the paper names first and last turn only; the working view ticks each."""


def run_sheet(plan: Plan) -> str:
    """Return ``sheet.html``: self-contained, inert towards any text of the job, usable without JavaScript."""
    from markupsafe import Markup

    picture = plan_picture(plan)
    facts = sheet_facts(plan, picture.view)
    style = (FOLDER / "sheet.css").read_text("utf-8") + PICTURE_STYLE + _running_head(plan)
    script = "".join((FOLDER / name).read_text("utf-8") for name in SCRIPTS)
    page = _template().render(
        plan=plan,
        blank=BLANK,
        style=Markup(style),
        script=Markup(script),
        policy=_policy(style, script),
        facts=Markup(_json_in_page(facts)),
        head=head_words(plan),
        findings=findings_words(plan),
        picture=Markup(picture.canvas.inline()),
        unnumbered=ranges(picture.unnumbered),
        freedoms=[(p.pattern, Markup(c.inline())) for p, c in freedom_pictures(plan)],
        chains=[(r.name, Markup(c.inline())) for r, c in chain_pictures(plan)],
        tables=_tables(plan),
        tables_pictures=[
            *((picture_name(cut, work), Markup(c.inline())) for cut, work, c in cut_pictures(plan)),
            *((f"Section through {s.name}", Markup(c.inline())) for s, c in section_pictures(plan)),
            *((step_down_picture_name(s), Markup(c.inline())) for s, c in step_down_pictures(plan)),
            *((f"Marking out {m.name}", Markup(c.inline())) for m, c in marking_pictures(plan)),
        ],
        tools=[(t.number, t.name, length_text(t.diameter, plan.unit)) for t in plan.tools],
        operations=[operation_facts(plan, o) for o in plan.operations],
        checks=[(c.words, _text(reading(plan, c.expected), signed=False)) for c in plan.checks],
        readout_unit=plan.machine.readout.unit,
        dials=plan.machine.dial is not None,
        skewed=plan.setup.skewed,
    )
    return stamped(page)


def _tables(plan: Plan) -> list[str]:
    """Return the tables of cuts, step-downs, chains and corrections as the text sheet has them."""
    return [
        *("\n".join(milled_lines(c, plan.unit)) for c in plan.cuts),
        *(step_down_table(s, plan.unit) for s in plan.step_downs),
        *(chain_table(c, plan.unit) for c in plan.chains),
        *(marking_table(m, plan.unit) for m in plan.markings),
    ]


@cache
def _template() -> Template:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["plain"] = plain
    return environment.get_template("sheet.html")


def _json_in_page(facts: dict[str, Any]) -> str:
    """Return JSON that no text inside it can end: every ``<``, ``>`` and ``&`` is written as an escape."""
    text = json.dumps(facts, ensure_ascii=True, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _policy(style: str, script: str) -> str:
    """Return the policy of the page: nothing runs but its own script, and no more is read than the stamp beside it.

    The stamp is a style sheet on the same disk: it can hold a text and change looks, but never run.
    """
    digests = [base64.b64encode(hashlib.sha256(t.encode()).digest()).decode() for t in (style, script)]
    return (
        f"default-src 'none'; style-src 'sha256-{digests[0]}' file:; script-src 'sha256-{digests[1]}'; "
        "base-uri 'none'; form-action 'none'"
    )


def _running_head(plan: Plan) -> str:
    """Return the rule that prints title and hand at the head of every page."""
    words = plain(f"{plan.title}  |  HAND: {plan.part.hand}" if plan.part.hand else plan.title)
    revision = plain(f"{'rev ' + plan.revision if plan.revision else ''} {plan.date}")
    return f"\n@page{{@top-left{{content:{_css_text(words)}}}@top-right{{content:{_css_text(revision)}}}}}\n"


def _css_text(text: str) -> str:
    """Return a CSS string in which every character but letters, digits and spaces is an escape."""
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in text[:140]) + '"'


def _text(value: Reading, *, signed: bool = True) -> str:
    return value.text(signed=signed).replace("-", "\N{MINUS SIGN}")


def findings_words(plan: Plan) -> list[tuple[str, str, str]]:
    """Return severity, code and words of the findings, alike ones told once."""
    return [(group[0].severity.value, group[0].code, told(group)) for group in alike(plan.findings)]


def operation_facts(plan: Plan, operation: Operation) -> dict[str, Any]:
    """Return an operation as the papers print it: texts, and tables and stops in their order."""
    tool = plan.tool(operation.tool).name if operation.tool else ""
    feed = ""
    if operation.feed:
        decimals = 1 if plan.unit == "in" else 0
        feed = f"{number_in(operation.feed, plan.unit, decimals=decimals)} {plan.unit} a minute"
    stops: dict[int, list[dict[str, Any]]] = {}
    for stop in operation.stops:
        stops.setdefault(stop.after_row, []).append(_stop(plan, stop))
    rows = list(row_readings(plan, operation.rows))
    brief = len(rows) > LONG
    blocks = []
    for number, shown in enumerate(rows):
        blocks.append(_row(shown, rows[number - 1] if number else None, brief=brief))
    return {
        "number": operation.number,
        "title": operation.title,
        "tool": f"T{operation.tool} {tool}" if tool else "",
        "speed": f"{operation.spindle_rpm:.0f} turns a minute" if operation.spindle_rpm else "",
        "feed": feed,
        "zero": operation.z_zero,
        "program": ", ".join(n for n in (operation.program, *operation.more_programs) if n),
        "withheld": operation.withheld,
        "todo": operation.instructions,
        "pause": operation.pauses_here,
        "pieces": _pieces(blocks, stops),
        "row_word": operation.row_word,
        "depths": any(r.z is not None for r in rows),
    }


def _pieces(rows: list[dict[str, Any]], stops: dict[int, list[dict[str, Any]]]) -> list[tuple[str, list[Any]]]:
    """Return tables of rows and stops in their order: a stop ends a table, so that nobody reads past it."""
    pieces: list[tuple[str, list[Any]]] = []
    cuts = sorted({0, *(n for n in stops), len(rows)})
    if 0 in stops:
        pieces.append(("stops", stops[0]))
    for before, after in pairwise(cuts):
        part = [r for r in rows if before < r["number"] <= after]
        if part:
            pieces.append(("rows", part))
        if after in stops:
            pieces.append(("stops", stops[after]))
    return pieces


def _row(shown: RowReading, before: RowReading | None, *, brief: bool) -> dict[str, Any]:
    row = shown.row
    dials = []
    last = (None, None) if before is None else (before.to_dial_x or before.dial_x, before.to_dial_y or before.dial_y)
    for axis, now, then in (
        ("X", shown.dial_x, last[0]),
        ("Y", shown.dial_y, last[1]),
        ("to X", shown.to_dial_x, shown.dial_x),
        ("to Y", shown.to_dial_y, shown.dial_y),
    ):
        if now is not None:
            counts = turn_counts(then, now)
            told = f"{counts[0]} to {counts[-1]}" if brief and len(counts) > 1 else " ".join(counts)
            dials.append((axis, now.text().replace(", dial shows", ", shows") if brief else now.text(), told))
    return {
        "number": row.number,
        "name": f"back to {row.hole}" if row.closing else str(row.hole) if row.hole is not None else row.label,
        "x": _text(shown.x),
        "y": _text(shown.y),
        "step_x": _text(shown.step_x),
        "step_y": _text(shown.step_y),
        "z": _text(shown.z) if shown.z is not None else "",
        "to": (_text(shown.to_x), _text(shown.to_y)) if shown.to_x is not None and shown.to_y is not None else None,
        "dials": dials,
        # on every row that needs it: a row without it is one to go to straight away
        "approach": true_minus(row.overshoot.words),
        "note": row.note,
        "closing": row.closing,
        "gap": row.number % GROUP == 0,
    }


def _stop(plan: Plan, stop: Stop) -> dict[str, Any]:
    return {
        "key": stop.key,
        "title": stop.title,
        "look": stop.look_for,
        "expect": stop.expect,
        "figure": stop_figure(plan, stop).replace("-", "\N{MINUS SIGN}"),
        "otherwise": stop.if_not,
        "settings": [s.words for s in stop.settings],
    }
