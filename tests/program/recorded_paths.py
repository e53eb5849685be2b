"""Small plans and programs of cuts whose whole comparison is kept in ``tests/program/recorded/paths.txt``.

Renewed by ``python tests/program/recorded_paths.py``; then every line of the difference is read.
"""

from __future__ import annotations

import itertools

import numpy as np
from recorded_cases import FOLDER, figure, figures, section

from holecam.program import read_program
from holecam.program.path_match import SEARCH_BUDGET, _Search, match_paths
from holecam.program.path_pieces import Pieces, cutting_pieces

TOLERANCE = 0.002
HEAD = "G21 G90\nT1 M6\nG0 Z50\nG0 X0 Y0\nS500 M3\nG1 F100 Z-1\n"

SQUARE = ("X20", "Y20", "X0", "Y0")
ZIGZAG = tuple(f"X{3 * k} Y{k * k % 7}" for k in range(1, 31))
LIFT = "G0 Z50"


def passes(*heights: float, x: float = 0.0, y: float = 0.0) -> tuple[str, ...]:
    """An angle of 20 and 5 mm at each height."""
    return tuple(
        line
        for z in heights
        for line in (LIFT, f"X{x} Y{y}", f"Z{z + 0.4:g}", f"G1 Z{z}", f"X{x + 20:g}", f"Y{y + 5:g}")
    )


