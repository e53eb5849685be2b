"""Patterns: ordered points in a frame of their own, numbered from 1."""

from fractions import Fraction
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from holecam.job.models_shape import DrawingFile, Path
from holecam.job.quantities import (
    MOST_HOLES,
    XY,
    Count,
    Degrees,
    Flag,
    HoleNumber,
    Length,
    Model,
    Name,
    NonNegativeLength,
    OrForm,
    PositiveLength,
    exactly_one,
    refusal,
)
from holecam.job.shape_trials import try_circles


class Line(Model):
    """A straight row: hole 1 at the start, the others at equal steps."""

    count: Count
    """How many holes."""
    pitch: PositiveLength | None = None
    """From hole to hole."""
    length: PositiveLength | None = None
    """From the first hole to the last."""

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        if self.count > 1:
            exactly_one(self, "pitch", "length", what="a row")
        return self


def _pitches(value: Any) -> Any:
    return value if isinstance(value, (list, tuple)) else (value, value)


class Grid(Model):
    """Rows and columns. Hole 1 is lower left; numbers run along the first row, then along the next."""

    columns: Count
    """Holes along X."""
    rows: Count
    """Holes along Y."""
    pitch: Annotated[
        tuple[PositiveLength, PositiveLength],
        BeforeValidator(_pitches),
        OrForm({"type": ["string", "number"], "description": "One pitch for both directions."}),
    ]
    """Distance between columns and between rows: one length, or a pair [along X, along Y]."""
    staggered: Flag = False
    """Shift every second row by half a pitch along X."""
    short_rows: Flag = False
    """With staggered: every second row has one hole fewer, so that the grid keeps its width."""

    @model_validator(mode="after")
    def _sensible(self) -> Self:
        if self.columns * self.rows > MOST_HOLES:
            raise refusal(f"at most {MOST_HOLES} holes", f"{self.columns} x {self.rows} is more.")
        if self.short_rows and not self.staggered:
            raise refusal("short_rows only beside staggered = true", at=("short_rows",))
        if self.short_rows and self.columns < 2:
            raise refusal("at least 2 columns for short rows")
        return self


class HoleCircle(Model):
    """A hole circle, full or partial. Hole 1 at ``first_deg`` from +X."""

    count: Count
    """How many holes; on a full circle they share 360 degrees, on a partial one the span runs from first to last."""
    diameter: PositiveLength
    """Diameter of the circle through the hole centres."""
    first_deg: Degrees = 0.0
    """Direction of hole 1 from the centre, anticlockwise from +X."""
    span_deg: Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=360)] = 360.0
    """Angle from the first hole to the last; 360 is the full circle."""
    clockwise: Flag = False
    """Number the holes clockwise."""


class HoleArc(Model):
    """Holes on an arc of a stated radius, from one angle to another, both ends included."""

    count: Count
    """How many holes."""
    radius: PositiveLength
    """Radius of the arc through the hole centres."""
    from_deg: Degrees
    """Direction of hole 1 from the centre, anticlockwise from +X."""
    to_deg: Degrees
    """Direction of the last hole; a smaller number than from_deg runs clockwise."""

    @model_validator(mode="after")
    def _not_closed(self) -> Self:
        turn = abs(self.to_deg - self.from_deg)
        if turn >= 360:
            raise refusal("less than a full turn from from_deg to to_deg", "For a full turn use circle.")
        if turn == 0 and self.count > 1:
            raise refusal("two different angles", "from_deg and to_deg are equal.", at=("to_deg",))
        return self


def _edge(value: Any) -> Any:
    if isinstance(value, str):
        if value.strip().lower() != "outline":
            raise refusal('"outline", or the numbers of sides such as [3]')
        return ()
    return (value,) if isinstance(value, int) else value


