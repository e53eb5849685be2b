"""Clearance cuts: slots and pockets, by their own size or by what they have to clear."""

from fractions import Fraction
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from holecam.job.models_shape import MOST_POINTS, Drawing, Path, Region, RegionModel, Step, check_region
from holecam.job.quantities import (
    XY,
    Count,
    Degrees,
    Flag,
    Model,
    Name,
    Names,
    NonNegativeLength,
    OrText,
    PositiveLength,
    PositiveNumber,
    Text,
    exactly_one,
    given,
    refusal,
)
from holecam.job.shape_trials import try_islands, try_region
from holecam.job.trade_words import DrillName


class ClearsBar(Model):
    """A bar that a slot has to clear: where it sits, how surely, and how free it should be."""

    width: PositiveLength
    """Width of the bar, fillet of solder included."""
    height: PositiveLength
    """How far it stands into the cut."""
    within: NonNegativeLength = Field(default=Fraction(0))
    """Its place and size are surely known within plus or minus this, to each side."""
    height_within: NonNegativeLength | None = None
    """The same for its height; without it as within."""
    float_: NonNegativeLength = Field(default=Fraction(0), alias="float")
    """How free it should be, on each side."""
    float_below: NonNegativeLength | None = None
    """How free it should be below; without it as float."""
    length: PositiveLength | None = None
    """Length of the bar; without it the length of the slot's line."""


class ClearsPlate(RegionModel):
    """A plate or other outline that a pocket has to clear."""

    height: PositiveLength
    """How far it stands into the cut."""
    within: NonNegativeLength = Field(default=Fraction(0))
    """Its place and size are surely known within plus or minus this, all round."""
    height_within: NonNegativeLength | None = None
    """The same for its height; without it as within."""
    float_: NonNegativeLength = Field(default=Fraction(0), alias="float")
    """How free it should be, all round."""
    float_below: NonNegativeLength | None = None
    """How free it should be below; without it as float."""


def _end(value: Any) -> Any:
    if isinstance(value, str):
        name = value.strip().lower()
        if name not in ("open", "blind"):
            raise refusal('"open", "blind", or { stop_short = "name of a keep-out", by = "..." }')
        return {name: True}
    return value


class EndModel(Model):
    """One end of a slot: "open", "blind", or stopped short of something."""

    open: Flag = False
    """It runs out past the edge."""
    run_out: NonNegativeLength | None = None
    """How far the cutter's centre goes past the edge, beside open; without it the cutter's radius and a little."""
    blind: Flag = False
    """It ends round; the stated end point is where the bar ends, square."""
    axis_at_point: Flag = False
    """Beside blind: the end point is the cutter's centre, not the end of the full width."""
    stop_short: Name | None = None
    """Name of the keep-out or curve before which it stops."""
    by: NonNegativeLength | None = None
    """Distance that the cutter's edge keeps from it."""

    @model_validator(mode="after")
    def _one_end(self) -> Self:
        ways = [w for w, on in (("open", self.open), ("blind", self.blind), ("stop_short", self.stop_short)) if on]
        if len(ways) != 1:
            raise refusal('"open", "blind", or stop_short and by')
        if self.stop_short is not None and self.by is None:
            raise refusal("by beside stop_short", "Say how far before it the cutter's edge stops.")
        if self.stop_short is None and self.by is not None:
            raise refusal("stop_short beside by", at=("by",))
        if self.run_out is not None and not self.open:
            raise refusal("run_out only beside open", at=("run_out",))
        return self


End = Annotated[EndModel, BeforeValidator(_end), OrText('"open" or "blind"')]


class Sneak(Model):
    """Start under size, measure, and open up to fit."""

    undersize: PositiveLength
    """How much narrower the first cut is, over the whole width."""
    steps: Annotated[int, Field(strict=True, ge=1, le=50)] = 3
    """In how many clean-up passes it is opened up."""


class Cutting(Model):
    """How a cut is made; every figure is worked out when it is left out."""

    step_depth: PositiveLength | None = None
    """Depth of one pass."""
    step_over: PositiveLength | None = None
    """Sideways step."""
    finish: NonNegativeLength | None = None
    """Left on the walls for the last pass."""
    direction: Literal["climb", "conventional"] | None = None
    """Without it conventional by hand, climb by program when the backlash allows."""
    speed_rpm: PositiveNumber | None = None
    """Spindle speed, turns a minute; here and below of the first cutter, where there is a second."""
    feed: PositiveLength | None = None
    """Feed, as a length a minute."""
    chip: PositiveLength | None = None
    """Chip a tooth."""
    by_hand: Flag | None = None
    """As rows for two handwheels; without it as the machine is."""


class ChainDrilling(Model):
    """A row of holes inside the line, where two handwheels cannot follow it."""

    drill: DrillName
    """Drill to use."""
    web: NonNegativeLength
    """Left between the holes."""
    allowance: NonNegativeLength
    """Left between the holes and the line, to be filed."""


class Cut(Model):
    """What slots and pockets share."""

    name: Name
    """What to call it."""
    body: Name | None = Field(default=None, alias="in")
    """Name of the [[body]] that is cut; without it the part."""
    cutters: Names = Field(default=(), alias="cutter")
    """End mills to use, by name, the first one first; without it the best one of the list."""
    cutting: Cutting = Cutting()
    """How it is cut."""
    sneak: Sneak | None = None
    """Start under size and open up."""
    least_wall: NonNegativeLength | None = None
    """Thinnest wall that may be left beside it."""
    least_bottom: NonNegativeLength | None = None
    """Least that may be left under it."""
    through: Flag = False
    """Right through the stock; depth is then the thickness."""
    keep_from: Names = ()
    """Keep-outs that matter here, by name; without it all on the same body."""
    notes: Text = ""
    """Anything else; printed."""


