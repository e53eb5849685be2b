"""``holecam stepdown``: the stack in trade words, the table, JSON, exit codes, and every refusal in words."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from holecam.cli.commands import COMMANDS
from holecam.cli.stepdown import app
from holecam.errors import InputError

RAIL = ["--layer", "brass rail:3/16:0.001", "--layer", "soft solder:0.004:0.002", "--keep", "copper hood:0.025"]
INCH = ["--unit", "in", "--readout", "0.0005"]
RAIL_IN = [*RAIL, "--touch", "paper", *INCH]

runner = CliRunner()


def run(*words: str) -> Result:
    return runner.invoke(app, list(words))


def as_json(*words: str, code: int = 0) -> dict[str, Any]:
    result = run(*words, "--json")
    assert result.exit_code == code, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def test_it_is_in_the_table_of_commands() -> None:
    assert COMMANDS["stepdown"][0] == "holecam.cli.stepdown"


def test_the_whole_command_in_a_fresh_interpreter() -> None:
    words = [sys.executable, "-m", "holecam", "stepdown", *RAIL_IN, "--answer", "still bar at -0.180"]
    result = subprocess.run(words, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stderr
    assert "STOP, look" in result.stdout
    bad = subprocess.run([*words, "--answer", "still paint at -0.18"], capture_output=True, text=True, check=False)
    assert bad.returncode == 2
    assert "Traceback" not in bad.stderr
    assert '--answer "paint": expected one layer of the stack, "brass rail", "soft solder", "copper hood"' in bad.stderr


def test_table_by_hand() -> None:
    result = run(*RAIL_IN)
    assert result.exit_code == 0
    # paper 0.09 mm = 0.00354 in, keyed in as 0.0035; the sheet 0.1875 + 0.004 in down
    assert "at the touch set the readout to Z +0.0035" in result.stdout
    assert "Sheet at Z -0.1915, doubt 0.0042 (3 x 0.0014)" in result.stdout
    assert "Hard floor Z -0.1873" in result.stdout  # -0.18735 rounded up, never down
    rows = re.findall(r"^\s*(\d+)  (-0\.\d{4})  (0\.\d{4})", result.stdout, re.MULTILINE)
    heights = [float(z) for _, z, _ in rows]
    steps = [float(step) for _, _, step in rows]
    assert heights[-1] == pytest.approx(-0.1865)
    assert sum(steps) == pytest.approx(0.1865)
    assert steps[-2:] == [0.0010, 0.0005]  # common practice, design page section 9
    assert steps == sorted(steps, reverse=True)
    for word in ("Before the first pass", "Cautions:", "Soft copper grabs", "spread-exceeds-layer"):
        assert word in result.stdout


def test_json_agrees_with_the_formula_and_every_length_says_mm() -> None:
    found = as_json(*RAIL_IN, "--sureness", "2")
    u = found["standard_mm"]
    assert u == pytest.approx((0.0254**2 + 0.0508**2 + 0.02**2 + 0.0127**2) ** 0.5 / 3**0.5)
    assert found["hard_floor_z_mm"] == pytest.approx(found["substrate_z_mm"] + 2 * u)
    assert found["substrate_depth_mm"] == pytest.approx(0.1915 * 25.4)
    assert all(p["z_mm"] >= found["hard_floor_z_mm"] for p in found["passes"])
    assert found["passes"][-1]["z_mm"] == found["floor_z_mm"]
    assert found["passes"][-1]["stop"]
    assert found["looks"][0]["still_bar"]["next_floor_z_mm"] <= found["floor_z_mm"]
    lengths = {"thickness", "within", "standard", "z", "step", "offset", "hard_floor_z", "readout"}

    def keys(value: object) -> set[str]:
        if isinstance(value, dict):
            return set(value) | {k for v in value.values() for k in keys(v)}
        return {k for v in value for k in keys(v)} if isinstance(value, list) else set()

    assert not keys(found) & lengths


def test_inch_and_mm_give_one_plan() -> None:
    inch = as_json(*RAIL_IN)
    metric = as_json(
        "--layer",
        "brass rail:4.7625 mm:0.0254 mm",
        "--layer",
        "soft solder:0.1016 mm:0.0508 mm",
        "--keep",
        "copper hood:0.635 mm",
        *INCH,
    )
    assert inch["hard_floor_z_mm"] == pytest.approx(metric["hard_floor_z_mm"])
    assert [p["z_mm"] for p in inch["passes"]] == [p["z_mm"] for p in metric["passes"]]


def test_answers_move_the_floor() -> None:
    before = as_json(*RAIL_IN)
    after = as_json(*RAIL_IN, "--answer", "still bar at -0.1865")
    assert after["hard_floor_z_mm"] < before["hard_floor_z_mm"]
    assert after["start_z_mm"] == pytest.approx(-0.1865 * 25.4)
    assert after["answers"] == [{"seen": "brass rail", "z_mm": pytest.approx(-0.1865 * 25.4)}]
    promised = before["looks"][-1]["still_bar"]["next_floor_z_mm"]
    assert after["floor_z_mm"] == pytest.approx(promised)
    shown = as_json(*RAIL_IN, "--answer", "still brass at -0.186", "--answer", "layer showing at -0.1865")
    assert [a["seen"] for a in shown["answers"]] == ["brass rail", "soft solder"]
    assert shown["passes"] == []
    assert [f["code"] for f in shown["findings"] if f["code"] == "floor-reached"]


@pytest.mark.parametrize(
    ("more", "code"),
    [
        (["--floor", "-0.190"], "below-hard-floor"),
        (["--floor", "-0.2"], "below-hard-floor"),
        (["--answer", "sheet at -0.1865"], "sheet-reached"),
        (["--answer", "layer showing at -0.170"], "answers-unlikely"),
    ],
)
def test_stops_exit_with_1_and_no_pass(more: list[str], code: str) -> None:
    found = as_json(*RAIL_IN, *more, code=1)
    assert found["passes"] == []
    assert code in [f["code"] for f in found["findings"] if f["severity"] == "stop"]
    assert run(*RAIL_IN, *more).exit_code == 1


def test_spread_above_the_stack_stops() -> None:
    found = as_json("--layer", "bar:0.5:0.6", "--keep", "sheet:0.6", "--unit", "mm", code=1)
    assert {"spread-exceeds-stack", "nothing-to-cut"} <= {f["code"] for f in found["findings"]}


def test_bond_by_name_has_usual_figures_and_cautions() -> None:
    found = as_json("--layer", "bar:5:0.02", "--layer", "silver braze", "--keep", "copper sheet:0.8", "--unit", "mm")
    assert found["stack"][1]["thickness_mm"] == pytest.approx(0.04)  # table of bonding layers
    assert found["stack"][1]["within_mm"] == pytest.approx(0.05)
    assert "cadmium-braze" in [c["code"] for c in found["cautions"]]


def test_layer_from_wire_and_from_readings() -> None:
    wire = as_json(
        "--layer", "bar:5:0.02", "--layer", "solder:wire 200 x 1.5 over 60 x 12:0.03", "--keep", "s:1", "--unit", "mm"
    )
    assert wire["stack"][1]["thickness_mm"] == pytest.approx(200 * 3.14159265 / 4 * 1.5**2 / 720)
    readings = as_json(
        "--layer", "bar:5:0.02", "--layer", "solder:0.11,0.12,0.10,0.11", "--keep", "s:1", "--unit", "mm"
    )
    assert readings["stack"][1]["thickness_mm"] == pytest.approx(0.11)
    assert readings["stack"][1]["standard_mm"] > 0.008


def test_touch_on_the_sheet_and_its_wedge() -> None:
    lamp = as_json(*RAIL, *INCH, "--touch", "continuity on bare sheet", "--length", "3")
    assert lamp["touch"]["on"] == "copper hood"
    assert lamp["substrate_z_mm"] == 0.0
    assert "wedge" in [d["name"] for d in lamp["doubts"]]
    assert "touch-on-sheet" not in [f["code"] for f in lamp["findings"]]
    paper = as_json(*RAIL, *INCH, "--touch", "paper on sheet")
    assert "touch-on-sheet" in [f["code"] for f in paper["findings"]]
    second = as_json(*RAIL_IN, "--second", "3:-0.0015")
    assert "wedge-unknown" not in [f["code"] for f in second["findings"]]
    worst = as_json(*RAIL_IN, "--worst-case")
    assert worst["hard_floor_z_mm"] == pytest.approx(worst["substrate_z_mm"] + worst["worst_case_mm"])


def test_limits_beside_a_bend_and_drilling() -> None:
    found = as_json(*RAIL_IN, "--bend-radius", "3/32", "--bend-margin", "0.020", "--cutter", "1/4", "--drill", "1/8")
    last, first = found["passes"][-1], found["passes"][0]
    assert last["flank_limit_mm"] == pytest.approx((3 / 32 + 0.020) * 25.4)  # tangent line and margin
    assert last["axis_limit_mm"] == pytest.approx((3 / 32 + 0.020 + 1 / 8) * 25.4)
    assert first["flank_limit_mm"] < last["flank_limit_mm"]
    assert found["drill"]["tip_z_mm"] >= found["hard_floor_z_mm"]
    text = run(*RAIL_IN, "--bend-radius", "3/32", "--cutter", "1/4").stdout
    assert "flank" in text
    assert "axis" in text


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "--layer: expected at least one"),
        (["--layer", "bar:3"], "--keep: expected the sheet that may never be touched"),
        (["--layer", "bar:3", "--keep", "sheet:x"], '--keep sheet = "x": expected a length'),
        (["--layer", "bar", "--keep", "sheet:1"], "expected its thickness as well"),
        (["--layer", "bar:3:0.1:9", "--keep", "sheet:1"], "expected a layer such as"),
        (["--layer", "bar:-3", "--keep", "sheet:1"], 'layer "bar": thickness -3 mm: expected a length above zero'),
        (["--layer", "bar:3:-1", "--keep", "sheet:1"], "expected 0 or more"),
        (["--layer", "bar:3", "--keep", "bar:1"], 'two layers are called "bar"'),
        (["--layer", "bar:3/16", "--keep", "sheet:1"], "a fraction without a unit"),
        (["--layer", "bar:3", "--keep", "sheet:1", "--touch", "spit"], 'touch-off "spit" is not known'),
        (["--layer", "bar:3", "--keep", "sheet:1", "--touch", "setter block"], "state its height"),
        (["--layer", "bar:3", "--keep", "sheet:1", "--touch", "paper on table"], "expected one layer of the stack"),
        (["--layer", "bar:3", "--keep", "sheet:1", "--hold", "glue"], '--hold "glue": expected one of firm, light'),
        (["--layer", "bar:3", "--keep", "sheet:1", "--readout", "0"], "expected the step of the readout, above zero"),
        (["--layer", "bar:3", "--keep", "sheet:1", "--readout", "1/3 mm"], "such as 0.0005 in or 0.005 mm"),
        (["--layer", "bar:3", "--keep", "sheet:1", "--last", "0.01,0.02"], "none larger than the one before"),
        (["--layer", "bar:3", "--keep", "sheet:1", "--answer", "all fine"], '--answer "all fine": expected an answer'),
        (["--layer", "bar:3", "--keep", "sheet:1", "--sureness", "-1"], "sureness -1.0: expected a number above zero"),
        (["--layer", "bar:3", "--keep", "sheet:1", "--stop-percent", "0"], "expected between 0 and 1"),
        (["--layer", "bar:3", "--keep", "sheet:1", "--second", "3"], "distance and difference of height"),
        (["--layer", "bar:3", "--keep", "sheet:1", "--bend-radius", "2"], "expected --cutter as well"),
        (["--layer", "bar:3", "--keep", "sheet:1", "--rough", "0"], "expected a length above zero"),
    ],
)
def test_every_refusal_says_what_was_expected(words: list[str], message: str) -> None:
    result = run(*words)
    assert isinstance(result.exception, InputError), result.output  # the frame prints it and exits with 2
    assert message in str(result.exception)
