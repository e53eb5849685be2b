"""An open run sheet follows the plan: it tells what changed, and no tick or figure passes for another place."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Error

from holecam.delivery.watching import WatchedJob

JOB = """\
title = "pump lid (invented)"
unit = "mm"
hand = "notch to the left"
[machine]
kind = "manual"
readout = "0.01"
[part]
material = "brass"
thickness = 6
datum = "left end and front edge"
outline = { rectangle = [100, 50] }
[tools]
drills = ["metric"]
[[pattern]]
name = "row"
points = [[20, 25], [40, 25], [60, 25]]
drill = "5 mm"
"""
MOVED = JOB.replace("[40, 25]", "[42, 26]")
BROKEN = JOB.replace("[60, 25]", "[60, 2,5]")
IMPATIENT = "const wait = setTimeout; window.setTimeout = (what, ms) => wait(what, ms / 20);"
"""The page looks at its stamp every two seconds; the tests need not wait as long."""


GO_TO = """([operation, which]) => {
  const text = (sel) => { const e = document.querySelector(sel); return e ? e.textContent : ""; };
  const back = document.getElementById("back"), next = document.getElementById("next");
  while (!back.disabled) back.click();
  for (;;) {
    if (text("#card h2").includes(operation) && (text("#which") || text(".halt h2")).startsWith(which)) return true;
    if (next.disabled) return false;
    next.click();
  }
}"""


def wait_until(page: Any, condition: str) -> None:
    """Ask again and again; the page's own policy forbids the way of asking that the browser driver has."""
    for _ in range(150):
        try:
            if page.evaluate(condition):
                return
        except Error as error:
            if "context was destroyed" not in error.message:  # it is being loaded again
                raise
        page.wait_for_timeout(100)
    pytest.fail(f"not within 15 s: {condition}")


class Sheet:
    """An open sheet and the job that it follows."""

    def __init__(self, page: Any, folder: Path) -> None:
        self.page, self.folder = page, folder
        self.job = WatchedJob(folder / "job.toml", folder / "out")

    def plan(self, text: str) -> None:
        (self.folder / "job.toml").write_text(text, encoding="utf-8")
        self.job.plan()

    def until(self, condition: str) -> None:
        wait_until(self.page, condition)

    def changed_to(self, text: str) -> None:
        """Plan another text and wait until the page shows that plan."""
        self.page.evaluate("window.earlier = true")
        self.plan(text)
        self.until("!window.earlier && document.readyState === 'complete'")

    def news(self) -> str:
        return str(self.page.text_content("#news")) if self.page.is_visible("#news") else ""

    def go_to(self, operation: str, which: str) -> None:
        """Go to a row by the title of its operation and the name of its hole."""
        assert self.page.evaluate(GO_TO, [operation, which]), f"no {which} in {operation}"

    def tick(self, operation: str, which: str) -> None:
        self.go_to(operation, which)
        self.page.click("#done")

    def card(self, operation: str, which: str) -> str:
        self.go_to(operation, which)
        return str(self.page.text_content("#card"))

    def ticked(self, operation: str, which: str) -> bool:
        return "ticked as done" in self.card(operation, which)


@pytest.fixture
def sheet(browser: Any, tmp_path: Path) -> Iterator[Sheet]:
    context = browser.new_context(viewport={"width": 820, "height": 1100})
    context.add_init_script(IMPATIENT)
    page = context.new_page()
    troubles: list[str] = []
    page.on("pageerror", lambda e: troubles.append(str(e)))
    page.on("console", lambda m: troubles.append(m.text) if m.type == "error" else None)
    page.on("request", lambda r: troubles.append(r.url) if not r.url.startswith("file:") else None)
    page.on("dialog", lambda d: troubles.append(d.message))
    made = Sheet(page, tmp_path)
    made.plan(JOB)
    page.goto((tmp_path / "out" / "sheet.html").as_uri())
    yield made
    context.close()
    assert troubles == []


