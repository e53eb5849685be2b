"""The very ends of what is read and written: the last value that is taken, the first that is refused."""

from __future__ import annotations

import itertools
import math

import pytest

from holecam.errors import InputError
from holecam.plan.motions import ArcFeed, Dialect, Feed, ProgramPlan, Rapid, SpindleOn, ToolChange, ToolKind, ToolUse
from holecam.program import read_program, write_program
from holecam.program.language import CYCLES, G_GROUP, M_GROUP, REFUSED_G, REFUSED_M, code_text
from holecam.program.moves import EventKind, Kind

BEGIN = "G21 G90\nT1 M6\nG0 Z10\nG0 X0 Y0\nF100\nS500 M3\n"
MILL = ToolUse(1, "6 mm end mill", ToolKind.END_MILL, 6.0)


def test_the_last_that_is_read_and_the_first_that_is_refused() -> None:
    for good, bad, why in [
        ("G81 X1 Z-1 R2 L1000", "G81 X1 Z-1 R2 L1001", "L1001: expected 1 to 1000 repeats"),
        ("G81 X1 Z-1 R2 L1", "G81 X1 Z-1 R2 L0", "L0: expected 1 to 1000 repeats"),
        ("G81 X1 Z2 R2", "G81 X1 Z2.001 R2", "R lies below Z"),
        ("G83 X1 Z-8 R2 Q0.001", "G83 X1 Z-8.001 R2 Q0.001", "more than 10000 steps"),
        ("G83 X1 Z-8 R2 Q0.1", "G83 X1 Z-8 R2 Q0", "needs a step Q above zero"),
        ("G82 X1 Z-8 R2 P0", "G82 X1 Z-8 R2 P-0.1", "needs a dwell P of 0 or more"),
        ("G89 X1 Z-8 R2 P0", "G89 X1 Z-8 R2", "needs a dwell P of 0 or more"),
        ("G4 P0", "G4 P-0.001", "needs the seconds as P"),
        ("F0", "F-0.001", "a feed is 0 or more"),
        ("S0", "S-0.001", "a spindle speed is 0 or more"),
        ("T99999999", "T100000000", "expected a whole number"),
        ("T0", "T-1", "expected a whole number"),
        ("G1 X1 (" + "x" * 248 + ")", "G1 X1 (" + "x" * 249 + ")", "257 characters; 256 are allowed"),
        ("G1 X123456789012345", "G1 X1234567890123456", "more than 15 digits"),
        ("G1 X0.00000000000001", "G1 X0.000000000000001", "more than 15 digits"),
        ("G2 X10 Y0 I5.001", "G2 X10 Y0 I5.0011", "the ends of the arc lie"),
        ("G2 X10 Y0 R4.998", "G2 X10 Y0 R4.9979", "is too short"),
        ("G3 X10 Y0 R-4.998", "G3 X10 Y0 R-4.9979", "is too short"),
        ("G2 X10 Y0 R5", "G2 X10 Y0 R0", "has the radius 0"),
        ("G2 X0.001 Y0 R5", "G2 X0 Y0 R5", "may not end where it starts"),
        ("G2 X0 Y0 I0.001", "G2 X0 Y0 I0", "the arc has no radius"),
        ("G18\nG2 X10 Z10 I5", "G18\nG2 X10 Z10 R-1000000", "upright arc of radius 1000000.0 mm"),
        ("G54\nG54", "G54\nG55", "another zero"),
        ("M7 M8", "M7 M9", "two words for coolant"),
    ]:
        assert read_program(BEGIN + good + "\nM30\n").refused == ()
        refused = read_program(BEGIN + bad + "\nM30\n").refused
        assert refused
        assert why in refused[0].reason


