"""``holecam plan --printer-scale``: the template makes up for the printer, and nonsense is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from holecam.cli.plan import _scale_of, app
from holecam.errors import InputError

JOB = """
title = "bar"
unit = "mm"
[part]
material = "brass"
thickness = 5
datum = "left end and front edge"
outline = { rectangle = [60, 40] }
[machine]
kind = "manual"
[tools]
drills = ["metric"]
[[pattern]]
name = "p"
points = [[10, 12], [30, 14]]
drill = "3 mm"
"""


def test_a_scaled_template_is_another_file_and_the_sheet_is_named_last(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    results = []
    for name, more in (("a", []), ("b", ["--printer-scale", "0.995,1.004"])):
        run = CliRunner().invoke(app, [str(tmp_path / "job.toml"), "--out", str(tmp_path / name), *more])
        assert run.exit_code == 0, run.output
        assert run.output.rstrip().endswith(f"At the machine open {tmp_path / name / 'sheet.html'}")
        results.append({p.name: p.read_bytes() for p in (tmp_path / name).iterdir() if not p.name.startswith(".")})
    differing = {n for n in results[0] if results[0][n] != results[1][n]}
    assert differing == {"template.pdf"}
    assert {"sheet.html", "sheet.pdf", "sheet.txt", "template.pdf", "layout.dxf"} <= set(results[0])


def test_a_printer_scale_is_two_numbers() -> None:
    assert _scale_of("0.998,1.002") == (0.998, 1.002)
    assert _scale_of("0.998") == (0.998, 0.998)
    for text in ("a,b", "", "1,1,1"):
        with pytest.raises(InputError, match="expected two numbers"):
            _scale_of(text)