PATHS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "the same": (SQUARE, SQUARE),
    "divided": (SQUARE, ("X5", "X12.5", "X20", "Y10", "Y20", "X0", "Y19", "Y1", "Y0")),
    "joined": (("X5", "X12.5", "X20", "Y10", "Y20", "X0", "Y19", "Y1", "Y0"), SQUARE),
    "divided elsewhere": (("X5", "X12", "X20", "Y20", "X0", "Y0"), ("X4", "X13", "X20", "Y20", "X0", "Y0")),
    "from another corner": (SQUARE, (LIFT, "X20 Y0", "Z-1", "G1 Y20", "X0", "Y0", "X20")),
    "the other way round": (SQUARE, ("Y20", "X20", "Y0", "X0")),
    "a side left out": (SQUARE, ("X20", "Y20", LIFT, "X0", "Z-1", "G1 Y0")),
    "a part left out": (SQUARE, ("X20", "Y20", "X15", LIFT, "X5", "Z-1", "G1 X0", "Y0")),
    "the first left out": (SQUARE, (LIFT, "X20", "Z-1", "G1 Y20", "X0", "Y0")),
    "the last left out": (SQUARE, SQUARE[:3]),
    "a side twice": (SQUARE, (*SQUARE, "X20", "X10")),
    "half a side again": (SQUARE, ("X20", "X10", "X20", "Y20", "X0", "Y0")),
    "planned twice": ((*SQUARE, *SQUARE), (*SQUARE, *SQUARE, *SQUARE)),
    "planned twice, made once": ((*SQUARE, *SQUARE), SQUARE),
    "aside": (SQUARE, (*SQUARE, LIFT, "X4 Y0.5", "Z-1", "G1 X16")),
    "aside and deeper before": (
        SQUARE, (LIFT, "X4 Y0.5", "Z-1.25", "G1 X16", LIFT, "X0 Y0", "Z-1", "G1 X20", *SQUARE[1:])),
    "beyond a corner": (SQUARE, ("X23", "X20", "Y20", "X0", "Y0")),
    "along and away": (SQUARE, ("X20", "Y20", "X8 Y20", "X8 Y14", "X8 Y20", "X0", "Y0")),
    "a step higher after and before": (SQUARE, ("Z-0.5", "X20", "X0", "Z-1", *SQUARE, "Z-0.5", "X20")),
    "within the tolerance": (SQUARE, ("X20 Y0.0019", "X20.0019 Y20", "X0 Y20", "X0 Y0")),
    "out of the tolerance": (SQUARE, ("X20 Y0.0023", "Y20", "X0.0023", "X0 Y0")),
    "steps shorter than the tolerance": (SQUARE, ("X10", "X10.0015", "X20", "Y20", "X0", "Y0")),
    "arcs joined": (("G2 X5 Y5 I5 J0", "X10 Y0 J-5", "X5 Y-5 I-5", "X0 Y0 J5"), ("G2 X0 Y0 I5",)),
    "arcs divided": (("G2 X0 Y0 I5",), ("G2 X2 Y4 I5 J0", "X10 Y0 I3 J-4", "X2 Y-4 I-5 J0", "X0 Y0 I3 J4")),
    "arcs the other way": (("G2 X10 I5", "X0 I-5"), ("G3 X10 I5", "X0 I-5")),
    "an arc for a line": (("X10", "X0"), ("G2 X10 R50", "G1 X0")),
    "an arc beside an arc": (("G2 X10 I5", "G1 X20"), ("G2 X10 Y0 R5.2", "G1 X20")),
    "a helix divided": (("G3 X10 Y0 Z-2 I5",), ("G3 X5 Y-5 Z-1.5 I5 J0", "X10 Y0 Z-2 J5")),
    "a helix too steep": (("G3 X10 Y0 Z-2 I5",), ("G3 X5 Y-5 Z-1.6 I5 J0", "X10 Y0 Z-2 J5")),
    "turns of a helix": (
        ("G3 X0 Y0 Z-2 I5", "X0 Y0 Z-3 I5"),
        ("G3 X10 Y0 Z-1.5 I5", "X0 Y0 Z-2 I-5", "X10 Z-2.5 I5", "X0 Z-3 I-5")),
    "a slope": (("X20 Z-3", "X0 Z-1"), ("X10 Z-2", "X20 Z-3", "X5 Z-1.5", "X0 Z-1")),
    "passes in order": (passes(-1.5, -2.0, -2.5), passes(-1.5, -2.0, -2.5)),
    "passes changed": (passes(-1.5, -2.0, -2.5), passes(-2.0, -1.5, -2.5)),
    "passes from below": (passes(-1.5, -2.0, -2.5), passes(-2.5, -2.0, -1.5)),
    "passes far apart changed": (
        (*passes(-1.5), *passes(-2.0, x=40.0)),
        (*passes(-2.0, x=40.0), *passes(-1.5)),
    ),
    "passes a diameter apart changed": (
        (*passes(-1.5), *passes(-2.0, y=11.0)),
        (*passes(-2.0, y=11.0), *passes(-1.5)),
    ),
    "passes less than a diameter apart changed": (
        (*passes(-1.5), *passes(-2.0, y=10.9)),
        (*passes(-2.0, y=10.9), *passes(-1.5)),
    ),
    "arcs changed": (
        (LIFT, "X30", "Z0.5", "G1 Z-2", "G2 X40 I5", LIFT, "X33 Y-1", "Z0.5", "G1 Z-3", "X37"),
        (LIFT, "X33 Y-1", "Z0.5", "G1 Z-3", "X37", LIFT, "X30 Y0", "Z0.5", "G1 Z-2", "G2 X40 I5"),
    ),
    "one of many left out": (ZIGZAG, (*ZIGZAG[:9], LIFT, "X33 Y2", "Z-1", "G1 " + ZIGZAG[11], *ZIGZAG[12:])),
    "one of many too many": (ZIGZAG, (*ZIGZAG[:9], "X35 Y9", *ZIGZAG[9:])),
    "many, two changed": (ZIGZAG, (*ZIGZAG[:4], "X13 Y3", *ZIGZAG[4:20], "X64 Y0", *ZIGZAG[20:])),
    "many begun later": (ZIGZAG, (*ZIGZAG[15:], LIFT, "X0 Y0", "Z-1", "G1 " + ZIGZAG[0], *ZIGZAG[1:15])),
    "a plunge into the pass before": (
        (*passes(-1.0), LIFT, "X0 Y0", "Z-0.5", "G1 Z-2", "X20"),
        (*passes(-1.0), LIFT, "X0 Y0", "Z-1", "G1 Z-2", "X20"),
    ),
    "left out where it was deeper before": (
        (*passes(-2.0), LIFT, "X0 Y0", "Z-0.5", "G1 Z-1", "X20"),
        (*passes(-2.0), LIFT, "X10 Y0", "Z-0.5", "G1 Z-1", "X20"),
    ),
    "left out where it was not as deep before": (
        (*passes(-1.0), LIFT, "X0 Y0", "Z-0.5", "G1 Z-2", "X20"),
        (*passes(-1.0), LIFT, "X10 Y0", "Z-0.5", "G1 Z-2", "X20"),
    ),
    "left out where another tool was deeper before": (
        (*passes(-2.0), LIFT, "T2 M6", LIFT, "X0 Y0", "Z-0.5", "G1 Z-1", "X20"),
        (*passes(-2.0), LIFT, "T2 M6", LIFT, "X10 Y0", "Z-0.5", "G1 Z-1", "X20"),
    ),
    "left out and made afterwards": (
        (*passes(-2.0), LIFT, "X0 Y0", "Z-0.5", "G1 Z-1", "X20", "Y5"),
        (*passes(-2.0)[:4], "X8", LIFT, "X10 Y0", "Z-0.5", "G1 Z-1", "X20", "Y5", LIFT, "X8 Y0",
         "Z-1", "G1 Z-2", "X20", "Y5"),
    ),
    "by another tool": (SQUARE, (LIFT, "T2 M6", LIFT, "X0 Y0", "G1 Z-1", *SQUARE)),
    "of another part": (SQUARE, (LIFT, "X5 Y33", "Z-1", "G1 X9 Y41", "Y38 Z-2", "G3 X5 Y33 R20")),
}  # fmt: skip


