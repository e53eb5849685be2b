"""The pages about programs say what the code does."""

from __future__ import annotations

import re
from pathlib import Path

from test_writer import SUBSET

from holecam.program import CODES
from holecam.program.language import CYCLES, G_GROUP, M_GROUP, REFUSED_G, code_text

PAGE = (Path(__file__).parents[2] / "docs" / "programs.md").read_text(encoding="utf-8")


def test_every_finding_is_explained() -> None:
    rows = dict(re.findall(r"^\| `([a-z-]+)` \| (\w+) \|", PAGE, re.MULTILINE))
    assert rows == {code: severity.value for code, (severity, _) in CODES.items()}


def test_the_words_that_are_written() -> None:
    written = re.search(r"Few words of RS-274.*?`([^`]+)`", PAGE, re.DOTALL)
    assert written is not None
    assert set(written.group(1).split()) - {"F", "S", "T"} == SUBSET


def test_the_cycles_and_refused_words_that_are_named() -> None:
    cycles = re.search(r"canned cycles `([^`]+)`", PAGE)
    assert cycles is not None
    assert set(cycles.group(1).split()) == {code_text("G", c) for c in CYCLES}
    for word in ("G28", "G30", "G53", "G10", "G92"):
        assert word in PAGE
        assert round(float(word[1:]) * 10) in REFUSED_G
    machine_words = re.search(r"`(M0 M1 [^`]+)`", PAGE)
    assert machine_words is not None
    assert {int(w[1:]) for w in machine_words.group(1).split()} == set(M_GROUP)
    assert not set(REFUSED_G) & set(G_GROUP)
