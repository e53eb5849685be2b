"""The key under a picture: samples of its lines and areas with their words, and rows that tell of places and sizes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from textwrap import wrap

from msgspec import Struct
from msgspec.structs import replace

from holecam.output.svg_canvas import LETTER, Canvas, number
from holecam.shapes import Point

WIDE = 1000.0
"""Picture units: width of a picture with a key."""

EDGE = 16.0
ROW = 20.0
KEY = 14.0
"""Picture units: free edge, height of a row, size of its letters."""

SPLIT = 400.0
"""Where the second column of the key begins."""

SAMPLE = 56.0
"""Picture units for the sample of a line before its words."""

GAP = 24.0


class PictureKey(Struct, frozen=True):
    """The words under a picture, broken into rows.

    ``samples`` are what is drawn (``line``, ``area``, ``circle``), its look and its words; ``told`` is the second
    column.
    """

    samples: tuple[tuple[str, str, tuple[str, ...]], ...]
    told: tuple[str, ...]

    @classmethod
    def of(cls, samples: Iterable[tuple[str, str, str]], told: Sequence[str]) -> PictureKey:
        """Return a key whose words are broken to the widths of the two columns."""
        return cls(
            tuple((kind, look, tuple(_broken(words, SPLIT - EDGE - SAMPLE - GAP))) for kind, look, words in samples),
            tuple(line for row in told for line in _broken(row, WIDE - EDGE - SPLIT)),
        )

    @property
    def height(self) -> float:
        """Picture units that it needs, with room for one row more."""
        return ROW * max(sum(len(words) for _, _, words in self.samples), len(self.told) + 1)

    def with_row(self, words: str) -> PictureKey:
        """Return the same with one row more, which is short enough not to be broken."""
        return replace(self, told=(*self.told, words))

    def draw(self, canvas: Canvas, top: float) -> None:
        """Draw it from this height down."""
        y = top
        for kind, look, words in self.samples:
            _sample(canvas, (EDGE, y), kind, look)
            for row in words:
                canvas.text((EDGE + SAMPLE, y), row.strip(), KEY)
                y += ROW
        for n, row in enumerate(self.told):
            canvas.text((SPLIT + (0 if row[:1].strip() else 24), top + ROW * n), row.strip(), KEY)


def _broken(words: str, room: float) -> list[str]:
    return wrap(words, int(room / (LETTER * KEY)), subsequent_indent="   ")


def _sample(canvas: Canvas, at: Point, kind: str, look: str) -> None:
    """Draw a sample of a line, area or circle left of its words."""
    x, y = at
    if kind == "line":
        canvas.line((x, y - 5), (x + 46, y - 5), look)
    elif kind == "area":
        canvas.add("rect", look, {"x": number(x + 8), "y": number(y - 11), "width": "28", "height": "13"})
    else:
        canvas.circle((x + 22, y - 5), 7.0, look)
