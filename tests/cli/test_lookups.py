"""The three look-ups as a user runs them: answers, JSON shape, errors in one message, nothing heavy loaded."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Sequence

import pytest

from holecam.cli.look_up import LINE_WIDTH, aligned, wrapped
from holecam.cli.main import main

HEAVY = ("numpy", "shapely", "ezdxf", "pydantic", "rich", "jinja2", "reportlab", "scipy", "msgspec")


def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *arguments: str) -> tuple[int, str, str]:
    """Return exit code, standard output and standard error of one command."""
    monkeypatch.setattr(sys, "argv", ["holecam", *arguments])
    with pytest.raises(SystemExit) as stopped:
        main()
    code = stopped.value.code
    captured = capsys.readouterr()
    return (code if isinstance(code, int) else 0), captured.out, captured.err


@pytest.fixture
def holecam(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    """Return a function that runs a command line."""
    return lambda *arguments: run(capsys, monkeypatch, *arguments)


def test_tap_json_has_the_promised_shape(holecam) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = holecam("tap", "6-32", "--json")
    answer = json.loads(out)
    assert code == 0
    assert answer["thread"] == {
        "name": "6-32 UNC", "major_mm": 3.5052, "pitch_mm": 0.79375, "form": "unified 60 deg",
    }  # fmt: skip
    assert answer["target_percent"] == 75
    assert {"drill", "diameter_mm", "thread_percent", "within_class"} <= set(answer["choices"][0])
    best = answer["recommended"]
    assert (best["drill"], best["diameter_mm"], best["within_class"]) == ("#36", 2.7051, True)
    assert best["thread_percent"] == pytest.approx(77.6, abs=0.05)  # drill charts print 78 percent
    assert {k: v for k, v in best.items() if k != "reason"} in answer["choices"]
    assert answer["limits"]["class"] == "2B"


def test_clearance_json_has_the_promised_shape(holecam) -> None:  # type: ignore[no-untyped-def]
    """ASME B18.2.8, No. 6: close No. 23, normal No. 18, loose No. 13."""
    code, out, _ = holecam("clearance", "6-32", "--json")
    answer = json.loads(out)
    assert code == 0
    assert answer["thread"]["name"] == "6-32 UNC"
    assert [(answer[f]["drill"], answer[f]["diameter_mm"]) for f in ("close", "normal", "loose")] == [
        ("#23", 3.9116),
        ("#18", 4.3053),
        ("#13", 4.699),
    ]
    assert answer["heads"]["pan"]["diameter_mm"] == pytest.approx(0.270 * 25.4)
    assert answer["heads"]["socket"]["counterbore"]["diameter_mm"] == pytest.approx(25.4 * 9 / 32)
    assert answer["heads"]["flat"]["countersink"]["angle_deg"] == 82


def test_drill_json_gives_the_size_and_its_neighbours(holecam) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = holecam("drill", "#29", "--drills", "number", "--json")
    answer = json.loads(out)
    assert code == 0
    assert answer["asked_mm"] == pytest.approx(3.4544)
    assert [answer[k]["drill"] for k in ("same", "nearest", "smaller", "larger")] == ["#29", "#29", "#30", "#28"]
    code, out, _ = holecam("drill", "3.46 mm", "--drills", "metric", "--json")
    answer = json.loads(out)
    assert answer["same"] is None
    assert (answer["nearest"]["drill"], answer["smaller"]["drill"], answer["larger"]["drill"]) == (
        "3.5 mm",
        "3.4 mm",
        "3.5 mm",
    )
    assert answer["nearest"]["difference_mm"] == pytest.approx(0.04)


def _lengths(value: object, key: str = "") -> list[tuple[str, object]]:
    if isinstance(value, dict):
        return [pair for k, v in value.items() for pair in _lengths(v, k)]
    if isinstance(value, list):
        return [pair for v in value for pair in _lengths(v, key)]
    return [(key, value)]


@pytest.mark.parametrize(
    "arguments",
    [
        ("drill", "F", "--material", "brass"),
        (
            "tap",
            "M4",
            "--material",
            "brass",
            "--thickness",
            "5 mm",
            "--blind",
            "4 mm",
            "--leave",
            "1 mm",
            "--screw",
            "8.8",
        ),
        ("clearance", "2 BA"),
    ],
)
def test_every_number_in_json_says_its_unit(holecam, arguments: Sequence[str]) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = holecam(*arguments, "--json")
    units = re.compile(r"_(mm|mm2|percent|deg|rpm|min|pitches)$")
    plain = {"rpm", "engaged_threads", "threads", "hole_weaker_by"}
    for key, value in _lengths(json.loads(out)):
        if isinstance(value, float) or (isinstance(value, int) and not isinstance(value, bool)):
            assert units.search(key) or key in plain, key


def test_texts_speak_of_feeds_and_depths_in_the_unit_that_was_asked_for(holecam) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = holecam("drill", "0.25", "--unit", "in", "--material", "brass")
    assert "3057 rpm, feed 6.0 in/min (153 mm/min), 0.0020 in (0.050 mm) a turn" in out
    _, out, _ = holecam("drill", "6 mm", "--material", "brass")
    assert "3236 rpm, feed 162 mm/min (6.4 in/min), 0.050 mm (0.0020 in) a turn" in out
    _, out, _ = holecam("tap", "5-40", "--thickness", "0.1", "--leave", "0.05", "--unit", "in")
    assert "No thread remains: the cylinder is 0.0195 in deep, the tap takes 0.2126 in below" in out


def test_tap_text_shows_the_choice_its_neighbours_and_the_source(holecam) -> None:  # type: ignore[no-untyped-def]
    code, out, err = holecam("tap", "6-32")
    lines = out.splitlines()
    assert (code, err) == (0, "")
    assert lines[0] == "6-32 UNC: major 0.1380 in (3.505 mm), 32 tpi, unified 60 deg"
    assert lines[1] == "Wanted: 75 % of thread, cut: ordinary work (US Army TM 9-254 par. 4-27)"
    assert "Minor diameter, class 2B: 0.1040 in (2.642 mm) to 0.1140 in (2.896 mm)" in lines
    assert [line.split() for line in lines if line.startswith(">")] == [
        [">", "#36", "0.1065", "2.705", "78", "%", "yes", "70", "%", "yes"]
    ]
    assert "Take #36: nearest to 75 % among the drills owned that keep the minor diameter inside class 2B." in lines
    assert not any(line.startswith("!") for line in lines)


def test_tap_text_for_thin_copper_warns(holecam) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = holecam("tap", "6-32", "--material", "annealed copper", "--thickness", "0.025 in")
    assert "Wanted: 80 % of thread" in out
    assert "Threads engaged: 0.8" in out
    assert "fewer than 3 do not hold" in out
    assert "! Soft copper grabs a drill or cutter" in out
    assert "! Clamp and back thin sheet over its whole area" in out


def test_tap_blind_depth_and_what_stays_over_the_sheet(holecam) -> None:  # type: ignore[no-untyped-def]
    arguments = (
        "tap",
        "1/4-20",
        "--blind",
        "3/8 in",
        "--lead",
        "bottoming",
        "--thickness",
        "0.55 in",
        "--leave",
        "1 mm",
    )
    _, out, _ = holecam(*arguments, "--json")
    blind = json.loads(out)["blind"]
    # Tap supplier's note: 3/8 in of thread, lead of 2, clearance of 1: 0.525 in
    assert blind["drill_depth_mm"] == pytest.approx(0.525 * 25.4, abs=1e-6)
    assert blind["bottom_mm"] == pytest.approx(0.55 * 25.4 - blind["tip_depth_mm"], abs=2e-6)
    assert blind["bottom_mm"] < 0
    deepest = blind["deepest"]
    assert deepest["tip_depth_mm"] == pytest.approx(0.55 * 25.4 - 1)
    assert deepest["full_thread_mm"] == pytest.approx(deepest["drill_depth_mm"] - 0.15 * 25.4, abs=2e-6)
    _, out, _ = holecam(*arguments)
    assert "THE DRILL COMES THROUGH" in out
    assert "To leave 0.0394 in (1.000 mm) under the tip" in out.replace("\n  ", " ")


def test_tap_says_when_no_thread_remains(holecam) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = holecam("tap", "M6", "--thickness", "3 mm", "--leave", "1 mm")
    assert "No thread remains: " in out


def test_tap_strength_compares_screw_and_material(holecam) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = holecam("tap", "M6", "--material", "copper", "--screw", "8.8", "--json")
    least = json.loads(out)["least_engagement"]
    assert least["stress_area_mm2"] == pytest.approx(20.1, abs=0.05)  # ISO 898-1
    assert least["hole_weaker_by"] > 1
    _, out, _ = holecam("tap", "2 BA", "--material", "brass", "--screw", "brass screw")
    assert "Least engagement for the screw to break first" in out
    assert "basic sizes, and 10% more length" in out


def test_formed_tap_shows_no_class(holecam) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = holecam("tap", "1/4-20", "--formed")
    assert "Limits of the minor diameter bind the finished thread" in out
    assert ">  #1 " in out


def test_unit_comes_first_and_gives_bare_numbers_their_unit(holecam) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = holecam("tap", "M4", "--unit", "in", "--thickness", "0.25")
    assert out.startswith("M4: major 0.1575 in (4.000 mm)")
    assert "Threads engaged: 9.1" in out
    _, out, _ = holecam("drill", "0.136", "--unit", "in", "--json")
    assert json.loads(out)["same"]["drill"] == "#29"


def test_drill_text_with_speed_and_cautions(holecam) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = holecam("drill", "no29", "--material", "brass", "--fastest", "2800")
    assert "next smaller" in out
    assert "Speed in brass: 2800 rpm" in out
    assert "a starting point from handbooks and custom" in out
    assert "! Wear eye protection" in out
    assert "! Brass pulls a drill in" in out


def test_drill_without_a_neighbour_says_so(holecam) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = holecam("drill", "28 mm")
    assert re.search(r"next larger\s+none owned", out)


def test_clearance_takes_owned_drills_and_one_head(holecam) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = holecam("clearance", "6-32", "--drills", "fraction", "--head", "countersunk")
    assert re.search(r"close\s+5/32 in\s+0\.1563\s+3\.969\s+0\.0091\s+wanted 0\.1540", out)
    assert "countersink 82 deg to 0.2790, no play once seated" in out
    assert "socket head" not in out
    _, out, _ = holecam("clearance", "2 BA")
    assert "common practice: allowance of" in out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("drill",), "A shell takes an unquoted # for a comment"),
        (("tap",), "A shell takes an unquoted # for a comment"),
        (("clearance",), "A shell takes an unquoted # for a comment"),
        (("drill", "29"), 'Write "#29" or "29 mm"'),
        (("drill", "5,5 mm"), 'Write "5.5 mm"'),
        (("drill", "5.5"), "A bare number has no unit here"),
        (("drill", "F", "--unit", "cm"), '--unit "cm": expected in or mm'),
        (("drill", "F", "--drills", "screws"), 'drill = "screws": expected a drill'),
        (("drill", "F", "--drills", ","), "drills owned: the list is empty"),
        (("drill", "F", "--material", "steel"), "can mean more than one thing"),
        (("drill", "F", "--material", "brass", "--tool", "wood"), 'tool material "wood" is not known'),
        (("drill", "F", "--material", "brass", "--slowest", "500", "--fastest", "100"), "slowest 500 rpm is above"),
        (("tap", "6/32"), 'Did you mean "6-32"?'),
        (("tap", "1/4"), "more than one thread"),
        (("tap", "6-32", "--percent", "150"), "percent of thread 150: expected 20 to 100"),
        (("tap", "6-32", "--percent", "nan"), "percent of thread nan: expected 20 to 100"),
        (("tap", "6-32", "--thickness", "0.025"), "A bare number has no unit here"),
        (("tap", "6-32", "--thickness", "-3 mm"), "expected a length above zero"),
        (("tap", "6-32", "--leave", "1 mm"), "--leave: expected --thickness as well"),
        (("tap", "6-32", "--leave", "5 mm", "--thickness", "4 mm"), "there is nothing to drill"),
        (("tap", "6-32", "--screw", "8.8"), "--screw: expected --material as well"),
        (("tap", "6-32", "--screw", "9.9", "--material", "brass"), 'screw strength "9.9" is not known'),
        (("tap", "6-32", "--screw", "8.8", "--material", "beech"), "no tensile strength is known for beech"),
        (("tap", "6-32", "--blind", "4 mm", "--lead", "gun"), 'tap "gun" is not known'),
        (("tap", "6-32", "--blind", "4 mm", "--point", "5"), "drill point 5 deg"),
        (("tap", "6-32", "--drills", "1/4"), "no drill owned suits"),
        (("tap", "2 BA", "--formed"), "no published drill size for a forming tap"),
        (("clearance", "M4", "--head", "torx"), 'screw head "torx" is not known'),
        (("clearance", "M4", "--drills", "#40"), "no drill owned is as large"),
        (("clearance", "M99"), "Metric threads run from M1 to M24"),
    ],
)
def test_a_mistake_gets_one_clear_message_and_exit_2(holecam, arguments: Sequence[str], message: str) -> None:  # type: ignore[no-untyped-def]
    code, out, err = holecam(*arguments)
    assert code == 2
    assert out == ""
    assert message in err
    assert len(err.strip().splitlines()) == 1
    assert "Traceback" not in err


@pytest.mark.parametrize("command", ["drill", "tap", "clearance"])
def test_help_lists_the_options(holecam, command: str) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = holecam(command, "--help")
    assert code == 0
    assert "--json" in out
    assert "--unit" in out
    assert "--drills" in out


@pytest.mark.parametrize(
    "arguments",
    [
        ["--help"],
        ["drill", "#29"],
        ["drill", "5.55 mm", "--material", "brass", "--json"],
        ["tap", "6-32", "--json"],
        ["tap", "3/16 x 40 ME", "--material", "copper", "--thickness", "1 mm", "--blind", "1 mm", "--screw", "8.8"],
        ["clearance", "M4"],
        ["tap", "nonsense"],
    ],
    ids=" ".join,
)
def test_nothing_heavy_is_loaded(arguments: list[str]) -> None:
    code = (
        f"import sys; sys.argv = ['holecam', *{arguments!r}]\n"
        "from holecam.cli.main import main\n"
        "try:\n    main()\nexcept SystemExit as stopped:\n    pass\n"
        f"loaded = [name for name in {HEAVY!r} if name in sys.modules]\n"
        "print('LOADED', loaded, file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env={**os.environ, "COLUMNS": "100"}
    )
    assert done.stderr.strip().splitlines()[-1] == "LOADED []"


def test_tables_are_aligned_and_text_is_wrapped() -> None:
    assert aligned(("a", "size"), [("x", "1.5"), ("long", "10.25")]) == ["a      size", "x       1.5", "long  10.25"]
    text = "word " * 60
    lines = wrapped([text])
    assert all(len(line) <= LINE_WIDTH for line in lines)
    assert " ".join(" ".join(lines).split()) == text.strip()
    assert lines[1].startswith("  word")
    assert wrapped(["", "short"]) == ["", "short"]
    assert max(len(line) for line in wrapped(["x" * 250])) <= LINE_WIDTH
