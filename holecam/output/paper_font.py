"""The typeface that the PDF papers embed, and text made of glyphs that it has."""

from __future__ import annotations

from functools import cache, lru_cache
from pathlib import Path

from holecam.output.plain_words import plain

REGULAR, STRONG = "PaperSans", "PaperSansBold"
FOLDER = Path(__file__).parent / "fonts"
MISSING = "\N{WHITE SQUARE}"
"""Printed for a character that the typeface does not have: seen, never a silent gap."""


@cache
def register_faces() -> frozenset[int]:
    """Make the two faces known to the PDF library, once; return the characters that both have."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    known = []
    for name, file in ((REGULAR, "dejavu-sans-regular.ttf"), (STRONG, "dejavu-sans-bold.ttf")):
        font = TTFont(name, str(FOLDER / file))
        pdfmetrics.registerFont(font)
        known.append(frozenset(font.face.charToGlyph))
    return known[0] & known[1]


@lru_cache(maxsize=16384)
def paper_text(words: str) -> str:
    """Return a text as one line of characters that the typeface has."""
    has = register_faces()
    return "".join(c if ord(c) in has else MISSING for c in plain(words))


@lru_cache(maxsize=16384)
def width_of(words: str, size: float, *, strong: bool = False) -> float:
    """Return the width of a text in points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    register_faces()
    return float(stringWidth(words, STRONG if strong else REGULAR, size))


def lines_of(words: str, size: float, width: float) -> list[str]:
    """Return a text broken into lines of at most this width, points; a longer word is cut."""
    lines, here, filled = [], "", 0.0
    space = width_of(" ", size)
    for word in paper_text(words).split():
        while (needed := width_of(word, size)) > width:
            cut = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or width_of(word[:n], size) <= width)
            lines += [here] if here else []
            lines.append(word[:cut])
            here, word = "", word[cut:]
        # The typeface is set without kerning: a line is as wide as its words and the spaces between them
        if not here:
            here, filled = word, needed
        elif filled + space + needed <= width:
            here, filled = f"{here} {word}", filled + space + needed
        else:
            lines.append(here)
            here, filled = word, needed
    return [*lines, here] if here or not lines else lines