def test_an_inch_program_has_the_limit_of_an_inch_program() -> None:
    """0.0002 in between the radii (NISTIR 6556, from memory), not 0.002 mm: 5.08 micrometres."""
    begin = "G20 G90\nT1 M6\nG0 Z1\nG0 X0 Y0\nF5\nS500 M3\n"
    assert read_program(begin + "G2 X1 Y0 I0.5001\nM30\n").refused == ()
    assert read_program(begin + "G2 X1 Y0 I0.50011\nM30\n").refused
    assert read_program(BEGIN + "G2 X25.4 Y0 I12.70254\nM30\n").refused


def test_an_arc_of_any_plane_begins_at_a_known_place() -> None:
    """One of X and Y was never stated: in the plane of the arc or square to it, nobody knows what is cut."""
    for known, arc in [
        ("G0 X0", "G18 G2 X10 I5"), ("G0 Y0", "G19 G2 Y10 J5"), ("G0 X0", "G17 G2 X10 I5"), ("G0 Y0", "G17 G2 Y10 J5"),
        ("G0 Y0", "G18 G2 X10 I5"), ("G0 X0", "G19 G2 Y10 J5"),
    ]:  # fmt: skip
        begin = f"G21 G90\nT1 M6\nG0 Z10\n{known}\nF100\nS500 M3\n"
        (refused,) = read_program(f"{begin}{arc}\nM30\n").refused
        assert refused.reason == "the arc starts at a place that is not known"
        assert read_program(f"{BEGIN}{arc}\nM30\n").refused == ()


def test_pecks_near_the_bottom_and_near_the_top() -> None:
    """Q into a depth that it divides exactly leaves no empty peck; a peck shorter than the back-off never goes up."""
    moves = read_program(BEGIN + "G83 X0 Y0 Z-4 R2 Q2\nM30\n").moves
    assert moves.end[-9:, 2].tolist() == [2.0, 0.0, 2.0, 0.254, -2.0, 2.0, -1.746, -4.0, 10.0]
    short = read_program(BEGIN + "G83 X0 Y0 Z1.6 R2 Q0.2\nM30\n").moves
    assert short.end[-5:, 2].tolist() == [2.0, 1.8, 2.0, 1.6, 10.0]
    low = read_program(BEGIN + "G73 X0 Y0 Z1.6 R2 Q0.2\nM30\n").moves
    assert low.end[-5:, 2].tolist() == [2.0, 1.8, 2.0, 1.6, 10.0]
    assert [int(k) for k in short.kind[-5:]] == [Kind.RAPID, Kind.FEED, Kind.RAPID, Kind.FEED, Kind.RAPID]


def test_a_long_remark_before_a_stop_is_kept_to_its_first_400_characters() -> None:
    text = "".join(f"({letter * 200})\n" for letter in "abc")
    (stop,) = (e for e in read_program(BEGIN + text + "M0\nM30\n").events if e.kind is EventKind.STOP)
    assert stop.text == "a" * 200 + " " + "b" * 199


# What is written


def blocks(*motions: object, dialect: Dialect | None = None) -> list[str]:
    start = (ToolChange(1), SpindleOn(1000), Rapid(0, 0), Rapid(z=1))
    plan = ProgramPlan("edges", (MILL,), (*start, *motions), 10.0)  # type: ignore[arg-type]
    lines = write_program(plan, dialect).split("\n")
    return lines[lines.index("G0 Z1.000" if dialect is None or dialect.unit == "mm" else "G0 Z0.0394") + 1 : -4]


def test_a_feed_is_written_within_a_five_hundredth() -> None:
    for feed, word in [
        (100.0, "F100"), (33.34, "F33.3"), (50.04, "F50"), (9.96, "F9.96"), (1.26, "F1.26"), (0.333, "F0.333"),
        (25.05, "F25.1"), (25.04, "F25"), (0.0501, "F0.05"), (0.0503, "F0.0503"),
    ]:  # fmt: skip
        (line,) = blocks(Feed(feed, z=-1))
        assert line == f"G1 Z-1.000 {word}"
        assert abs(float(word[1:]) - feed) <= feed / 500


