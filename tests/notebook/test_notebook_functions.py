"""Look-ups, patterns and step-downs as functions give what the commands print."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

import holecam
from holecam.cli import circle as circle_command
from holecam.cli import clearance as clearance_command
from holecam.cli import drill as drill_command
from holecam.cli import grid as grid_command
from holecam.cli import line as line_command
from holecam.cli import stepdown as stepdown_command
from holecam.cli import tap as tap_command
from holecam.errors import InputError


def command(app: Any, *words: str) -> dict[str, Any]:
    done = CliRunner().invoke(app, [*words, "--json"])
    assert done.exit_code in (0, 1), done.output
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize("thread", ["6-32", "M4", "2 BA", "1/4 BSW"])
def test_look_ups_agree_with_the_commands(thread: str) -> None:
    told = command(tap_command.app, thread)
    assert holecam.tap(thread).recommended.drill.name == told["recommended"]["drill"]
    holes = holecam.clearance(thread)
    told = command(clearance_command.app, thread)
    for fit in ("close", "normal", "loose"):
        assert getattr(holes, fit).drill.name == told[fit]["drill"]


def test_a_drill_and_its_neighbours_agree_with_the_command() -> None:
    told = command(drill_command.app, "7/32 in", "--drills", "metric,#2")
    found = holecam.drill("7/32 in", drills=["metric", "#2"])
    assert found.same is None
    assert found.asked == Fraction("5.55625")
    for name in ("nearest", "smaller", "larger"):
        assert getattr(found, name).name == told[name]["drill"]


def test_tap_options_change_the_answer() -> None:
    assert holecam.tap("6-32", percent=50).recommended.percent < holecam.tap("6-32").recommended.percent
    assert holecam.tap("M4", thickness=4, unit="mm", material="copper").engaged_threads == pytest.approx(4 / 0.7)
    assert holecam.tap("M4", formed=True).formed


def test_thread_percent_against_the_handbook_form() -> None:
    # 100 (D - d) / (1.299038 P), basic profile of ASME B1.1
    expected = 100 * (0.138 - 0.1065) / (1.299038 / 32)
    assert holecam.thread_percent("6-32", 0.1065, unit="in") == pytest.approx(expected, abs=1e-4)
    assert holecam.thread_percent("6-32", "#36") == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: holecam.mm(3), "no unit here"),
        (lambda: holecam.mm("3", "cm"), 'unit "cm": expected in or mm'),
        (lambda: holecam.mm(None), "expected text or a number, got NoneType"),
        (lambda: holecam.tap("M4", thickness=-1, unit="mm"), "above zero"),
        (lambda: holecam.thread_percent("M4", 0, unit="mm"), "above zero"),
        (lambda: holecam.tap("M4x"), "M4x"),
        (lambda: holecam.drill("#200"), "#200"),
        (lambda: holecam.line(3, unit="mm"), "a pitch or a length"),
        (lambda: holecam.line(3, pitch=5), "no unit here"),
        (lambda: holecam.line(0, pitch="5 mm"), "count|holes"),
        (lambda: holecam.circle(6, diameter="10 mm", start="up"), "start"),
        (lambda: holecam.grid(2, 2, pitch="5 mm", numbering="as it falls"), "numbering"),
        (lambda: holecam.step_down([], "hood:1", unit="mm"), "^layer: expected at least one"),
        (lambda: holecam.step_down(["bar"], "hood:1", unit="mm"), "^layer .* thickness"),
        (lambda: holecam.step_down(["bar:2:0.1"], "hood:1", unit="mm", answers=["?"]), "^answer"),
        (lambda: holecam.step_down(["bar:2:0.1"], "hood:1", unit="mm", hold="tight"), "hold"),
        (lambda: holecam.step_down(["bar:2:0.1"], "hood:1", unit="mm", readout=0), "readout"),
        (lambda: holecam.step_down(["bar:2:0.1"], "hood:1", unit="ft"), "unit"),
    ],
)
def test_what_cannot_be_is_refused_in_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        call()
    assert "--" not in str(caught.value), "a command's option means nothing here"


def places(told: dict[str, Any]) -> list[list[float]]:
    return [[h["x_mm"], h["y_mm"]] for h in told["holes"]]


def test_patterns_agree_with_the_commands() -> None:
    words = ("--count", "5", "--pitch", "1-1/4", "--first", "0.62,0.195", "--along", "30", "--unit", "in")
    row = holecam.line(5, pitch="1-1/4", first=("0.62", 0.195), along=30, unit="in")
    assert np.allclose(row, places(command(line_command.app, *words)), atol=1e-9)
    words = ("--columns", "4", "--rows", "3", "--pitch", "10", "--staggered", "--numbering", "there and back")
    net = holecam.grid(4, 3, pitch=10, staggered=True, numbering="there and back", unit="mm")
    assert np.allclose(net, places(command(grid_command.app, *words)), atol=1e-9)
    words = (
        "--count",
        "7",
        "--diameter",
        "80",
        "--centre",
        "3,-4",
        "--start",
        "+y",
        "--included",
        "200",
        "--clockwise",
    )
    ring = holecam.circle(7, diameter=80, centre=(3, "-4"), start="+y", included_deg=200, clockwise=True, unit="mm")
    assert np.allclose(ring, places(command(circle_command.app, *words)), atol=1e-9)


def test_a_hole_circle_by_plain_trigonometry() -> None:
    ring = holecam.circle(6, diameter="3-1/2 in", start=15)
    for i, (x, y) in enumerate(ring):
        angle = math.radians(15 + 60 * i)
        assert (x, y) == pytest.approx((44.45 * math.cos(angle), 44.45 * math.sin(angle)), abs=1e-9)


def test_a_step_down_agrees_with_the_command() -> None:
    words = [
        *("--layer", "brass rail:3/16:0.001", "--layer", "soft solder:0.004:0.002", "--keep", "copper hood:0.025"),
        *("--touch", "paper", "--readout", "0.0005", "--unit", "in", "--answer", "still bar at -0.180"),
    ]
    told = command(stepdown_command.app, *words)
    down = holecam.step_down(
        [("brass rail", "3/16", 0.001), ("soft solder", "0.004", Fraction(1, 500))],
        ("copper hood", 0.025),
        unit="in",
        readout=0.0005,
        answers=["still bar at -0.180"],
    )
    assert len(down.z) > 3
    assert down.z.tolist() == pytest.approx([p["z_mm"] for p in told["passes"]], abs=1e-6)
    assert down.heights.hard_floor == pytest.approx(told["hard_floor_z_mm"], abs=1e-6)
    assert set(down.stops) == {p["number"] for p in told["passes"] if p["stop"]}
    assert [f.code for f in down.findings] == [f["code"] for f in told["findings"]]
    assert (np.diff(down.z) < 0).all()
    assert down.z[-1] >= down.heights.hard_floor


def test_the_printed_hard_floor_is_never_lower_than_the_hard_floor() -> None:
    down = holecam.step_down(["bar:3.175:0.02"], "hood:0.6", unit="mm")
    printed = float(repr(down).split("Hard floor Z ")[1].split(" mm")[0].replace("\u2212", "-"))
    assert 0 <= printed - down.heights.hard_floor < 1e-4 + 1e-9