def test_the_open_page_takes_the_new_plan_and_keeps_only_the_ticks_that_still_hold(sheet: Sheet) -> None:
    page = sheet.page
    assert sheet.news() == ""
    page.click("#start")
    for hole in ("Hole 1", "Hole 2", "Hole 3"):
        sheet.tick("Spot", hole)
    assert page.text_content("#tally").startswith("3 of ")
    sheet.changed_to(MOVED)
    assert page.is_visible("#work"), "the work goes on where it was"
    said = sheet.news()
    assert "THE PLAN CHANGED" in said
    assert "hole 2 X +40.00 is now +42.00, Y +25.00 is now +26.00" in said
    assert "count as NOT DONE (1)" in said
    assert page.text_content("#tally").startswith("2 of ")
    assert sheet.ticked("Spot", "Hole 1")
    assert sheet.ticked("Spot", "Hole 3")
    card = sheet.card("Spot", "Hole 2")
    assert "ticked as done" not in card
    assert "it was ticked at X +40.00 Y +25.00 mm" in card
    assert "Changed with the plan: it was at X +40.00 Y +25.00 mm" in card
    assert page.text_content("#big-x") == "+42.00"
    page.keyboard.press("Escape")
    marks = page.evaluate("[...document.querySelectorAll('td[data-tick]')].map((td) => td.className)")
    assert sum("ticked" in m for m in marks) == 2
    page.reload()
    assert "THE PLAN CHANGED" in sheet.news(), "until it was read"
    page.click("#read")
    assert sheet.news() == ""
    page.reload()
    assert sheet.news() == ""


def test_going_back_to_the_earlier_plan_brings_its_ticks_back(sheet: Sheet) -> None:
    sheet.page.click("#start")
    sheet.tick("Drill", "Hole 2")
    sheet.changed_to(MOVED)
    assert not sheet.ticked("Drill", "Hole 2")
    sheet.changed_to(JOB)
    assert sheet.news() == ""
    assert sheet.ticked("Drill", "Hole 2")


def test_a_row_ticked_anew_counts_for_the_new_place_alone(sheet: Sheet) -> None:
    sheet.page.click("#start")
    sheet.tick("Drill", "Hole 2")
    sheet.changed_to(MOVED)
    sheet.tick("Drill", "Hole 2")
    assert sheet.ticked("Drill", "Hole 2")
    sheet.changed_to(JOB)
    assert not sheet.ticked("Drill", "Hole 2")
    sheet.page.click("#undo")
    assert sheet.ticked("Drill", "Hole 2"), "what stood there before the tick was the one for this very place"


def test_a_broken_job_is_told_without_losing_the_plan_and_mended_again(sheet: Sheet) -> None:
    page = sheet.page
    page.click("#start")
    sheet.tick("Spot", "Hole 1")
    before = page.text_content("#card")
    sheet.plan(BROKEN)
    sheet.until("!document.getElementById('trouble').hidden")
    said = page.text_content("#trouble")
    assert "This page shows the last good plan" in said
    assert 'job.toml:16: pattern "row": points[3] = [60, 2,5]: expected at most 2 values' in said
    assert page.text_content("#card") == before
    assert page.text_content("#tally").startswith("1 of ")
    page.reload()
    sheet.until("!document.getElementById('trouble').hidden")
    sheet.plan(JOB)
    sheet.until("document.getElementById('trouble').hidden")
    assert sheet.news() == ""
    sheet.plan(BROKEN)
    sheet.until("!document.getElementById('trouble').hidden")
    sheet.changed_to(MOVED)
    assert page.is_hidden("#trouble")
    assert "THE PLAN CHANGED" in sheet.news()


def test_text_of_a_broken_job_is_shown_and_never_run(sheet: Sheet) -> None:
    hostile = '</pre><img src=x onerror=alert(1)>"}*{display:none}'
    sheet.plan(JOB + f"[[pattern]]\nname = '{hostile}'\nlike = '{hostile}'\n")
    sheet.until("!document.getElementById('trouble').hidden")
    assert "</pre><img src=x onerror=alert(1)>" in sheet.page.text_content("#trouble pre")
    assert sheet.page.locator("#trouble img, #trouble script").count() == 0
    assert sheet.page.is_visible("#start")


def measure_reference(sheet: Sheet, text: str) -> None:
    assert sheet.page.evaluate(GO_TO, ["", "spot 1 along X"])
    sheet.page.fill("#measured", text)


