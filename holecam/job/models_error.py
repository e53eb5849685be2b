"""Finding the error: chains of drawn and measured sizes, and marking out what has to come off."""

from fractions import Fraction
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from holecam.job.models_place import Direction
from holecam.job.models_shape import Region
from holecam.job.quantities import (
    Degrees,
    Flag,
    Length,
    Model,
    Name,
    Names,
    NonNegativeLength,
    OrSingle,
    Percent,
    PositiveLength,
    one_or_many,
    refusal,
    unit_of_bare_numbers,
)
from holecam.job.trade_words import InstrumentName
from holecam.lengths import length_text

Measured = Annotated[
    tuple[Length, ...],
    BeforeValidator(one_or_many),
    OrSingle(),
]
"""One reading, or several repeated ones."""


FORMED_APART = Fraction(2)
"""mm. Readings of one length on formed sheet may honestly differ by this much, however short the length is."""


def _refuse_comma(readings: tuple[Fraction, ...], key: str) -> None:
    """Refuse readings of one length that cannot both be it: ``[25,1]`` was meant as 25.1."""
    if 2 * min(readings) < max(readings) - FORMED_APART:
        few, many = (length_text(size, unit_of_bare_numbers() or "mm") for size in (min(readings), max(readings)))
        raise refusal(
            "readings of one and the same length",
            f"{few} and {many} cannot both be it. Decimals have a point; several readings stand in [ ] with commas.",
            at=(key,),
        )


class Section(Model):
    """One section of a chain, as drawn and perhaps as measured."""

    name: Name
    """What to call it."""
    drawn: PositiveLength
    """Its length on the drawing; along the slope where it slopes."""
    slope_deg: Degrees = 0.0
    """Angle to the chain's direction on the drawing."""
    measured: Measured | None = None
    """What was measured along it, once or several times."""
    instrument: InstrumentName | None = Field(default=None, alias="with")
    """With what: "steel rule", "calliper", "height gauge", "tape", "micrometer"."""
    within: NonNegativeLength | None = None
    """A reading is surely within plus or minus this; overrides the table."""
    measured_slope_deg: Degrees | None = None
    """Angle as measured."""
    slope_within_deg: Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=45)] | None = None
    """The measured angle is surely within plus or minus this."""
    process: NonNegativeLength | None = None
    """How far this section may honestly come out different when made; overrides the chain's."""

    @model_validator(mode="after")
    def _how(self) -> Self:
        if self.measured is not None and self.instrument is None and self.within is None:
            raise refusal('with = "an instrument", or within, beside measured', at=("measured",))
        if self.measured is None and self.instrument is not None:
            raise refusal("measured beside with", at=("with",))
        if self.measured is not None and any(m <= 0 for m in self.measured):
            raise refusal("measured lengths above zero", at=("measured",))
        if self.measured:
            _refuse_comma(self.measured, "measured")
        return self


class Reading(Model):
    """A size measured over several sections: a sub-total or the overall size."""

    name: Name | None = None
    """What to call it."""
    of: Names = ()
    """Names of the sections that it spans; without it all."""
    is_: Measured = Field(alias="is")
    """What was measured, once or several times."""
    instrument: InstrumentName | None = Field(default=None, alias="with")
    """With what."""
    within: NonNegativeLength | None = None
    """A reading is surely within plus or minus this; overrides the table."""
    across: Literal["along", "square", "straight"] = "along"
    """Along the chain's direction, square to it (the rise of sloped sections), or straight from end to end."""

    @model_validator(mode="after")
    def _how(self) -> Self:
        if self.instrument is None and self.within is None:
            raise refusal('with = "an instrument", or within, beside is', at=("is",))
        if self.is_ and self.across != "square":  # a rise may be near zero, or below it
            _refuse_comma(self.is_, "is")
        return self


class Chain(Model):
    """A chain of sections, drawn and measured: where is the error, and how far does it move the holes?"""

    name: Name
    """What to call it; moved = { by = ... } refers to it."""
    sections: tuple[Section, ...] = Field(alias="section", min_length=1, max_length=200)
    """The sections, in order from the datum."""
    readings: tuple[Reading, ...] = Field(default=(), alias="reading", max_length=500)
    """Sub-totals and overall sizes."""
    along: Direction | None = None
    """Direction of the chain on the part; without it +x."""
    process: NonNegativeLength | None = None
    """How far a section may honestly come out different when made."""
    moves: Names | None = None
    """Sections that lie between the datum and the holes: their errors move the holes. Without it all."""
    significance_percent: Percent | None = None
    """Chance of a false alarm that is taken; without it 0.1."""

    @model_validator(mode="after")
    def _known(self) -> Self:
        names = [s.name for s in self.sections]
        for n, name in enumerate(names):
            if name in names[:n]:
                raise refusal("a different name for each section", at=("section", n, "name"))
        places: list[tuple[tuple[str | int, ...], Names]] = [
            (("reading", n, "of"), reading.of) for n, reading in enumerate(self.readings)
        ]
        for where, wanted in [*places, (("moves",), self.moves or ())]:
            for name in wanted:
                if name not in names:
                    hint = f'There is no section "{name}".'
                    raise refusal(f"names of sections: {', '.join(names)}", hint, at=where)
        if not self.readings and all(s.measured is None for s in self.sections):
            raise refusal("at least one measured size")
        return self


class HeldEdge(Model):
    """One edge that is good: the two outlines are laid on each other there."""

    drawn: Annotated[int, Field(strict=True, ge=1)]
    """Number of the edge in the drawn outline, counted from 1 in its order."""
    made: Annotated[int, Field(strict=True, ge=1)]
    """Number of the edge in the outline as made."""


class MarkingOut(Model):
    """Drawn outline against outline as made: what has to come off, and where it is missing."""

    name: Name
    """What to call it."""
    drawn: Region
    """The outline that is wanted."""
    made: Region
    """The outline as it is."""
    held_at: tuple[HeldEdge, ...] = Field(min_length=1, max_length=20)
    """Edges that are good."""
    stations: PositiveLength | None = None
    """Distance between the stations of the table; without it a tenth of the length."""
    along: Literal["x", "y"] = "x"
    """Direction in which the stations follow each other."""
    back_too: Flag = True
    """A second, mirrored table for marking out from the back."""
    within: NonNegativeLength | None = None
    """The outline as made is surely known within plus or minus this."""
