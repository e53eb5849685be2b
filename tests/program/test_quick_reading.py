"""The quick way through plain lines gives exactly what the interpreter gives, whatever stands in between."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.plan.motions import Dialect
from holecam.program import Reading, read_program, reader
from holecam.program.plain_lines import (
    LETTERS,
    _class_table,
    _column_table,
    _pair_table,
    carried,
    line_numbers,
    take_apart,
)

NUMBER = st.one_of(
    st.builds("{:.3f}".format, st.floats(-99, 99)),
    st.builds("{}".format, st.integers(-99, 99)),
    st.sampled_from(["0", "-0", "+1.5", ".5", "-.25", "7.", "007", "1.2.3", ".", "-", "1 2", "", "123456789012345678"]),
)
PLAIN_NUMBER = st.builds("{:.3f}".format, st.floats(-99, 99))


@st.composite
def plain_line(draw: st.DrawFn) -> str:
    number = PLAIN_NUMBER
    words = []
    if draw(st.booleans()):
        words.append(draw(st.sampled_from(["G0", "G1", "G01", "g1", "G0"])))
    for axis in draw(st.lists(st.sampled_from("XYZ"), min_size=1, max_size=3, unique=True)):
        words.append(axis + draw(number))
    if draw(st.integers(0, 5)) == 0:
        words.append("F" + draw(st.sampled_from(["100", "12.5", "0"])))
    return draw(st.sampled_from([" ", "", "  "])).join(words)


@st.composite
def arc_line(draw: st.DrawFn) -> str:
    """Half circles, now and then spoilt: I, J half the way to a point whose distance is even in thousandths."""
    i, j = draw(st.integers(-9000, 9000)), draw(st.integers(-9000, 9000))
    spoil = draw(st.sampled_from([0, 0, 0, 0, 2, 3, 500]))
    g = draw(st.sampled_from("23"))
    end = f"X{2 * i / 1000:.3f} Y{(2 * j + spoil) / 1000:.3f}"
    return f"G91 G{g} {end} I{i / 1000:.3f} J{j / 1000:.3f} (x)\nG90"


@st.composite
def odd_line(draw: st.DrawFn) -> str:
    letters = draw(st.lists(st.sampled_from("XYZGFIJNMSTRQPKHL"), min_size=0, max_size=4))
    line = draw(st.sampled_from([" ", ""])).join(letter + draw(NUMBER) for letter in letters)
    return (
        draw(st.sampled_from(["", "/", "N10 ", " ", "%"]))
        + line
        + draw(st.sampled_from(["", "(x)", " ", "\r", "\t", ";"]))
    )


FIXED = st.sampled_from(
    [
        "G20", "G21", "G91", "G90", "G18", "G17", "M5", "M3 S500", "T2 M6", "G81 X1 Y2 Z-1 R2", "X5 Y5", "G80", "", " ",
        "(12 remark X9)", " (12.5)", "M0", "M30", "%", "G2 X1 Y1 I1", "G3 X2 Y0 I1 J0", "G1", "X1", "I5", "G2 X1",
        "O12",
    ]
)  # fmt: skip

BEGIN = "G21 G90 G94\nT1 M6\nG0 Z10\nG0 X0 Y0\nG1 F100 Z5\n"


def same(a: Reading, b: Reading) -> None:
    assert a.refused == b.refused
    for name in ("line", "kind", "start", "end", "center", "feed", "cycle"):
        x, y = getattr(a.moves, name), getattr(b.moves, name)
        assert x.dtype == y.dtype
        assert np.array_equal(x, y, equal_nan=name not in ("line", "kind", "cycle")), name
    assert [a.moves.setups[i] for i in a.moves.setup] == [b.moves.setups[i] for i in b.moves.setup]
    for name in ("events", "doubts", "ended_at", "after_end", "line_count", "deletable", "units"):
        assert getattr(a, name) == getattr(b, name), name


def both(text: str, dialect: Dialect | None = None) -> Reading:
    quick, slow = read_program(text, dialect), read_program(text, dialect, quick=False)
    same(quick, slow)
    return quick


@pytest.fixture(autouse=True)
def _short_stretches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "SHORTEST_STRETCH", 2)


@given(
    st.lists(
        st.one_of(plain_line(), plain_line(), plain_line(), plain_line(), arc_line(), FIXED, odd_line()), max_size=40
    ),
    st.sampled_from([Dialect(), Dialect(arc_centers="absolute"), Dialect(comments="semicolon", tool_change="stop")]),
    st.integers(20, 400),
)
@settings(max_examples=100)
def test_quick_and_slow_agree(lines: list[str], dialect: Dialect, chunk: int) -> None:
    before = reader.CHUNK
    reader.CHUNK = chunk
    try:
        both(BEGIN + "\n".join(lines) + "\n", dialect)
    finally:
        reader.CHUNK = before


@given(st.lists(plain_line(), min_size=10, max_size=30))
@settings(max_examples=25)
def test_plain_lines_really_go_the_quick_way(lines: list[str]) -> None:
    data = np.frombuffer(("\n".join(lines) + "\n").encode(), np.uint8)
    table = take_apart(data, np.flatnonzero(data == 10))
    assert table.plain.all()
    both(BEGIN + "\n".join(lines) + "\nM30\n")


@given(
    st.lists(
        st.tuples(
            st.sampled_from("XYZ"), st.text("0123456789", min_size=1, max_size=9), st.text("0123456789", max_size=6)
        ),
        min_size=1,
        max_size=20,
    )
)
def test_numbers_are_read_as_the_language_of_the_tests_reads_them(words: list[tuple[str, str, str]]) -> None:
    """Each number is exactly ``float`` of its text: at most 15 digits are exact in float64, and one division rounds."""
    lines = [f"{axis}-{whole}.{rest}" for axis, whole, rest in words]
    data = np.frombuffer(("\n".join(lines) + "\n").encode(), np.uint8)
    table = take_apart(data, np.flatnonzero(data == 10))
    for k, (axis, whole, rest) in enumerate(words):
        assert table.values[LETTERS.index(axis), k] == float(f"-{whole}.{rest}")


def test_what_counts_as_plain() -> None:
    for line, plain in [
        ("G1 X1 Y2 Z3", True),
        ("N5 G1 X1", True),
        ("", True),
        ("g1x1y-.5", True),
        ("X1 Y2 I3 J4", True),
        ("X1 N5", False),
        ("N5", False),
        ("G1", False),
        ("F100", False),
        ("G4 X1", False),
        ("G1.5 X1", False),
        ("X1 X2", False),
        ("X1 (a)", False),
        ("X1 2", False),
        ("X", False),
        ("X.", False),
        ("X+-1", False),
        ("X1.2.3", False),
        ("X1 F-5", False),
        ("N1.5 X1", False),
        ("N-5 X1", False),
        ("N123456 X1", False),
        ("X1234567890123456", False),
        ("X1 M3", False),
        ("é", False),
        ("12", False),
    ]:
        for before, after in (("X1", "Y2"), ("X1", " (9)"), ("(9)", "Y2")):
            data = np.frombuffer(f"{before}\n{line}\n{after}\n".encode("latin-1"), np.uint8)
            table = take_apart(data, np.flatnonzero(data == 10))
            assert bool(table.plain[1]) is plain
            assert bool(table.plain[0]) is (before == "X1")
            if before == "X1":
                assert table.values[LETTERS.index("X"), 0] == 1.0, "a line is not touched by the next one"


def test_line_ends_of_two_characters() -> None:
    body = BEGIN + "\n".join(f"X{k} Y{k}.5" for k in range(60)) + "\nM30\n"
    same(both(body), both(body.replace("\n", "\r\n")))
    lone = both(BEGIN + "X1\rG0 Z-5\nM30\n")
    assert "control character" in lone.refused[0].reason


def test_a_bad_arc_in_a_long_stretch_is_named() -> None:
    good = "G2 X2 Y0 I1 J0\nG2 X0 Y0 I-1 J0\n"
    for center in ("1.5", "1.002"):  # radii that differ by 1 mm, and by 0.004 mm
        result = both(BEGIN + good * 30 + f"G2 X2 Y0 I{center} J0\n" + good * 30 + "M30\n")
        assert result.refused[0].line == 5 + 60 + 1
        assert len(result.moves) == 3 + 60
    assert both(BEGIN + good * 30 + "G2 X2 Y0 I1.001 J0\nG0 X0\n" + good * 30 + "M30\n").refused == ()


def test_long_stretches_that_the_arrays_cannot_run_are_not_tried_line_by_line() -> None:
    body = "G91\n" + "X0.1 Y0.1\n" * 3000 + "G90\nM30\n"
    result = both(BEGIN + body)
    assert result.moves.end[-1].tolist() == [300.0, 300.0, 5.0]


def test_moves_are_the_same_values_whatever_the_chunks(monkeypatch: pytest.MonkeyPatch) -> None:
    body = BEGIN + "\n".join(f"N{k} G1 X{k / 7:.4f} Y{k / 3:.3f} F{100 + k % 3}" for k in range(500)) + "\nM30\n"
    whole = read_program(body)
    for size in (64, 999, 5000):
        monkeypatch.setattr(reader, "CHUNK", size)
        same(whole, read_program(body))


def test_numbers_of_lines_are_looked_at_on_the_quick_way_too() -> None:
    """Alone or among plain lines with and without numbers: the same moves, or the same refusal."""
    for line, reads in [
        ("N10 X2", True), ("N99999 X2", True), ("N0 X2", True), ("X2 N10", False), ("N10.5 X2", False),
        ("N10. X2", False), ("N-3 X2", False), ("N123456 X2", None), ("N X2", False),
    ]:  # fmt: skip
        for beside in [0, 3]:
            around = "".join(f"N{k} X{k}\nY{k}\n" for k in range(beside))
            text = f"G21 G90\nT1 M6\nG0 Z10\nG0 X0 Y0\nS500 M3\nG1 F100 Z1\n{around}{line}\n{around}M5\nM30\n"
            quick = both(text)
            if reads is not None:
                assert (not quick.refused) is reads


def test_numbers_are_looked_at_on_the_quick_way_too() -> None:
    """Among plain lines, so that a number without digits could only take those of its neighbours."""
    for line, x in [
        ("X2", 2.0), ("X2.", 2.0), ("X.5", 0.5), ("X-.5", -0.5), ("X+2", 2.0), ("X-0", 0.0), ("x02.50", 2.5),
        ("X000000000000002", 2.0), ("X1.00000000000000", 1.0), ("X0.12345678901234", 0.12345678901234),
        ("X.", None), ("X-.", None), ("X+", None), ("X", None), ("X Y1", None), ("X. Y1", None), ("Y1 X.", None),
        ("X0000000000000002", None), ("X1.000000000000000", None), ("X1.2.3", None), ("X--2", None), ("X2-1", None),
        ("X1 X2", None), ("X2 G1 G0", None), ("X2 F-1", None), ("X2 I1", None),
    ]:  # fmt: skip
        text = f"{BEGIN}G1 X7 Y7\nX8 Y8\n{line}\nX9 Y9\nX7 Y7\nX8\nM30\n"
        quick = both(text)
        if x is None:
            assert [(r.line, r.text) for r in quick.refused] == [(8, line)]
        else:
            assert quick.refused == ()
            assert quick.moves.end[quick.moves.line == 8][0, 0] == x


def test_long_stretches_of_cuts_and_arcs_are_not_read_line_by_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lines with and without a motion word, with a feed, and arcs: only the head and the end go the slow way."""
    slow: list[int] = []
    read_line = reader._Reader._read_line

    def counted(self: reader._Reader, line: str, number: int) -> None:
        slow.append(number)
        read_line(self, line, number)

    monkeypatch.setattr(reader._Reader, "_read_line", counted)
    body = "".join(
        f"G1 X{k} Y0\nY{k} F{100 + k}\nG2 X{k + 2} I1 J0\nG3 X{k} I-1\nG0 X{k}.5\n\nN{k + 1} Z-{k}\n" for k in range(40)
    )
    result = read_program(BEGIN + body + "M5\nM30\n")
    assert result.refused == ()
    assert len(result.moves) == 3 + 40 * 6
    head, end = BEGIN.count("\n"), (BEGIN + body).count("\n") + 1
    assert set(slow) <= {*range(1, head + 1), end, end + 1}


