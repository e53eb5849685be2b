"""The part and other bodies, what surrounds the holes, and limits that the job sets for itself."""

from fractions import Fraction
from typing import Literal, Self

from pydantic import Field, model_validator

from holecam.job.models_shape import MOST_POINTS, Drawing, Path, Region, RegionModel, Step, check_region
from holecam.job.quantities import (
    XY,
    Degrees,
    Flag,
    Length,
    Model,
    Name,
    NonNegativeLength,
    PositiveLength,
    PositiveNumber,
    Text,
    exactly_one,
    refusal,
)
from holecam.job.shape_trials import try_region
from holecam.job.trade_words import LimitName, MaterialName

Service = Literal["none", "pressure", "steam", "gas", "lifting", "brakes", "aircraft", "food", "oxygen", "vacuum"]
"""What the part is for, where a code or licensed practice may decide instead of this tool."""


class BodyModel(Model):
    """A piece of material with an outline."""

    material: MaterialName
    """What it is made of: a material of the table, such as "brass", "copper", "mild steel", "beech"."""
    thickness: PositiveLength
    """Thickness where it is worked."""
    temper: Literal["soft", "half hard", "hard"] | None = None
    """Condition of the metal; soldering and brazing leave copper and brass soft. Without it the
    softer one that the table knows."""
    outline: Region | None = None
    """Its edge seen from above."""
    openings: tuple[Region, ...] = Field(default=(), max_length=200)
    """Windows cut through it."""
    top_z: Length = Field(default=Fraction(0))
    """Height of its top face; without it 0."""
    datum: Text = ""
    """What X0 Y0 is, in words: "left end and rear edge of the rail"."""
    face_up: Text = ""
    """Which face is up, and one tell-tale to see it by."""


class Part(BodyModel):
    """The part that is drilled."""

    service: Service = "none"
    """What it is for: pressure, lifting and the like are left to the code and to licensed practice."""


class Body(BodyModel):
    """Another piece worked in the same job, such as the former."""

    name: Name
    """What to call it; slots, pockets and keep-outs refer to it by in."""


class KeepOut(Model):
    """Something to stay away from: exactly one of rectangle, circle, points, drawing or line."""

    name: Name
    """What to call it."""
    kind: Literal["keep-out", "bend", "joint", "pocket", "wall", "seat", "clamp", "curve", "sheet"] = "keep-out"
    """What it is; bends and joints bring limits of their own."""
    body: Name | None = Field(default=None, alias="in")
    """Name of the [[body]] on which it lies; without it the part."""
    rectangle: tuple[PositiveLength, PositiveLength] | None = None
    """Width along X and height along Y."""
    circle: PositiveLength | None = None
    """Diameter."""
    points: tuple[Step, ...] | None = Field(default=None, min_length=2, max_length=MOST_POINTS)
    """Steps round its edge."""
    drawing: Drawing | None = None
    """A closed outline in a DXF file."""
    line: Path | None = None
    """A line with no inside, such as a bend line or a curve that keeps its shape."""
    width: NonNegativeLength | None = None
    """Width of the line, half to each side; without it 0."""
    at: XY | None = None
    """Lower left corner of the rectangle."""
    centre: XY | None = None
    """Centre of the rectangle or circle."""
    corner_radius: NonNegativeLength | None = None
    """Radius of the rectangle's corners."""
    turn_deg: Degrees = 0.0
    """Turn of the rectangle, anticlockwise."""
    from_z: Length | None = None
    """Lower end of the heights it fills; without it everything below to_z."""
    to_z: Length | None = None
    """Upper end of the heights it fills; without it everything above from_z."""
    margin: NonNegativeLength | None = None
    """Distance to keep from it; without it the usual one for its kind."""
    radius: PositiveLength | None = None
    """Inside radius of a bend whose line is where the inside faces meet: the bend begins this far to each side of it.
    Without it the line is where the bend begins."""

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        exactly_one(self, "rectangle", "circle", "points", "drawing", "line", what="a keep-out")
        if self.width is not None and self.line is None:
            raise refusal("width only beside line", at=("width",))
        if self.from_z is not None and self.to_z is not None and self.from_z >= self.to_z:
            raise refusal("from_z below to_z", "z points up.", at=("from_z",))
        if self.radius is not None and self.kind != "bend":
            raise refusal('radius only beside kind = "bend"', at=("radius",))
        if self.radius is not None and self.line is None:
            raise refusal(
                "radius only beside line", "A closed shape says itself how far the bend reaches.", at=("radius",)
            )
        if self.region is not None:
            check_region(self.region)
            try_region(self.region)
        return self

    @property
    def region(self) -> Region | None:
        """The closed shape, or None for a line."""
        if self.line is not None:
            return None
        return Region.model_construct(**{n: getattr(self, n) for n in RegionModel.model_fields})


class Limit(Model):
    """A limit of the checks that this job sets for itself, with the reason that is printed."""

    of: LimitName
    """Which limit: edge-distance, edge-metal, web, plug-wall, bend-distance, head-clearance, blind-floor, play..."""
    least: NonNegativeLength | None = None
    """Not less than this length."""
    least_diameters: PositiveNumber | None = None
    """Not less than this many diameters of the hole."""
    pattern: Name | None = None
    """Only for the pattern, slot or pocket of this name."""
    severity: Literal["caution", "stop"] = "stop"
    """What falling short means."""
    accept: Flag = False
    """Take the usual limit as met, whatever it says: a finding is still printed, with the reason."""
    reason: Text
    """Why; printed with every finding that it changes."""

    @model_validator(mode="after")
    def _one_limit(self) -> Self:
        if self.of == "play" and self.least is None:
            raise refusal(
                "least, a length",
                "Play is a length that has to be left; it cannot be accepted or counted in diameters.",
                at=("of",),
            )
        if self.accept:
            if self.least is not None or self.least_diameters is not None:
                raise refusal("accept or a limit, not both", at=("accept",))
        else:
            exactly_one(self, "least", "least_diameters", what="a limit")
        if not self.reason:
            raise refusal("a reason", "It is printed with the findings.", at=("reason",))
        return self


class OtherHand(Model):
    """The mirrored part of a pair, left and right: a separate sheet, never reversed signs."""

    hand: Text
    """Its hand in words: "right as fitted; notch at the right rear"."""
    flip: Literal["x", "y"] = "x"
    """Which coordinate changes sign."""
    datum: Text = ""
    """What X0 Y0 is on it."""
