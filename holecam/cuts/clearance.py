"""How wide and how deep a cut must be to clear what it has to clear, as a sum whose every term has a name."""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.errors import InputError

FLOAT_SOURCE = (
    "common practice: bar or patch plus 0.5 to 1.0 mm a side, solder fillet included; depth its height plus 1 mm"
)


class Term(Struct, frozen=True):
    """One term of a sum: what it is in words, its length in mm and how often it counts."""

    words: str
    length: float
    times: int = 1

    def __post_init__(self) -> None:
        if not (math.isfinite(self.length) and self.length >= 0):
            raise InputError(f"{self.words}: {self.length} mm: expected a length of 0 or more")

    @property
    def total(self) -> float:
        """What the term adds, mm."""
        return self.times * self.length


class ClearanceSum(Struct, frozen=True):
    """A length and the named terms that it is the sum of."""

    words: str
    terms: tuple[Term, ...]

    @property
    def total(self) -> float:
        """The sum, mm."""
        return math.fsum(t.total for t in self.terms)


class Cleared(Struct, frozen=True):
    """What a slot or pocket has to clear; lengths in mm.

    Parameters
    ----------
    name : str
        In the user's words: ``brass foot rail``.
    height : float
        How far it stands into the cut.
    width : float or None
        Width of a bar; ``None`` for a shape that is given as an outline.
    position_doubt : float
        Its place and size are surely known within plus or minus this, to each side.
    height_doubt : float
        The same for its height.
    float_sides, float_below : float
        How free it should be on each side and below.
    fillet : float
        Solder or weld beside it that has to be cleared too, on each side.
    """

    name: str
    height: float
    width: float | None = None
    position_doubt: float = 0.0
    height_doubt: float = 0.0
    float_sides: float = 0.0
    float_below: float = 0.0
    fillet: float = 0.0

    def __post_init__(self) -> None:
        for words, value in (("height", self.height), ("width", self.width)):
            if value is not None and not (math.isfinite(value) and value > 0):
                raise InputError(f'{words} of "{self.name}", {value} mm: expected a length above zero')
        self.side_sum  # noqa: B018  # its terms check the rest
        self.depth_sum  # noqa: B018

    @property
    def side_sum(self) -> ClearanceSum:
        """Clearance on each side: doubt, fillet and float."""
        return ClearanceSum(
            f'clearance on each side of "{self.name}"',
            (
                Term("doubt of its place, each side", self.position_doubt),
                Term("solder fillet, each side", self.fillet),
                Term("float, each side", self.float_sides),
            ),
        )

    @property
    def width_sum(self) -> ClearanceSum:
        """Width of the slot: the bar, and twice the clearance of a side.

        Raises
        ------
        InputError
            The thing has no width: it is given as an outline.
        """
        if self.width is None:
            raise InputError(f'"{self.name}" has no width: a slot clears a bar, a pocket clears an outline')
        sides = tuple(Term(t.words, t.length, 2) for t in self.side_sum.terms if t.length > 0)
        return ClearanceSum(f'width to clear "{self.name}"', (Term(f'width of "{self.name}"', self.width), *sides))

    @property
    def depth_sum(self) -> ClearanceSum:
        """Depth of the cut: the height of the thing, its doubt, and the float below."""
        extra = (Term("doubt of its height", self.height_doubt), Term("float below", self.float_below))
        kept = tuple(t for t in extra if t.length > 0)
        return ClearanceSum(f'depth to clear "{self.name}"', (Term(f'height of "{self.name}"', self.height), *kept))
