"""Placement: how a pattern comes to lie on the part."""

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from holecam.job.quantities import (
    XY,
    Degrees,
    Flag,
    HoleNumber,
    Length,
    Model,
    Name,
    NonNegativeLength,
    OrForm,
    PositiveLength,
    PositiveNumber,
    exactly_one,
    given,
    refusal,
)
from holecam.job.trade_words import MethodName
from holecam.job.value_hints import number_hint

AXES: dict[str, float] = {"+x": 0.0, "x": 0.0, "+y": 90.0, "y": 90.0, "-x": 180.0, "-y": 270.0}


def _direction(value: Any) -> Any:
    if isinstance(value, str):
        name = value.strip().lower()
        if name not in AXES:
            raise refusal('"+x", "-x", "+y", "-y", an angle in degrees, or a table of two points', number_hint(value))
        return {"angle_deg": AXES[name]}
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return {"angle_deg": value}
    return value


class DirectionModel(Model):
    """A direction on the part: "+x", an angle in degrees anticlockwise from +X, or two points of an edge."""

    angle_deg: Degrees | None = None
    """Anticlockwise from +X."""
    start: XY | None = Field(default=None, alias="from")
    """First point picked on an edge of the part."""
    end: XY | None = Field(default=None, alias="to")
    """Second point; the direction runs from the first to the second."""

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        if self.angle_deg is not None and (self.start is not None or self.end is not None):
            raise refusal("an angle or two points, not both")
        if self.angle_deg is None and (self.start is None or self.end is None):
            raise refusal("angle_deg, or from and to")
        if self.start is not None and self.start == self.end:
            raise refusal("two different points", "from and to are the same.", at=("to",))
        return self


Direction = Annotated[
    DirectionModel,
    BeforeValidator(_direction),
    OrForm({"enum": ["+x", "-x", "+y", "-y"]}, {"type": "number", "minimum": -360, "maximum": 360}),
]


class FoundHole(Model):
    """One hole of the pattern and where it was found, or has to be."""

    hole: HoleNumber
    """Its number in the pattern."""
    at: XY
    """Where it is."""
    found_by: MethodName | None = None
    """How it was found: a method from the table, such as "edge finder"."""
    within: NonNegativeLength | None = None
    """It is surely within plus or minus this; overrides the table."""
    weight: PositiveNumber | None = None
    """Its say in a best fit; without it every hole counts by how surely it was found."""


class Moved(Model):
    """The place of old holes, or of another pattern, moved."""

    start: Name = Field(alias="from")
    """Name of the old holes or pattern that is moved: hole n goes where its hole n goes. Say like = the same name."""
    shift: XY | None = None
    """How far along X and Y."""
    by: Name | None = None
    """Name of a [[chain]]: the shift that its sections call for."""
    turn_deg: Degrees = 0.0
    """Turn, anticlockwise, before the shift."""
    about: XY | None = None
    """Point about which it turns and mirrors; without it hole 1 where it lies now."""
    about_hole: HoleNumber | None = None
    """Number of the hole about which it turns and mirrors."""
    mirror: Literal["x", "y"] | None = None
    """Mirror before turning: "x" changes the sign of x about the point or hole, "y" the sign of y."""

    @model_validator(mode="after")
    def _moves(self) -> Self:
        if self.shift is not None and self.by is not None:
            raise refusal("shift or by, not both", at=("by",))
        if self.about is not None and self.about_hole is not None:
            raise refusal("about or about_hole, not both", at=("about_hole",))
        if self.shift is None and self.by is None and self.turn_deg == 0.0 and self.mirror is None:
            raise refusal("a shift, a turn or a mirror", "As written the holes stay where they are.")
        return self


class Place(Model):
    """Where a pattern lies: exactly one of at, centre, measured or moved."""

    at: XY | None = None
    """Where the reference hole was found, or has to be."""
    hole: HoleNumber = 1
    """Number of the reference hole, beside at."""
    centre: XY | None = None
    """Where the centre of a hole circle, arc or grid lies."""
    measured: tuple[FoundHole, ...] | None = Field(default=None, min_length=2, max_length=1000)
    """Two holes: their line gives the direction, the misfit of their distance is told. Three or more: best fit."""
    moved: Moved | None = None
    """The place of old holes, moved."""
    along: Direction | None = None
    """Direction of the pattern's own X on the part; without it +x."""
    mirror: Flag = False
    """Mirror the pattern in its own frame before placing it (its y changes sign)."""
    found_by: MethodName | None = None
    """How the reference was found: a method from the table, such as "edge finder" or "scribed line, by eye"."""
    within: NonNegativeLength | None = None
    """The reference is surely within plus or minus this; overrides the table."""
    free: Literal["x", "y", "xy"] = "xy"
    """In which direction the pattern may still be moved."""
    free_along: Direction | None = None
    """One free direction that is neither X nor Y."""
    turn_free_deg: Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=45)] = 0.0
    """How far the pattern may also be turned, either way."""
    when_blocked: Literal["stop", "nearest", "roomiest"] = "stop"
    """When the wanted place fails: stop and say so, take the nearest allowed place, or the one with the most room."""
    furthest: PositiveLength | None = None
    """How far it may be moved at most."""

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        exactly_one(self, "at", "centre", "measured", "moved", what="a place")
        if self.at is None and "hole" in self.model_fields_set:
            raise refusal("hole only beside at", at=("hole",))
        if self.along is not None and self.at is None and self.centre is None:
            hint = "Measured holes and moved holes bring their own direction."
            raise refusal("along only beside at or centre", hint, at=("along",))
        if self.mirror and self.moved is not None:
            raise refusal('mirror = "x" or "y" inside moved', "Write it there.", at=("mirror",))
        if self.measured is not None:
            self._check_measured(self.measured)
        if self.free_along is not None and self.free != "xy":
            raise refusal("free or free_along, not both", at=("free_along",))
        return self

    def _check_measured(self, measured: tuple[FoundHole, ...]) -> None:
        numbers = [m.hole for m in measured]
        for number in numbers:
            if numbers.count(number) > 1:
                raise refusal("each hole once", f"Hole {number} is there twice; give its mean.", at=("measured",))
        spots = [m.at for m in measured]
        if len(set(spots)) < len(spots):
            raise refusal("different places for different holes", at=("measured",))
        extra = given(self, "found_by", "within")
        if extra and all(m.found_by or m.within is not None for m in measured):
            raise refusal(f"{extra[0]} beside the place or beside each hole, not both", at=extra[:1])


class Candidate(Model):
    """Another place to weigh against the first: a place of its own, or the first one moved."""

    name: Name
    """What to call it."""
    place: Place | None = None
    """A place of its own."""
    shift: XY | None = None
    """The pattern's place moved by this."""
    turn_deg: Degrees = 0.0
    """The pattern's place turned about its reference, anticlockwise."""

    @model_validator(mode="after")
    def _differs(self) -> Self:
        if self.place is not None and (self.shift is not None or self.turn_deg):
            raise refusal("place, or shift and turn_deg, not both")
        if self.place is None and self.shift is None and not self.turn_deg:
            raise refusal("place, shift or turn_deg")
        return self


class MirrorCopy(Model):
    """The same pattern once more on this part, mirrored about a line across it."""

    across: Literal["x", "y"]
    """"x" puts the copy at the other side along X (the mirror line is upright), "y" along Y."""
    line_at: Length = Field(alias="line")
    """Where the mirror line lies, as an x or y."""
    name: Name | None = None
    """Name of the copy; without it the pattern's name and "mirrored"."""
