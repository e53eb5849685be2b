"""Single-word damage to a program: every change of a list, applied at every place where it can be."""

from __future__ import annotations

import re
from collections.abc import Iterator

NUMBERED = re.compile(r"^([A-Z])(-?)(\d+)\.(\d+)$")


def damaged(text: str) -> Iterator[tuple[str, int, str]]:
    """Yield (kind of damage, line from 1, damaged text)."""
    lines = text.split("\n")[:-1]
    for number, line in enumerate(lines):

        def put(*changed: str, number: int = number) -> str:
            return "\n".join([*lines[:number], *changed, *lines[number + 1 :]]) + "\n"

        yield "line dropped", number + 1, put()
        if number + 1 < len(lines) and lines[number + 1] != line:
            swapped = [*lines[:number], lines[number + 1], line, *lines[number + 2 :]]
            yield "lines swapped", number + 1, "\n".join(swapped) + "\n"
        if line.startswith("("):
            continue
        words = line.split()
        for k, word in enumerate(words):

            def with_word(*new: str, k: int = k, words: list[str] = words) -> str:
                return put(" ".join([*words[:k], *new, *words[k + 1 :]]))

            yield "word doubled", number + 1, with_word(word, word)
            swap = {"G0": "G1", "G1": "G0", "G2": "G3", "G3": "G2", "G20": "G21", "G21": "G20"}.get(word)
            if swap:
                kind = {"G0": "G1 for G0", "G1": "G0 for G1", "G2": "G3 for G2", "G3": "G2 for G3"}.get(
                    word, "inch for mm" if word == "G21" else "mm for inch"
                )
                yield kind, number + 1, with_word(swap)
            if word[0] in "FS":
                yield "feed or speed lost", number + 1, with_word()
            match = NUMBERED.match(word)
            if match is None:
                continue
            letter, sign, whole, rest = match.groups()
            value = float(sign + whole + "." + rest)
            places = len(rest)
            if letter in "XYZIJR":
                yield (
                    "sign flipped",
                    number + 1,
                    with_word(f"{letter}{-value:.{places}f}".replace("-0." + "0" * places, "0." + "0" * places)),
                )
            yield "decimal point moved", number + 1, with_word(f"{letter}{value * 10:.{places}f}")
            yield "decimal point moved", number + 1, with_word(f"{letter}{value / 10:.{places}f}")
            yield "inch for mm in one word", number + 1, with_word(f"{letter}{value / 25.4:.{places}f}")
            yield "mm for inch in one word", number + 1, with_word(f"{letter}{value * 25.4:.{places}f}")
            if letter == "Z":
                deeper = 0.5 if places == 3 else 0.03
                yield "Z one step deeper", number + 1, with_word(f"Z{value - deeper:.{places}f}")
        if any(w[0] == "I" for w in words) and any(w[0] == "J" for w in words):
            swapped_line = " ".join({"I": "J", "J": "I"}.get(w[0], w[0]) + w[1:] for w in words)
            yield "I and J swapped", number + 1, put(swapped_line)
