"""The run sheet in a browser: ticks, reload, units, and every figure compared with the arithmetic in Python."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from holecam.job.reader import read_job
from holecam.lengths import MM_PER_UNIT, Unit, counts, decimal_text, decimals_of, exact
from holecam.lengths.dials import dial_setting
from holecam.output.next_settings import moves_after, next_setting
from holecam.output.run_sheet import operation_facts, run_sheet
from holecam.output.sheet_facts import unit_steps
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plans

EXAMPLES = Path(__file__).parents[2] / "examples"
ALONE = "net::ERR_FILE_NOT_FOUND"


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    return {n: make_plans(read_job(EXAMPLES / n / "job.toml"))[0] for n in ("lantern-hood", "pump-cover")}


@pytest.fixture
def opened(browser: Any, plans: dict[str, Plan], tmp_path: Path) -> Iterator[Any]:
    """Return a function that opens the sheet of an example, in a profile of its own."""
    contexts = []

    def open_sheet(name: str, **how: Any) -> Any:
        file = tmp_path / f"{name}.html"
        file.write_text(run_sheet(plans[name]), encoding="utf-8")
        context = browser.new_context(**how)
        contexts.append(context)
        page = context.new_page()
        page.troubles = []
        page.on("pageerror", lambda e: page.troubles.append(str(e)))
        # the sheet lies here alone, without the stamp that a folder of papers has
        page.on(
            "console", lambda m: page.troubles.append(m.text) if m.type == "error" and ALONE not in m.text else None
        )
        page.on("request", lambda r: page.troubles.append(r.url) if not r.url.startswith("file:") else None)
        page.goto(file.as_uri())
        return page

    yield open_sheet
    for context in contexts:
        for page in context.pages:
            assert page.troubles == []
        context.close()


def shown(plan: Plan, grid: Fraction | int, unit: Unit, *, signed: bool = True) -> str:
    """Return a count of the unit's step as the page prints it."""
    step = unit_steps(plan)[unit] / MM_PER_UNIT[unit]
    return decimal_text(grid * step, decimals_of(step), signed=signed).replace("-", "\N{MINUS SIGN}")


def walk(page: Any) -> list[dict[str, str]]:
    """Go from the first step to the last and return what each row shows."""
    return list(
        page.evaluate(
            """() => {
              const out = [], text = (id) => { const e = document.getElementById(id); return e ? e.textContent : ""; };
              const back = document.getElementById("back"), next = document.getElementById("next");
              while (!back.disabled) back.click();
              for (;;) {
                if (document.getElementById("big-x")) out.push({
                  x: text("big-x"), y: text("big-y"), sx: text("small-x"), sy: text("small-y"),
                  z: text("big-z") || text("depth"), moved: text("moved")});
                if (next.disabled) return out;
                next.click();
              }
            }"""
        )
    )


def compare(plan: Plan, rows: list[dict[str, str]], unit: Unit, found: dict[str, Fraction]) -> None:
    step = unit_steps(plan)[unit]
    moves = moves_after(plan, found)
    planned = [(o.number, r) for o in plan.operations for r in o.rows]
    assert len(rows) == len(planned)
    before = (0, 0)
    for (operation, row), seen in zip(planned, rows, strict=True):
        move = moves[(operation, row.number)]
        if row.number == 1:
            before = (0, 0)
        here = tuple(counts(exact(v) + m, step) for v, m in zip(row.xy_machine, move, strict=True))
        assert seen["x"] == shown(plan, here[0], unit), (operation, row.number)
        assert seen["y"] == shown(plan, here[1], unit), (operation, row.number)
        assert shown(plan, here[0] - before[0], unit) in seen["sx"].split()
        assert shown(plan, here[1] - before[1], unit) in seen["sy"].split()
        if row.z is not None:
            assert shown(plan, counts(row.z, step), unit) in seen["z"].split()
        assert ("moved by" in seen["moved"]) == (move != (0, 0))
        end = row.to_machine or row.xy_machine
        before = tuple(counts(exact(v) + m, step) for v, m in zip(end, move, strict=True))  # type: ignore[assignment]


@pytest.mark.parametrize(("name", "unit"), [("lantern-hood", "in"), ("lantern-hood", "mm"), ("pump-cover", "in")])
def test_every_row_shows_the_figures_of_the_plan(opened: Any, plans: dict[str, Plan], name: str, unit: Unit) -> None:
    page = opened(name)
    page.click("#start")
    page.select_option("#mode", "absolute")
    page.select_option("#unit", unit)
    compare(plans[name], walk(page), unit, {})


