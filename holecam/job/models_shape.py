"""Shapes as a job states them: regions with an edge, paths that stay open, and drawings to take them from."""

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from holecam.job.quantities import (
    XY,
    Degrees,
    Flag,
    Model,
    Name,
    NonNegativeLength,
    OrForm,
    OrText,
    PositiveLength,
    exactly_one,
    given,
    refusal,
)
from holecam.job.shape_trials import try_path, try_region

Turn = Literal["left", "right"]
"""Which way an arc bends as one travels along it: left is anticlockwise seen from above."""

MOST_POINTS = 20_000
"""Points of one listed outline or path."""


def _corner(value: Any) -> Any:
    return {"to": value} if isinstance(value, (list, tuple)) else value


class Corner(Model):
    """One step of a listed outline or path: straight to a point, or along an arc to a point.

    ``[x, y]`` alone means ``{ to = [x, y] }``.
    """

    to: XY | None = None
    """Go straight to this point."""
    rounded: PositiveLength | None = None
    """Radius that rounds the corner at ``to``."""
    arc_to: XY | None = None
    """Go along an arc to this point; give centre, through, or radius as well."""
    centre: XY | None = None
    """Centre of the arc."""
    through: XY | None = None
    """A point in the middle of the arc, as picked up on the part."""
    radius: PositiveLength | None = None
    """Radius of the arc; the shorter of the two arcs is meant unless long_way is true."""
    turn: Turn | None = None
    """Which way the arc bends as one travels along it: left is anticlockwise seen from above."""
    long_way: Flag = False
    """With radius: take the longer of the two arcs."""

    @model_validator(mode="after")
    def _agree(self) -> Self:
        exactly_one(self, "to", "arc_to", what="a step of an outline")
        if self.to is not None:
            extra = given(self, "centre", "through", "radius", "turn")
            if extra:
                raise refusal("arc_to beside " + " and ".join(extra), 'A straight step has "to" alone.')
            return self
        if self.rounded is not None:
            raise refusal("rounded only beside to", "An arc has no corner to round here.", at=("rounded",))
        exactly_one(self, "centre", "through", "radius", what="an arc")
        if self.through is None and self.turn is None:
            raise refusal('turn = "left" or "right" for an arc', "Left is anticlockwise seen from above.")
        if self.through is not None and self.turn is not None:
            raise refusal("no turn beside through", "The point in the middle says which way it bends.", at=("turn",))
        return self


Step = Annotated[
    Corner,
    BeforeValidator(_corner),
    OrForm({"type": "array", "minItems": 2, "maxItems": 2, "items": {"type": ["string", "number"]}}),
]


def _drawing(value: Any) -> Any:
    return {"file": value} if isinstance(value, str) else value


class DrawingFile(Model):
    """A DXF file beside the job, and what to take from it."""

    file: Name
    """File name, from the folder of the job."""
    layer: Name | None = None
    """Only what lies on this layer."""
    drawing_unit: Literal["in", "mm", "cm"] | None = None
    """What a number in the drawing means; needed when the drawing does not say."""
    overrule_unit: Flag = False
    """Believe drawing_unit even where the drawing says otherwise."""
    gap: NonNegativeLength | None = None
    """Loose ends nearer than this are joined; without it 0.01 mm."""
    tolerance: PositiveLength | None = None
    """How far the lines that replace a spline or ellipse may lie from it; without it 0.005 mm."""
    shift: XY | None = None
    """Where the drawing's origin lies on the part."""
    turn_deg: Degrees = 0.0
    """Turn of the drawing about its origin, anticlockwise, before the shift."""
    mirror: Flag = False
    """Mirror the drawing, x to -x, before turn and shift."""


Drawing = Annotated[DrawingFile, BeforeValidator(_drawing), OrText("Name of a DXF file beside the job.")]


class RegionModel(Model):
    """A closed shape: exactly one of rectangle, circle, points or drawing."""

    rectangle: tuple[PositiveLength, PositiveLength] | None = None
    """Width along X and height along Y; its lower left corner lies at 0, 0 unless at or centre says otherwise."""
    circle: PositiveLength | None = None
    """Diameter."""
    points: tuple[Step, ...] | None = Field(default=None, min_length=2, max_length=MOST_POINTS)
    """Steps round the edge; the last one is joined to the first by a straight line."""
    drawing: Drawing | None = None
    """A closed outline in a DXF file."""
    at: XY | None = None
    """Lower left corner of the rectangle."""
    centre: XY | None = None
    """Centre of the rectangle or circle."""
    corner_radius: NonNegativeLength | None = None
    """Radius of the rectangle's corners."""
    turn_deg: Degrees = 0.0
    """Turn of the rectangle about its corner (at) or centre, anticlockwise."""

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        exactly_one(self, "rectangle", "circle", "points", "drawing", what="a shape")
        check_region(self)
        try_region(self)
        return self


def check_region(region: RegionModel) -> None:
    """Refuse keys that do not go together in a shape."""
    if region.rectangle is None:
        for key in given(region, "at", "corner_radius"):
            raise refusal(f"{key} only beside rectangle", "Points and drawings say where they are.", at=(key,))
        if region.turn_deg:
            raise refusal("turn_deg only beside rectangle", at=("turn_deg",))
    elif region.at is not None and region.centre is not None:
        raise refusal("at or centre, not both", at=("centre",))
    elif region.corner_radius is not None and 2 * region.corner_radius > min(region.rectangle):
        raise refusal("a corner radius of at most half the shorter side", at=("corner_radius",))
    if region.circle is None and region.rectangle is None and region.centre is not None:
        raise refusal("centre only beside rectangle or circle", at=("centre",))
    if region.circle is not None and region.centre is None:
        raise refusal("centre beside circle", 'Add centre = ["...", "..."].')
    if region.points is not None and region.points[0].to is None:
        raise refusal("a plain point first", "An arc needs a point to start from.", at=("points", 0))
    if region.points is not None and len(region.points) == 2 and all(p.to is not None for p in region.points):
        raise refusal("at least 3 points, or an arc among them", at=("points",))


class Region(RegionModel):
    """A closed shape."""


class PathModel(Model):
    """An open line: exactly one of points or drawing."""

    points: tuple[Step, ...] | None = Field(default=None, min_length=2, max_length=MOST_POINTS)
    """Steps along the line, the first one a plain point."""
    drawing: Drawing | None = None
    """One open line in a DXF file."""

    @model_validator(mode="after")
    def _one_path(self) -> Self:
        exactly_one(self, "points", "drawing", what="a line")
        if self.points is not None and self.points[0].to is None:
            raise refusal("a plain point first", "An arc needs a point to start from.", at=("points", 0))
        try_path(self)
        return self


def _path(value: Any) -> Any:
    if isinstance(value, str):
        return {"drawing": value}
    return {"points": value} if isinstance(value, (list, tuple)) else value


Path = Annotated[
    PathModel,
    BeforeValidator(_path),
    OrForm({"type": "string", "description": "Name of a DXF file beside the job."}, {"type": "array", "minItems": 2}),
]
"""A path written as a list of steps, as the name of a drawing, or as a table."""