@pytest.mark.parametrize("place", [0, 1, 2])
def test_the_longest_plain_line_has_256_characters_wherever_it_stands(place: int) -> None:
    for length, plain in ((256, True), (257, False)):
        lines = ["X1", "X2", "X3"]
        lines[place] = "X1" + " " * (length - 2)
        data = np.frombuffer(("\n".join(lines) + "\n").encode(), np.uint8)
        assert take_apart(data, np.flatnonzero(data == 10)).plain.tolist() == [k != place or plain for k in range(3)]


def test_the_classes_of_characters() -> None:
    """Other 0, blank 1, line end 2, letter 3, digit 4, point 5, sign 6; letters of either case have one column."""
    told = dict.fromkeys(" \t", 1) | {"\n": 2, ".": 5, "+": 6, "-": 6} | dict.fromkeys("0123456789", 4)
    told |= dict.fromkeys("NGXYZIJFngxyzijf", 3)
    assert _class_table().tolist() == [told.get(chr(k), 0) for k in range(256)]
    assert _column_table().tolist() == ["NGXYZIJF".find(chr(k).upper()) if k < 128 else -1 for k in range(256)]


def test_which_character_may_follow_which() -> None:
    """After a blank or at the beginning a word; after a letter its number; a sign stands first in it."""
    names = ("other", "blank", "end", "letter", "digit", "point", "sign", "none")
    follow = {
        "blank": "blank end letter", "end": "blank end letter", "letter": "digit point sign",
        "digit": "digit point blank end letter", "point": "digit blank end letter", "sign": "digit point",
    }  # fmt: skip
    table = _pair_table()
    assert len(table) == 64
    for a, first in enumerate(names):
        for b, second in enumerate(names):
            assert bool(table[8 * a + b]) is (second in follow.get(first, "").split()), (first, second)


