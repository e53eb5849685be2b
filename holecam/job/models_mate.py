"""The part that is screwed on: its holes as drawn and as measured, and the screws."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from holecam.job.models_hole import Fit, Head, check_place
from holecam.job.models_pattern import PatternShape
from holecam.job.models_place import Place
from holecam.job.quantities import (
    Degrees,
    Flag,
    HoleNumber,
    Length,
    Model,
    Name,
    NonNegativeLength,
    PositiveLength,
    exactly_one,
    refusal,
)
from holecam.job.trade_words import ThreadName


class Slotted(Model):
    """A hole drawn out into a slot."""

    length: PositiveLength
    """Overall length, from round end to round end."""
    along: Degrees = 0.0
    """Direction of the slot, degrees anticlockwise from +X."""


class MeasuredMateHole(Model):
    """One hole of the mating part as it really is."""

    hole: HoleNumber
    """Its number."""
    at: tuple[Length, Length] | None = None
    """Where it was measured, in the mating part's own coordinates."""
    off: tuple[Length, Length] | None = None
    """How far it is from its drawn place."""
    diameter: PositiveLength | None = None
    """Its own diameter."""
    slotted: Slotted | None = None
    """Drawn out into a slot."""

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if self.at is not None and self.off is not None:
            raise refusal("at or off, not both", at=("off",))
        if self.at is None and self.off is None and self.diameter is None and self.slotted is None:
            raise refusal("at, off, diameter or slotted")
        return self


class MateHoles(PatternShape):
    """The holes of the mating part, numbered as the screws are."""

    place: Place | None = None
    """Where they lie in the mating part's own coordinates; without it the pattern's own frame."""
    diameter: PositiveLength | None = None
    """Diameter of clearance holes."""
    clearance_for: ThreadName | None = None
    """Screw whose clearance hole they are."""
    fit: Fit | None = None
    """Class of that clearance hole; without it normal."""
    thread: ThreadName | None = None
    """They are tapped, and the clearance holes are on this part."""
    slotted: Slotted | None = None
    """They are slots."""

    @model_validator(mode="after")
    def _sized(self) -> Self:
        exactly_one(self, "diameter", "clearance_for", "thread", what="the size of the mating holes")
        if self.fit is not None and self.clearance_for is None:
            raise refusal("fit only beside clearance_for", at=("fit",))
        check_place(self, self.place)
        return self


class Mate(Model):
    """The part that is screwed on: will every screw enter?"""

    name: Name = "mating part"
    """What to call it."""
    pattern: Name
    """Name of the pattern that meets it."""
    holes: MateHoles
    """Its holes."""
    measured: tuple[MeasuredMateHole, ...] = Field(default=(), max_length=1000)
    """Those of its holes that were measured."""
    screw_diameter: PositiveLength | None = None
    """Diameter of the screw's shank; without it the thread's major diameter."""
    head: Head | None = None
    """Head of the screws: flat heads centre themselves and leave no play. Without it that of the pattern."""
    lean_deg: Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=15)] = 0.0
    """How far a tapped hole may lean; tapping by hand leans 1 to 2 degrees (common practice)."""
    thickness: PositiveLength | None = None
    """Thickness of the plate with the clearance holes: what a lean costs."""
    located: Literal["free", "fixed"] = "free"
    """Free: the parts find their best place. Fixed: pins or edges hold them, and only the drawn place counts."""
    holes_within: NonNegativeLength | None = None
    """The mating holes are surely within plus or minus this of their stated places."""
    may_open: Flag = True
    """Whether a hole may be opened to make it go together."""
    when_tight: Literal["stop", "open"] = "stop"
    """When it does not go together: stop and say what would help, or open the hole that costs the least metal."""
