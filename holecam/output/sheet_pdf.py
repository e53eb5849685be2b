"""The run sheet as a PDF, for whoever prints from a phone or wants pages that never change."""

from __future__ import annotations

import io
import re
import textwrap
from typing import Any

from holecam.lengths import length_text
from holecam.output.chain_picture import chain_pictures
from holecam.output.chain_table import chain_table
from holecam.output.cut_picture import cut_pictures
from holecam.output.freedom_picture import freedom_pictures
from holecam.output.head_words import head_words, place_words
from holecam.output.marking_picture import marking_pictures
from holecam.output.marking_table import marking_table
from holecam.output.milled_table import milled_lines
from holecam.output.page_numbers import counted_paper
from holecam.output.paper_font import REGULAR, STRONG, lines_of, paper_text, register_faces, width_of
from holecam.output.paper_template import PAGES, POINTS_PER_MM
from holecam.output.picture_on_paper import draw_picture
from holecam.output.plain_words import plain
from holecam.output.plan_picture import plan_picture
from holecam.output.readings import reading
from holecam.output.run_sheet import findings_words, operation_facts
from holecam.output.section_picture import section_pictures
from holecam.output.step_down_picture import step_down_pictures
from holecam.output.step_down_table import step_down_table
from holecam.output.svg_canvas import Canvas
from holecam.plan.plan import Plan

MARGIN = 14.0
"""mm left free at the sides; head and foot stand in it."""

HEAD = 12.0
LINE = 1.35
"""Line height over font size."""

TABLE_SIZE, PITCH = 8.5, 0.64
"""Type of the tables, points, and the width of one column as a share of it: a figure of the typeface is 0.636 wide."""

NAME_SIZE, LEAST_SIZE = 10.5, 6.0
"""Type of the names of rows, points, and how small it may become before a name is cut."""


def sheet_pdf(plan: Plan, *, page: str = "") -> bytes:
    """Return ``sheet.pdf`` on Letter or A4 (without ``page`` by the unit of the plan)."""
    register_faces()
    wide, high = PAGES[page or ("Letter" if plan.unit == "in" else "A4")]
    buffer = io.BytesIO()
    size = (wide * POINTS_PER_MM, high * POINTS_PER_MM)
    right, foot = size[0] - MARGIN * POINTS_PER_MM, (MARGIN + 6) * POINTS_PER_MM - 18

    def number(paper: Any, page: int, pages: int) -> None:
        paper.setFillGray(0.0)
        paper.setFont(REGULAR, 8)
        paper.drawRightString(right, foot, f"page {page} of {pages}")

    paper = counted_paper(buffer, size, number)
    paper.setTitle(paper_text(f"{plan.title}: run sheet"))
    _Sheet(plan, paper, size).write()
    paper.save()
    return buffer.getvalue()


def _in_room(words: str, size: float, room: float) -> tuple[str, float]:
    """Return words on one line, and a size of type at which they fit: of "back to 10" the number must not be lost."""
    shown = paper_text(words)
    fitting = size * room / max(width_of(shown, size, strong=True), 1e-9)
    if fitting >= LEAST_SIZE:
        return shown, min(size, fitting)
    return lines_of(shown, LEAST_SIZE * 1.12, room)[0], LEAST_SIZE


