"""How sure the place of a pattern is: two effects, kept apart.

The doubt of where the reference was found moves the whole pattern as one; the doubt of its direction grows with the
distance from the reference. Neither touches the spacing, which stays as exact as the machine. All doubts here are
standard doubts (one standard deviation).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.best_fit import BestFit
from holecam.layout.placing import PlacedPattern
from holecam.layout.two_holes import Hold, along_doubt, steady_between
from holecam.plan.holes import PlaceDoubt
from holecam.shapes import Placement, Point, direction_deg, distance
from holecam.standards.rectangular_doubt import standard_doubt_within


class HoleDoubt(Struct, frozen=True):
    """Standard doubts of one hole's place, mm, along and across the pattern.

    ``turning_along`` and ``turning_across`` are what the doubtful direction adds; ``along`` and ``across`` hold both
    effects together (root of the sum of squares).
    """

    number: int
    turning_along: float
    turning_across: float
    along: float
    across: float

    @property
    def turning(self) -> float:
        """What the doubtful direction adds, mm, square to the line from the steady point."""
        return math.hypot(self.turning_along, self.turning_across)


class ReferenceDoubt(Struct, frozen=True):
    """How far a whole pattern may sit off, and how that grows.

    Parameters
    ----------
    along_deg : float
        Direction in the part frame that "along" means, degrees.
    together_along, together_across : float
        Standard doubt of the steady point, mm: by this the pattern moves as one.
    turn_deg : float
        Standard doubt of the direction, degrees.
    steady_point : Point
        Where the doubt is least, part frame: from there the doubt of the direction grows.
    holes : tuple of HoleDoubt
    """

    along_deg: float
    together_along: float
    together_across: float
    turn_deg: float
    steady_point: Point
    holes: tuple[HoleDoubt, ...]

    def of(self, number: int) -> HoleDoubt:
        """Return the doubt of one hole.

        Raises
        ------
        InputError
            No hole has this number.
        """
        for hole in self.holes:
            if hole.number == number:
                return hole
        raise InputError(f"hole {number}: expected a hole of the placed pattern")

    @property
    def farthest(self) -> HoleDoubt:
        """The hole that the doubtful direction moves most."""
        return max(self.holes, key=lambda h: h.turning)

    def place_doubt(self, number: int, *, own: float = 0.0) -> PlaceDoubt:
        """Return the doubt of one hole as the plan holds it; of along and across the larger counts."""
        return PlaceDoubt(
            together=max(self.together_along, self.together_across), turning=self.of(number).turning, own=own
        )


def standard_doubt(half_width: float) -> float:
    """Return the standard doubt of a value known only to lie within a half-width: a / sqrt(3) (GUM 4.3.7)."""
    return standard_doubt_within(_not_negative(half_width, "half-width"))


def doubt_from_one(
    placed: PlacedPattern,
    *,
    reference_at: Point,
    along: float,
    across: float,
    turn_doubt_deg: float = 0.0,
    along_deg: float = 0.0,
) -> ReferenceDoubt:
    """Return the doubt of a pattern placed from one reference hole and a direction.

    Parameters
    ----------
    placed : PlacedPattern
    reference_at : Point
        The reference hole in the part frame, mm.
    along, across : float
        Standard doubts of its place, mm, along ``along_deg`` and square to it.
    turn_doubt_deg : float
        Standard doubt of the direction, degrees; 0 when it comes from the machine's own axis.
    along_deg : float
        Direction of the pattern, degrees.
    """
    return _doubt(
        placed,
        steady=reference_at,
        along=_not_negative(along, "doubt along"),
        across=_not_negative(across, "doubt across"),
        turn=math.radians(_not_negative(turn_doubt_deg, "doubt of the direction")),
        along_deg=along_deg,
    )


def direction_doubt_deg(first: float, second: float, baseline: float) -> float:
    """Return the standard doubt, degrees, of a direction taken from two points with standard doubts across it, mm."""
    if not baseline > 0.0:
        raise InputError(f"baseline {baseline:g} mm: expected two points apart from each other")
    return math.degrees(math.hypot(_not_negative(first, "doubt"), _not_negative(second, "doubt")) / baseline)


def doubt_from_two(
    placed: PlacedPattern, *, first_at: Point, second_at: Point, first: float, second: float, hold: Hold = "first"
) -> ReferenceDoubt:
    """Return the doubt of a pattern placed from two found holes, with standard doubts ``first`` and ``second``, mm.

    With equal doubts u and baseline B, a hole at (x, y) from the first has across it
    ``u^2 ((1 - x/B)^2 + (x/B)^2)`` and along it ``u^2 (1 + 2 (y/B)^2)`` when one hole is held. Written here as a
    steady point between the two and a turn about it, which is the same and keeps the two effects apart. Beyond the two
    holes the doubt grows without end: find holes far apart.

    Raises
    ------
    InputError
        A doubt that is negative or not finite, or both holes in one place.
    """
    u1, u2 = _not_negative(first, "doubt of the first hole"), _not_negative(second, "doubt of the second hole")
    baseline = distance(first_at, second_at)
    if not baseline > 0.0:
        raise InputError(f"both reference holes lie at {first_at}: expected two places")
    steady, across = steady_between(first_at, second_at, u1, u2)
    return _doubt(
        placed,
        steady=steady,
        along=along_doubt(u1, u2, hold),
        across=across,
        turn=math.hypot(u1, u2) / baseline,
        along_deg=direction_deg(first_at, second_at),
    )


def doubt_from_fit(fit: BestFit) -> ReferenceDoubt:
    """Return the doubt of a pattern placed by best fit.

    With stated doubts the weights are 1 / u^2, the middle has the variance 1 / sum(w) in each axis and the turn
    1 / sum(w r^2), both independent; where more is left over than the doubts explain, all grow by that ratio, never
    the other way. Without stated doubts u is judged from what is left over.
    """
    if fit.doubt_ratio is not None:
        factor = max(1.0, fit.doubt_ratio)
        total = math.fsum(1.0 / m.doubt**2 for m in fit.measured if m.doubt is not None)
    else:
        factor = fit.scatter if fit.scatter is not None else 0.0
        total = float(len(fit.measured))
    together = factor / math.sqrt(total)
    motion = fit.fit.motion
    return _doubt(
        fit.placed,
        steady=motion.shift,
        along=together,
        across=together,
        turn=factor / math.sqrt(fit.fit.leverage),
        along_deg=direction_deg((0.0, 0.0), motion.apply_vector((1.0, 0.0))),
    )


def _doubt(
    placed: PlacedPattern, *, steady: Point, along: float, across: float, turn: float, along_deg: float
) -> ReferenceDoubt:
    into = Placement(-along_deg)
    return ReferenceDoubt(
        along_deg=along_deg,
        together_along=along,
        together_across=across,
        turn_deg=math.degrees(turn),
        steady_point=steady,
        holes=tuple(_hole_doubts(placed.holes(), steady, into, along, across, turn)),
    )


def _hole_doubts(
    holes: Iterable[tuple[int, Point]], steady: Point, into: Placement, along: float, across: float, turn: float
) -> Iterable[HoleDoubt]:
    for number, (x, y) in holes:
        lever_along, lever_across = into.apply_vector((x - steady[0], y - steady[1]))
        # A small turn moves a point square to its lever
        turning_along, turning_across = turn * abs(lever_across), turn * abs(lever_along)
        yield HoleDoubt(
            number=number,
            turning_along=turning_along,
            turning_across=turning_across,
            along=math.hypot(along, turning_along),
            across=math.hypot(across, turning_across),
        )


def _not_negative(value: float, what: str) -> float:
    if not (value >= 0.0 and math.isfinite(value)):
        raise InputError(f"{what} {value}: expected 0 or more and finite")
    return value
