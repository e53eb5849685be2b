"""Text of a job as remarks in a program: plain, one line each, and never a command.

A remark begins with a word of ours and ``- ``, because open controls act on remarks that begin with certain words
(``MSG,`` is in NISTIR 6556; others open files). What could end a remark early, start another one or end the tape is
replaced: parentheses, semicolons, percent signs, line ends and every character outside printable ASCII.
"""

from __future__ import annotations

import textwrap
import unicodedata
from functools import lru_cache

LONGEST_REMARK = 72
"""Characters of text on one line. The published language allows 256 in a line; displays of controls show fewer."""

MOST_TEXT = 1200
"""Characters of one text that are kept: more does not belong on a control's display."""

_REPLACED = str.maketrans(
    {
        "(": "[", ")": "]", "{": "[", "}": "]", ";": ",", "%": " pct ", "⌀": "dia ", "Ø": "dia ", "°": " deg",
        "×": "x", "µ": "u", "μ": "u", "±": "+-",
        "\u2212": "-", "\u2013": "-", "\u2014": "-", "\u2010": "-", "\u2011": "-",
        "\u2018": "'", "\u2019": "'", "\u201c": '"', "\u201d": '"', "\u2032": "'", "\u2033": '"', "\u2044": "/",
        "≤": "<=", "≥": ">=", "\u2026": "...", "ß": "ss", "æ": "ae", "ø": "o", "ł": "l", "Æ": "AE", "Ł": "L",
    }
)  # fmt: skip


def plain_text(text: str) -> str:
    """Return the text in printable ASCII on one line, without parentheses, semicolons and percent signs.

    >>> plain_text("x) M3 S9000 (y")
    'x] M3 S9000 [y'
    >>> plain_text("⌀ 1½ Löcher")
    'dia 1 1/2 Locher'
    """
    if text.isascii() and text.isprintable():
        return " ".join(text.translate(_REPLACED).split())[:MOST_TEXT]
    spaced = "".join(
        f" {c}" if unicodedata.category(c) == "No" and out and out.isdigit() else c
        for out, c in zip("\0" + text, text, strict=False)
    )
    written = unicodedata.normalize("NFKD", spaced.translate(_REPLACED)).translate(_REPLACED)
    kept = (
        " " if c.isspace() or unicodedata.category(c) in ("Cc", "Zl", "Zp") else c if " " <= c <= "~" else "?"
        for c in written
        if not unicodedata.combining(c)
    )
    return " ".join("".join(kept).split())[:MOST_TEXT]


@lru_cache(maxsize=1024)
def remark_lines(label: str, text: str) -> tuple[str, ...]:
    """Return the text wrapped, each line beginning with a label of ours: ``JOB - ...``, then ``... more``."""
    width = LONGEST_REMARK - max(len(label), 3) - 3
    parts = textwrap.wrap(plain_text(text), width) or [""]
    return (f"{label} - {parts[0]}".rstrip(" -"), *(f"... {part}" for part in parts[1:]))
