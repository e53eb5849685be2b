"""The machine, the tools at hand, and how the part is set up on the table."""

from fractions import Fraction
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from holecam.job.models_place import Direction
from holecam.job.quantities import (
    XY,
    Flag,
    Length,
    Model,
    Name,
    NonNegativeLength,
    OrForm,
    OrSingle,
    PointAngle,
    PositiveLength,
    PositiveNumber,
    Text,
    exactly_one,
    one_or_many,
    refusal,
)
from holecam.job.trade_words import MethodName, OwnedDrills, ThreadName

Approach = Literal["+x", "-x", "+y", "-y"]


class Spindle(Model):
    """Speeds that the spindle can turn."""

    slowest: PositiveNumber
    """Turns a minute."""
    fastest: PositiveNumber
    """Turns a minute."""
    steps: tuple[PositiveNumber, ...] = ()
    """The speeds that the pulleys or gears give, where there is no stepless drive; turns a minute."""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.slowest > self.fastest:
            raise refusal("slowest not above fastest", at=("slowest",))
        if any(not self.slowest <= s <= self.fastest for s in self.steps):
            raise refusal("steps between slowest and fastest", at=("steps",))
        return self


class Dials(Model):
    """Handwheels with graduated dials."""

    lead: PositiveLength
    """Travel for one turn of the handwheel."""
    divisions: Annotated[int, Field(strict=True, ge=2, le=1000)]
    """Marks round the dial."""
    lead_y: PositiveLength | None = None
    """Travel for one turn of the Y handwheel, where it is not the same."""
    divisions_y: Annotated[int, Field(strict=True, ge=2, le=1000)] | None = None
    """Marks round the Y dial, where it is not the same."""


def _both(value: Any) -> Any:
    return value if isinstance(value, (dict, list, tuple)) else (value, value)


class Travel(Model):
    """How far the machine moves, in the coordinates of its own readout or controller."""

    x: XY | None = None
    """Least and greatest X."""
    y: XY | None = None
    """Least and greatest Y."""
    z: XY | None = None
    """Least and greatest Z."""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        for axis in ("x", "y", "z"):
            ends = getattr(self, axis)
            if ends is not None and ends[0] >= ends[1]:
                raise refusal(f"the least {axis} first, then the greatest", at=(axis,))
        return self


class Dialect(Model):
    """How programs are written for this machine."""

    unit: Literal["in", "mm"] | None = None
    """Unit of the programs; without it that of the job."""
    cycles: Literal["canned", "long-hand"] = "canned"
    """Drilling by canned cycles, or every move written out."""
    arcs: Literal["arcs", "lines"] = "arcs"
    """Arcs as arcs, or as short lines."""
    arc_centres: Literal["incremental", "absolute"] = "incremental"
    """I and J from the start of the arc, or from the origin."""
    decimals: Annotated[int, Field(strict=True, ge=2, le=6)] | None = None
    """Decimals of coordinates; without it 4 in inch and 3 in mm."""
    line_numbers: Annotated[int, Field(strict=True, ge=0, le=100)] = 0
    """Step of the line numbers; 0 writes none."""
    program_number: Annotated[int, Field(strict=True, ge=1, le=99_999_999)] | None = None
    """Number in the program's first line."""
    comments: Literal["parentheses", "semicolon", "none"] = "parentheses"
    """How comments are marked."""
    tool_change: Literal["change", "stop"] = "stop"
    """Call the tool changer, or stop with a message for a change by hand."""
    ending: Literal["M30", "M2", "M30 and percent signs", "M2 and percent signs"] = "M30"
    """How a program ends."""
    programs: Literal["one per tool", "one with all"] = "one per tool"
    """One program for each tool, or one with all."""
    step_down_programs: Literal["one per pass", "one with stops"] = "one with stops"
    """Step-downs: one program for each pass, or one that stops."""
    extension: Literal["nc", "ngc", "tap", "gcode", "cnc", "txt"] = "nc"
    """Ending of the file name."""


