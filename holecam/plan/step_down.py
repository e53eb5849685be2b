"""A step-down as papers and pictures show it: the stack, the heights, the looks, the sides, and what stays.

Heights are mm on the readout, up is positive, and Z 0 is the face that was touched. Places in plan are in the part
frame, mm. Chances are 0 to 1.
"""

from __future__ import annotations

from msgspec import Struct

from holecam.shapes import Curve, Outline, Point


class LayerLine(Struct, frozen=True):
    """One layer of the stack, top down: thickness with its doubts, and the height of its top face.

    ``within`` is the limit on either side and ``standard`` the standard doubt of the thickness. ``top_doubt`` is how
    far the top face may lie off its height, by the same rule as the sheet's.
    """

    name: str
    thickness: float
    within: float
    standard: float
    top_z: float
    keep: bool
    colour: str
    top_doubt: float = 0.0


class DoubtLine(Struct, frozen=True):
    """One source of doubt of the sheet's height: its limit on either side and its standard doubt, mm."""

    name: str
    within: float
    standard: float


class TouchLine(Struct, frozen=True):
    """How the height was touched off.

    ``set_z`` is what the readout is set to while the touch just drags; ``within`` its limit on either side.
    """

    on: str
    method: str
    offset: float
    within: float
    set_z: float
    wedge: str


class SideLine(Struct, frozen=True):
    """How near a pass may come to one bend, mm from the face of its wall: flank, start of the flat end, axis.

    All ``None`` where the pass lies above the wall; ``axis`` also where no cutter is named.
    """

    bend: str
    flank: float | None
    flat: float | None
    axis: float | None


class LookLine(Struct, frozen=True):
    """What one answer at a stop allows: how likely it is, the hard floor and the next planned floor after it."""

    seen: str
    chance: float
    hard_floor: float
    next_floor: float
    ends_here: bool


class GapLine(Struct, frozen=True):
    """A least distance between a tooth and a protected surface, mm, with its standard doubt and its place.

    ``xy_part`` is on the part, ``xy_machine`` as the readout shows it.
    """

    gap: float
    standard: float
    surface: str
    of: str
    xy_part: Point
    xy_machine: Point
    z: float


class LeftLine(Struct, frozen=True):
    """Metal of the region that stays at a height: area in mm2, and the width of the widest place."""

    z: float
    area: float
    width: float


class StepDownPass(Struct, frozen=True):
    """One pass.

    ``step`` is the metal taken below the pass before. The chances hold at this height: of contact with the sheet, that
    the layer shows, and that the height lies inside the layer. After a ``stop`` one looks; ``still_bar`` and
    ``layer_shows`` say what follows (``None``: hardly to be expected). ``strokes`` is their number, ``least`` the least
    distance of any tooth, ``left`` what stays; without a region they are 0 and ``None``.
    """

    number: int
    z: float
    step: float
    contact: float
    showing: float
    in_layer: float
    stop: bool
    sides: tuple[SideLine, ...] = ()
    still_bar: LookLine | None = None
    layer_shows: LookLine | None = None
    strokes: int = 0
    least: GapLine | None = None
    left: LeftLine | None = None


class StopWords(Struct, frozen=True):
    """What to look for at a stop, and what each sight means to do."""

    look_for: str
    still_bar: str
    layer_shows: str
    sheet_shows: str


class CheckLine(Struct, frozen=True):
    """One thing to see to before the cut, or one way to take off what the cutter cannot reach, with its cautions."""

    text: str
    source: str
    cautions: tuple[str, ...] = ()


class BendLine(Struct, frozen=True):
    """One bend for the section picture: its inside radius, the margins and how high its wall stands, mm."""

    name: str
    inside_radius: float
    gap: float
    margin: float
    wall_height: float | None