TAKEN: list[tuple[str, dict[str, float] | None]] = [

    ("N10 G1 X1.5 Y-2 Z.25 I3 J-.125 F100",
     {"N": 10, "G": 1, "X": 1.5, "Y": -2, "Z": 0.25, "I": 3, "J": -0.125, "F": 100}),
    ("x2", {"X": 2}), ("", {}), ("  ", {}), ("G2X1Y2I3J4", {"G": 2, "X": 1, "Y": 2, "I": 3, "J": 4}),
    ("N99999X1", {"N": 99999, "X": 1}), ("N100000 X1", None), ("X123456789012345", {"X": 123456789012345}),
    ("X1234567890123456", None), ("X-0.00000000000001", {"X": -1e-14}), ("X0.000000000000001", None),
    ("Y+7.", {"Y": 7}), ("\tZ-0 ", {"Z": 0}), ("X1 Y2 (r)", None), ("X1 2", None), ("G4 X1", None),
    ("G3 X1", {"G": 3, "X": 1}), ("G01 X1", {"G": 1, "X": 1}), ("F5", None), ("N5", None), ("X1 F-1", None),
    ("X1 F0", {"X": 1, "F": 0}), ("X.", None), ("X", None), ("Y1 X", None), ("X Y1", None), ("X1Y", None),
    ("X1.2.3", None), ("X--1", None), ("G1.0 Z2", {"G": 1, "Z": 2}), ("G1.5 X2", None), ("X1 X2", None),
    ("1X2", None), ("\xe9", None), ("I1", None), ("G-1 X1", None), ("X1 N5", None), ("N1. X1", None),
    ("N+1 X1", None), ("G0 Y3 F12.5", {"G": 0, "Y": 3, "F": 12.5}), ("X1 #", None), ("-X1", None), (".X1", None),
    ("X1-", None), ("Z9", {"Z": 9}),
]  # fmt: skip


