"""Programs agree, move for move, with general-purpose G-code libraries on the words that they know.

``pygcode`` 0.2 keeps modal state and a position; ``gcodeparser`` splits lines into commands and parameters. Both are
used in tests only.
"""

from __future__ import annotations

import math
import random
import re
import warnings

import pytest
from msgspec.structs import replace
from program_plans import ALL_PLANS

from holecam.plan.motions import Dialect
from holecam.program import read_program, write_program
from holecam.program.moves import Kind

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # both are older than some of Python's warnings
    from gcodeparser import parse_gcode_lines
    from pygcode import Line, Machine

PLAIN = {
    "mm": Dialect(cycles="long-hand"),
    "inch": Dialect(unit="in", cycles="long-hand"),
    "lines": Dialect(cycles="long-hand", arcs="lines"),
}
MOTION = {0: Kind.RAPID, 1: Kind.FEED, 2: Kind.ARC_CW, 3: Kind.ARC_CCW}


def theirs(text: str) -> list[tuple[int, int, float, float, float, float]]:
    """Return (line, motion, x, y, z, feed in the program's unit) for each line that moves, as pygcode sees it."""
    machine = Machine()
    moves = []
    for number, line in enumerate(text.split("\n"), 1):
        machine.process_block(Line(line).block)
        if re.search(r"[XYZ]", re.sub(r"\(.*\)", "", line)):
            position, mode = machine.pos, machine.mode
            motion = int(str(mode.motion)[1:3])
            moves.append((number, motion, position.X, position.Y, position.Z, float(mode.feed_rate.word.value)))
    return moves


@pytest.mark.outside_check(
    subject="reading of programs",
    source="pygcode 0.2",
    closeness="every move, 1e-9 mm",
    standing="library",
)
@pytest.mark.parametrize("name", PLAIN)
@pytest.mark.parametrize("plan", ALL_PLANS)
def test_moves_agree_with_a_modal_machine(plan: str, name: str) -> None:
    text = write_program(ALL_PLANS[plan](), PLAIN[name])
    scale = 25.4 if name == "inch" else 1.0
    ours = read_program(text).moves
    by_line = {int(line): i for i, line in enumerate(ours.line)}
    found = theirs(text)
    assert [line for line, *_ in found] == sorted(by_line)
    for line, motion, x, y, z, feed in found:
        i = by_line[line]
        if motion:
            assert feed * scale == pytest.approx(ours.feed[i])
        assert ours.kind[i] == MOTION[motion], text.split("\n")[line - 1]
        for value, mine in zip((x, y, z), ours.end[i].tolist(), strict=True):
            if not math.isnan(mine):
                assert value * scale == pytest.approx(mine, abs=1e-9)


@pytest.mark.outside_check(
    subject="reading of programs",
    source="gcodeparser 0.3",
    closeness="every word, 1e-9",
    standing="library",
)
@pytest.mark.parametrize("name", [*PLAIN, "canned"])
@pytest.mark.parametrize("plan", ALL_PLANS)
def test_words_agree_with_a_parser(plan: str, name: str) -> None:
    """Axis words, centres, cycle words and feeds of every line that moves."""
    # Without remarks: this parser takes some words within them for numbers
    text = write_program(ALL_PLANS[plan](), replace(PLAIN.get(name, Dialect()), comments="none"))
    scale = 25.4 if name == "inch" else 1.0
    ours = read_program(text).moves
    last_of_line = {int(line): i for i, line in enumerate(ours.line)}
    seen = 0
    for command in parse_gcode_lines(text):
        letter, code = command.command
        line = command.line_index + 1
        if letter != "G" or code not in (0, 1, 2, 3, 81, 83):
            continue
        seen += 1
        i = last_of_line[line]
        place = ours.end[i]
        words = command.params
        for axis, letter in enumerate("XY"):
            if letter in words:
                assert words[letter] * scale == pytest.approx(place[axis], abs=1e-9)
        if code <= 3:
            assert ours.kind[i] == MOTION[code]
            if "Z" in words:
                assert words["Z"] * scale == pytest.approx(place[2], abs=1e-9)
        else:
            mine = ours.line == line
            assert ours.end[mine][:, 2].min() == pytest.approx(words["Z"] * scale, abs=1e-9)
            assert words["R"] * scale in [pytest.approx(z, abs=1e-9) for z in ours.end[mine][:, 2]]
        if code in (2, 3):
            assert ours.start[i, 0] + words["I"] * scale == pytest.approx(ours.center[i, 0], abs=1e-9)
            assert ours.start[i, 1] + words["J"] * scale == pytest.approx(ours.center[i, 1], abs=1e-9)
        if "F" in words:
            assert ours.feed[i] == pytest.approx(words["F"] * scale) or code >= 81
    assert seen == len(last_of_line)


@pytest.mark.outside_check(
    subject="reading of programs",
    source="pygcode 0.2 on random programs",
    closeness="every move, 1e-6 mm",
    standing="library",
)
def test_random_modal_programs_agree() -> None:
    """Words left out, both distance modes, both units: invented programs of the words that both readers know."""
    rng = random.Random(11)
    lines = ["G21 G90", "G0 X0 Y0 Z5", "F100"]
    for _ in range(400):
        words = [f"{axis}{rng.uniform(-40, 40):.3f}" for axis in rng.sample("XYZ", rng.randint(1, 3))]
        lines.append(" ".join([*rng.choice([[], ["G0"], ["G1"]]), *words]))
        if rng.random() < 0.05:
            lines.append(rng.choice(["G90", "G91"]))
    text = "\n".join(lines) + "\n"
    ours = read_program(text)
    assert ours.refused == ()
    found = theirs(text)
    assert len(found) == len(ours.moves)
    for i, (line, motion, x, y, z, _) in enumerate(found):
        assert line == ours.moves.line[i]
        assert MOTION[motion] == ours.moves.kind[i]
        assert (x, y, z) == pytest.approx(tuple(ours.moves.end[i]), abs=1e-6)