class _Sheet:
    """The sheet in the making: a pen that goes down the page and opens the next one."""

    def __init__(self, plan: Plan, paper: Any, size: tuple[float, float]) -> None:
        self.plan, self.paper = plan, paper
        self.left, self.right = MARGIN * POINTS_PER_MM, size[0] - MARGIN * POINTS_PER_MM
        self.top, self.low = size[1] - (MARGIN + HEAD) * POINTS_PER_MM, (MARGIN + 6) * POINTS_PER_MM
        self.y = 0.0
        self.repeat: list[tuple[float, str, str]] = []

    def write(self) -> None:
        plan = self.plan
        self.open_page()
        self.text(plan.title, 18, strong=True)
        self.text(f"{'revision ' + plan.revision + '  ' if plan.revision else ''}{plan.date}", 9)
        if plan.part.hand:
            self.boxed(f"HAND: {plan.part.hand}", 13)
        self.picture(plan_picture(plan).canvas, 1.0)
        self.text("Heavy ring with cross: new hole; light ring with diagonal cross: old, filled; bare: old, open.", 8)
        for name, words in head_words(plan):
            self.text(f"{name}: {words}", 9.5)
        for words in (
            "Zero set by ____________________ at ____________",
            "Datum in machine coordinates: X ____________ Y ____________",
            "Temperature ________ checked by ____________________",
        ):
            self.text(words, 10, gap=5)
        self.text(f"Job {plan.fingerprint}", 6.5)
        self.section("What the checks say", [f"{s.upper()} {c}: {w}" for s, c, w in findings_words(plan)])
        self.section("Cautions", [f"• {c.text}" for c in plan.cautions])
        tools = [
            f"T{t.number} {t.name}, {length_text(t.diameter, plan.unit)}; measured ________ stick-out ________"
            for t in plan.tools
        ]
        self.section("Tools, in the order of their use", tools)
        for operation in plan.operations:
            self.operation(operation_facts(plan, operation))
        unit = plan.machine.readout.unit
        checks = [
            f"☐ {c.words}: {reading(plan, c.expected).text(signed=False)} {unit}; measured ____________"
            for c in plan.checks
        ]
        self.section("Measure with a calliper, not by the machine", checks)
        self.section("How the places were found", place_words(plan))
        for _, picture in freedom_pictures(plan):
            self.picture(picture, 0.5)
        for _, picture in chain_pictures(plan):
            self.picture(picture, 0.95)
        for _, _, picture in cut_pictures(plan):
            self.picture(picture, 0.95)
        for _, picture in (*section_pictures(plan), *step_down_pictures(plan), *marking_pictures(plan)):
            self.picture(picture, 0.95)
        self.tables()
        self.close_page()

    # ---- pages

    def open_page(self) -> None:
        self.y = self.top
        paper, plan = self.paper, self.plan
        room = self.right - self.left
        hand = f"   HAND: {plan.part.hand}" if plan.part.hand else ""
        paper.setFont(REGULAR, 8)
        paper.drawString(self.left, self.top + 18, lines_of(f"{plan.title}{hand}", 8, room * 0.8)[0])
        paper.drawRightString(self.right, self.top + 18, paper_text(f"rev {plan.revision}" if plan.revision else ""))
        paper.drawString(self.left, self.low - 18, "initials ________   Rule a line under each row as it is done.")
        paper.setLineWidth(0.6)
        paper.line(self.left, self.top + 13, self.right, self.top + 13)

    def close_page(self) -> None:
        self.paper.showPage()

    def need(self, height: float) -> None:
        """Turn the page when there is less room than this; the head of a table is repeated."""
        if self.y - height >= self.low:
            return
        self.close_page()
        self.open_page()
        if self.repeat:
            self.table_head()

    # ---- pieces

    def text(self, words: str, size: float, *, strong: bool = False, gap: float = 2, indent: float = 0) -> None:
        for line in lines_of(words, size * (1.12 if strong else 1.0), self.right - self.left - indent):
            self.need(size * LINE)
            self.y -= size * LINE
            self.paper.setFillGray(0.0)
            self.paper.setFont(STRONG if strong else REGULAR, size)
            self.paper.drawString(self.left + indent, self.y, line)
        self.y -= gap

    def boxed(self, words: str, size: float) -> None:
        lines = lines_of(words, size, self.right - self.left - 12)
        height = len(lines) * size * LINE + 8
        self.need(height)
        self.paper.setLineWidth(2)
        self.paper.rect(self.left, self.y - height, self.right - self.left, height - 2)
        for line in lines:
            self.y -= size * LINE
            self.paper.setFont(REGULAR, size)
            self.paper.drawString(self.left + 6, self.y, line)
        self.y -= 12

    def picture(self, picture: Canvas, share: float) -> None:
        width = (self.right - self.left) * share
        height = width * picture.height / picture.width
        most = (self.top - self.low) * 0.6
        if height > most:
            width, height = width * most / height, most
        self.need(height + 6)
        self.y -= height + 4
        draw_picture(self.paper, picture, self.left, self.y, width)
        self.paper.setFillGray(0.0)
        self.paper.setDash()

    def section(self, title: str, lines: list[str]) -> None:
        if not lines:
            return
        self.need(48)
        self.y -= 8
        self.text(title, 12, strong=True, gap=4)
        self.rule(1.2)
        for line in lines:
            self.text(line, 9.5, gap=3)

    def tables(self) -> None:
        """Write the tables of cuts, step-downs, chains and corrections, as the text sheet has them."""
        plan, unit = self.plan, self.plan.unit
        for cut in plan.cuts:
            first, *lines = milled_lines(cut, unit)
            self.section(first, lines)
        tables = [
            *(step_down_table(report, unit) for report in plan.step_downs),
            *(chain_table(report, unit) for report in plan.chains),
            *(marking_table(report, unit) for report in plan.markings),
        ]
        for table in tables:
            lines = table.splitlines()
            self.need(48)
            self.y -= 8
            widest = max(len(line) for line in lines)
            size = min(TABLE_SIZE, (self.right - self.left) / (PITCH * max(widest, 1)))
            for line in lines:
                self.columns(line, size)

    def columns(self, line: str, size: float) -> None:
        """Write one line of a table, each of its cells beginning where it begins in type of one width."""
        self.need(size * LINE)
        self.y -= size * LINE
        self.paper.setFillGray(0.0)
        self.paper.setFont(REGULAR, size)
        for cell in re.finditer(r"\S+(?: \S+)*", line):
            self.paper.drawString(self.left + cell.start() * PITCH * size, self.y, paper_text(cell[0]))

    def rule(self, width: float) -> None:
        self.paper.setLineWidth(width)
        self.paper.line(self.left, self.y, self.right, self.y)
        self.y -= 2

    def operation(self, facts: dict[str, Any]) -> None:
        self.need(90)
        self.y -= 10
        self.text(f"{facts['number']}. {facts['title']}", 13, strong=True, gap=4)
        self.rule(1.6)
        if facts["tool"]:
            bits = [facts["tool"], facts["speed"], f"feed {facts['feed']}" if facts["feed"] else ""]
            self.text(", ".join(b for b in bits if b) + (" (starting points)" if facts["speed"] else ""), 10)
        for key, words in (("Z 0: ", facts["zero"]), ("Program: ", facts["program"])):
            if words:
                self.text(key + words, 10)
        if facts["withheld"]:
            self.boxed(f"NO PROGRAM: {facts['withheld']}", 10)
        for n, line in enumerate(facts["todo"], start=1):
            if n == len(facts["todo"]) and not facts["pieces"]:  # the line to sign does not stand on a page alone
                self.need((len(lines_of(f"☐ {line}", 10, self.right - self.left)) + 1) * 10 * LINE + 7)
            self.text(f"☐ {line}", 10, gap=3)
        for kind, items in facts["pieces"]:
            if kind == "rows":
                self.table(facts, items)
            else:
                for stop in items:
                    self.stop(stop)
        self.text("Done by ______________ checked by ______________ at ____________", 9.5, gap=4)
        if facts["pause"]:
            self.text("It is safe to stop for the day here.", 10, strong=True)

    def table(self, facts: dict[str, Any], rows: list[dict[str, Any]]) -> None:
        unit, wide = self.plan.machine.readout.unit, self.right - self.left
        shares = (0.05, 0.09, 0.30, 0.46, 0.59, 0.72, 0.86)
        who, tip = facts["row_word"], "tip Z" if facts["depths"] else ""
        heads = ("row", who, f"X {unit}", f"Y {unit}", "move X", "move Y", tip)
        self.need(60)  # before there is a head to repeat: a page turned here has it once
        self.repeat = [(self.left + wide * s, h, "") for s, h in zip(shares, heads, strict=True)]
        self.table_head(facts["title"])
        for row in rows:
            self.row(row, shares, wide)
        self.repeat = []
        self.y -= 4

    def table_head(self, title: str = "") -> None:
        self.y -= 14
        paper = self.paper
        paper.setFont(STRONG, 8.5)
        paper.setFillGray(0.0)
        for n, (x, words, _) in enumerate(self.repeat):
            (paper.drawString if n == 1 else paper.drawRightString)(x, self.y, words)
        paper.drawCentredString(self.right - 34, self.y, "set")
        paper.drawCentredString(self.right - 10, self.y, "done")
        self.y -= 4
        self.rule(1.2)

    def row(self, row: dict[str, Any], shares: tuple[float, ...], wide: float) -> None:
        below = [f"to X {row['to'][0]} Y {row['to'][1]}"] if row["to"] else []
        below += [f"{a} {w}{'; count ' + c if c else ''}" for a, w, c in row["dials"]]
        below += [t for t in (row["approach"], row["note"]) if t]
        below += ["shows X ____________ Y ____________"] if row["closing"] else []
        lines = [line for t in below for line in textwrap.wrap(paper_text(t), 100)]
        self.need(18 + 10 * len(lines))
        paper = self.paper
        self.y -= 14
        cells = (str(row["number"]), plain(row["name"]), row["x"], row["y"], row["step_x"], row["step_y"], row["z"])
        room = wide * (shares[2] - shares[1]) - width_of(paper_text(row["x"]), 11.5) - 4
        for n, (share, words) in enumerate(zip(shares, cells, strict=True)):
            shown, size = paper_text(words), 9 if n in (0, 4, 5) else 11.5
            if n == 1:
                shown, size = _in_room(words, NAME_SIZE, room)
            paper.setFillGray(0.35 if n in (4, 5) else 0.0)
            paper.setFont(STRONG if n == 1 else REGULAR, size)
            (paper.drawString if n == 1 else paper.drawRightString)(self.left + wide * share, self.y, shown)
        paper.setLineWidth(0.9)
        for x in (self.right - 39, self.right - 15):
            paper.rect(x, self.y - 1, 10, 10)
        paper.setFillGray(0.0)
        paper.setFont(REGULAR, 8)
        for line in lines:
            self.y -= 10
            paper.drawString(self.left + wide * shares[1], self.y, line)
        self.y -= 4
        self.rule(1.6 if row["gap"] else 0.4)

    def stop(self, stop: dict[str, Any]) -> None:
        lines = [f"Look or measure: {stop['look']}", f"Expect: {stop['expect']}"]
        lines.append(f"Figure: {stop['figure']}; found ____________" if stop["figure"] else "Found ____________")
        lines += [f"If not: {stop['otherwise']}"] if stop["otherwise"] else []
        lines += [f"Next: {words} ____________" for words in stop["settings"]]
        room = self.right - self.left - 16
        broken = [(b, 9.5) for t in lines for b in lines_of(t, 9.5, room)]
        height = 26 + len(broken) * 13.5
        self.need(height + 6)
        self.y -= 4
        self.paper.setLineWidth(2.4)
        self.paper.rect(self.left, self.y - height, self.right - self.left, height)
        self.paper.setFont(STRONG, 11)
        self.paper.drawString(self.left + 8, self.y - 16, lines_of(f"STOP: {stop['title']}", 12.5, room)[0])
        y = self.y - 20
        self.paper.setFont(REGULAR, 9.5)
        for words, _ in broken:
            y -= 13.5
            self.paper.drawString(self.left + 8, y, words)
        self.y -= height + 4
