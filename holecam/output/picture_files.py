"""Every picture of a plan as a file of its own."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from holecam.output.chain_picture import chain_pictures
from holecam.output.cut_picture import cut_pictures
from holecam.output.freedom_picture import freedom_pictures
from holecam.output.marking_picture import marking_pictures
from holecam.output.plan_picture import plan_picture
from holecam.output.section_picture import section_pictures
from holecam.output.step_down_picture import step_down_pictures
from holecam.output.svg_canvas import Canvas
from holecam.plan.plan import Plan

PICTURE_FILE = "picture-"
"""Put before the names of all pictures: they stand together in a folder."""


def picture_files(plan: Plan) -> Mapping[str, str]:
    """Return the pictures by file name. Names are made of trade words and numbers; no text of the job is in them."""
    pictures: dict[str, Canvas] = {"plan-view": plan_picture(plan).canvas}
    counts: dict[str, int] = defaultdict(int)
    numbered: list[tuple[str, Canvas]] = [
        *(("freedom", c) for _, c in freedom_pictures(plan)),
        *(("chain", c) for _, c in chain_pictures(plan)),
        *(("marking-out", c) for _, c in marking_pictures(plan)),
        *(("section", c) for _, c in section_pictures(plan)),
        *(("step-down", c) for _, c in step_down_pictures(plan)),
    ]
    for kind, canvas in numbered:
        counts[kind] += 1
        pictures[f"{kind}-{counts[kind]}"] = canvas
    for cut, work, canvas in cut_pictures(plan):
        kind = "slot" if cut.kind == "slot" else "pocket"
        counts[kind] += work.number == 1
        second = "" if work.number == 1 else "-second-cutter"
        pictures[f"{kind}-{counts[kind]}{second}"] = canvas
    return {f"{PICTURE_FILE}{name}.svg": canvas.standalone() for name, canvas in pictures.items()}