class Along(Model):
    """Holes along an edge or a line, at an offset to one side."""

    path: Path | None = None
    """The line: a list of points, a drawing, or a table."""
    edge: Annotated[
        tuple[Count, ...] | None,
        BeforeValidator(_edge),
        OrForm({"const": "outline"}, {"type": "integer", "minimum": 1}),
    ] = None
    """The body's own outline: "outline" for all of it, or numbers of its sides, counted from 1 as they are listed.
    It is travelled anticlockwise, so that a positive offset lies inside."""
    offset: Length = Field(default=Fraction(0))
    """Distance from the line, to the left of the direction of travel; negative to the right."""
    pitch: PositiveLength | None = None
    """From hole to hole along the offset line."""
    count: Count | None = None
    """How many holes, spread evenly between start and end."""
    start: NonNegativeLength = Field(default=Fraction(0))
    """Distance from the beginning of the line to hole 1."""
    end: NonNegativeLength = Field(default=Fraction(0))
    """Distance that stays free at the far end."""

    @model_validator(mode="after")
    def _whole(self) -> Self:
        exactly_one(self, "path", "edge", what="a row along a line")
        if self.pitch is None and self.count is None:
            raise refusal("pitch, count, or both, for a row along a line")
        return self


class DrawnCircles(DrawingFile):
    """The circles of a drawing, chosen by layer and diameter. Numbered by the order in which they are drawn."""

    diameter: PositiveLength | None = None
    """Only circles of this diameter."""
    diameter_within: NonNegativeLength | None = None
    """How far a circle's diameter may be from it; without it 0.01 mm."""
    order: Literal["drawn", "left to right", "bottom to top"] = "drawn"
    """How the holes are numbered."""

    @model_validator(mode="after")
    def _readable(self) -> Self:
        try_circles(self)
        return self


def _circles(value: Any) -> Any:
    return {"file": value} if isinstance(value, str) else value


class PatternShape(Model):
    """The points of a pattern: exactly one of the shapes below."""

    line: Line | None = None
    """A straight row."""
    grid: Grid | None = None
    """Rows and columns, straight or staggered."""
    circle: HoleCircle | None = None
    """A hole circle, full or partial."""
    arc: HoleArc | None = None
    """Holes on an arc."""
    points: tuple[XY, ...] | None = Field(default=None, min_length=1, max_length=MOST_HOLES)
    """Hole centres one by one; without place they are part coordinates."""
    along: Along | None = None
    """A row along an edge or a line; without place it lies where the line lies."""
    drawing: Annotated[
        DrawnCircles | None, BeforeValidator(_circles), OrForm({"type": "string", "description": "Name of a DXF file."})
    ] = None
    """Circles of a DXF file; without place they lie where the drawing puts them."""
    like: Name | None = None
    """The same spacing as another pattern or set of old holes, by its name."""
    off_centre: XY | None = None
    """Shift of every hole inside the pattern, on purpose: a pattern that is not to sit in the middle."""
    leave_out: tuple[HoleNumber, ...] = ()
    """Numbers of holes that are not made; the other numbers stay as they are."""

    @model_validator(mode="after")
    def _one_pattern(self) -> Self:
        exactly_one(
            self, "line", "grid", "circle", "arc", "points", "along", "drawing", "like", what="the points of a pattern"
        )
        count = self.known_count
        if count is not None and any(n > count for n in self.leave_out):
            raise refusal(f"hole numbers from 1 to {count}", at=("leave_out",))
        if count is not None and len(set(self.leave_out)) >= count:
            raise refusal("at least one hole that is left in", at=("leave_out",))
        return self

    @property
    def known_count(self) -> int | None:
        """How many holes the pattern numbers, or None where a drawing, a line or another pattern decides."""
        if self.line is not None:
            return self.line.count
        if self.grid is not None:
            fewer = self.grid.rows // 2 if self.grid.short_rows else 0
            return self.grid.columns * self.grid.rows - fewer
        if self.circle is not None:
            return self.circle.count
        if self.arc is not None:
            return self.arc.count
        if self.points is not None:
            return len(self.points)
        return None

    @property
    def needs_place(self) -> bool:
        """Whether the points lie in a frame of their own that only a placement puts onto the part."""
        return self.points is None and self.along is None and self.drawing is None