class BendCutter(Struct, frozen=True):
    """The cutter beside a bend at one pass, in the section: a point is (distance from the wall, height over the sheet).

    ``outline`` runs from above down the flank, along the end and up the other flank; ``gap`` is the least distance from
    the sheet, from ``tooth`` to ``foot``. Distances are from the wall's face, heights over the sheet's best place, mm.
    """

    number: int
    z: float
    height: float
    flank: float
    axis: float | None
    outline: tuple[Curve, ...]
    gap: float
    tooth: Point
    foot: Point


class BendView(Struct, frozen=True):
    """The section square to a bend, true to scale: sheet, the line that no tooth may cross, the cutter, the heights.

    ``floor`` and ``hard_floor`` are heights over the sheet's best place, ``reach`` is how far out is shown, ``top`` how
    high; ``wall_height`` as in :class:`BendLine`. ``surface`` is the face that is to be spared, ``sheet`` the
    bent sheet as a closed chain.
    """

    bend: str
    inside_radius: float
    gap: float
    margin: float
    wall_height: float | None
    thickness: float
    reach: float
    top: float
    surface: tuple[Curve, ...]
    sheet: tuple[Curve, ...]
    limit: tuple[Curve, ...]
    cutters: tuple[BendCutter, ...]
    floor: float
    hard_floor: float


class StrokeView(Struct, frozen=True):
    """The way of the cutter's axis in one stroke, joined end to end: before it cuts, cutting, after it."""

    before: tuple[Curve, ...]
    cut: tuple[Curve, ...]
    after: tuple[Curve, ...]

    @property
    def curves(self) -> tuple[Curve, ...]:
        """The whole way."""
        return self.before + self.cut + self.after


class StepDownPlanView(Struct, frozen=True):
    """Seen from above, part frame: the region, the walls, the limit at the last pass, its strokes, what stays.

    ``flank_lines`` limit the cutter's edge beside each bend; they run on beyond the region: a picture clips them.
    """

    region: Outline
    shoulders: tuple[Curve, ...]
    walls: tuple[tuple[Curve, ...], ...]
    flank_lines: tuple[tuple[Curve, ...], ...]
    strokes: tuple[StrokeView, ...]
    left: tuple[Outline, ...]


class StepDownReport(Struct, frozen=True):
    """Everything that papers say about one step-down.

    ``sheet_z`` is the sheet's likeliest height before looking with its standard doubt, ``sheet_doubt`` what is added to
    it for the hard floor (``rule`` says how). ``hard_floor`` may never be passed; ``floor`` is where the last pass
    ends, with its chances. ``answers`` are those given so far, in words; ``believed_sheet_z`` is where the sheet is
    most likely after them. ``section`` has the bends and ``bend_views`` their sections; stack and passes are in
    ``layers`` and ``passes``. ``withheld`` says why there is nothing to mill.
    """

    name: str
    sheet: str
    layers: tuple[LayerLine, ...]
    touch: TouchLine
    rule: str
    sheet_z: float
    sheet_standard: float
    sheet_doubt: float
    doubts: tuple[DoubtLine, ...]
    hard_floor: float
    start: float
    floor: float
    contact_at_floor: float
    in_layer_at_floor: float | None
    passes: tuple[StepDownPass, ...]
    words: StopWords
    checks: tuple[CheckLine, ...]
    drill_tip_depth: float
    answers: tuple[str, ...] = ()
    cutter: str = ""
    cutter_diameter: float | None = None
    corner_radius: float | None = None
    section: tuple[BendLine, ...] = ()
    bend_views: tuple[BendView, ...] = ()
    least: GapLine | None = None
    left_volume: float = 0.0
    left_flat: LeftLine | None = None
    removal: tuple[CheckLine, ...] = ()
    direction: tuple[str, ...] = ()
    plan_view: StepDownPlanView | None = None
    supported_by: str = ""
    held: str = ""
    notes: str = ""
    withheld: str = ""
    believed_sheet_z: float = 0.0

    @property
    def stops(self) -> tuple[StepDownPass, ...]:
        """The passes after which one looks."""
        return tuple(p for p in self.passes if p.stop)