def test_the_words_of_lines_taken_apart_together() -> None:
    """Every line beside every kind of neighbour: shifted, backwards, and each between plain ones."""
    for turn in range(4):
        lines = [TAKEN, TAKEN[20:] + TAKEN[:20], TAKEN[::-1], [x for t in TAKEN for x in (t, ("X5", {"X": 5.0}))]][turn]
        data = np.frombuffer(("\n".join(text for text, _ in lines) + "\n").encode("latin-1"), np.uint8)
        table = take_apart(data, np.flatnonzero(data == 10))
        assert table.plain.tolist() == [words is not None for _, words in lines]
        for k, (text, words) in enumerate(lines):
            if words is not None:
                found = {LETTERS[row]: value for row, value in enumerate(table.values[:, k].tolist()) if value == value}
                assert found == words, text


def test_one_line_of_each_kind_alone() -> None:
    for text, words in TAKEN:
        data = np.frombuffer((text + "\n").encode("latin-1"), np.uint8)
        assert take_apart(data, np.flatnonzero(data == 10)).plain.tolist() == [words is not None], text


def test_values_are_carried_over_gaps() -> None:
    nan = float("nan")
    assert carried(np.array([1.0, 2.0, 3.0]), 9.0).tolist() == [1, 2, 3]
    assert carried(np.array([nan, 2.0, nan, nan, 5.0, nan]), 9.0).tolist() == [9, 2, 2, 2, 5, 5]
    assert carried(np.array([nan, nan]), 9.0).tolist() == [9, 9]
    assert carried(np.empty(0), 9.0).tolist() == []
    assert line_numbers(7, np.array([True, False, True, True])).tolist() == [7, 9, 10]


