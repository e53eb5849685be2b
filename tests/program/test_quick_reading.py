"""The quick way through plain lines gives exactly what the interpreter gives, whatever stands in between."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.plan.motions import Dialect
from holecam.program import Reading, read_program, reader
from holecam.program.plain_lines import LETTERS, take_apart

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


@pytest.mark.parametrize(
    ("line", "plain"),
    [
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
    ],
)
def test_what_counts_as_plain(line: str, plain: bool) -> None:
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
    assert dataclasses.is_dataclass(whole)


@pytest.mark.parametrize(
    ("line", "reads"),
    [
        ("N10 X2", True), ("N99999 X2", True), ("N0 X2", True), ("X2 N10", False), ("N10.5 X2", False),
        ("N10. X2", False), ("N-3 X2", False), ("N123456 X2", None), ("N X2", False),
    ],
)  # fmt: skip
@pytest.mark.parametrize("beside", [0, 3])
def test_numbers_of_lines_are_looked_at_on_the_quick_way_too(line: str, reads: bool | None, beside: int) -> None:
    """Alone or among plain lines with and without numbers: the same moves, or the same refusal."""
    around = "".join(f"N{k} X{k}\nY{k}\n" for k in range(beside))
    text = f"G21 G90\nT1 M6\nG0 Z10\nG0 X0 Y0\nS500 M3\nG1 F100 Z1\n{around}{line}\n{around}M5\nM30\n"
    quick = both(text)
    if reads is not None:
        assert (not quick.refused) is reads


@pytest.mark.parametrize(
    ("line", "x"),
    [
        ("X2", 2.0), ("X2.", 2.0), ("X.5", 0.5), ("X-.5", -0.5), ("X+2", 2.0), ("X-0", 0.0), ("x02.50", 2.5),
        ("X000000000000002", 2.0), ("X1.00000000000000", 1.0), ("X0.12345678901234", 0.12345678901234),
        ("X.", None), ("X-.", None), ("X+", None), ("X", None), ("X Y1", None), ("X. Y1", None), ("Y1 X.", None),
        ("X0000000000000002", None), ("X1.000000000000000", None), ("X1.2.3", None), ("X--2", None), ("X2-1", None),
        ("X1 X2", None), ("X2 G1 G0", None), ("X2 F-1", None), ("X2 I1", None),
    ],
)  # fmt: skip
def test_numbers_are_looked_at_on_the_quick_way_too(line: str, x: float | None) -> None:
    """Among plain lines, so that a number without digits could only take those of its neighbours."""
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
