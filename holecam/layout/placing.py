"""Place a pattern from one reference hole, or move an old pattern by a shift, a turn, a mirror.

The reference hole comes out exactly where it was asked, to the last bit: it is the pivot of the placement.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.patterns import PatternPoints, check_points
from holecam.shapes import Placement, Point, direction_deg, distance

DIRECTION_WORDS: dict[str, float] = {"+x": 0.0, "+y": 90.0, "-x": 180.0, "-y": -90.0}
"""Directions in words, as degrees anticlockwise from +X."""

_EXPECTED_DIRECTION = "degrees anticlockwise from +X, or one of +x, -x, +y, -y"
_SAME_SIGN = str.maketrans({"\u2212": "-", "\u2013": "-", "\u2010": "-", "\u2011": "-"})
_DEGREES = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\s*(?:°|deg|degrees)?")


class PlacedPattern(Struct, frozen=True):
    """A pattern with the motion that carries it into the part frame.

    ``reference`` is the number of the hole that was placed, ``None`` when several share in the placement.
    """

    pattern: PatternPoints
    part_from_pattern: Placement
    points: tuple[Point, ...]
    reference: int | None = None

    def __post_init__(self) -> None:
        check_points(self.points, self.pattern.numbers, f"placed {self.pattern.kind}")

    def holes(self) -> Iterator[tuple[int, Point]]:
        """Yield (number, centre in the part frame) in the order of the pattern."""
        return zip(self.pattern.numbers, self.points, strict=True)

    def at(self, number: int) -> Point:
        """Return where the hole with this number lies, part frame, mm."""
        return self.points[self.pattern.index(number)]


def placed(pattern: PatternPoints, part_from_pattern: Placement, *, reference: int | None = None) -> PlacedPattern:
    """Return a pattern carried into the part frame by a motion."""
    return PlacedPattern(pattern, part_from_pattern, part_from_pattern.apply_all(pattern.points), reference)


def direction_from_words(text: str | float, *, key: str = "along") -> float:
    """Return a direction in degrees, anticlockwise from +X, from words or a number.

    >>> direction_from_words("-y"), direction_from_words("37.5"), direction_from_words(90)
    (-90.0, 37.5, 90.0)

    Raises
    ------
    InputError
        Neither one of the four words nor a finite number of degrees.
    """
    if isinstance(text, str):
        plain = text.translate(_SAME_SIGN).strip().lower()
        if plain in DIRECTION_WORDS:
            return DIRECTION_WORDS[plain]
        found = _DEGREES.fullmatch(plain)
        if found is not None:
            return float(found[1])
        hint = ""
        if plain in ("x", "y"):
            hint = f' Write "+{plain}" or "-{plain}", so that the side is sure.'
        elif re.fullmatch(r"[+-]?\d+,\d+", plain):
            hint = f' Write "{plain.replace(",", ".")}".'
        raise InputError(
            f'{key} = "{text}": expected {_EXPECTED_DIRECTION}.{hint}',
            key=key,
            value=text,
            expected=_EXPECTED_DIRECTION,
        )
    if isinstance(text, bool) or not math.isfinite(text):
        raise InputError(
            f"{key} = {text}: expected {_EXPECTED_DIRECTION}", key=key, value=str(text), expected=_EXPECTED_DIRECTION
        )
    return float(text)


def direction_of_edge(start: Point, end: Point) -> float:
    """Return the direction of an edge that runs from one point to another, degrees anticlockwise from +X.

    Raises
    ------
    InputError
        The two points are one: they give no direction.
    """
    if not distance(start, end) > 0.0:
        raise InputError(f"edge from {start} to {end}: expected two different points on the edge")
    return direction_deg(start, end)


def place_from_one(
    pattern: PatternPoints, *, hole: int, at: Point, along_deg: float = 0.0, mirror: bool = False
) -> PlacedPattern:
    """Return the pattern with one hole exactly at ``at`` and its own +X turned to ``along_deg``.

    Parameters
    ----------
    pattern : PatternPoints
    hole : int
        Number of the reference hole.
    at : Point
        Where it is wanted or was found, part frame, mm.
    along_deg : float
        Direction of the pattern's +X in the part frame, degrees anticlockwise.
    mirror : bool
        Take the pattern's mirror image across its own X axis first (y to -y): the other hand of it. The row still
        runs along ``along_deg``.
    """
    turn = along_deg + 180.0 if mirror else along_deg  # x to -x and a half turn is y to -y
    return placed(pattern, Placement(turn, at, mirror, pattern.at(hole)), reference=hole)


class MirrorLine(Struct, frozen=True):
    """A line through a point, at an angle from +X: what a pattern is mirrored across."""

    through: Point
    along_deg: float

    @staticmethod
    def at_x(x: float) -> MirrorLine:
        """Return the upright line X = x: left becomes right."""
        return MirrorLine((x, 0.0), 90.0)

    @staticmethod
    def at_y(y: float) -> MirrorLine:
        """Return the level line Y = y: near becomes far."""
        return MirrorLine((0.0, y), 0.0)

    @staticmethod
    def through_points(a: Point, b: Point) -> MirrorLine:
        """Return the line through two points."""
        return MirrorLine(a, direction_of_edge(a, b))

    def placement(self) -> Placement:
        """Return the mirroring as a motion; done twice it is the identity."""
        return Placement(2.0 * self.along_deg + 180.0, self.through, True, self.through)


class MirroredPair(Struct, frozen=True):
    """Both hands of a pattern: the same numbers, each hole opposite its twin across the line."""

    as_given: PatternPoints
    mirrored: PatternPoints
    line: MirrorLine


def mirrored_pair(pattern: PatternPoints, line: MirrorLine) -> MirroredPair:
    """Return a pattern and its mirror image across a stated line, in one frame, numbers kept."""
    points = line.placement().apply_all(pattern.points)
    other = PatternPoints(
        points=points,
        numbers=pattern.numbers,
        kind=f"mirrored {pattern.kind}",
        origin=pattern.origin,
        numbering=f"as its twin across the line: {pattern.numbering}",
        places=pattern.places,
        in_row=pattern.in_row,
    )
    return MirroredPair(pattern, other, line)


def move_old_pattern(
    old: PatternPoints,
    *,
    shift: Point = (0.0, 0.0),
    turn_deg: float = 0.0,
    about: int | None = None,
    mirror: MirrorLine | None = None,
) -> PlacedPattern:
    """Return a pattern that stands in the part frame, mirrored, then turned about one of its holes, then shifted.

    Parameters
    ----------
    old : PatternPoints
        The holes as they are, part frame.
    shift : Point
        How far every hole moves, mm.
    turn_deg : float
        Anticlockwise, about the hole ``about``, which only moves by the shift.
    about : int, optional
        Number of that hole; needed when there is a turn.
    mirror : MirrorLine, optional
        Line across which the pattern is mirrored before all else.

    Raises
    ------
    InputError
        A turn without a hole to turn about, or figures that are not finite.
    """
    if turn_deg != 0.0 and about is None:
        raise InputError(f"turn of {turn_deg:g} degrees: expected the hole to turn about", key="about")
    if mirror is None and turn_deg == 0.0:  # one addition a coordinate, no noise from a pivot
        if about is not None:
            old.index(about)
        return placed(old, Placement(shift=shift), reference=about)
    before = mirror.placement() if mirror else Placement()
    pivot = old.at(about) if about is not None else old.points[0]
    turning = Placement(turn_deg, (before.apply(pivot)[0] + shift[0], before.apply(pivot)[1] + shift[1]))
    motion = turning @ Placement(before.turn_deg, (0.0, 0.0), before.mirror, pivot)
    return placed(old, motion, reference=about)