def test_a_feed_in_inches_has_two_decimals() -> None:
    (line,) = blocks(Feed(127.0, z=-25.4), dialect=Dialect(unit="in"))
    assert line == "G1 Z-1.0000 F5"
    (line,) = blocks(Feed(60.0, z=-25.4), dialect=Dialect(unit="in"))
    assert line == "G1 Z-1.0000 F2.36"


def test_a_speed_is_rounded_to_the_nearest_whole_one() -> None:
    for rpm, word in [(0.5, "S1 M3"), (1499.5, "S1500 M3"), (1499.4, "S1499 M3")]:
        assert blocks(SpindleOn(rpm))[0] == word


def test_a_speed_below_one_turn_is_refused() -> None:
    with pytest.raises(InputError, match=r"spindle speed 0\.4 rpm: expected 1 rpm or more"):
        blocks(SpindleOn(0.4))


def test_the_smallest_arc_has_three_steps() -> None:
    for radius, arc in [(0.003, True), (0.0029, False)]:
        lines = blocks(Feed(50, z=-1), ArcFeed(60, 2 * radius, 0, (radius, 0), ccw=True))
        assert any(line.startswith("G3") for line in lines) is arc
        assert any(line.startswith("G1 X") for line in lines) is not arc


def test_chords_of_an_arc_lie_within_their_tolerance_and_are_no_more_than_needed() -> None:
    """r (1 - cos(a / 2)): for 10 mm and 0.01 mm 5.12 degrees a chord, so 36 for half a circle."""
    lines = blocks(
        Feed(50, z=-1), ArcFeed(60, 20, 0, (10, 0), ccw=True), dialect=Dialect(arcs="lines", chord_tolerance=0.01)
    )
    assert len(lines) - 1 == math.ceil(math.pi / (2 * math.acos(1 - 0.01 / 10))) == 36
    assert lines[-1].startswith("G1 X20.000 Y0.000")


def test_the_end_of_a_helix_and_of_its_parts() -> None:
    lines = blocks(Feed(50, z=0.0), ArcFeed(60, 0, 0, (0, 5), ccw=False, z=-3))
    heights = [word[1:] for line in lines for word in line.split() if word[0] == "Z"]
    assert heights == ["0.000", "-1.500", "-3.000"]
    straight = blocks(Feed(50, z=0.0), ArcFeed(60, 5, 5, (0, 5), ccw=True, z=-3), dialect=Dialect(arcs="lines"))
    heights = [word[1:] for line in straight for word in line.split() if word[0] == "Z"]
    assert heights[-1] == "-3.000"
    steps = [float(a) - float(b) for a, b in itertools.pairwise(heights)]
    assert max(steps) - min(steps) <= 0.0021


LINES = {
    "G0": "G0 X1", "G1": "G1 X1", "G2": "G2 X1 I0.5", "G3": "G3 X1 I0.5", "G4": "G4 P1",
    "G73": "G73 X1 Z-1 R2 Q1", "G81": "G81 X1 Z-1 R2", "G82": "G82 X1 Z-1 R2 P1", "G83": "G83 X1 Z-1 R2 Q1",
    "G84": "G84 X1 Z-1 R2", "G85": "G85 X1 Z-1 R2", "G89": "G89 X1 Z-1 R2 P1", "G43": "G43 H1",
    "G91": "G91\nG90", "G18": "G18\nG17", "G19": "G19\nG17", "G20": "G20\nG21\nF100", "M3": "S500 M3", "M4": "S500 M4",
}  # fmt: skip
CODES_READ = [
    "G0",
    "G1",
    "G2",
    "G3",
    "G4",
    "G17",
    "G18",
    "G19",
    "G20",
    "G21",
    "G40",
    "G43",
    "G49",
    "G54",
    "G55",
    "G56",
    "G57",
    "G58",
    "G59",
    "G59.1",
    "G59.2",
    "G59.3",
    "G61",
    "G61.1",
    "G64",
    "G73",
    "G80",
    "G81",
    "G82",
    "G83",
    "G84",
    "G85",
    "G89",
    "G90",
    "G90.1",
    "G91",
    "G91.1",
    "G94",
    "G98",
    "G99",
    "M0",
    "M1",
    "M2",
    "M3",
    "M4",
    "M5",
    "M6",
    "M7",
    "M8",
    "M9",
    "M30",
    "M48",
    "M49",
]