def test_dial_turns_are_those_of_the_dial(opened: Any, plans: dict[str, Plan]) -> None:
    plan = plans["pump-cover"]
    dial = plan.machine.dial
    assert dial is not None
    page = opened("pump-cover")
    page.click("#start")
    rows = walk(page)
    planned = [r for o in plan.operations for r in o.rows]
    for row, seen in zip(planned, rows, strict=True):
        for value, big, small in zip(row.xy_machine, (seen["x"], seen["y"]), (seen["sx"], seen["sy"]), strict=True):
            setting = dial_setting(value, dial)
            assert f"{big}, dial shows {setting.shows}" == setting.text()
            assert small.startswith(f"dial shows {setting.shows};")


def test_the_turns_to_touch_are_those_of_the_printed_sheet(opened: Any, plans: dict[str, Plan]) -> None:
    page = opened("pump-cover")
    page.click("#start")
    page.select_option("#mode", "dials")
    shown_turns = page.evaluate(
        """() => {
          const out = [], back = document.getElementById("back"), next = document.getElementById("next");
          while (!back.disabled) back.click();
          for (;;) {
            const strips = [...document.querySelectorAll("#card .counts")];
            if (strips.length) out.push(strips.map((s) => [...s.children].map((b) => b.textContent)));
            if (next.disabled) return out;
            next.click();
          }
        }"""
    )
    printed = []
    for operation in plans["pump-cover"].operations:
        rows = [
            row
            for kind, rows in operation_facts(plans["pump-cover"], operation)["pieces"]
            for row in rows
            if kind == "rows"
        ]
        printed += [[counts.split() for _, _, counts in row["dials"]] for row in rows]
    assert shown_turns == printed
    assert any("0" in turns and "1" in turns and "\N{MINUS SIGN}1" in turns for row in printed for turns in row)


def test_a_measured_reference_moves_every_following_row_and_the_page_says_so(
    opened: Any, plans: dict[str, Plan]
) -> None:
    plan = plans["lantern-hood"]
    page = opened("lantern-hood")
    page.click("#start")
    found: dict[str, Fraction] = {}
    typed = {"move x": "0.8725", "move y": "-0.197"}
    steps = sum(len(o.rows) + len(o.stops) + 2 for o in plan.operations)
    stops = {s.title: s for o in plan.operations for s in o.stops}
    for _ in range(steps):
        title = page.text_content(".halt h2") if page.query_selector(".halt h2") else ""
        stop = stops.get(title)
        if stop is not None and stop.settings and stop.settings[0].kind in typed:
            text = typed.pop(stop.settings[0].kind)
            page.fill("#measured", text)
            page.click("#use")
            assert "following row now moves by" in page.text_content("#result")
            found[stop.key] = Fraction(text) * MM_PER_UNIT["in"]
        if not typed:
            break
        page.click("#next")
    assert len(found) == 2
    page.select_option("#unit", "in")
    compare(plan, walk(page), "in", found)
    page.reload()
    page.select_option("#unit", "mm")
    compare(plan, walk(page), "mm", found)


def test_an_unlikely_figure_is_asked_about_and_a_comma_refused(opened: Any) -> None:
    page = opened("lantern-hood")
    page.click("#start")
    for _ in range(60):
        if page.query_selector("#measured") and "along X" in page.text_content(".halt h2"):
            break
        page.click("#next")
    page.fill("#measured", "0,8725")
    page.click("#use")
    assert "no comma" in page.text_content("#result")
    page.fill("#measured", "1.8705")
    page.click("#use")
    assert "Press once more" in page.text_content("#result")
    assert page.is_disabled("#drop")
    page.click("#use")
    assert "OUTSIDE" in page.text_content("#result")
    page.click("#undo")
    assert page.input_value("#measured") == ""


def test_ticks_survive_a_reload_and_can_be_undone(opened: Any) -> None:
    page = opened("lantern-hood")
    page.click("#start")
    page.keyboard.press("ArrowRight")
    while not page.query_selector("#big-x"):
        page.keyboard.press("ArrowRight")
    first = page.text_content("#which")
    page.keyboard.press("Space")
    assert page.text_content("#which") != first
    assert page.text_content("#tally").startswith("1 of ")
    page.reload()
    assert page.text_content("#tally").startswith("1 of ")
    page.keyboard.press("ArrowLeft")
    assert page.text_content("#which") == first
    assert "ticked as done" in page.text_content("#card")
    page.keyboard.press("Escape")
    assert page.locator("td.ticked").count() == 1
    page.click("#start")
    page.keyboard.press("u")
    assert page.text_content("#tally").startswith("0 of ")