def test_a_figure_that_was_found_is_kept_and_moves_the_rows_of_the_new_plan(sheet: Sheet) -> None:
    sheet.page.click("#start")
    measure_reference(sheet, "20.05")
    sheet.page.click("#use")
    sheet.tick("Drill", "Hole 1")
    sheet.tick("Drill", "Hole 2")
    sheet.changed_to(MOVED)
    assert "+42.05" in sheet.card("Drill", "Hole 2")
    assert "it was ticked at X +40.05 Y +25.00 mm" in sheet.card("Drill", "Hole 2")
    assert sheet.ticked("Drill", "Hole 1")
    measure_reference(sheet, "20.05")
    assert sheet.page.text_content("#result").startswith("\u2713 within: off by +0.05 mm")
    assert sheet.page.is_enabled("#drop")


def test_a_figure_for_a_reference_that_moved_is_shown_but_not_used(sheet: Sheet) -> None:
    page = sheet.page
    page.click("#start")
    measure_reference(sheet, "20.05")
    page.click("#use")
    sheet.tick("Drill", "Hole 1")
    sheet.tick("Drill", "Hole 3")
    sheet.changed_to(JOB.replace("[20, 25]", "[21, 25]"))
    said = sheet.news()
    assert "Figures found that are not used until you measure again" in said
    # hole 3 lies where it was, but it was drilled with a move that no longer holds
    assert "count as NOT DONE (2)" in said
    assert page.text_content("#tally").startswith("0 of ")
    assert "+60.00" in sheet.card("Drill", "Hole 3")
    assert "it was ticked at X +60.05" in sheet.card("Drill", "Hole 3")
    measure_reference(sheet, "")
    page.reload()
    measured = page.input_value("#measured")
    assert measured == ""
    page.fill("#measured", "21.05")
    page.click("#use")
    assert "following row now moves by +0.05 mm" in page.text_content("#result")
    assert "+60.05" in sheet.card("Drill", "Hole 3")
    assert sheet.ticked("Drill", "Hole 3"), "drilled at the very place that the sheet asks for now"
    assert not sheet.ticked("Drill", "Hole 1")


def test_a_figure_half_typed_survives_a_new_plan(sheet: Sheet) -> None:
    sheet.page.click("#start")
    measure_reference(sheet, "20.0")
    sheet.changed_to(MOVED)
    assert sheet.page.input_value("#measured") == "20.0"
    assert "Not used yet" in sheet.page.text_content("#result")
    assert sheet.page.locator("#moved").count() == 0


def test_a_figure_measured_again_takes_the_ticks_of_moved_rows_with_it(sheet: Sheet) -> None:
    sheet.page.click("#start")
    measure_reference(sheet, "20.05")
    sheet.page.click("#use")
    sheet.tick("Drill", "Hole 1")
    measure_reference(sheet, "20.10")
    sheet.page.click("#use")
    card = sheet.card("Drill", "Hole 1")
    assert "it was ticked at X +20.05" in card
    assert "ticked as done" not in card


def test_rows_that_come_and_go_are_named(sheet: Sheet) -> None:
    sheet.page.click("#start")
    sheet.tick("Drill", "Hole 3")
    sheet.changed_to(JOB.replace(", [60, 25]]", "]"))
    said = sheet.news()
    assert "No longer there" in said
    assert "hole 3 (it was ticked)" in said
    sheet.changed_to(JOB.replace("[60, 25]", "[60, 25], [80, 25]"))
    said = sheet.news()
    assert "New" in said
    assert "hole 4" in said
    assert sheet.ticked("Drill", "Hole 3"), "it is back at the very place where it was drilled"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('hand = "notch to the left"', 'hand = "notch to the right"'),
        ('datum = "left end and front edge"', 'datum = "right end and front edge"'),
        ('title = "pump lid (invented)"', 'title = "pump lid, second piece (invented)"'),
    ],
)
def test_no_tick_goes_to_another_part_hand_or_datum(sheet: Sheet, old: str, new: str) -> None:
    sheet.page.click("#start")
    sheet.tick("Drill", "Hole 1")
    sheet.changed_to(JOB.replace(old, new))
    assert "every earlier tick counts as not done" in sheet.news()
    assert sheet.page.text_content("#tally").startswith("0 of ")


