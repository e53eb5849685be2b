"""Random figures of the size of a shop: drawn in millimetres, written as a job writes them, and kept as written."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

INCH = 25.4
XY = tuple[float, float]


@dataclass(frozen=True)
class Turned:
    """A rigid motion of the plane: turn by ``angle`` radians about the origin, then shift."""

    angle: float = 0.0
    shift: XY = (0.0, 0.0)

    def point(self, xy: XY) -> XY:
        """Return where a point comes to lie."""
        c, s = math.cos(self.angle), math.sin(self.angle)
        return (c * xy[0] - s * xy[1] + self.shift[0], s * xy[0] + c * xy[1] + self.shift[1])


class ShopFigures:
    """A source of random choices and of lengths that a job can hold exactly.

    ``unit`` is the unit of bare numbers in the job, ``decimals`` how many of them are written. What
    :meth:`exact` returns is the millimetre value of the text that :meth:`text` writes for it.
    """

    def __init__(self, seed: str, *, decimals_in: int = 4, decimals_mm: int = 3) -> None:
        self.random = random.Random(seed)
        self.unit = self.random.choice(("in", "mm"))
        self.decimals = decimals_in if self.unit == "in" else decimals_mm
        self._exact_scale = Fraction(254, 10) if self.unit == "in" else Fraction(1)

    def chance(self, share: float) -> bool:
        """Return ``True`` in this share of the draws."""
        return self.random.random() < share

    def between(self, low: float, high: float) -> float:
        """Return an exact length between two, mm."""
        return self.exact(self.random.uniform(low, high))

    def pick(self, values: Sequence[float]) -> float:
        """Return one of several lengths, mm, as the job can hold it."""
        return self.exact(self.random.choice(values))

    def text(self, length: float) -> str:
        """Return a length in mm as a bare number of the job."""
        value = round(float(length) / float(self._exact_scale), self.decimals)
        return repr(value if value else 0.0)

    def exact(self, length: float) -> float:
        """Return the millimetres of the number that :meth:`text` writes."""
        return float(Fraction(self.text(length)) * self._exact_scale)

    def exact_point(self, xy: XY) -> XY:
        """Return a point as the job can hold it, mm."""
        return (self.exact(xy[0]), self.exact(xy[1]))

    def pair(self, xy: XY) -> str:
        """Return a point as ``[x, y]``."""
        return f"[{self.text(xy[0])}, {self.text(xy[1])}]"

    def pairs(self, points: Iterable[XY]) -> str:
        """Return points as ``[[x, y], ...]``."""
        return f"[{', '.join(self.pair(p) for p in points)}]"


def turned(xy: XY, angle: float) -> XY:
    """Return a point turned about the origin by ``angle`` radians."""
    return Turned(angle).point(xy)