class Machine(Model):
    """The mill."""

    name: Name | None = None
    """What to call it on the sheet."""
    kind: Literal["manual", "cnc"] = "manual"
    """By hand, or by program."""
    readout: PositiveLength | None = None
    """Resolution of the readout: 0.0005 means half a thou with unit = "in"."""
    dials: Dials | None = None
    """Handwheels to count by."""
    backlash: (
        Annotated[
            tuple[NonNegativeLength, NonNegativeLength],
            BeforeValidator(_both),
            OrForm({"type": ["string", "number"], "description": "One figure for both axes."}),
        ]
        | None
    ) = None
    """Lost motion of the screws: one length, or a pair [X, Y]."""
    approach: tuple[Approach, Approach] = ("+x", "+y")
    """From which side every position is approached: "+x" means moving toward +X."""
    safe_height: PositiveLength | None = None
    """Height above the part for sideways moves; without it 1/2 in or 12 mm."""
    spindle: Spindle | None = None
    """Speeds that the spindle can turn."""
    fastest_feed: PositiveLength | None = None
    """Greatest feed, as a length a minute; where a tool wants more, the spindle turns slower."""
    rapid: PositiveLength | None = None
    """Speed of rapid moves, as a length a minute; for the time estimate."""
    rigid_tapping: Flag = False
    """The spindle and Z move together for tapping."""
    rigidity: Literal["light", "ordinary", "stiff"] = "ordinary"
    """How much the machine and set-up bear: light cuts, ordinary or heavy ones."""
    runout: NonNegativeLength | None = None
    """Total runout of a cutter in the spindle."""
    spread: NonNegativeLength | None = None
    """A position of the machine is surely within plus or minus this."""
    travel: Travel | None = None
    """How far the machine moves."""
    program: Dialect = Dialect()
    """How programs are written."""

    @model_validator(mode="after")
    def _one_each(self) -> Self:
        if {a[1] for a in self.approach} != {"x", "y"}:
            raise refusal('one side for each axis, such as ["+x", "+y"]', at=("approach",))
        return self


def _end_mill(value: Any) -> Any:
    """Give an end mill the name that the user would use, from the diameter as he wrote it."""
    if isinstance(value, (str, int, float)) and not isinstance(value, bool):
        value = {"diameter": value}
    if isinstance(value, dict) and "name" not in value:
        size = value.get("diameter")
        written = f"{float(size):g} mm" if isinstance(size, Fraction) else str(size).strip()
        kind = {"ball": "ball nose", "bull-nose": "bull-nose mill"}.get(str(value.get("kind")), "end mill")
        return {"name": f"{written[:40]} {kind}", **value}
    return value


class EndMillModel(Model):
    """A cutter for slots, pockets and step-downs. A diameter alone, such as "1/4", is enough."""

    name: Name = "end mill"
    """What to call it; without it its diameter and "end mill", such as "1/4 end mill"."""
    diameter: PositiveLength
    """Diameter as measured: slot drills are ground under size."""
    kind: Literal["flat", "bull-nose", "ball"] = "flat"
    """Shape of its end."""
    corner_radius: NonNegativeLength | None = None
    """Radius of the corner of a bull-nose cutter; a small radius of a flat one."""
    flutes: Annotated[int, Field(strict=True, ge=1, le=12)] = 2
    """Number of teeth."""
    material: Literal["hss", "carbide"] = "hss"
    """High-speed steel or carbide."""
    centre_cutting: Flag = True
    """Whether it may plunge."""
    overhang: PositiveLength | None = None
    """From the holder to the tip."""
    flute_length: PositiveLength | None = None
    """Length that cuts."""

    @model_validator(mode="before")
    @classmethod
    def _named(cls, value: Any) -> Any:
        return _end_mill(value)

    @model_validator(mode="after")
    def _corner(self) -> Self:
        radius = self.corner_radius
        if self.kind == "bull-nose" and not radius:
            raise refusal("corner_radius for a bull-nose cutter")
        if self.kind == "ball" and radius is not None and 2 * radius != self.diameter:
            raise refusal("no corner_radius for a ball-nose cutter", "It is half the diameter.", at=("corner_radius",))
        if radius is not None and 2 * radius > self.diameter:
            raise refusal("a corner radius of at most half the diameter", at=("corner_radius",))
        return self