class Slot(Cut):
    """A slot along a line."""

    width: PositiveLength | None = None
    """Width, when it is given by its own size."""
    depth: PositiveLength | None = None
    """Depth from the top face, when it is given by its own size."""
    clears: ClearsBar | None = None
    """The bar that it has to clear, when size and depth follow from it."""
    start: XY | None = Field(default=None, alias="from")
    """Beginning of its centre line."""
    end: XY | None = Field(default=None, alias="to")
    """End of its centre line."""
    path: Path | None = None
    """Centre line with corners and arcs."""
    ends: tuple[End, End] = (EndModel(blind=True), EndModel(blind=True))
    """How it begins and ends."""
    spoil_board: Flag = True
    """Clamp a board against the edge where it runs out."""
    chain_drill: ChainDrilling | None = None
    """Chain-drill it instead, by hand."""
    bar_ends: Literal["square", "round"] = "square"
    """Shape of the ends of the bar that it clears."""

    @model_validator(mode="after")
    def _whole(self) -> Self:
        own = given(self, "width", "depth")
        if self.clears is not None and self.width is not None:
            raise refusal("clears, or width and depth, not both", at=("width",))
        if self.clears is None and self.width is None:
            raise refusal("width and depth, or clears")
        if self.clears is None and self.depth is None and not self.through:
            raise refusal("depth beside width", at=("width",))
        if self.clears is not None and own:
            raise refusal("clears, or width and depth, not both", "The depth follows from it.", at=("depth",))
        if self.path is not None:
            if self.start is not None or self.end is not None:
                raise refusal("from and to, or path, not both", at=("path",))
        elif self.start is None or self.end is None:
            raise refusal("from and to, or path")
        elif self.start == self.end:
            raise refusal("two different ends", "from and to are the same point.", at=("to",))
        return self


class CornerRelief(Model):
    """Overcut in inside corners, so that a square corner goes in."""

    shape: Literal["diagonal", "along one wall", "longer wall"] = "diagonal"
    """Where the round overcut lies: on the corner's bisector, or along a wall."""
    corners: tuple[Count, ...] = ()
    """Numbers of the corners, counted anticlockwise from the first point, of a rectangle from its lower left corner;
    without it all square ones."""


class Island(Region):
    """What stays standing inside a pocket, up to the face; for a lower top, a shallow pocket first and a deeper one
    round the island."""

    name: Name | None = None
    """What to call it."""


class Pocket(Cut):
    """A pocket with a flat floor: exactly one of rectangle, circle, points, drawing or clears."""

    depth: PositiveLength | None = None
    """Depth from the top face, when it is given by its own size."""
    rectangle: tuple[PositiveLength, PositiveLength] | None = None
    """Width along X and height along Y."""
    circle: PositiveLength | None = None
    """Diameter."""
    points: tuple[Step, ...] | None = Field(default=None, min_length=2, max_length=MOST_POINTS)
    """Steps round its wall."""
    drawing: Drawing | None = None
    """A closed outline in a DXF file."""
    clears: ClearsPlate | None = None
    """What it has to clear, when size and depth follow from it."""
    at: XY | None = None
    """Lower left corner of the rectangle."""
    centre: XY | None = None
    """Centre of the rectangle or circle."""
    corner_radius: NonNegativeLength | None = None
    """Radius of the rectangle's corners."""
    turn_deg: Degrees = 0.0
    """Turn of the rectangle, anticlockwise."""
    islands: tuple[Island, ...] = Field(default=(), alias="island", max_length=200)
    """What stays standing inside."""
    drawing_islands: Flag = True
    """Closed outlines inside the drawn one are islands."""
    strategy: Literal["along the outline", "to and fro"] | None = None
    """Loops along the outline, or straight rows; without it rows by hand, loops by program."""
    row_angle_deg: Degrees = 0.0
    """Direction of straight rows."""
    entry: Literal["helix", "ramp", "drilled hole", "plunge"] | None = None
    """How the cutter gets down; without it a ramp or helix by program, a drilled hole by hand."""
    entry_at: XY | None = None
    """Where it gets down."""
    ramp_deg: Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=30)] | None = None
    """Angle of a ramp or helix; without it 3 degrees."""
    corners: Literal["slow", "nibble", "as they come"] = "slow"
    """Where the tooth's bite grows: slow the feed, nibble in small loops, or leave it."""
    engagement_ratio: Annotated[float, Field(strict=True, allow_inf_nan=False, ge=1, le=4)] | None = None
    """How much more than in a straight cut a tooth may bite; without it 1.25."""
    relief: CornerRelief | None = None
    """Overcut in inside corners."""
    second_cutter: Name | None = None
    """A smaller end mill that cuts only what the first left."""
    chain_drill: ChainDrilling | None = None
    """Chain-drill it instead, by hand."""

    @model_validator(mode="after")
    def _whole(self) -> Self:
        exactly_one(self, "rectangle", "circle", "points", "drawing", "clears", what="a pocket")
        if self.clears is None and self.depth is None and not self.through:
            raise refusal("depth", "Or clears, from which it follows.")
        if self.clears is not None and self.depth is not None:
            raise refusal("depth or clears, not both", "The depth follows from what it clears.", at=("depth",))
        if self.region is not None:
            check_region(self.region)
            try_region(self.region, islands=True)
            try_islands(self.region, self.islands)
        if self.relief is not None and self.circle is not None:
            raise refusal("no relief for a circle", "It has no corners.", at=("relief",))
        return self

    @property
    def region(self) -> Region | None:
        """The pocket's own shape, or None where it follows from what it clears."""
        if self.clears is not None:
            return None
        return Region.model_construct(**{n: getattr(self, n) for n in RegionModel.model_fields})
