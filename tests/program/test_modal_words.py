"""The same program in other words: by increments, with every word in every line, with a feed that was left out.

What a control keeps from line to line (modal words) must not change what is read, and what is forgotten must show.
"""

from __future__ import annotations

import re

import numpy as np
import pytest
from program_plans import ALL_PLANS

from holecam.plan.motions import Dialect
from holecam.program import check_program, read_program, write_program

LONG_HAND = Dialect(cycles="long-hand")
PROGRAMS = {name: write_program(make(), LONG_HAND) for name, make in ALL_PLANS.items()}
WORD = re.compile(r"([A-Z])(-?[\d.]+)")


def by_increments(text: str) -> str:
    """The program with G91 in every line whose axes are known, each word the way from the place before."""
    at: dict[str, float] = {}
    lines = []
    for line in text.split("\n"):
        words = WORD.findall(line) if not line.startswith("(") else []
        if any(letter + value in ("M6", "M0") for letter, value in words):
            at = {}
        axes = {letter: float(value) for letter, value in words if letter in "XYZ"}
        if axes and axes.keys() <= at.keys():
            line = "G91 " + " ".join(
                f"{letter}{axes[letter] - at[letter]:.3f}" if letter in axes else letter + value
                for letter, value in words
            )
        elif axes:
            line = "G90 " + line
        at |= axes
        lines.append(line)
    return "\n".join(lines)


def in_full(text: str) -> str:
    """The program with motion word, all known axes and feed in every line that moves."""
    kept: dict[str, str] = {}
    lines = []
    for line in text.split("\n"):
        words = WORD.findall(line) if not line.startswith("(") else []
        if any(letter + value in ("M6", "M0") for letter, value in words):
            kept = {k: v for k, v in kept.items() if k not in "XYZ"}
        if any(letter in "XYZ" for letter, _ in words):
            kept |= {letter: value for letter, value in words if letter in "GXYZF"}
            extra = [letter + value for letter, value in words if letter in "IJ"]
            shown = [k + kept[k] for k in "GXYZ" if k in kept]
            line = " ".join((*shown, *extra, *([f"F{kept['F']}"] if "F" in kept and kept["G"] != "0" else [])))
        lines.append(line)
    return "\n".join(lines)


@pytest.mark.parametrize("name", PROGRAMS)
@pytest.mark.parametrize("rewrite", [by_increments, in_full])
def test_other_words_for_the_same_moves(name: str, rewrite) -> None:  # type: ignore[no-untyped-def]
    text = PROGRAMS[name]
    other = rewrite(text)
    assert other != text
    ours, theirs = read_program(text, LONG_HAND), read_program(other, LONG_HAND)
    assert theirs.refused == ()
    np.testing.assert_allclose(theirs.moves.end, ours.moves.end, atol=1e-9)
    assert theirs.moves.kind.tolist() == ours.moves.kind.tolist()
    assert [e.kind for e in theirs.events] == [e.kind for e in ours.events]
    result = check_program(other, ALL_PLANS[name](), LONG_HAND)
    assert result.findings == ()
    account = check_program(text, ALL_PLANS[name](), LONG_HAND).account
    assert result.account.cutting == pytest.approx(account.cutting)
    assert result.account.cutting_minutes == pytest.approx(account.cutting_minutes)


@pytest.mark.parametrize("name", PROGRAMS)
def test_a_forgotten_return_to_absolute_is_noticed(name: str) -> None:
    """G91 left on after the first cut: everything after it goes astray."""
    text = re.sub(r"(G1 Z\S+ F\S+\n)", r"\1G91\n", PROGRAMS[name], count=1)
    if text == PROGRAMS[name]:  # the helix begins with an arc
        text = re.sub(r"(G3 X\S+ Y\S+ Z\S+ .*\n)", r"\1G91\n", PROGRAMS[name], count=1)
    assert text != PROGRAMS[name]
    assert not check_program(text, ALL_PLANS[name](), LONG_HAND).passed


@pytest.mark.parametrize("name", PROGRAMS)
def test_an_inch_for_a_millimetre_is_noticed(name: str) -> None:
    """25.4 times too large, and the other way round: neither may pass (the unit word alone is wrong)."""
    plan = ALL_PLANS[name]()
    assert not check_program(PROGRAMS[name].replace("G21", "G20"), plan, LONG_HAND).passed
    inch = Dialect(unit="in", cycles="long-hand")
    text = write_program(plan, inch)
    assert check_program(text, plan, inch).clean
    assert not check_program(text.replace("G20", "G21"), plan, inch).passed


@pytest.mark.parametrize("name", PROGRAMS)
@pytest.mark.parametrize("letter", ["X", "Y"])
def test_a_mirrored_program_is_noticed(name: str, letter: str) -> None:
    """The operator's mirror switch, or a sign in the post: not one of the planned cuts is where it should be."""
    flipped = {"X": "XI", "Y": "YJ"}[letter]
    text = re.sub(rf"([{flipped}])(-?)(\d)", lambda m: f"{m[1]}{'' if m[2] else '-'}{m[3]}", PROGRAMS[name])
    text = re.sub(r"\bG([23])\b", lambda m: "G3" if m[1] == "2" else "G2", text)
    result = check_program(text, ALL_PLANS[name](), LONG_HAND)
    assert not any(f.code == "not-read" for f in result.findings)
    assert {f.code for f in result.findings} & {"hole-missing", "cut-missing"}
    assert {f.code for f in result.findings} & {"hole-not-planned", "cut-not-planned"}


@pytest.mark.parametrize("name", ["pocket", "helix"])
def test_arcs_turned_the_wrong_way_are_noticed(name: str) -> None:
    """G2 for G3 in one arc at a time."""
    text = PROGRAMS[name]
    places = [m.start() + 1 for m in re.finditer(r"\bG[23]\b", text)]
    assert len(places) >= 5
    for number, at in enumerate(places):
        other = text[:at] + ("3" if text[at] == "2" else "2") + text[at + 1 :]
        in_the_air = name == "helix" and number == 0  # from Z 0.5 to Z 0.2, above the block
        assert (check_program(other, ALL_PLANS[name](), LONG_HAND).findings == ()) is in_the_air