def test_everything_can_be_done_from_the_keyboard(opened: Any, plans: dict[str, Plan]) -> None:
    """No touch and no mouse, from opening to the last card."""
    page = opened("lantern-hood")
    press = page.keyboard.press

    def focused() -> str:
        return str(page.evaluate("document.activeElement.id"))

    def tab_to(wanted: str) -> None:
        for _ in range(40):
            if focused() == wanted:
                outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
                assert outline != "none", f"{wanted} does not show that it has the focus"
                return
            press("Tab")
        pytest.fail(f"{wanted} is not reached with the tabulator")

    tab_to("start")
    press("Enter")
    while not page.query_selector("#big-x"):
        press("ArrowRight")
    first, unit = page.text_content("#which"), page.text_content("#small-x")[-2:]
    press("Space")
    assert page.text_content("#which") != first
    press("u")
    assert page.text_content("#which") == first
    assert "ticked" not in page.text_content("#card")
    press("m")
    assert page.text_content("#small-x")[-2:] != unit
    press("m")
    press("s")
    assert page.text_content("#small-x").startswith("ends at")
    press("s")
    for _ in range(60):
        if page.query_selector("#measured") and "along X" in page.text_content(".halt h2"):
            break
        press("PageDown")
    stop = page.text_content(".halt h2")
    tab_to("measured")
    page.keyboard.type("0.8725")
    press("Enter")
    assert "following row now moves by +0.0020 in" in page.text_content("#result")
    tab_to("drop")
    press("Enter")
    assert page.input_value("#measured") == ""
    tab_to("done")
    press("Enter")
    assert page.query_selector(".halt h2") is None or page.text_content(".halt h2") != stop
    press("ArrowLeft")
    assert page.text_content(".halt h2") == stop
    press("Escape")
    assert page.is_visible("#paper")
    assert focused() == "start"
    steps = sum(len(o.rows) + len(o.stops) + 2 for o in plans["lantern-hood"].operations)
    press("Enter")
    for _ in range(steps):
        press("ArrowRight")
    assert page.text_content("#card").startswith("End of the sheet")


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_every_next_setting_is_that_of_python(opened: Any, plans: dict[str, Plan], unit: Unit) -> None:
    """Sneaking up, lowering the floor and re-found references, for a figure off by a tenth of the unit."""
    plan = plans["lantern-hood"]
    page = opened("lantern-hood")
    page.click("#start")
    page.select_option("#unit", unit)
    stops = {s.title: s for o in plan.operations for s in o.stops if s.settings}
    step = unit_steps(plan)[unit]
    kinds = set()
    for _ in range(sum(len(o.rows) + len(o.stops) + 2 for o in plan.operations)):
        title = page.text_content(".halt h2") if page.query_selector(".halt h2") else ""
        if title in stops:
            stop = stops.pop(title)
            assert stop.expected is not None
            measured = exact(stop.expected) - Fraction(13, 1000) * MM_PER_UNIT[unit]
            text = f"{float(measured / MM_PER_UNIT[unit]):.6f}"
            page.fill("#measured", text)
            page.click("#use")
            if "Press once more" in page.text_content("#result"):
                page.click("#use")
            for setting in stop.settings:
                value = next_setting(setting, Fraction(text) * MM_PER_UNIT[unit])
                assert f"{shown(plan, counts(value, step), unit)} {unit}" in page.text_content("#result"), title
                kinds.add(setting.kind)
        page.click("#next")
        if not stops:
            break
    assert not stops
    assert {"move x", "move y", "side offset"} <= kinds


def test_a_swipe_goes_on_and_back(opened: Any) -> None:
    page = opened("lantern-hood", has_touch=True, viewport={"width": 360, "height": 740})
    page.tap("#start")
    swipe = """([from, to]) => {
      const work = document.getElementById("work"), card = document.getElementById("card");
      const at = (x) => new Touch({identifier: 1, target: card, clientX: x, clientY: 300});
      const send = (kind, touches, changedTouches) =>
        card.dispatchEvent(new TouchEvent(kind, {touches, changedTouches, bubbles: true}));
      send("touchstart", [at(from)], [at(from)]);
      send("touchend", [], [at(to)]);
    }"""
    first = page.text_content("#card")
    page.evaluate(swipe, [300, 100])
    assert page.text_content("#card") != first
    page.evaluate(swipe, [100, 300])
    assert page.text_content("#card") == first


