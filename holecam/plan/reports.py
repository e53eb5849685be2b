"""What planning worked out about places, mates and measurements, as values that papers show."""

from __future__ import annotations

from msgspec import Struct

from holecam.shapes import Curve, Point


class HoleResidual(Struct, frozen=True):
    """How far one hole lies from where it was measured or drawn, mm, with its parts along X and Y."""

    hole: int
    dx: float
    dy: float
    size: float


class FreedomPicture(Struct, frozen=True):
    """The shifts at which a pattern can be drilled, drawn around the wish; everything in mm of shift.

    ``forbidden`` holds closed chains of lines and arcs inside which some limit is broken; ``wish``, ``chosen`` and
    ``roomiest`` are shifts. ``window`` is (x least, y least, x greatest, y greatest).
    """

    window: tuple[float, float, float, float]
    forbidden: tuple[tuple[Curve, ...], ...]
    wish: Point
    chosen: Point
    roomiest: Point | None = None


class PlaceReport(Struct, frozen=True):
    """How a pattern came to lie where it lies.

    ``wanted`` and ``chosen`` are the places of the reference hole in the part frame; ``margin`` is the least distance,
    mm, by which the chosen place keeps every limit, and ``binding`` says what sets
    it. ``misfit`` is the difference,
    mm, between measured and drawn distance of two reference holes; ``residuals`` those of a best fit.
    """

    pattern: str
    method: str
    reference_hole: int
    wanted: Point
    chosen: Point
    turn_deg: float
    mirrored: bool
    words: tuple[str, ...]
    wanted_allowed: bool = True
    margin: float | None = None
    binding: str = ""
    misfit: float | None = None
    residuals: tuple[HoleResidual, ...] = ()
    picture: FreedomPicture | None = None


class ScrewFit(Struct, frozen=True):
    """One screw at bolt-up: its radial play and how much of it the best position uses, mm."""

    hole: int
    play: float
    used: float
    binds: bool


class OpeningAdvice(Struct, frozen=True):
    """Which hole (or pair, or all) to open so that the pattern goes together, and the proof.

    ``ratio_after`` is the worst share of play used when it has been done; below 1 it goes together.
    """

    holes: tuple[int, ...]
    words: str
    ratio_after: float


class ChanceReport(Struct, frozen=True):
    """Chance that all screws enter: estimate, 95 percent interval, number of trials, seed, and what was assumed."""

    chance: float
    low: float
    high: float
    trials: int
    seed: int
    words: str


class MateReport(Struct, frozen=True):
    """Whether a pattern bolts up to its mating part.

    ``ratio`` is the least possible value of the worst (offset / play): up to 1 every screw enters at once; ``None``
    when some screw has no play at all. ``turn_deg`` and ``shift`` are the motion of the part that reaches it;
    ``bound`` a proved lower bound of the ratio.
    """

    mate: str
    pattern: str
    goes_together: bool
    ratio: float | None
    bound: float | None
    play_left: float
    turn_deg: float
    shift: Point
    screws: tuple[ScrewFit, ...]
    certificate: tuple[str, ...]
    advice: tuple[OpeningAdvice, ...] = ()
    tolerance_per_hole: float | None = None
    chance: ChanceReport | None = None
