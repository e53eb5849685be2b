"""Patterns: numbered points in a frame of their own, the same numbers wherever the pattern is placed.

Point ``i`` is always computed from its own number and the step, never from the point before, so that no error grows
along a row.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import force_setattr, replace

from holecam.errors import InputError
from holecam.shapes import Circle, Point, distance

MOST_HOLES = 100_000
"""A pattern with more holes than this is a typing mistake; no one drills a million holes one off, and a sheet of them
would take half a minute and 600 MB."""

FARTHEST = 100_000.0
"""mm. A hole farther than 100 m from its origin is a typing mistake or a wrong unit."""

COINCIDENT_HOLES = 0.001
"""mm. Two holes nearer than this are one hole: the finest readout of the trade steps by as much."""


class PatternPoints(Struct, frozen=True):
    """Hole centres of a pattern in the pattern's own frame, mm.

    Parameters
    ----------
    points : tuple of Point
        Centres, in the order of ``numbers``.
    numbers : tuple of int
        The hole numbers, from 1, unique. They stay with their holes when others are left out, and both hands of a
        mirrored pair carry the same numbers.
    kind : str
        ``line``, ``grid``, ``hole circle``...: what the points were made from.
    origin : str
        In words, what the frame's origin is: ``hole 1``, ``centre of the circle``.
    numbering : str
        In words, how the numbers run.
    places : tuple of str
        For each hole where it is within the pattern (``row 2, column 3``); empty when the number says it all.
    in_row : bool
        True when hole n and hole n + 1 are always one pitch apart, so that "per pitch" means something.

    Raises
    ------
    InputError
        No hole or too many, coordinates that are not finite or absurd, numbers that repeat, two holes in one place.
    """

    points: tuple[Point, ...]
    numbers: tuple[int, ...]
    kind: str
    origin: str
    numbering: str
    places: tuple[str, ...] = ()
    in_row: bool = False

    def __post_init__(self) -> None:
        _check_count(len(self.points), self.kind)
        if len(self.numbers) != len(self.points):
            raise InputError(f"{self.kind}: expected a number for each of {len(self.points)} holes")
        if self.places and len(self.places) != len(self.points):
            raise InputError(f"{self.kind}: expected a place in words for each of {len(self.points)} holes")
        if min(self.numbers) < 1 or len(set(self.numbers)) != len(self.numbers):
            raise InputError(f"{self.kind}: expected hole numbers from 1, each once")
        force_setattr(self, "points", tuple((float(x), float(y)) for x, y in self.points))
        check_points(self.points, self.numbers, self.kind)

    def __len__(self) -> int:
        return len(self.points)

    def holes(self) -> Iterator[tuple[int, Point]]:
        """Yield (number, centre) in the order of the pattern."""
        return zip(self.numbers, self.points, strict=True)

    def index(self, number: int) -> int:
        """Return where in the tuples the hole with this number stands.

        Raises
        ------
        InputError
            No hole has it; the message tells which numbers there are.
        """
        if 0 < number <= len(self.numbers) and self.numbers[number - 1] == number:
            return number - 1
        try:
            return self.numbers.index(number)
        except ValueError:
            raise InputError(
                f"hole {number}: {'there are' if self.kind == 'points' else f'this {self.kind} has'} "
                f"{_numbers_text(self.numbers)}",
                key="hole",
                value=str(number),
                expected=_numbers_text(self.numbers),
            ) from None

    def at(self, number: int) -> Point:
        """Return the centre of the hole with this number."""
        return self.points[self.index(number)]

    def off_centre(self, by: Point) -> PatternPoints:
        """Return the pattern shifted within its own frame, on purpose: numbers stay, the origin stays where it was."""
        moved = tuple((x + by[0], y + by[1]) for x, y in self.points)
        return replace(self, points=moved, origin=f"{self.origin}, before it was set off")

    def without(self, numbers: Iterable[int]) -> PatternPoints:
        """Return the pattern with some holes left out; the others keep their numbers."""
        gone = set(numbers)
        for number in sorted(gone):
            self.index(number)
        kept = [k for k, number in enumerate(self.numbers) if number not in gone]
        if not kept:
            raise InputError(f"{self.kind}: every hole was left out; expected at least one to stay")
        return replace(
            self,
            points=tuple(self.points[k] for k in kept),
            numbers=tuple(self.numbers[k] for k in kept),
            places=tuple(self.places[k] for k in kept) if self.places else (),
        )

    def pitches_between(self, first: int, second: int) -> int | None:
        """Return how many pitches lie between two holes of a row; ``None`` where the pattern is no row."""
        self.index(first), self.index(second)
        return abs(second - first) if self.in_row else None


def _numbers_text(numbers: Sequence[int]) -> str:
    """Return the numbers in words, runs drawn together: ``holes 1 to 4, 6``."""
    runs: list[tuple[int, int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    shown = [str(a) if a == b else f"{a} to {b}" for a, b in runs[:8]]
    return f"hole{'s' if len(numbers) > 1 else ''} {', '.join(shown)}{', ...' if len(runs) > 8 else ''}"


def check_points(points: Sequence[Point], numbers: Sequence[int], what: str) -> None:
    """Refuse coordinates that are not finite or absurd, and two holes in one place.

    Raises
    ------
    InputError
        The message names the holes.
    """
    for number, (x, y) in zip(numbers, points, strict=True):
        if not (abs(x) <= FARTHEST and abs(y) <= FARTHEST):  # written so that nan is refused as well
            raise InputError(
                f"{what}: hole {number} would lie at X {x:g}, Y {y:g} mm; expected at most {FARTHEST:g} mm from the "
                "origin. Check the unit and the pitch."
            )
    pair = nearest_pair_within(points, COINCIDENT_HOLES)
    if pair is not None:
        a, b = pair
        raise InputError(
            f"{what}: holes {numbers[a]} and {numbers[b]} lie in one place ({distance(points[a], points[b]):.4f} mm "
            "apart); expected every hole once"
        )


def nearest_pair_within(points: Sequence[Point], reach: float) -> tuple[int, int] | None:
    """Return the indices of two points nearer than ``reach``, or ``None``; the first pair in the order of the points.

    Each point is looked up in square cells of twice the reach, so a million points take seconds, not hours.
    """
    side = 2.0 * reach
    cells: dict[tuple[int, int], list[int]] = {}
    for k, (x, y) in enumerate(points):
        column, row = math.floor(x / side), math.floor(y / side)
        # Only the cells on the nearer side can hold a point within half a cell
        columns = (column, column - 1 if x - column * side < reach else column + 1)
        rows = (row, row - 1 if y - row * side < reach else row + 1)
        found = [
            other
            for i in columns
            for j in rows
            for other in cells.get((i, j), ())
            if distance(points[other], points[k]) < reach
        ]
        if found:
            return (min(found), k)
        cells.setdefault((column, row), []).append(k)
    return None


def _check_count(count: int, what: str) -> None:
    if count < 1:
        raise InputError(f"{what}: count {count}: expected at least 1 hole", key="count", value=str(count))
    if count > MOST_HOLES:
        raise InputError(
            f"{what}: {count} holes: expected at most {MOST_HOLES}. Check the count.", key="count", value=str(count)
        )


def check_count(count: int, what: str) -> int:
    """Return the count when a pattern can have as many holes; refuse it otherwise, before anything is computed."""
    _check_count(count, what)
    return count


def check_pitch(value: float, what: str, *, key: str = "pitch") -> float:
    """Return a pitch, length or diameter when it is finite, above zero and not absurd; refuse it otherwise."""
    if not 0.0 < value <= FARTHEST:
        raise InputError(
            f"{what}: {key} {value:g} mm: expected above zero and at most {FARTHEST:g} mm", key=key, value=f"{value:g}"
        )
    return value


def line(count: int, *, pitch: float | None = None, length: float | None = None) -> PatternPoints:
    """Return a row of holes along +X; hole 1 is the origin.

    Give the pitch, or the length from the first hole to the last: then the last hole lies at that length exactly.

    >>> line(3, length=10.0).points
    ((0.0, 0.0), (5.0, 0.0), (10.0, 0.0))
    """
    what = "line"
    check_count(count, what)
    xs: list[float] = []
    if (pitch is None) == (length is None):
        raise InputError("line: expected a pitch or a length, one of them")
    if pitch is not None:
        step = check_pitch(pitch, what)
        xs = [i * step for i in range(count)]
    if length is not None:
        if count < 2:
            raise InputError("line: a length needs at least 2 holes; give a single hole a pitch instead")
        whole = check_pitch(length, what, key="length")
        xs = [i * whole / (count - 1) for i in range(count - 1)] + [whole]
    return PatternPoints(
        points=tuple((x, 0.0) for x in xs),
        numbers=tuple(range(1, count + 1)),
        kind=what,
        origin="hole 1",
        numbering="along the row from hole 1",
        in_row=True,
    )


def free_points(points: Sequence[Point]) -> PatternPoints:
    """Return holes at given points, numbered in their order; the frame is the one in which they were given."""
    return PatternPoints(
        points=tuple(points),
        numbers=tuple(range(1, len(points) + 1)),
        kind="points",
        origin="as the points were given",
        numbering="in the order given",
    )


def given_circles(circles: Sequence[Circle], *, diameter: float, within: float) -> PatternPoints:
    """Return the centres of those circles whose diameter is the wanted one, give or take ``within``.

    Numbered as one reads a page turned upside down, so that the order in a drawing file does not matter: rows from
    the lowest Y upward, each from the left; circles belong to one row when their Y differ by at most half the wanted
    diameter from the row's lowest. The frame is that of the drawing.

    Raises
    ------
    InputError
        No circle fits; the message lists the diameters that there are.
    """
    what = "circles"
    wanted = check_pitch(diameter, what, key="diameter")
    if not 0.0 <= within < wanted:
        raise InputError(f"circles: within {within:g} mm: expected 0 or more and less than the diameter")
    fitting = [c.center for c in circles if abs(2.0 * c.radius - wanted) <= within]
    if not fitting:
        there = sorted({round(2.0 * c.radius, 4) for c in circles})
        listed = ", ".join(f"{d:g}" for d in there[:12]) + (", ..." if len(there) > 12 else "")
        raise InputError(
            f"circles: none of {len(circles)} has diameter {wanted:g} mm within {within:g} mm; "
            + (f"expected one of {listed} mm" if there else "there is no circle at all"),
            key="diameter",
            value=f"{wanted:g}",
        )
    points = tuple(p for row in _rows_upward(fitting, wanted / 2.0) for p in sorted(row))
    return PatternPoints(
        points=points,
        numbers=tuple(range(1, len(points) + 1)),
        kind=what,
        origin="as in the drawing",
        numbering="rows from the lowest upward, each from the left",
    )


def _rows_upward(points: Sequence[Point], height: float) -> list[list[Point]]:
    rows: list[list[Point]] = []
    for p in sorted(points, key=lambda q: (q[1], q[0])):
        if rows and p[1] - rows[-1][0][1] <= height:
            rows[-1].append(p)
        else:
            rows.append([p])
    return rows