EndMill = Annotated[EndMillModel, OrForm({"type": ["string", "number"], "description": "A diameter."})]


class TapOwned(Model):
    """A tap at hand."""

    thread: ThreadName
    """Its thread."""
    kind: Literal["taper", "plug", "bottoming"] = "plug"
    """Its lead."""
    forming: Flag = False
    """It presses the thread instead of cutting it."""


class Tools(Model):
    """Tools at hand."""

    drills: Annotated[
        tuple[OwnedDrills, ...],
        BeforeValidator(one_or_many),
        OrSingle(),
    ] = ()
    """Drills owned: sets ("number", "letter", "fraction", "metric") and single sizes ("No. 29", "4.2 mm"); without a
    list the three inch sets with unit = "in", the metric set with unit = "mm"."""
    drill_point_deg: PointAngle = 118.0
    """Included angle of the drills' points."""
    spot_deg: PointAngle = 120.0
    """Included angle of the spot drill."""
    end_mills: tuple[EndMill, ...] = Field(default=(), max_length=200)
    """Cutters for slots, pockets and step-downs."""
    taps: tuple[TapOwned, ...] = Field(default=(), max_length=500)
    """Taps at hand; without a list every tap is taken to be there."""

    @model_validator(mode="after")
    def _names(self) -> Self:
        names = [m.name.lower() for m in self.end_mills]
        for n, name in enumerate(names):
            if name in names[:n]:
                raise refusal("a different name for each end mill", f'"{name}" is there twice.', at=("end_mills", n))
        if "drills" in self.model_fields_set and not self.drills:
            raise refusal("at least one set or size of drills", at=("drills",))
        return self


class EdgePicks(Model):
    """Two points picked along one straight edge of the part, as the readout shows them."""

    first: XY
    """Reading at the first point."""
    second: XY
    """Reading at the second point, in the direction of along."""
    along: Direction | None = None
    """Direction of that edge on the part, from the first point to the second; without it +x."""
    origin_reads: XY | None = None
    """Reading at the part's datum; without it 0, 0."""

    @model_validator(mode="after")
    def _apart(self) -> Self:
        if self.first == self.second:
            raise refusal("two different points", "The direction of the edge needs a distance.", at=("second",))
        return self


class PickedHole(Model):
    """A hole of the part and what the readout shows over it."""

    part: XY
    """Its place on the part."""
    reads: XY
    """Reading over it."""


class Skew(Model):
    """How the part lies on the table: exactly one of edge or holes."""

    edge: EdgePicks | None = None
    """Two points along an edge."""
    holes: tuple[PickedHole, ...] | None = Field(default=None, min_length=2, max_length=100)
    """Two holes or more."""
    found_by: MethodName | None = None
    """How the points were picked: a method from the table."""
    within: NonNegativeLength | None = None
    """A reading is surely within plus or minus this."""

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        exactly_one(self, "edge", "holes", what="the skew")
        if self.holes is not None and len({h.part for h in self.holes}) < 2:
            raise refusal("holes at different places", at=("holes",))
        if self.holes is not None and len({h.reads for h in self.holes}) < 2:
            raise refusal("different readings for different holes", at=("holes",))
        return self


class Setup(Model):
    """How the part is held and found."""

    held: Text = ""
    """How it is held and on what; printed."""
    parallel: Text = ""
    """What is parallel to what, and how well; printed."""
    z_zero: Text = ""
    """What Z was zeroed on; printed."""
    zero_found_by: MethodName | None = None
    """How the datum was found: a method from the table."""
    zero_within: NonNegativeLength | None = None
    """The datum is surely within plus or minus this."""
    skew: Skew | None = None
    """How the part lies on the table, when it is not trammed in."""
    clearance_under: Length | None = None
    """Free height under the part for drills that come through."""
    spoil_board: NonNegativeLength | None = None
    """Thickness of the board under the part."""
