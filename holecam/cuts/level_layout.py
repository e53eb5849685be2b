"""What the cutter does in plan at one height: runs without lifting, made of strokes, each begun by an entry."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from holecam.errors import InputError
from holecam.shapes import Arc, Circle, Curve, Point, Segment, distance


class StrokeKind(StrEnum):
    """``CUT`` and ``FINISH`` follow the strategy, ``STEP`` leads from one of them to the next, ``RELIEF`` overcuts a
    corner on purpose."""

    CUT = "cut"
    FINISH = "finish"
    STEP = "step"
    RELIEF = "relief"


class Stroke(Struct, frozen=True):
    """One curve that the cutter's centre follows at depth.

    Once it is worked out, ``engagement_deg`` is the greatest angle over which a tooth cuts on it, and ``left_deg`` the
    part of that to the left of the travel.
    """

    curve: Curve
    kind: StrokeKind = StrokeKind.CUT
    feed_factor: float = 1.0
    engagement_deg: float | None = None
    left_deg: float = 0.0

    @property
    def side(self) -> str:
        """On which side the material lies: ``"left"``, ``"right"``, ``"both"`` or ``"none"``; ``""`` if not known."""
        if self.engagement_deg is None:
            return ""
        right = self.engagement_deg - self.left_deg
        if self.engagement_deg <= 0.5:
            return "none"
        if min(right, self.left_deg) > 0.25 * self.engagement_deg:
            return "both"
        return "left" if self.left_deg > right else "right"


class HelixEntry(Struct, frozen=True):
    """Down in circles about ``center``; ends on the circle toward the first stroke."""

    center: Point
    radius: float
    ccw: bool

    def bore(self, cutter_radius: float) -> Circle:
        """Return what the helix opens."""
        return Circle(self.center, self.radius + cutter_radius)


class RampEntry(Struct, frozen=True):
    """Down to and fro along the first strokes of the run, over a stretch of this length."""

    stretch: float


class StraightEntry(Struct, frozen=True):
    """Straight down: into a drilled hole of this diameter, or into solid material with ``hole`` 0; ``free`` when the
    hole takes the cutter without cutting."""

    at: Point
    hole: float = 0.0
    free: bool = False


LevelEntry = HelixEntry | RampEntry | StraightEntry


class Run(Struct, frozen=True):
    """Strokes without lifting. Without an entry the first one starts in material that is already cut."""

    strokes: tuple[Stroke, ...]
    entry: LevelEntry | None = None

    def __post_init__(self) -> None:
        if not self.strokes:
            raise InputError("run of a cutter: expected at least one stroke")

    @property
    def start(self) -> Point:
        """Where the first stroke starts."""
        return self.strokes[0].curve.start

    @property
    def end(self) -> Point:
        """Where the last stroke ends."""
        return self.strokes[-1].curve.end


class LevelLayout(Struct, frozen=True):
    """All runs at one height, in their order."""

    runs: tuple[Run, ...]

    def strokes(self) -> Iterator[Stroke]:
        """Return all strokes in their order."""
        for run in self.runs:
            yield from run.strokes

    def with_strokes(self, strokes_of_runs: list[list[Stroke]]) -> LevelLayout:
        """Return the layout with other strokes in its runs, in the same order."""
        return LevelLayout(
            tuple(replace(run, strokes=tuple(new)) for run, new in zip(self.runs, strokes_of_runs, strict=True))
        )


def split_curve(curve: Curve, share: float) -> tuple[Curve, Curve]:
    """Return the part of a curve before a share of it and the part after; both must have a length."""
    middle = curve.point_at(share)
    if isinstance(curve, Segment):
        return Segment(curve.start, middle), Segment(middle, curve.end)
    return Arc(curve.start, middle, curve.center, curve.ccw), Arc(middle, curve.end, curve.center, curve.ccw)


def share_of(curve: Curve, p: Point) -> float:
    """Return the share along a curve at which it passes nearest to a point."""
    if isinstance(curve, Segment):
        size = curve.length
        return distance(curve.start, curve.nearest(p)) / size if size > 0 else 0.0
    near = curve.nearest(p)
    if distance(near, curve.end) <= 1e-12:
        return 1.0
    if distance(near, curve.start) <= 1e-12:
        return 0.0
    return abs(Arc(curve.start, near, curve.center, curve.ccw).sweep) / abs(curve.sweep)


def rotated(curves: tuple[Curve, ...], p: Point) -> tuple[Curve, ...]:
    """Return a closed chain begun at its place nearest to a point."""
    at = min(range(len(curves)), key=lambda i: distance(p, curves[i].nearest(p)))
    curve = curves[at]
    share = share_of(curve, p)
    if share * curve.length < 1e-4:
        return curves[at:] + curves[:at]
    if (1.0 - share) * curve.length < 1e-4:
        return curves[at + 1 :] + curves[: at + 1]
    before, after = split_curve(curve, share)
    return (after, *curves[at + 1 :], *curves[:at], before)