STRETCH = "X1\nX2 Y1\nY3\n"
ARCS = "G2 X2 I1 J0\nG3 X0 I-1\nG2 X0 Y0 I2 J1\n"
BETWEEN: dict[str, str] = {
    "increments": f"G91\n{STRETCH}G90\n{STRETCH}",
    "another plane": f"G18\n{STRETCH}G17\n{STRETCH}",
    "after the end": f"M30\n{STRETCH}",
    "after a second percent sign": f"%\n{STRETCH}",
    "after a refusal": f"G28\n{STRETCH}",
    "a refusal within": f"{STRETCH}X1 I5\n{STRETCH}",
    "a cycle in effect": f"G81 X1 Y1 Z-1 R1\n{STRETCH}G80\nG1 {STRETCH}",
    "a cycle given up": f"G81 X1 Y1 Z-1 R1\nG1 {STRETCH}G81 X1\n",
    "no motion in effect": f"G80\n{STRETCH}",
    "rapids": f"G0 {STRETCH}G1 {STRETCH}",
    "inches": f"G20\nF5\n{STRETCH}{ARCS}G21\nF80\n{STRETCH}",
    "feeds": "X1 F5\nX2\nX3 F7\nY4\nG2 X1 Y4 I-1 F9\n\nM5\nX9\n",
    "a feed before any": "G20\nG21\nX1\nX2\nX3 F7\nX4\n",
    "arcs": f"{ARCS}{ARCS}X5\n",
    "arcs kept in effect": "X0 Y0\nG2 X2 I1\nX4 I1\nX2 I-1\nG1 X7\n",
    "an arc first": f"G2 X2 I1\nX4 I1\nG1 {STRETCH}",
    "arcs that sink": "X0 Y0\nG3 X2 I1 Z-1\nX0 Z-2 I-1\nX0 Y0 Z-3 I5\n",
    "an arc without an end in its plane": f"{STRETCH}G2 Z-1 I1\n{STRETCH}",
    "an arc without a centre": f"{ARCS}G2 X1 Y1\n{STRETCH}",
    "an arc by a radius": f"{ARCS}G2 X1 Y1 R5\n{STRETCH}",
    "an arc that misses its end": f"{ARCS}{ARCS}G2 X2 Y0 I1.5\n{STRETCH}",
    "an arc at its limit": "X0 Y0\nX0\nG2 X2.002 Y0 I1 J0\nG1 X0\nG2 X2.0021 Y0 I1 J0\nX9\n",
    "an arc about its own start": f"{ARCS}G2 X0 Y0 I0 J0\n{STRETCH}",
    "an arc of a hair": f"X0 Y0\nX0\nG2 X0 Y0 I0.000002\nX0 Y0 I0.0000005 J0\n{STRETCH}",
    "an arc by J alone": "X0 Y0\nG3 Y2 J1\nY0 J-1\nG1 X0\n",
    "a centre with a straight line": f"{STRETCH}G1 X1 J2\n{STRETCH}",
    "centres from the zero": f"G90.1\nX0 Y0\nG2 X2 I1 J0\nX4 Y0 I3 J0\nX6 I5\n{STRETCH}",
    "empty lines": f"\n\n\n\n{STRETCH}\n\n",
    "a remark before": f"(look)\n{STRETCH}M0\n",
    "a remark before that goes on": f"(look)\n\n\n(more)\n{STRETCH}(here)\nM0\n",
    "a place half known": f"T2 M6\nG0 Z5\nX1\n{STRETCH}",
    "an arc from a place half known": f"T2 M6\nG0 Z5\nX1\nG2 X3 I1\n{STRETCH}",
    "an offset called": f"G43 H1\n{STRETCH}Z4\n{STRETCH}",
    "numbers of lines": "N1 X1\nN2 X2\nN3 G0 X3\nN4\nN5 Y1\n",
}


def test_stretches_in_every_state_of_the_control() -> None:
    for name in BETWEEN:
        for dialect in [Dialect(), Dialect(arc_centers="absolute")]:
            both(BEGIN + BETWEEN[name] + f"{STRETCH}M30\n", dialect)
            both(f"G21 G90\n{BETWEEN[name]}M30\n", dialect)


