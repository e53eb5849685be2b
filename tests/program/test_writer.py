"""What is written: the few words of the design page, in an order that is safe, each coordinate rounded once."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from program_plans import ALL_PLANS, BLOCK, DRILL, MILL, SPOT, drilling_plan

from holecam.errors import InputError
from holecam.plan.motions import (
    ArcFeed,
    Dialect,
    DrillCycle,
    Feed,
    HardFloor,
    Motion,
    ProgramLimits,
    ProgramPlan,
    Rapid,
    Remark,
    SpindleOff,
    SpindleOn,
    Stop,
    TapCycle,
    ToolChange,
    ToolKind,
    ToolUse,
)
from holecam.program import check_program, read_program, write_program

SUBSET = {
    "G0",
    "G1",
    "G2",
    "G3",
    "G17",
    "G20",
    "G21",
    "G40",
    "G49",
    "G54",
    "G80",
    "G81",
    "G83",
    "G90",
    "G94",
    "G98",
    "M0",
    "M3",
    "M5",
    "M6",
    "M30",
}
"""Design page, section 6."""

DIALECTS = {
    "plain": Dialect(),
    "inch": Dialect(unit="in"),
    "long-hand": Dialect(cycles="long-hand"),
    "lines": Dialect(arcs="lines"),
    "absolute centres": Dialect(arc_centers="absolute"),
    "numbered": Dialect(line_number_step=10, program_number=42, percent_signs=True),
    "semicolons": Dialect(comments="semicolon"),
    "no remarks": Dialect(comments="none"),
    "change by hand": Dialect(tool_change="stop"),
    "M2": Dialect(end="M2"),
    "coarse": Dialect(decimals=2),
    "coarse inch": Dialect(unit="in", decimals=3),
    "fine": Dialect(decimals=5),
    "everything": Dialect(
        unit="in",
        cycles="long-hand",
        arc_centers="absolute",
        line_number_step=5,
        program_number=7,
        comments="semicolon",
        tool_change="stop",
        end="M2",
        percent_signs=True,
    ),
}


def blocks(text: str) -> list[str]:
    return [re.sub(r"^N\d+ ", "", b) for b in text.split("\n") if b and b[0] not in "(;%O"]


def milling(*motions: Motion, limits: ProgramLimits | None = None) -> ProgramPlan:
    begin = (ToolChange(3), SpindleOn(1000), Rapid(0, 0), Rapid(z=1))
    return ProgramPlan("cut", (MILL,), (*begin, *motions), 10.0, limits or ProgramLimits())


@pytest.mark.parametrize("name", DIALECTS)
@pytest.mark.parametrize("plan", ALL_PLANS)
def test_every_dialect_reads_back_clean(plan: str, name: str) -> None:
    made = ALL_PLANS[plan]()
    result = check_program(write_program(made, DIALECTS[name]), made, DIALECTS[name])
    assert [f.text() for f in result.findings] == []


@pytest.mark.parametrize("name", DIALECTS)
@pytest.mark.parametrize("plan", ALL_PLANS)
def test_only_words_of_the_subset(plan: str, name: str) -> None:
    dialect = DIALECTS[name]
    for block in blocks(write_program(ALL_PLANS[plan](), dialect)):
        words = block.split()
        codes = {w for w in words if w[0] in "GM"}
        assert codes <= SUBSET | ({"M2"} if dialect.end == "M2" else set()), block
        axes = [w for w in words if w[0] in "XYZ"]
        assert bool(codes & {"G0", "G1", "G2", "G3", "G81", "G83"}) == bool(axes), f"a motion word needs axes: {block}"
        assert re.fullmatch(r"(?:[A-Z]-?\d+(?:\.\d+)?)(?: [A-Z]-?\d+(?:\.\d+)?)*", block)
        for word in words:
            if word[0] in "XYZIJRQ":
                assert len(word.split(".")[1]) == dialect.places
                assert float(word[1:]) != 0 or word[1] != "-", "no minus zero"


@pytest.mark.parametrize("name", DIALECTS)
@pytest.mark.parametrize("plan", ALL_PLANS)
def test_the_order_of_a_program(plan: str, name: str) -> None:
    made, dialect = ALL_PLANS[plan](), DIALECTS[name]
    lines = blocks(write_program(made, dialect))
    assert lines[0].startswith("G17 G2")
    assert lines[1] == "G80 G90 G94"
    assert lines[-1] == dialect.end
    assert lines[-2] == "M5"
    first_move = next(i for i, b in enumerate(lines) if re.match(r"G[0123] |G98", b))
    assert re.fullmatch(r"G0 Z[\d.]+", lines[first_move]), "the safe height comes first"
    first_cut = next(i for i, b in enumerate(lines) if re.match(r"G[123] |G98", b))
    assert any(re.search(r"\bM3$", b) for b in lines[:first_cut])
    spinning = False
    for block in lines:
        spinning = (spinning or block.endswith("M3")) and block != "M5"
        if block == "M0":
            assert not spinning, "the spindle stands at every stop"


def test_a_drilling_program_to_the_letter() -> None:
    """Read by a person first. Demo data, invented."""
    plan = replace(drilling_plan(1), cautions=(), title=())
    assert write_program(plan).split("\n") == [
        "(PROGRAM - rail screws)",
        "(UNITS - millimetres)",
        "(ZERO - X0 left end, Y0 rear edge, Z0 top of the rail)",
        "(TOOL - T1 spot drill 6 mm, diameter 6.000 mm)",
        "(TOOL - T2 No. 38 drill, twist drill, diameter 2.578 mm)",
        "G17 G21 G40 G49 G54",
        "G80 G90 G94",
        "(TOOL - T1 spot drill 6 mm, diameter 6.000 mm)",
        "T1 M6",
        "G0 Z12.700",
        "S1500 M3",
        "(NOTE - spot all rail screws)",
        "G98 G81 X12.192 Y4.953 Z-1.100 R2.000 F60",
        "G80",
        "M5",
        "(STOP - measure the spots: 12.19 from the left end to hole 1)",
        "M0",
        "(TOOL - T2 No. 38 drill, twist drill, diameter 2.578 mm)",
        "T2 M6",
        "(LENGTH - set the height of T2 from the same zero, then start)",
        "M0",
        "G0 Z12.700",
        "S2200 M3",
        "G98 G83 X12.192 Y4.953 Z-6.200 R2.000 Q2.500 F50",
        "G80",
        "M5",
        "M30",
        "",
    ]


def test_long_hand_pecks_are_those_of_g83() -> None:
    plan = ProgramPlan("h", (DRILL,), (ToolChange(2), SpindleOn(900), DrillCycle(1, 5, 6, 2, -4, 50, peck=2.5)), 10.0)
    lines = blocks(write_program(plan, Dialect(cycles="long-hand")))
    assert lines[4:] == [
        "S900 M3",
        "G0 X5.000 Y6.000",
        "G0 Z2.000",
        "G1 Z-0.500 F50",
        "G0 Z2.000",
        "G0 Z-0.246",
        "G1 Z-3.000",
        "G0 Z2.000",
        "G0 Z-2.746",
        "G1 Z-4.000",
        "G0 Z10.000",
        "M5",
        "M30",
    ]
    canned, long_hand = (read_program(write_program(plan, Dialect(cycles=c))).moves for c in ("canned", "long-hand"))
    assert canned.end.tolist()[1:] == long_hand.end.tolist()[1:]
    assert canned.kind.tolist() == long_hand.kind.tolist()


def test_moves_without_length_are_left_out() -> None:
    lines = blocks(write_program(milling(Feed(50, z=-1), Feed(50, x=0.0004, y=-0.0004), Feed(50, x=0.0012))))
    assert lines[7:10] == ["G1 Z-1.000 F50", "G1 X0.001", "G0 Z10.000"]


def test_rounding_does_not_add_up() -> None:
    """A hundred steps of a third of a millimetre end at 33.333, not at 33.300."""
    cuts = [Feed(50, x=k / 3) for k in range(1, 101)]
    ends = [b for b in blocks(write_program(milling(Feed(50, z=-1), *cuts))) if b.startswith("G1 X")]
    assert ends[-1] == "G1 X33.333"
    assert ends[1] == "G1 X0.667"


def test_a_full_circle_is_two_arcs_and_a_helix_goes_down_in_both() -> None:
    lines = blocks(write_program(milling(Feed(50, z=0), ArcFeed(60, 0, 0, (5, 0), ccw=False, z=-1))))
    assert lines[8:10] == ["G2 X10.000 Y0.000 Z-0.500 I5.000 J0.000 F60", "G2 X0.000 Y0.000 Z-1.000 I-5.000 J0.000"]


def test_absolute_centres_name_the_centre() -> None:
    plan = milling(Feed(50, z=-1), Feed(50, x=10), ArcFeed(60, 15, 5, (10, 5), ccw=True))
    assert "G3 X15.000 Y5.000 I10.000 J5.000 F60" in write_program(plan, Dialect(arc_centers="absolute"))
    assert "G3 X15.000 Y5.000 I0.000 J5.000 F60" in write_program(plan)


def test_inch_words_are_exact_inches() -> None:
    plan = ProgramPlan(
        "h", (DRILL,), (ToolChange(2), SpindleOn(900), DrillCycle(1, 25.4 / 32, 25.4 * 5, 2.54, -6.35, 127)), 12.7
    )
    assert "G98 G81 X0.0313 Y5.0000 Z-0.2500 R0.1000 F5" in write_program(plan, Dialect(unit="in"))


def test_depth_is_rounded_away_from_a_floor() -> None:
    floor = HardFloor("hood", -1.55049)
    plan = milling(Feed(50, z=-1.55049), limits=ProgramLimits(hard_floors=(floor,)))
    for dialect in (Dialect(), Dialect(decimals=2), Dialect(unit="in")):
        result = check_program(write_program(plan, dialect), plan, dialect)
        assert result.account.deepest is not None
        assert result.account.deepest[2] >= -1.55049
        assert "below-hard-floor" not in {f.code for f in result.findings}
    bare = write_program(milling(Feed(50, z=-1.5506)))
    assert "Z-1.551" in bare


def test_rapids_go_up_first_and_down_last() -> None:
    lines = blocks(write_program(milling(Rapid(x=5, y=5, z=12), Rapid(x=1, y=2, z=11), Rapid(x=3, z=0.5))))
    assert lines[7:] == [
        "G0 Z12.000",
        "G0 X5.000 Y5.000",
        "G0 X1.000 Y2.000",
        "G0 Z11.000",
        "G0 X3.000",
        "G0 Z0.500",
        "G0 Z10.000",
        "M5",
        "M30",
    ]


def test_after_a_stop_spindle_height_and_place_are_stated_again() -> None:
    lines = blocks(write_program(milling(Feed(50, z=-1), Stop("look"), Rapid(z=1), Feed(50, z=-2), SpindleOff())))
    assert lines[8:] == [
        "G0 Z10.000",
        "M5",
        "M0",
        "S1000 M3",
        "G0 Z10.000",
        "G0 X0.000 Y0.000",
        "G0 Z1.000",
        "G1 Z-2.000",
        "M5",
        "G0 Z10.000",
        "M30",
    ]
    optional = write_program(milling(Stop("look", optional=True)))
    assert "\nM1\n" in optional


def test_the_safe_height_is_not_gone_down_to() -> None:
    lines = blocks(write_program(milling(Rapid(z=30), Stop("look"))))
    assert lines[7:10] == ["G0 Z30.000", "M5", "M0"]


def test_tapping_by_the_machine_only_where_it_can() -> None:
    tap = ToolUse(4, "M4 tap", ToolKind.TAP, 4.0)
    plan = ProgramPlan("t", (tap,), (ToolChange(4), TapCycle(1, 5, 5, 4, -8, 0.7, 300)), 10.0)
    with pytest.raises(InputError, match=r'program "t": hole 1 .* cannot follow the feed; plan a stop'):
        write_program(plan)
    able = Dialect(rigid_tapping=True)
    text = write_program(plan, able)
    assert "S300 M3\nG98 G84 X5.000 Y5.000 Z-8.000 R4.000 F210\n" in text
    assert check_program(text, plan, able).clean


@pytest.mark.parametrize(
    ("motions", "message"),
    [
        ((ToolChange(3), Feed(50, z=-1)), r"a cut begins where X, Y is not known"),
        ((ToolChange(3), Rapid(0, 0), ToolChange(1), ArcFeed(50, 1, 1, (0, 1), ccw=True)), r"where X, Y is not known"),
        ((ToolChange(3), SpindleOn(0.2)), r"spindle speed 0\.2 rpm: expected 1 rpm"),
        ((ToolChange(3), Rapid(0, 0), Feed(1e-7, z=-1)), r"feed 1e-07 mm/min is too slow"),
    ],
)
def test_what_cannot_be_said_is_refused(motions: tuple[Motion, ...], message: str) -> None:
    plan = ProgramPlan("p", (MILL, SPOT), motions, 10.0)
    with pytest.raises(InputError, match=message):
        write_program(plan)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: ProgramPlan("p", (MILL,), (Rapid(0, 0),), 10.0), "expected a tool change as the first motion"),
        (lambda: ProgramPlan("p", (MILL,), (ToolChange(9),), 10.0), "tool 9 is not among its tools"),
        (lambda: ProgramPlan("p", (MILL, MILL), (ToolChange(3),), 10.0), "two tools have one number"),
        (lambda: ProgramPlan("p", (MILL,), (ToolChange(3),), math.nan), "expected finite numbers"),
        (lambda: Feed(0, z=1), "feed: expected a number above zero"),
        (lambda: Feed(10), "expected at least one of x, y, z"),
        (lambda: Rapid(x=math.inf), "expected finite numbers"),
        (lambda: DrillCycle(3, 0, 0, 1, 1, 50), "hole 3: expected its bottom 1 below 1 mm"),
        (lambda: DrillCycle(3, 0, 0, 1, -1, 50, peck=0), "hole 3: peck"),
        (lambda: ToolUse(0, "x", ToolKind.END_MILL, 3), "expected a tool number of 1 or more"),
        (lambda: ToolUse(1, "x", ToolKind.END_MILL, 3, corner_radius=2), "corner radius 2 mm: expected 0 to 1.5 mm"),
        (lambda: ToolUse(1, "x", ToolKind.TWIST_DRILL, 3), "expected the angle of its point"),
        (lambda: ToolUse(1, "x", ToolKind.TAP, 3, corner_radius=0.5), "only an end mill has a corner radius"),
        (lambda: Dialect(decimals=0), "decimals = 0: expected 2 to 6 for mm"),
        (lambda: Dialect(unit="ft"), 'unit = "ft": expected one of mm, in'),
        (lambda: Dialect(chord_tolerance=1), "chord_tolerance = 1 mm"),
        (lambda: Dialect(line_number_step=-1), "line_number_step = -1"),
        (lambda: Dialect(program_number=0), "program_number = 0"),
    ],
)
def test_values_that_make_no_sense_are_refused(make, message: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError, match=re.escape(message)):
        make()


def test_line_numbers_start_again_after_five_digits() -> None:
    """NISTIR 6556: a line number has at most five digits, and repeats are allowed (from memory)."""
    cuts = [Feed(50, x=float(k % 2)) for k in range(400)]
    text = write_program(milling(Feed(50, z=-1), *cuts), Dialect(line_number_step=1000))
    numbers = [int(n) for n in re.findall(r"^N(\d+)", text, re.MULTILINE)]
    assert max(numbers) == 99_000
    assert numbers[99] == 1000
    assert read_program(text).refused == ()


def test_a_remark_is_only_a_remark() -> None:
    with_note = write_program(milling(Remark("G1 Z-9 \n M3"), Feed(50, z=-1)))
    assert "(NOTE - G1 Z-9 M3)" in with_note
    assert [*blocks(with_note)] == [*blocks(write_program(milling(Feed(50, z=-1))))]


SHOP = st.floats(-80, 80, allow_nan=False)


@given(
    st.lists(st.tuples(SHOP, SHOP, st.floats(-5, -0.1), st.floats(5, 2000)), min_size=1, max_size=12),
    st.sampled_from(list(DIALECTS)),
)
@settings(max_examples=60)
def test_any_cut_reads_back_where_it_was_planned(cuts: list[tuple[float, float, float, float]], name: str) -> None:
    plan = milling(Feed(30, z=-0.05), *(Feed(f, x=x, y=y, z=z) for x, y, z, f in cuts))
    result = check_program(write_program(plan, DIALECTS[name]), plan, DIALECTS[name])
    assert [f.text() for f in result.findings if f.code != "cut-repeated"] == []


@given(
    st.lists(
        st.tuples(
            st.floats(0.05, 60), st.floats(0, math.tau), st.floats(-math.tau, math.tau).filter(lambda t: abs(t) > 0.01)
        ),
        min_size=1,
        max_size=6,
    ),
    st.sampled_from(list(DIALECTS)),
)
@settings(max_examples=60)
def test_any_arc_reads_back_where_it_was_planned(arcs: list[tuple[float, float, float]], name: str) -> None:
    x, y = 3.21, -1.23
    motions: list[Motion] = [Feed(30, x=x, y=y), Feed(30, z=-1)]
    for r, first, turn in arcs:
        c = (x - r * math.cos(first), y - r * math.sin(first))
        x, y = c[0] + r * math.cos(first + turn), c[1] + r * math.sin(first + turn)
        motions.append(ArcFeed(100, x, y, c, ccw=turn > 0))
    plan = milling(*motions)
    result = check_program(write_program(plan, DIALECTS[name]), plan, DIALECTS[name])
    assert [f.text() for f in result.findings if f.code != "cut-repeated"] == []


@pytest.mark.parametrize(
    ("end", "center"),
    [((10.0003, 20.0002), (10.0003, 20.0)), ((10.0003, 20.0), (10.0002, 25.0))],
    ids=["a tiny circle", "a hair's breadth of a great one"],
)
@pytest.mark.parametrize(("z", "lines"), [(-2.0, ["G1 Z-2.000 F100"]), (None, [])])
def test_an_arc_shorter_than_a_step_is_written_as_a_line_to_its_own_end(
    end: tuple[float, float], center: tuple[float, float], z: float | None, lines: list[str]
) -> None:
    """Both ends round to X10 Y20: a helix of that size only sinks, and a level arc is not written at all."""
    motions = (
        ToolChange(3), SpindleOn(1000), Rapid(x=10.0001, y=20.0), Rapid(z=1.0), Feed(60.0, z=-1.0),
        ArcFeed(100.0, *end, center, ccw=end[1] == 20.0, z=z), Feed(80.0, x=12.0), Rapid(z=12.0),
    )  # fmt: skip
    plan = ProgramPlan("tiny", (MILL,), motions, 12.0, ProgramLimits(stock=BLOCK))
    text = write_program(plan).split("\n")
    at = text.index("G1 Z-1.000 F60")
    assert text[at + 1 :][: len(lines) + 1] == [*lines, "G1 X12.000 F80"]
    assert check_program("\n".join(text), plan).findings == ()


@pytest.mark.parametrize("name", ["canned", "long-hand"])
def test_after_a_cycle_that_comes_back_to_a_higher_level_the_height_is_known(name: str) -> None:
    """From Z 1 up to R 5 and back to it (NISTIR 6556, G98, from memory): the way down to Z 1 has to be written again.

    The arc after it starts at the hole, far out in Y.
    """
    mill = ToolUse(3, "6 mm end mill", ToolKind.END_MILL, 6.0)
    motions = (
        ToolChange(3), SpindleOn(900), Rapid(15, 20), Rapid(z=1), DrillCycle(1, 15, 20, 5.0, -1.0, 50), Rapid(z=1),
        Feed(50, z=-1), ArcFeed(80, 25, 20, (20, 20), ccw=True), Rapid(z=10),
    )  # fmt: skip
    plan = ProgramPlan("plunge", (mill,), motions, 10.0, ProgramLimits(stock=BLOCK))
    speech = Dialect(cycles=name)  # type: ignore[arg-type]
    text = write_program(plan, speech)
    assert check_program(text, plan, speech).findings == ()
    lines = text.split("\n")
    after = lines.index("G80") if name == "canned" else lines.index("G0 Z5.000", lines.index("G0 Z5.000") + 1)
    assert lines[after + 1 : after + 4] == ["G0 Z1.000", "G1 Z-1.000", "G3 X25.000 Y20.000 I5.000 J0.000 F80"]


def test_what_is_no_motion_is_refused() -> None:
    with pytest.raises(InputError, match=r"program: 5 is not a motion"):
        write_program(milling(5))  # type: ignore[arg-type]
