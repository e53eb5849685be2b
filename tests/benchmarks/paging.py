"""How long a long run sheet takes to page, as a ratio to a short one in the same Chromium run.

Run ``python tests/benchmarks/paging.py [--rounds N]``. Two sheets that differ in the number of holes alone are opened
and paged turn by turn, so that a busy machine slows both. One page is: press *Done, next*, and wait until the browser
has drawn the new card. Compared are the medians. The time from opening to the first drawn card and the size of the
file are printed beside it.
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import sys
import tempfile
from pathlib import Path
from typing import Any

from holecam.job.models import job_from_dict
from holecam.output.run_sheet import run_sheet
from holecam.planning.plan_job import make_plan

MOST = 2.0
"""The ratio that one page of the long sheet may take."""

SHORT, LONG = (5, 2), (40, 25)
"""Columns and rows of holes."""

PAGE = """(count) => new Promise((finished) => {
  const button = document.getElementById("done"), times = [];
  function once() {
    if (times.length === count) { finished(times); return; }
    const start = performance.now();
    button.click();
    document.body.offsetHeight;
    const script = performance.now() - start;
    requestAnimationFrame(() => {
      const channel = new MessageChannel();
      channel.port1.onmessage = () => { times.push([script, performance.now() - start]); setTimeout(once, 30); };
      channel.port2.postMessage(0);
    });
  }
  once();
})"""
"""A message that is sent in a frame arrives after that frame was drawn."""


def grid_sheet(columns: int, rows: int) -> str:
    """Return the run sheet of a plate with a grid of holes, on a machine with dials."""
    plan = make_plan(
        job_from_dict(
            {
                "title": f"{columns * rows} holes (invented)",
                "unit": "mm",
                "part": {
                    "material": "brass",
                    "thickness": 5,
                    "datum": "left end and front edge",
                    "outline": {"rectangle": [400, 400]},
                },
                "machine": {"kind": "manual", "dials": {"lead": 2.5, "divisions": 125}, "backlash": 0.1},
                "tools": {"drills": ["metric"]},
                "pattern": [
                    {
                        "name": "grid",
                        "grid": {"columns": columns, "rows": rows, "pitch": ["8", "12"]},
                        "place": {"hole": 1, "at": ["5", "5"]},
                        "drill": "3 mm",
                    }
                ],
            }
        )
    )
    return run_sheet(plan)


def open_sheet(browser: Any, file: Path, size: tuple[int, int]) -> tuple[Any, float]:
    """Open a sheet at a row in the middle of its holes; return it with the time until it stood there, ms."""
    page = browser.new_context(viewport={"width": size[0], "height": size[1]}).new_page()
    page.goto(file.as_uri())
    page.evaluate("localStorage.clear()")
    page.reload()
    page.evaluate("document.getElementById('start').click()")
    page.reload()  # as it is opened from the second time on: straight into the work
    opened = page.evaluate(
        "new Promise((f) => requestAnimationFrame(() => { const c = new MessageChannel();"
        " c.port1.onmessage = () => f(performance.now()); c.port2.postMessage(0); }))"
    )
    page.evaluate("for (let i = 0; i < 3; i++) document.getElementById('next').click()")
    return page, float(opened)


def measure(executable: str, rounds: int, size: tuple[int, int]) -> dict[str, Any]:
    """Return medians, ms, and sizes of both sheets."""
    from playwright.sync_api import sync_playwright

    found: dict[str, Any] = {}
    with sync_playwright() as play, tempfile.TemporaryDirectory() as folder:
        browser = play.chromium.launch(executable_path=executable, args=["--headless", "--no-sandbox", "--disable-gpu"])
        pages = {}
        for name, holes in (("short", SHORT), ("long", LONG)):
            file = Path(folder) / f"{name}.html"
            file.write_text(grid_sheet(*holes), encoding="utf-8")
            page, opened = open_sheet(browser, file, size)
            pages[name] = page
            found[name] = {"bytes": file.stat().st_size, "open": opened, "script": [], "drawn": []}
        for _ in range(rounds):
            for name, page in pages.items():
                page.bring_to_front()
                if name == "short":  # ten holes are soon paged through
                    page.evaluate("for (let i = 0; i < 6; i++) document.getElementById('back').click()")
                for script, drawn in page.evaluate(PAGE, 6):
                    found[name]["script"].append(script)
                    found[name]["drawn"].append(drawn)
        browser.close()
    for one in found.values():
        for key in ("script", "drawn"):
            one[key] = statistics.median(one[key])
    return found


def main() -> None:
    """Print the table; exit 1 when the long sheet takes more than its share."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15, help="Rounds of six pages of each sheet.")
    arguments = parser.parse_args()
    executable = shutil.which("chromium") or shutil.which("chromium-browser")
    if executable is None:
        raise SystemExit("no chromium on this machine")
    slow = False
    print("screen      sheet      size, kB   opened, ms   script a page, ms   drawn page, ms   ratio")
    for size in ((360, 740), (1280, 800)):
        found = measure(executable, arguments.rounds, size)
        ratio = found["long"]["drawn"] / found["short"]["drawn"]
        slow |= ratio > MOST
        for name, holes in (("short", SHORT), ("long", LONG)):
            one = found[name]
            last = f"{ratio:.2f}" if name == "long" else "1"
            print(
                f"{size[0]:4d} x {size[1]:<4d} {holes[0] * holes[1]:5d} holes "
                f"{one['bytes'] / 1e3:9.0f} {one['open']:12.0f}"
                f" {one['script']:19.2f} {one['drawn']:16.1f} {last:>7s}"
            )
    sys.exit(1 if slow else 0)


if __name__ == "__main__":
    main()