def test_an_odd_arc_at_any_place_of_a_stretch(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the real length of a stretch: what comes before it goes the quick way only if there is enough of it."""
    for arc in ["G2 X2 I1.5", "G2 X2", "G2 X2 I0 J0", "G2 Z1 I1", "G2 X2 Y0 R1"]:
        for place in [0, 1, 2, 3, 22, 23, 24, 25, 26]:
            monkeypatch.setattr(reader, "SHORTEST_STRETCH", 24)
            lines = [f"G3 X{2 * k + 2} I1 J0" for k in range(place)] + [arc] + [f"G1 X{k} F{k + 9}" for k in range(40)]
            both(BEGIN + "\n".join(lines) + "\nM30\n")


def test_a_text_is_read_in_whole_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    """At most so many characters at once; a line longer than that alone."""

    def chunks(text: str, size: int) -> list[tuple[str, int]]:
        monkeypatch.setattr(reader, "CHUNK", size)
        return list(reader._Reader(text, Dialect(), skip_deletable=False, quick=True)._chunks())

    assert chunks("", 4) == []
    assert chunks("ab", 4) == [("ab\n", 1)]
    assert chunks("a\nb\nc\nd\n", 4) == [("a\nb\n", 1), ("c\nd\n", 3)]
    assert chunks("a\nb\nc\nd\n", 5) == [("a\nb\n", 1), ("c\nd\n", 3)]
    assert chunks("a\nb\nc\nd", 6) == [("a\nb\nc\n", 1), ("d\n", 4)]
    assert chunks("a\nb\nc\nd\n", 7) == [("a\nb\nc\n", 1), ("d\n", 4)]
    assert chunks("a\nb\nc\nd\n", 8) == [("a\nb\nc\nd\n", 1)]
    assert chunks("a\nlonger\nb\n", 4) == [("a\n", 1), ("longer\n", 2), ("b\n", 3)]


def test_where_a_program_begins_and_ends() -> None:
    for text, ended, after, refused in [
        ("%\nG21 G90\nG0 Z1\nM30\n%\nX1\n\nX2\n", 4, 6, []), ("%\nG21 G90\nG0 Z1\nM30\n%\n\n(a)\n", 4, 7, []),
        ("G21 G90\nG0 Z1\n%\nX1\n", 0, 4, []), ("G21 G90\n%\nG0 Z1\nM30\n", 4, 0, []),
        ("G21 G90\nM30\n%\nX1\n", 2, 4, []), ("M2\n(a)\n\nX1\nX2\n", 1, 4, []), ("M2\n(a)\n\n", 1, 0, []),
        ("O1\nG21 G90\nG0 Z1\nM2\n", 4, 0, []), ("O1\nO2\nM2\n", 0, 0, [2]), ("G21 G90\nO1\nG0 Z1\nM2\n", 4, 0, []),
        ("G21 G90\nG0 Z1\nO1\nM2\n", 0, 0, [3]), ("M2\nO1\n", 1, 0, [2]), ("M2\nG99999\nO1\n", 1, 2, [3]),
        ("G28\nX\nG1\n?\nM2\n", 0, 0, [1, 2, 4]),
    ]:  # fmt: skip
        found = both(text)
        assert (found.ended_at, found.after_end, [r.line for r in found.refused]) == (ended, after, refused)
        assert found.line_count == text.count("\n")


def test_refusals_are_looked_for_no_farther_than_is_of_use() -> None:
    """Twenty of them, and two thousand lines after the first."""
    for quick in [True, False]:
        twenty = read_program("?\n" * 30 + "M30\n", quick=quick)
        assert [r.line for r in twenty.refused] == list(range(1, 21))
        for gap, told in ((1999, [1, 2001]), (2000, [1])):
            text = "?\n" + "G1 X1\n" * gap + "?\nM30\n"
            assert [r.line for r in read_program(text, quick=quick).refused] == told


def test_a_line_for_which_the_switch_is_on_is_not_run() -> None:
    text = BEGIN + "/X1\n/ G1 Y1\nX2\n/M30\nM2\n"
    on, off = read_program(text, skip_deletable=True), read_program(text)
    assert (on.ended_at, off.ended_at, on.deletable, off.deletable) == (10, 9, True, True)
    assert [line for line in on.moves.line.tolist() if line > 5] == [8]
    assert [line for line in off.moves.line.tolist() if line > 5] == [6, 7, 8]
    assert read_program(BEGIN).deletable is False
