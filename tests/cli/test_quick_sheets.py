"""Quick sheets: circle, line and grid on the command line, as text and as JSON."""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
from fractions import Fraction
from typing import Any

import pytest

from holecam.cli import main as entry

INCH = 25.4


def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str) -> tuple[int, str, str]:
    """Run the command line in this process; return exit code, standard output and standard error."""
    monkeypatch.setattr(sys, "argv", ["holecam", *words])
    with pytest.raises(SystemExit) as end:
        entry.main()
    out, err = capsys.readouterr()
    return int(end.value.code or 0), out, err


@pytest.fixture
def sheet(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Any:
    def ask(*words: str) -> str:
        code, out, err = run(capsys, monkeypatch, *words)
        assert (code, err) == (0, "")
        return out

    return ask


@pytest.fixture
def holes(sheet: Any) -> Any:
    def ask(*words: str) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = json.loads(sheet(*words, "--json"))["holes"]
        return found

    return ask


@pytest.fixture
def refused(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Any:
    def ask(*words: str) -> str:
        code, out, err = run(capsys, monkeypatch, *words)
        assert code == 2
        assert out == ""
        assert "Traceback" not in err
        return " ".join(err.split())

    return ask


def table(text: str) -> list[list[str]]:
    """Return the rows of the printed table, the closing one included."""
    return [
        re.split(r"  +", line.strip())
        for line in text.splitlines()
        if re.match(r" *(?:\d+|back to \d+)  +[+\-\d]", line)
    ]


def test_a_circle_in_inches(sheet: Any) -> None:
    text = sheet("circle", "--count", "6", "--diameter", "3-1/2", "--start", "30", "--centre", "0,0", "--unit", "in")
    rows = table(text)
    # Corners of a hexagon: 1.75 cos 30 = 1.51554, to 0.0005 in
    assert [row[:3] for row in rows] == [
        ["1", "+1.5155", "+0.8750"],
        ["2", "0.0000", "+1.7500"],
        ["3", "-1.5155", "+0.8750"],
        ["4", "-1.5155", "-0.8750"],
        ["5", "0.0000", "-1.7500"],
        ["6", "+1.5155", "-0.8750"],
        ["back to 1", "+1.5155", "+0.8750"],
    ]
    assert "6 holes on a circle of 3.5000 in, centre at X 0.0000 in, Y 0.0000 in" in text
    assert "All lengths in inches; readout step 0.0005 in" in text
    assert "hole 1 to hole 2 1.7500 in (neighbours)" in text
    assert "hole 1 to hole 4 3.5000 in (farthest from the first)" in text


@pytest.mark.parametrize(
    "words",
    [
        ["circle", "--count", "7", "--diameter", "3-1/2", "--start", "17", "--centre", "1-1/16,-2.3"],
        ["line", "--count", "9", "--pitch", "7/16", "--first", "0.62,0.195", "--along", "33.3"],
        ["line", "--count", "4", "--length", "2-1/3", "--along", "-y"],
        ["grid", "--columns", "4", "--rows", "3", "--pitch", "1/3", "--staggered", "--along", "12"],
    ],
)
def test_steps_add_up_to_every_absolute(sheet: Any, words: list[str]) -> None:
    """The printed figures themselves are added, closing row included."""
    rows = table(sheet(*words, "--unit", "in"))
    x = y = Fraction(0)
    for row in rows:
        x, y = x + Fraction(row[3]), y + Fraction(row[4])
        assert (x, y) == (Fraction(row[1]), Fraction(row[2]))
    assert rows[-1][1:3] == rows[0][1:3]


def test_json_is_in_millimetres_whatever_the_unit(holes: Any) -> None:
    inch = holes("line", "--count", "6", "--pitch", "1-1/4", "--first", "0.62,0.195", "--unit", "in")
    metric = holes("line", "--count", "6", "--pitch", "31.75", "--first", "15.748,4.953", "--unit", "mm")
    mixed = holes("line", "--count", "6", "--pitch", "1-1/4 in", "--first", "0.62 in,0.195 in", "--unit", "mm")
    for other in (metric, mixed):
        assert [(h["number"], h["x_mm"], h["y_mm"]) for h in inch] == [
            (h["number"], h["x_mm"], h["y_mm"]) for h in other
        ]
    assert [h["number"] for h in inch] == [1, 2, 3, 4, 5, 6]
    assert inch[5]["x_mm"] == pytest.approx((0.62 + 6.25) * INCH)
    assert inch[5]["y_mm"] == pytest.approx(0.195 * INCH)
    assert inch[5]["step_x_mm"] == pytest.approx(1.25 * INCH)


def test_json_of_a_circle(holes: Any, sheet: Any) -> None:
    found = holes("circle", "--count", "5", "--diameter", "92", "--start", "+y", "--centre", "40,25", "--clockwise")
    for k, hole in enumerate(found):
        angle = math.radians(90 - 72 * k)
        assert hole["x_mm"] == pytest.approx(40 + 46 * math.cos(angle), abs=1e-8)
        assert hole["y_mm"] == pytest.approx(25 + 46 * math.sin(angle), abs=1e-8)
        assert hole["x_reading_mm"] == pytest.approx(hole["x_mm"], abs=0.0025001)
        assert hole["x_reading_mm"] / 0.005 == pytest.approx(round(hole["x_reading_mm"] / 0.005))
    whole = json.loads(sheet("circle", "--count", "5", "--diameter", "92", "--json"))
    assert whole["pattern"] == "hole circle"
    assert whole["readout_step_mm"] == 0.005
    assert whole["checks"][0]["distance_mm"] == pytest.approx(92 * math.sin(math.pi / 5), abs=1e-8)


def test_a_partial_circle(holes: Any) -> None:
    span = holes("circle", "--count", "4", "--diameter", "100", "--included", "90")
    step = holes("circle", "--count", "4", "--diameter", "100", "--step", "30")
    assert span == step
    assert (span[3]["x_mm"], span[3]["y_mm"]) == (0.0, 50.0)


def test_any_hole_of_a_row_can_be_the_known_one(holes: Any) -> None:
    found = holes("line", "--count", "5", "--pitch", "20", "--hole", "4", "--first", "100,7", "--along", "+y")
    assert [(h["x_mm"], h["y_mm"]) for h in found] == [(100, -53), (100, -33), (100, -13), (100, 7), (100, 27)]


def test_a_staggered_grid_with_short_rows(holes: Any) -> None:
    found = holes(
        "grid", "--columns", "3", "--rows", "2", "--pitch", "10", "--row-pitch", "8", "--staggered", "--short-rows"
    )
    assert [(h["x_mm"], h["y_mm"]) for h in found] == [(0, 0), (10, 0), (20, 0), (5, 8), (15, 8)]
    assert [h["place"] for h in found][3] == "row 2, column 1"
    apart = holes("grid", "--columns", "2", "--rows", "2", "--column-pitch", "10", "--row-pitch", "8")
    assert [(h["x_mm"], h["y_mm"]) for h in apart] == [(0, 0), (10, 0), (0, 8), (10, 8)]
    back = holes("grid", "--columns", "2", "--rows", "2", "--pitch", "10", "--numbering", "there and back")
    assert [(h["x_mm"], h["y_mm"]) for h in back] == [(0, 0), (10, 0), (10, 10), (0, 10)]


def test_the_other_hand_is_a_sheet_of_its_own(sheet: Any, holes: Any) -> None:
    words = ["line", "--count", "3", "--pitch", "10", "--first", "2,3", "--along", "30"]
    plain, other = holes(*words), holes(*words, "--mirror", "x=50")
    for a, b in zip(plain, other, strict=True):
        assert b["number"] == a["number"]
        assert b["x_mm"] == pytest.approx(100 - a["x_mm"])
        assert b["y_mm"] == a["y_mm"]
    assert "MIRRORED across X = 50.000 mm: the other hand" in sheet(*words, "--mirror", "x=50")
    assert [h["y_mm"] for h in holes(*words, "--mirror", "y=0")] == [-h["y_mm"] for h in plain]


def test_dial_turns_multiply_back(sheet: Any, holes: Any) -> None:
    words = ["line", "--count", "6", "--pitch", "1-1/4", "--first", "0.62,-0.195", "--unit", "in", "--dial-lead", "0.2"]
    for hole in holes(*words):
        for axis in ("x", "y"):
            dial = hole[f"dial_{axis}"]
            travel = (dial["turns"] * 200 + dial["marks"]) * (-1 if dial["negative"] else 1)
            assert travel == pytest.approx(hole[f"{axis}_mm"] / INCH * 1000, abs=0.5)
            assert dial["shows"] == travel % 200
    text = sheet(*words)
    assert "A turn is 0.2000 in, a mark 0.0010 in" in text
    assert table(text)[1][5:9] == ["9 + 70", "70", "back 0 + 195", "5"]
    assert "come from past" in text


def test_rows_that_need_an_overshoot_are_marked(holes: Any) -> None:
    dials = ["--dial-lead", "5 mm"]
    climbing = holes("line", "--count", "3", "--pitch", "10", "--along", "20", *dials)
    assert [h["come_from_past"] for h in climbing] == ["XY", "", ""]
    falling = holes("line", "--count", "3", "--pitch", "10", "--along", "-20", *dials)
    assert [h["come_from_past"] for h in falling] == ["XY", "Y", "Y"]
    other = holes("line", "--count", "3", "--pitch", "10", "--along", "-20", "--approach", "+x,-y", *dials)
    assert [h["come_from_past"] for h in other] == ["XY", "", ""]


def test_the_readout_decides_the_decimals(sheet: Any) -> None:
    words = ["line", "--count", "2", "--pitch", "1/3", "--unit", "in", "--readout"]
    assert table(sheet(*words, "0.001"))[1][1] == "+0.333"
    assert table(sheet(*words, "0.0001"))[1][1] == "+0.3333"
    assert (
        table(sheet("line", "--count", "2", "--pitch", "1/32", "--unit", "in", "--readout", "0.0001"))[1][1]
        == "+0.0313"
    )
    assert table(sheet("line", "--count", "2", "--pitch", "0.0125", "--readout", "0.005"))[1][1] == "+0.015"


def test_a_single_hole_has_no_closing_row(sheet: Any) -> None:
    text = sheet("line", "--count", "1", "--pitch", "10", "--first", "3,4")
    assert "back to" not in text
    assert len(table(text)) == 1


LINE = ["line", "--count", "3", "--pitch", "10"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ["circle", "--count", "6", "--diameter", "3-1/2"],
            '--diameter = "3-1/2": a fraction without a unit; expected "3-1/2 in"',
        ),
        (["circle", "--count", "6", "--diameter", "½"], "a fraction without a unit"),
        (["circle", "--count", "0", "--diameter", "30"], "count 0: expected at least 1 hole"),
        (["circle", "--count", "6", "--diameter", "-30"], '--diameter = "-30": expected a length above zero'),
        (["circle", "--count", "6", "--diameter", "3,5"], 'Write "3.5".'),
        (["circle", "--count", "6", "--diameter", "30", "--start", "north"], '--start = "north": expected degrees'),
        (["circle", "--count", "6", "--diameter", "30", "--included", "400"], "included angle 400 degrees"),
        (["circle", "--count", "6", "--diameter", "30", "--included", "nan"], "included angle nan degrees"),
        (["circle", "--count", "6", "--diameter", "30", "--centre", "5"], '--centre = "5": expected a point such as'),
        (["circle", "--count", "6", "--diameter", "30", "--centre", "1,5,2,5"], "Write decimals with a point."),
        (["circle", "--count", "6", "--diameter", "30", "--centre", "5,"], "expected a point such as"),
        (["line", "--count", "3"], "expected a pitch or a length, one of them"),
        (["line", "--count", "3", "--pitch", "0"], '--pitch = "0": expected a length above zero'),
        (["line", "--count", "2000000", "--pitch", "1"], "2000000 holes: expected at most 100000"),
        (["line", "--count", "20000", "--pitch", "1"], "expected at most 10000 for a printed sheet; use --json"),
        ([*LINE, "--hole", "4"], "hole 4: this line has holes 1 to 3"),
        ([*LINE, "--along", "x"], 'Write "+x" or "-x"'),
        ([*LINE, "--unit", "cm"], '--unit "cm": expected in or mm'),
        ([*LINE, "--readout", "0"], '--readout "0": expected the step of the readout, above zero'),
        ([*LINE, "--readout", "0.00000001"], "expected a step that 6 decimals can show"),
        ([*LINE, "--dial-lead", "3.333"], "expected --dial-divisions as well"),
        ([*LINE, "--dial-lead", "0"], "expected --dial-divisions as well"),
        ([*LINE, "--dial-lead", "5", "--dial-divisions", "0"], "dial divisions 0: expected 1 to 1000"),
        ([*LINE, "--dial-divisions", "100"], "expected --dial-lead as well"),
        ([*LINE, "--approach", "x,y"], '--approach "x,y": expected +x,+y'),
        ([*LINE, "--approach", "+y,+x"], "X first"),
        ([*LINE, "--mirror", "50"], '--mirror "50": expected x=LENGTH or y=LENGTH'),
        ([*LINE, "--mirror", "z=5"], "expected x=LENGTH or y=LENGTH"),
        ([*LINE, "--first", "1e9,0"], "without a power of ten"),
        ([*LINE, "--first", "99999999,0"], "expected at most 100000 mm"),
        (["grid", "--columns", "2", "--rows", "2"], "grid: expected --pitch, or --column-pitch with --row-pitch"),
        (["grid", "--columns", "2", "--rows", "2", "--column-pitch", "5"], "--column-pitch without --row-pitch"),
        (["grid", "--columns", "2", "--rows", "2", "--pitch", "5", "--short-rows"], "only with --staggered"),
        (["grid", "--columns", "2", "--rows", "2", "--pitch", "5", "--numbering", "zigzag"], "expected one of by row"),
        (["grid", "--columns", "0", "--rows", "2", "--pitch", "5"], "columns: count 0"),
        (["line", "--count", "three", "--pitch", "5"], "'three': expected a whole number"),
        (["line", "--pitch", "5"], "Missing option '--count'"),
    ],
)
def test_wrong_input_exits_2_and_says_what_to_write(refused: Any, words: list[str], message: str) -> None:
    assert message in refused(*words)


def test_no_heavy_library_is_loaded() -> None:
    heavy = ["numpy", "shapely", "ezdxf", "pydantic", "jinja2", "reportlab", "rich", "scipy"]
    program = (
        "import sys; sys.argv = ['holecam', 'grid', '--columns', '3', '--rows', '2', '--pitch', '10']\n"
        "from holecam.cli.main import main\n"
        "try: main()\n"
        f"except SystemExit: print([m for m in {heavy} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    assert done.stderr == ""
