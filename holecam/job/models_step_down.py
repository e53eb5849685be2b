"""Step-downs: milling an attached piece away, down to a thin sheet that is never touched."""

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from holecam.job.models_error import Measured
from holecam.job.models_shape import Path, Region
from holecam.job.quantities import (
    XY,
    Degrees,
    Flag,
    Length,
    Model,
    Name,
    NonNegativeLength,
    OrSingle,
    Percent,
    PositiveLength,
    PositiveNumber,
    Text,
    exactly_one,
    given,
    one_or_many,
    refusal,
)
from holecam.job.trade_words import BondName, MaterialName, TouchName

MOST_SOLDER_G = 10_000
"""Grams of solder in one joint: more is a slip of the unit."""

BARE_SHEET = "bare sheet"
"""What a touch on the protected sheet beside the bar is said to be on."""


class SolderUsed(Model):
    """Thickness of a bonding layer from the solder that went into it: wire measured, or weighed before and after."""

    wire_length: PositiveLength | None = None
    """Length of wire that was used."""
    wire_diameter: PositiveLength | None = None
    """Diameter of the wire."""
    mass_g: Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=MOST_SOLDER_G)] | None = None
    """Instead of length and diameter: grams that were used, without the flux."""
    joint: tuple[PositiveLength, PositiveLength]
    """Length and width of the joint."""
    lost_percent: Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, lt=100)] = 0.0
    """Share that ran out or was wiped off."""

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        wire = given(self, "wire_length", "wire_diameter")
        if self.mass_g is not None and wire:
            raise refusal("wire_length and wire_diameter, or mass_g", f"It has {' and '.join((*wire, 'mass_g'))}.")
        if self.mass_g is None and len(wire) < 2:
            found = f"It has {wire[0]} alone." if wire else "It has none of them."
            raise refusal("wire_length and wire_diameter, or mass_g", found)
        return self


class Layer(Model):
    """One layer of the stack."""

    name: Name = Field(alias="is")
    """What it is: "brass rail", "soft solder", "copper hood"."""
    thick: PositiveLength | None = None
    """Its thickness."""
    within: NonNegativeLength | None = None
    """Its thickness is surely within plus or minus this; a bonding layer has usual figures."""
    measured: Measured | None = None
    """Its thickness, or that of it and all layers under it (see measured_with), measured at several places."""
    measured_over: Literal["this layer", "this and all below"] = "this layer"
    """What the measured figures span."""
    solder: SolderUsed | None = None
    """Its thickness from the solder used."""
    keep: Flag = False
    """The sheet that may never be touched."""
    bond: BondName | None = None
    """It is the bonding layer: "soft solder", "silver braze", "epoxy"; seen from its name when left out."""
    material: MaterialName | None = None
    """What it is made of, for speeds and cautions; recognised from its name when left out."""
    colour: Text = ""
    """What the eye sees when it shows; usual colours are known."""

    @model_validator(mode="after")
    def _one_thickness(self) -> Self:
        ways = given(self, "thick", "measured", "solder")
        if len(ways) > 1:
            raise refusal("one of thick, measured or solder", f"It has {' and '.join(ways)}.")
        if self.measured is not None and any(m <= 0 for m in self.measured):
            raise refusal("measured thicknesses above zero", at=("measured",))
        return self


class Touch(Model):
    """How the height was touched off."""

    on: Name
    """Name of the layer whose top was touched, or "bare sheet" for the protected sheet beside the bar."""
    tool: TouchName = Field(alias="with")
    """With what: "paper", "foil", "feeler", "ink", "lamp", "setter"."""
    offset: NonNegativeLength | None = None
    """Thickness between cutter and face; without it the usual one."""
    within: NonNegativeLength | None = None
    """The touch is surely within plus or minus this; without it the usual one."""
    at: XY | None = None
    """Where on the part it was touched."""
    reads: Length | None = None
    """Z as the readout shows it at this touch, where there are two; without it 0 for the first one."""


class Bend(Model):
    """The inside bend that the cutter has to stay clear of."""

    inside_radius: Measured
    """Inside radius of the bend, or several measured ones: the largest counts."""
    margin: NonNegativeLength
    """Sideways margin for wall, runout, spring and backlash."""
    gap: PositiveLength | None = None
    """Gap that may never be lost, square to the surface; without it the gap planned between floor and sheet."""
    along: Path | None = None
    """Where the wall's face stands, seen from above; the cut lies to the left of the direction of travel."""
    cut_side: Literal["left", "right"] = "left"
    """On which side of that line the cut lies."""
    wall_within: NonNegativeLength | None = None
    """The wall's place is surely within plus or minus this."""
    wall_height: PositiveLength | None = None
    """How far the wall stands up; without it above the cutter's holder."""

    @model_validator(mode="after")
    def _radius(self) -> Self:
        if any(r < 0 for r in self.inside_radius):
            raise refusal("an inside radius of zero or more", at=("inside_radius",))
        return self


class Look(Model):
    """What was seen at a height while the work went on."""

    at_z: Length | None = None
    """Height at which one looked, from the touched face; negative below it."""
    at_depth: NonNegativeLength | None = None
    """The same as a depth below the touched face."""
    seen: Literal["bar", "layer", "sheet"]
    """Still the bar's metal, the bonding layer showing, or the sheet."""

    @model_validator(mode="after")
    def _one_height(self) -> Self:
        exactly_one(self, "at_z", "at_depth", what="the height of a look")
        return self


