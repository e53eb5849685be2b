"""One line of a program taken apart: words, remarks, block delete. Nothing is executed here.

Rules of NISTIR 6556, 3.3 (section numbers from memory): letters of either case, spaces and tabs without meaning outside
remarks, at most 256 characters, a line number first, each letter once except G and M, remarks in parentheses that are
not nested, numbers without exponent.
"""

from __future__ import annotations

import re

from msgspec import Struct, field

from holecam.program.language import REFUSED_WORDS, RULE_WORDS, WORDS

LONGEST_LINE = 256
"""Characters (NISTIR 6556, 3.3)."""

LONGEST_NUMBER = 15
"""Digits of one number: float64 holds them all. A longer number is a mistake."""

_WORD = re.compile(r"([A-Z])([+-]?(?:\d+\.?\d*|\.\d+))")
_SPLIT_NUMBER = re.compile(r"[\d.][ \t]+[\d.]|[+-][ \t]+[\d.]")
_PROGRAM_NUMBER = re.compile(r"O\d{1,8}")


class RefusedLineError(Exception):
    """A line that is not read, with the reason and the rule; the reader turns it into a finding."""

    def __init__(self, reason: str, rule: str = RULE_WORDS) -> None:
        super().__init__(reason)
        self.reason = reason
        self.rule = rule


class Block(Struct):
    """The content of one line.

    ``words`` maps a letter to its value, G and M left out; ``g_codes`` and ``m_codes`` are in tenths, in the order
    written. ``doubts`` are codes of things that are read by the rule but that controls read differently.
    """

    words: dict[str, float] = field(default_factory=dict)
    g_codes: list[int] = field(default_factory=list)
    m_codes: list[int] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    deletable: bool = False
    tape_mark: bool = False
    program_number: str = ""
    doubts: list[str] = field(default_factory=list)

    @property
    def empty(self) -> bool:
        """True when there is nothing to execute."""
        return not (self.words or self.g_codes or self.m_codes)


def read_block(text: str, *, semicolons: bool = False) -> Block:
    """Return a line taken apart.

    Parameters
    ----------
    text : str
        One line without its line end.
    semicolons : bool
        The dialect marks remarks by a semicolon. Otherwise a semicolon is refused: some controls read it as the end
        of the block and execute what follows.

    Raises
    ------
    RefusedLineError
        The line is not of the published language, or has a word that is not read.
    """
    block = Block()
    if len(text) > LONGEST_LINE:
        raise RefusedLineError(f"the line has {len(text)} characters; {LONGEST_LINE} are allowed")
    code = _without_remarks(text, block, semicolons=semicolons)
    stripped = code.strip()
    if not stripped:
        return block
    if stripped == "%":
        block.tape_mark = True
        return block
    if not code.isascii():
        odd = next(c for c in code if ord(c) > 126)
        raise RefusedLineError(f"the character {odd!r} stands outside a remark")
    if stripped.startswith("/"):
        block.deletable = True
        stripped = stripped[1:]
    if _SPLIT_NUMBER.search(stripped):
        block.doubts.append("space-in-number")
    plain = stripped.replace(" ", "").replace("\t", "").upper()
    if _PROGRAM_NUMBER.fullmatch(plain):
        block.program_number = plain
        return block
    _read_words(plain, block)
    return block


def _without_remarks(text: str, block: Block, *, semicolons: bool) -> str:
    """Return the line without its remarks, which go into the block."""
    if not text.isprintable():
        for c in text:
            if (c < " " and c != "\t") or 126 < ord(c) < 160:
                raise RefusedLineError(f"the control character {c!r} stands in the line")
    if "(" not in text and ")" not in text and ";" not in text:
        return text
    kept: list[str] = []
    at = 0
    while at < len(text):
        c = text[at]
        if c == "(":
            end = text.find(")", at)
            if end < 0:
                raise RefusedLineError("a remark is not closed by )")
            inside = text[at + 1 : end]
            if "(" in inside:
                raise RefusedLineError("a remark begins within another remark")
            block.remarks.append(inside)
            at = end + 1
            continue
        if c == ")":
            raise RefusedLineError("a ) stands without its (")
        if c == ";":
            if not semicolons:
                raise RefusedLineError(
                    "a semicolon: some controls take it as a remark, others as the end of the block and execute what "
                    "follows. Put remarks in parentheses, or state the comment style of the machine"
                )
            block.remarks.append(text[at + 1 :].strip())
            break
        kept.append(c)
        at += 1
    for remark in block.remarks:
        if not remark.isascii():
            block.doubts.append("remark-not-ascii")
            break
    return "".join(kept)


def _read_words(plain: str, block: Block) -> None:
    at = 0
    while at < len(plain):
        match = _WORD.match(plain, at)
        if match is None:
            raise RefusedLineError(_why_no_word(plain, at))
        letter, number = match.group(1), match.group(2)
        if letter not in WORDS:
            raise RefusedLineError(
                f"{letter}{number}: {REFUSED_WORDS.get(letter, 'no word of the published language')}"
            )
        if letter == "N":
            if at:
                raise RefusedLineError("a line number stands after other words; it must come first")
            if not number.isdigit() or len(number) > 5:
                raise RefusedLineError(f"line number N{number}: expected up to five digits")
        elif letter in "GM":
            _add_code(letter, number, block)
        else:
            _add_word(letter, number, block)
        at = match.end()


def _add_code(letter: str, number: str, block: Block) -> None:
    value = float(number)
    tenths = round(value * 10)
    if value < 0 or abs(value * 10 - tenths) > 1e-6 or (letter == "M" and tenths % 10):
        raise RefusedLineError(f"{letter}{number} is no code of the published language")
    if letter == "G":
        block.g_codes.append(tenths)
    else:
        block.m_codes.append(tenths // 10)


def _add_word(letter: str, number: str, block: Block) -> None:
    if letter in block.words:
        raise RefusedLineError(f"the line has two {letter} words")
    if sum(c.isdigit() for c in number) > LONGEST_NUMBER:
        raise RefusedLineError(f"{letter}{number}: a number has more than {LONGEST_NUMBER} digits")
    block.words[letter] = float(number)


def _why_no_word(plain: str, at: int) -> str:
    c = plain[at]
    rest = plain[at + 1 : at + 2]
    if "#" in plain[at : at + 2] or c == "=":
        return "a parameter (#) is not read: its value is not known here; write numbers"
    if "[" in plain[at : at + 2] or c == "]":
        return "an expression in brackets is not read; write numbers"
    if c == "%":
        return "a % stands beside other words; it belongs on a line of its own"
    if c == "/":
        return "block delete (/) must stand first in the line"
    if c == "O":
        return "a subprogram or a name after O is not read"
    if c == ":":
        return "a colon is not read"
    if c.isalpha():
        return f"the word {c} has no number" if not rest or rest.isalpha() else f"{plain[at : at + 8]!r} is no word"
    return f"{plain[at : at + 8]!r} is no word: expected a letter with a number"