def test_every_code_that_is_read() -> None:
    """Codes of NISTIR 6556 (from memory) that have a meaning here; a zero is named at the beginning."""
    for code in CODES_READ:
        line = LINES.get(code, "T1 M6" if code == "M6" else code)
        text = f"G21 G90\n{line}\n{BEGIN}" if code.startswith("G5") else f"{BEGIN}{line}\n"
        assert read_program(text).refused == ()
        assert read_program(text.replace(code, f"{code}.7")).refused, "its neighbour is none"


def test_line_numbers_after_the_last_begin_again_and_leave_none_out() -> None:
    for step, last in [(1000, 99_000), (999, 99_900), (7, 99_995)]:
        count = 2 * (last // step)
        motions = (
            ToolChange(1),
            SpindleOn(1000),
            Rapid(0, 0),
            Rapid(z=1),
            *(Feed(50, x=k % 2 + 1) for k in range(count)),
        )
        text = write_program(ProgramPlan("many", (MILL,), motions, 10.0), Dialect(line_number_step=step))
        numbers = [int(line.split()[0][1:]) for line in text.split("\n") if line.startswith("N")]
        assert numbers == [step * (k % (last // step) + 1) for k in range(len(numbers))]
        assert len(numbers) > count


GROUPS = """
not modal: G4
motion: G0 G1 G2 G3 G73 G80 G81 G82 G83 G84 G85 G89
plane: G17 G18 G19
units: G20 G21
distance mode: G90 G91
arc centre mode: G90.1 G91.1
feed mode: G94
cutter radius compensation: G40
tool length offset: G43 G49
return level of cycles: G98 G99
work offset: G54 G55 G56 G57 G58 G59 G59.1 G59.2 G59.3
path control: G61 G61.1 G64
stopping: M0 M1 M2 M30
tool change: M6
spindle: M3 M4 M5
coolant: M7 M8 M9
overrides: M48 M49
"""
"""Tables 4 and following of NISTIR 6556 (from memory), without what is refused."""

REFUSED_CODES = """G10 G28 G28.1 G30 G30.1 G33 G33.1 G38.2 G41 G42 G43.1 G53 G86 G87 G88 G92 G92.1 G92.2 G92.3 G93 G95
G96 M60 M97 M98 M99"""


def test_the_codes_of_each_modal_group() -> None:
    found: dict[str, list[str]] = {}
    for letter, table, unit in (("G", G_GROUP, 1), ("M", M_GROUP, 10)):
        for code, group in table.items():
            found.setdefault(group.value, []).append(code_text(letter, code * unit))
    told = dict(line.split(": ") for line in GROUPS.strip().split("\n"))
    assert {group: sorted(codes) for group, codes in found.items()} == {g: sorted(c.split()) for g, c in told.items()}
    assert {code_text("G", c) for c in CYCLES} == {"G73", "G81", "G82", "G83", "G84", "G85", "G89"}


def test_the_codes_that_are_refused_by_name() -> None:
    """Each reason begins with the very code: nobody is told about another one."""
    named = {code_text("G", code): why for code, why in REFUSED_G.items()}
    named |= {code_text("M", 10 * code): why for code, why in REFUSED_M.items()}
    assert sorted(named) == sorted(REFUSED_CODES.split())
    for code, why in named.items():
        assert why.startswith(f"{code} is refused: ")
    assert not REFUSED_G.keys() & G_GROUP.keys()
    assert not REFUSED_M.keys() & M_GROUP.keys()