@pytest.mark.parametrize("width", [360, 820, 1280])
def test_nothing_is_wider_than_the_screen_and_labels_keep_apart(opened: Any, width: int) -> None:
    for name in ("lantern-hood", "pump-cover"):
        page = opened(name, viewport={"width": width, "height": 800})
        wide = "document.documentElement.scrollWidth"
        assert page.evaluate(wide) <= width
        meeting = page.evaluate(
            """() => { const all = [...document.querySelectorAll("svg.plan-view text.label")].map((t) =>
                 [t.textContent, t.getBoundingClientRect()]);
               const out = [];
               all.forEach(([a, p], i) => all.slice(i + 1).forEach(([b, q]) => {
                 const aside = p.right <= q.left || q.right <= p.left;
                 if (!aside && p.top + 3 < q.bottom && q.top + 3 < p.bottom) out.push([a, b]);
               }));
               return out; }"""
        )
        assert meeting == []
        page.click("#start")
        for _ in range(4):
            page.keyboard.press("ArrowRight")
            assert page.evaluate(wide) <= width
        box = page.locator("#done").bounding_box()
        assert box["height"] >= 44
        assert box["y"] + box["height"] <= 800


def test_without_scripts_the_whole_sheet_is_there(opened: Any, plans: dict[str, Plan]) -> None:
    page = opened("pump-cover", java_script_enabled=False)
    assert page.locator("#paper").is_visible()
    assert not page.locator("#work").is_visible()
    assert not page.locator("#start").is_visible()
    rows = sum(len(o.rows) for o in plans["pump-cover"].operations)
    assert page.locator("td[data-tick]").count() == rows


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_the_printed_sheet_repeats_hand_and_page_numbers(opened: Any, tmp_path: Path, paper: str) -> None:
    from pypdf import PdfReader

    page = opened("pump-cover")
    page.click("#start")  # printing from the working view prints the whole sheet all the same
    page.pdf(path=str(tmp_path / "out.pdf"), format=paper)
    pages = PdfReader(tmp_path / "out.pdf").pages
    for number, one in enumerate(pages, start=1):
        text = one.extract_text()
        assert "HAND: tab with the arrow to the right" in text, number
        assert f"page {number} of {len(pages)}" in text
    assert "Measure with a calliper" in "".join(p.extract_text() for p in pages)


@pytest.mark.parametrize("name", ["lantern-hood", "pump-cover"])
def test_the_printed_sheet_repeats_its_heads_and_nothing_is_cut_off(
    opened: Any, plans: dict[str, Plan], tmp_path: Path, name: str
) -> None:
    """Each page that goes on with a table says which operation it is, and no word leaves the margins of the paper."""
    from pypdf import PdfReader

    page = opened(name)
    page.pdf(path=str(tmp_path / "out.pdf"), format="A4")
    reader = PdfReader(tmp_path / "out.pdf")
    inside: list[bool] = []
    for one in reader.pages:
        wide, high = float(one.mediabox.width), float(one.mediabox.height)

        def visit(text: str, cm: Any, tm: Any, font: Any, size: Any, wide: float = wide, high: float = high) -> None:
            if text.strip():
                x, y = tm[4] * cm[0] + tm[5] * cm[2] + cm[4], tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
                inside.append(20 < x < wide - 20 and 15 < y < high - 15)

        one.extract_text(visitor_text=visit)
    assert len(inside) > 200
    assert all(inside)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 703, "height": 1000})  # A4 less its margins, in CSS pixels
    assert page.evaluate("document.documentElement.scrollWidth") <= 703
    texts = [one.extract_text() for one in reader.pages]
    whole = "\n".join(texts)
    for operation in plans[name].operations:
        if operation.rows:
            assert f"{operation.number}. {operation.title}".replace(" ", "") in whole.replace(" ", "").replace("\n", "")
    boxes = sum(len(o.rows) for o in plans[name].operations)
    assert page.locator("td[data-tick]").count() == boxes
    assert whole.count("Done by") == len(plans[name].operations)