def _layer_as_spelled(data: Any) -> Any:
    """Return a step-down whose touches name their layer as the stack spells it: capitals make no other layer."""
    layers = data.get("layers") if isinstance(data, dict) else None
    if not isinstance(layers, (list, tuple)):
        return data
    spelled = {_plain(n): n for n in (x.get("is") for x in layers if isinstance(x, dict)) if isinstance(n, str)}
    spelled[BARE_SHEET] = BARE_SHEET
    for key in ("touch", "touch_far"):
        touch = data.get(key)
        on = touch.get("on") if isinstance(touch, dict) else None
        if isinstance(touch, dict) and isinstance(on, str) and _plain(on) in spelled:
            data = {**data, key: {**touch, "on": spelled[_plain(on)]}}
    return data


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


class StepDown(Model):
    """A step-down: the stack, how surely it is known, and how to come down to it."""

    name: Name
    """What to call it."""
    layers: tuple[Layer, ...] = Field(alias="layers", min_length=2, max_length=20)
    """The stack, top down; one layer, the sheet, has keep = true."""
    touch: Touch
    """How the height was touched off."""
    touch_far: Touch | None = None
    """A second touch at the far end: the difference is the wedge."""
    wedge: NonNegativeLength | None = None
    """Tilt over the length of the cut, when it is known without a second touch."""
    machine_within: NonNegativeLength | None = None
    """A height of the machine is surely within plus or minus this; without it that of the machine."""
    high_spot: NonNegativeLength | None = None
    """How far the sheet's highest place stands above its mean (hammer marks, a bulge); without it 0."""
    supported_by: Text = ""
    """What backs the sheet: "its former", "nothing under the last inch"."""
    held: Literal["clamped", "by the sheet"] = "clamped"
    """Whether clamps hold the bar, or the sheet itself: then light cuts only."""
    method: Literal["usual", "worst"] = "usual"
    """Doubts added as root of the sum of squares, or all at their worst."""
    k: PositiveNumber | None = None
    """How many standard doubts lie between the sheet and the hard floor; without it 3."""
    contact_percent: Percent | None = None
    """Chance of contact from which every pass is a stop; without it 0.1 percent."""
    floor: Literal["into the layer", "above the layer"] | None = None
    """How far down is aimed at; without it into the bonding layer."""
    skin: NonNegativeLength | None = None
    """Thickness of the bonding layer to leave on the sheet."""
    floor_margin: NonNegativeLength | None = None
    """How far the planned floor stays above the hard floor; without it one readout step."""
    floor_z: Length | None = None
    """A floor that you want instead of the planned one, as the readout shows it; below the hard floor it stops the
    plan."""
    least_chip: PositiveLength | None = None
    """No pass thinner than this, unless tail says so: a thinner one rubs; without it 0.005 mm."""
    rough_step: PositiveLength | None = None
    """Greatest depth of a roughing pass; without it what the set-up bears."""
    tail: Annotated[tuple[PositiveLength, ...], BeforeValidator(one_or_many), OrSingle()] | None = Field(
        default=None, max_length=50
    )
    """The last passes, largest first; without it ... 0.001 in, then 0.0005 in."""
    looks: tuple[Look, ...] = Field(default=(), alias="look", max_length=200)
    """Answers so far."""
    bends: Annotated[tuple[Bend, ...], BeforeValidator(one_or_many), OrSingle()] = Field(
        default=(), alias="bend", max_length=20
    )
    """Inside bends beside the cut."""
    region: Region | None = None
    """What has to be cleared, seen from above."""
    open_sides: tuple[Annotated[int, Field(strict=True, ge=1)], ...] = ()
    """Numbers of the region's sides where the cutter may run out."""
    cutter: Name | None = None
    """End mill to use, by name."""
    climb: Flag = False
    """Climb milling; conventional is the default over thin sheet."""
    step_over: PositiveLength | None = None
    """Sideways step; without it what the set-up bears."""
    feed_deg: Degrees | None = None
    """Direction of the passes; without it along the bend."""
    notes: Text = ""
    """Anything else; printed."""

    @model_validator(mode="before")
    @classmethod
    def _spelled(cls, data: Any) -> Any:
        return _layer_as_spelled(data)

    @model_validator(mode="after")
    def _sensible(self) -> Self:
        kept = [n for n, layer in enumerate(self.layers) if layer.keep]
        names = [layer.name for layer in self.layers]
        if not kept:
            raise refusal("one layer with keep = true", "It is the sheet that may never be touched.", at=("layers",))
        if kept[0] == 0 and len(kept) > 1:
            raise refusal("keep = true at the sheet alone", "It is at several layers.", at=("layers", 0, "keep"))
        if kept[0] == 0:
            hint = "List the stack top down: the bar first, then what holds it, then the sheet."
            raise refusal("something above the layer with keep = true", hint, at=("layers", 0, "keep"))
        for n, name in enumerate(names):
            if name in names[:n]:
                raise refusal("a different name for each layer", at=("layers", n, "is"))
        for key, touch in (("touch", self.touch), ("touch_far", self.touch_far)):
            if touch is not None and touch.on not in names and touch.on != BARE_SHEET:
                raise refusal(
                    f'a layer of the stack to touch on: {", ".join(names)}, or "bare sheet"',
                    f'There is no layer "{touch.on}".',
                    at=(key, "on"),
                )
        if self.touch.reads is not None and self.touch_far is None:
            raise refusal(
                "reads only beside a second touch (touch_far)",
                "With one touch the sheet says to what the readout is set while the tool just touches; what it shows "
                "now would not be used.",
                at=("touch", "reads"),
            )
        if self.touch_far is not None and self.wedge is not None:
            raise refusal("touch_far or wedge, not both", at=("wedge",))
        if self.tail is not None and any(b > a for a, b in zip(self.tail, self.tail[1:], strict=False)):
            raise refusal("a tail whose passes never grow", at=("tail",))
        return self
