"""Arcs that are written as lines pass the check beside a round island, and a real entry into it still does not."""

from __future__ import annotations

import math
import re
from pathlib import Path

import holecam

JOB = """\
title = "Invented: a round island"
unit = "mm"
[machine]
kind = "cnc"
spindle = { slowest = 300, fastest = 10000 }
[machine.program]
arcs = "lines"
[tools]
end_mills = [{ name = "mill", diameter = 10, flutes = 4 }]
[part]
material = "brass"
thickness = 12
outline = { rectangle = [160, 100] }
[[pocket]]
name = "pk"
cutter = "mill"
rectangle = [40.183, 44.012]
at = [40, 25]
corner_radius = 6
island = [{ circle = 8, centre = [56.877, 40.404] }]
depth = 2.5
strategy = "along the outline"
"""


def test_chords_around_a_round_island_pass(tmp_path: Path) -> None:
    """Chords cut the corner of the arc by 0.002 mm, which rounding alone does not allow for."""
    job = tmp_path / "job.toml"
    job.write_text(JOB, encoding="utf-8")
    planned = holecam.plan_job(holecam.read_job(job))
    assert [finding.message for finding in planned.findings if finding.code == "in-keep-out"] == []
    (name,) = planned.program_texts
    program = tmp_path / name
    text = planned.program_texts[name]
    program.write_text(text, encoding="utf-8")
    assert holecam.verify_program(program, job=planned).passed
    # A corner of the chords right below the island is led a twentieth of a millimetre nearer
    corners = ((float(x), float(y), y) for x, y in re.findall(r"G1 X([\d.]+) Y([\d.]+)", text))
    near = (word for x, y, word in corners if y < 32.0 and abs(math.dist((x, y), (56.877, 40.404)) - 9.0) < 0.01)
    y = next(near)
    program.write_text(text.replace(f"Y{y}", f"Y{float(y) + 0.05:.3f}"), encoding="utf-8")
    result = holecam.verify_program(program, job=planned)
    assert "in-keep-out" in {finding.code for finding in result.findings}