def test_a_depth_that_changed_takes_its_tick_away_and_a_speed_does_not(sheet: Sheet) -> None:
    sheet.page.click("#start")
    sheet.tick("Drill", "Hole 1")
    sheet.changed_to(JOB.replace('readout = "0.01"', 'readout = "0.01"\nspindle = { slowest = 100, fastest = 300 }'))
    assert sheet.ticked("Drill", "Hole 1")
    sheet.changed_to(JOB.replace("thickness = 6", "thickness = 8"))
    assert "tip Z" in sheet.news()
    assert not sheet.ticked("Drill", "Hole 1")


def test_a_comment_in_the_job_changes_nothing_on_the_page(sheet: Sheet) -> None:
    sheet.page.click("#start")
    sheet.tick("Spot", "Hole 1")
    sheet.page.evaluate("window.earlier = true")
    sheet.plan(JOB + "# only a comment\n")
    sheet.page.wait_for_timeout(600)
    assert sheet.page.evaluate("window.earlier"), "it was loaded again without need"
    assert sheet.news() == ""
    assert sheet.page.text_content("#tally").startswith("1 of ")


def test_a_plan_that_differs_in_no_row_says_so(sheet: Sheet) -> None:
    sheet.page.click("#start")
    sheet.tick("Spot", "Hole 1")
    sheet.changed_to(JOB.replace('title = "pump lid (invented)"', 'title = "pump lid (invented)"\nrevision = "C"'))
    assert "rows, stops and figures are the same" in sheet.news()
    assert sheet.page.text_content("#tally").startswith("1 of ")
    sheet.page.click("#read")
    assert sheet.news() == ""


def test_a_new_finding_is_told(sheet: Sheet) -> None:
    sheet.changed_to(JOB + "[[old_holes]]\npoints = [[44, 25]]\ndiameter = 5\n")
    said = sheet.news()
    assert "checks say something new" in said
    assert "STOP" in said


def test_a_sheet_without_its_stamp_works_and_asks_no_more(browser: Any, sheet: Sheet) -> None:
    copy = sheet.folder / "elsewhere.html"
    copy.write_bytes((sheet.folder / "out" / "sheet.html").read_bytes())
    context = browser.new_context()
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url))
    page.clock.install()
    page.goto(copy.as_uri())
    wait_until(page, "document.querySelectorAll('link').length === 0")
    page.clock.run_for(60_000)
    page.click("#start")
    page.keyboard.press("Space")
    assert page.is_visible("#card")
    assert len(asked) == 2
    context.close()


def test_an_old_copy_in_the_place_of_the_sheet_does_not_load_for_ever(sheet: Sheet) -> None:
    old = (sheet.folder / "out" / "sheet.html").read_bytes()
    sheet.plan(MOVED)
    (sheet.folder / "out" / "sheet.html").write_bytes(old)
    sheet.until("(document.getElementById('news').textContent || '').includes('older copy')")
    sheet.page.wait_for_timeout(500)
    assert "older copy" in sheet.news()


def test_a_damaged_stamp_is_passed_over(sheet: Sheet) -> None:
    stamp = sheet.folder / "out" / "sheet-stamp.css"
    for content in ("", "#stamp{--plan:", '#stamp{--plan:"zz";--trouble:"%E0%A4%A"}', "\x00\xff" * 50):
        stamp.write_text(content, encoding="latin-1")
        sheet.page.wait_for_timeout(400)
        assert sheet.page.is_hidden("#trouble")
        assert sheet.page.is_hidden("#news")


def test_no_memory_no_reload(browser: Any, sheet: Sheet) -> None:
    context = browser.new_context()
    context.add_init_script("Object.defineProperty(window, 'localStorage', {get() { throw new Error('off'); }});")
    page = context.new_page()
    page.goto((sheet.folder / "out" / "sheet.html").as_uri())
    page.click("#start")
    assert "NOT KEPT" in page.text_content("#tally")
    page.evaluate("window.earlier = true")
    sheet.plan(MOVED)
    wait_until(page, "document.getElementById('news').textContent.includes('write down what is done')")
    assert page.evaluate("window.earlier"), "not loaded again by itself"
    context.close()
