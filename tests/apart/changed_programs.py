"""Changes of a program: slips of the hand, which may do harm, and what editors and senders do, which does none."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from cnc_setups import Dialect

Lines = list[str]


@dataclass(frozen=True)
class Change:
    """A changed program and what was done to it."""

    what: str
    text: str


def is_block(line: str) -> bool:
    """Whether a line says something to the control."""
    return bool(line.strip()) and not line.lstrip().startswith(("(", ";", "%", "O"))


def _word(letters: str) -> re.Pattern[str]:
    return re.compile(rf"\b([{letters}])(-?)(\d+)\.(\d+)")


def slips(text: str, chance: random.Random, dialect: Dialect) -> Iterator[Change]:
    """Yield programs with one slip each: a block lost, a sign, a decimal point, a unit, a word exchanged."""
    lines = text.rstrip("\n").split("\n")
    blocks = [i for i, line in enumerate(lines) if is_block(line)]
    moves = [i for i in blocks if re.search(r"\b[XYZ]-?\d", lines[i])]
    long = 0.05 if dialect.unit == "in" else 1.0

    def put(what: str, i: int, new: str | None) -> Iterator[Change]:
        if new != lines[i]:
            kept = [*lines[:i], *([] if not new else [new]), *lines[i + 1 :]]
            yield Change(f"{what}, line {i + 1}: {lines[i]} to {new}", "\n".join(kept) + "\n")

    def some(pattern: str, count: int, among: list[int] = blocks) -> list[int]:
        found = [i for i in among if re.search(pattern, lines[i])]
        return chance.sample(found, min(count, len(found)))

    def sub(what: str, pattern: str, new: str | Callable[[re.Match[str]], str], count: int) -> Iterator[Change]:
        for i in some(pattern, count):
            yield from put(what, i, re.sub(pattern, new, lines[i], count=1).strip())

    for i in some(".", 4):
        yield from put("lost", i, None)
    for i in some(r"\b[XYZIJ]-?\d", 3, moves):
        words = [m for m in _word("XYZIJ").finditer(lines[i]) if float(f"{m[3]}.{m[4]}")]
        if words:
            m = chance.choice(words)
            yield from put("sign", i, lines[i][: m.start(2)] + ("" if m[2] else "-") + lines[i][m.start(3) :])
    for i in some(r"\b[XYZIJRQ]-?\d+\.\d\d", 3, moves):
        m = chance.choice(list(_word("XYZIJRQ").finditer(lines[i])))
        digits = f"{m[3]}{m[4][0]}.{m[4][1:]}" if chance.random() < 0.5 else f"{m[3][:-1] or '0'}.{m[3][-1]}{m[4]}"
        yield from put("decimal point", i, lines[i][: m.start(3)] + digits + lines[i][m.end() :])
    yield from sub("unit", r"\bG2([01])\b", lambda m: "G21" if m[1] == "0" else "G20", 2)
    for i in some(r"\bX.*\bY", 2, moves):
        yield from put("X for Y", i, lines[i].translate(str.maketrans("XY", "YX")))
    yield from sub("feed to rapid", r"\bG1\b", "G0", 3)
    yield from sub("no M3", r"\bM3\b", "", 1)
    yield from sub("M3 to M4", r"\bM3\b", "M4", 1)
    yield from sub("tenfold speed", r"\bS(\d+)", r"S\g<1>0", 1)
    yield from sub("other way round", r"\bG([23])\b", lambda m: "G3" if m[1] == "2" else "G2", 2)
    yield from sub("tenfold feed", r"\bF([\d.]+)", lambda m: f"F{float(m[1]) * 10:g}", 2)
    yield from sub("deeper", r"\bZ(-?[\d.]+)", lambda m: f"Z{float(m[1]) - long:.4f}", 3)
    yield from sub("a little deeper", r"\bZ(-?[\d.]+)", lambda m: f"Z{float(m[1]) - long / 10:.4f}", 2)
    yield from sub("no stop", r"\bM[06]\b", "", 1)
    yield from sub("increments", r"\bG90\b", "G91", 1)


def harmless_changes(text: str, chance: random.Random, dialect: Dialect) -> Iterator[Change]:
    """Yield programs that mean the same: other spaces, capitals, line ends, comments, zeros; or a tenth less feed."""
    lines = text.rstrip("\n").split("\n")

    def each(what: str, change: Callable[[str], str]) -> Change:
        return Change(what, "\n".join(change(line) if is_block(line) else line for line in lines) + "\n")

    def among(what: str, new: str) -> Change:
        mixed = [
            part for line in lines for part in ((line, new) if chance.random() < 0.2 and is_block(line) else (line,))
        ]
        return Change(what, "\n".join(mixed) + "\n")

    yield each("small letters", str.lower)
    yield each("no spaces", lambda line: line.replace(" ", ""))
    yield each("more spaces", lambda line: "  " + line.replace(" ", "   ") + "  ")
    yield each("G01 for G1", lambda line: re.sub(r"\bG([0-3])\b", r"G0\1", line))
    yield each("more noughts", lambda line: re.sub(r"\b([XYZIJ]-?\d+\.\d+)", r"\g<1>00", line))
    yield each("less feed", lambda line: re.sub(r"\bF([\d.]+)", lambda m: f"F{float(m[1]) * 0.9:.3f}", line))
    yield Change("other line ends", "\r\n".join(lines) + "\r\n")
    yield Change("no comments", "\n".join(line for line in lines if not line.lstrip().startswith(("(", ";"))) + "\n")
    yield among("empty lines", "")
    yield among("remarks", "; my remark" if dialect.comments == "semicolon" else "(my remark, look here)")
    if not dialect.line_numbers:
        numbered = [f"N{10 * i} {line}" if is_block(line) else line for i, line in enumerate(lines, 1)]
        yield Change("line numbers", "\n".join(numbered) + "\n")