def pieces(lines: tuple[str, ...]) -> Pieces:
    reading = read_program(
        HEAD + "\n".join(f"G1 {k}" if k[0] in "XYZ" and not i else k for i, k in enumerate(lines)) + "\nM30\n"
    )
    assert reading.refused == (), reading.refused
    return cutting_pieces(reading.moves, 0.0, TOLERANCE, set(), 0.001)


def runs(pairs: list[tuple[int, int]]) -> str:
    """Pairs as text; those that count up together as one: ``3-5=4-6``."""
    texts = []
    for _, group in itertools.groupby(enumerate(pairs), key=lambda e: (e[1][0] - e[0], e[1][1] - e[0])):
        (a, b), *_, (c, d) = [g[1] for g in group] * 2
        texts.append(f"{a}={b}" if a == c else f"{a}-{c}={b}-{d}")
    return " ".join(texts)


def match_text(plan: Pieces, program: Pieces) -> str:
    """Everything that the comparison says, and how many distances it measured."""
    match = match_paths(plan, program, TOLERANCE, np.full(len(plan), 3.0))
    search = _Search(plan, program, TOLERANCE, 0, 0)
    search.run()
    search.settle_extras()
    search.settle_missing()
    pairs = list(zip(match.planned.tolist(), match.program.tolist(), strict=True))
    rows = [
        f"{len(plan)} planned, {len(program)} made: {runs(pairs)}",
        f"reversed {runs(match.reversed_pairs)}; again {match.repeats}; reordered {match.reordered}",
        f"given up {match.given_up}; out of order {runs(match.out_of_order)}; measured {SEARCH_BUDGET - search.budget}",
    ]
    rows += [f"planned {i}: {figure(left)} missing" for i, left in match.missing]
    rows += [f"made {j}: {figure(off)} off at {figures(*place)}" for j, off, place in match.extra]
    return "\n".join(rows)


def everything() -> dict[str, str]:
    return {name: match_text(pieces(plan), pieces(program)) for name, (plan, program) in PATHS.items()}


if __name__ == "__main__":
    text = "".join(section(name, body) for name, body in everything().items())
    (FOLDER / "paths.txt").write_text(text, encoding="utf-8")
