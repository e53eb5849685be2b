"""What a program does, before it is text: tools, motions, stops and limits, in the work frame, mm, Z up, unrounded.

Planning and the cuts make these; the writer turns them into a machine's dialect and rounds once. Positions are the tip
of the tool (the lowest point of a drill or ball). What the writer adds by itself, so that no plan can forget it: units
and modes, the retract to the safe height before the first sideways move, before every stop and tool change and at the
end, the stopped spindle at every stop and its restart afterwards, and the end of the program.
"""

from __future__ import annotations

import math
from enum import StrEnum

from msgspec import Struct, field

from holecam.errors import InputError
from holecam.plan.dialect import Dialect
from holecam.plan.limits import Bend, ExpectedHole, HardFloor, KeepOut, ProgramLimits, Stock, Travel
from holecam.shapes import Point

__all__ = [
    "ArcFeed",
    "Bend",
    "Dialect",
    "DrillCycle",
    "ExpectedHole",
    "Feed",
    "HardFloor",
    "KeepOut",
    "Motion",
    "ProgramLimits",
    "ProgramPlan",
    "Rapid",
    "Remark",
    "SpindleOff",
    "SpindleOn",
    "Stock",
    "Stop",
    "TapCycle",
    "ToolChange",
    "ToolKind",
    "ToolUse",
    "Travel",
]


def _finite(what: str, *values: float | None) -> None:
    for value in values:
        if value is not None and not math.isfinite(value):
            raise InputError(f"{what}: expected finite numbers, got {value}")


def _above_zero(what: str, value: float | None) -> None:
    if value is not None and not (math.isfinite(value) and value > 0):
        raise InputError(f"{what}: expected a number above zero, got {value}")


class ToolKind(StrEnum):
    """What the tool is; it decides the shape of the body that the check moves."""

    TWIST_DRILL = "twist drill"
    SPOT_DRILL = "spot drill"
    END_MILL = "end mill"
    TAP = "tap"
    COUNTERSINK = "countersink"
    COUNTERBORE = "counterbore"
    REAMER = "reamer"

    @property
    def makes_holes_only(self) -> bool:
        """True for tools that are only ever fed along their own axis."""
        return self is not ToolKind.END_MILL


class ToolUse(Struct, frozen=True):
    """One tool of a program.

    Parameters
    ----------
    number : int
        T number, 1 or more, unique in the program.
    name : str
        As on the sheet: ``No. 38 drill``.
    kind : ToolKind
    diameter : float
        Cutting diameter, mm: of a countersink or spot drill the largest, of a tap the thread's major diameter.
    corner_radius : float
        End mills: 0 is a sharp corner, ``diameter / 2`` a ball, between them a bull nose.
    point_angle_deg : float or None
        Included angle of the point; needed for twist drills, spot drills and countersinks.
    flute_length : float or None
        Cutting length from the tip, if known; a deeper cut is a finding.
    overhang : float or None
        Stick-out from the holder to the tip, if known; the holder may not go under the top of the stock.
    """

    number: int
    name: str
    kind: ToolKind
    diameter: float
    corner_radius: float = 0.0
    point_angle_deg: float | None = None
    flute_length: float | None = None
    overhang: float | None = None

    def __post_init__(self) -> None:
        what = f'tool {self.number} "{self.name}"'
        if self.number < 1:
            raise InputError(f"{what}: expected a tool number of 1 or more")
        _above_zero(f"{what}: diameter", self.diameter)
        _above_zero(f"{what}: flute length", self.flute_length)
        _above_zero(f"{what}: overhang", self.overhang)
        if not 0 <= self.corner_radius <= self.diameter / 2:
            raise InputError(f"{what}: corner radius {self.corner_radius} mm: expected 0 to {self.diameter / 2} mm")
        if self.corner_radius and self.kind is not ToolKind.END_MILL:
            raise InputError(f"{what}: only an end mill has a corner radius")
        pointed = self.kind in (ToolKind.TWIST_DRILL, ToolKind.SPOT_DRILL, ToolKind.COUNTERSINK)
        if pointed and self.point_angle_deg is None:
            raise InputError(f"{what}: expected the angle of its point, such as 118")
        if self.point_angle_deg is not None and not 0 < self.point_angle_deg <= 180:
            raise InputError(f"{what}: point angle {self.point_angle_deg} degrees: expected above 0 to 180")


class ToolChange(Struct, frozen=True):
    """Take this tool. The first motion of every program. Retracts and stops the spindle."""

    tool: int


class SpindleOn(Struct, frozen=True):
    """Turn the spindle clockwise seen from above (M3), or change its speed."""

    rpm: float

    def __post_init__(self) -> None:
        _above_zero("spindle speed", self.rpm)


class SpindleOff(Struct, frozen=True):
    """Stop the spindle (M5)."""


class Rapid(Struct, frozen=True):
    """Go there by rapid; ``None`` leaves an axis where it is. Sideways only at the safe height or above."""

    x: float | None = None
    y: float | None = None
    z: float | None = None

    def __post_init__(self) -> None:
        _finite("rapid move", self.x, self.y, self.z)
        if self.x is None and self.y is None and self.z is None:
            raise InputError("rapid move: expected at least one of x, y, z")


class Feed(Struct, frozen=True):
    """Cut in a straight line; ``None`` leaves an axis where it is. Feed in mm/min."""

    feed_mm_min: float
    x: float | None = None
    y: float | None = None
    z: float | None = None

    def __post_init__(self) -> None:
        _above_zero("feed", self.feed_mm_min)
        _finite("feed move", self.x, self.y, self.z)
        if self.x is None and self.y is None and self.z is None:
            raise InputError("feed move: expected at least one of x, y, z")


class ArcFeed(Struct, frozen=True):
    """Cut along an arc about ``center`` to (x, y); an end equal to the start is the full circle.

    ``ccw`` is True anticlockwise seen from above (G3). ``z`` makes it a helix: height at the end.
    """

    feed_mm_min: float
    x: float
    y: float
    center: Point
    ccw: bool
    z: float | None = None

    def __post_init__(self) -> None:
        _above_zero("feed", self.feed_mm_min)
        _finite("arc", self.x, self.y, self.z, *self.center)


class DrillCycle(Struct, frozen=True):
    """Drill, spot, ream, countersink or counterbore one hole and come back to the height before the cycle.

    Sideways at the present height (the safe height) to (x, y), rapid down to ``retract_z``, feed to ``bottom_z`` (the
    tip), rapid back up. With ``peck`` the feed goes in steps of at most that much, and the drill comes out to
    ``retract_z`` between them to clear its chips.
    """

    hole: int
    x: float
    y: float
    retract_z: float
    bottom_z: float
    feed_mm_min: float
    peck: float | None = None

    def __post_init__(self) -> None:
        _above_zero(f"hole {self.hole}: feed", self.feed_mm_min)
        _above_zero(f"hole {self.hole}: peck", self.peck)
        _finite(f"hole {self.hole}", self.x, self.y, self.retract_z, self.bottom_z)
        if not self.bottom_z < self.retract_z:
            raise InputError(f"hole {self.hole}: expected its bottom {self.bottom_z} below {self.retract_z} mm")


class TapCycle(Struct, frozen=True):
    """Tap one hole with a spindle that follows the feed; only for a dialect with ``rigid_tapping``.

    The feed is ``pitch`` times the speed of the spindle. Where the machine cannot, plan a :class:`Stop` instead.
    """

    hole: int
    x: float
    y: float
    retract_z: float
    bottom_z: float
    pitch: float
    rpm: float

    def __post_init__(self) -> None:
        _above_zero(f"hole {self.hole}: pitch", self.pitch)
        _above_zero(f"hole {self.hole}: speed", self.rpm)
        _finite(f"hole {self.hole}", self.x, self.y, self.retract_z, self.bottom_z)
        if not self.bottom_z < self.retract_z:
            raise InputError(f"hole {self.hole}: expected its bottom {self.bottom_z} below {self.retract_z} mm")

    @property
    def feed_mm_min(self) -> float:
        """Feed, mm/min."""
        return self.pitch * self.rpm


class Stop(Struct, frozen=True):
    """Halt to look or measure (M0), or only when the switch for optional stops is on (M1).

    Retracts to the safe height and stops the spindle first; the spindle starts again afterwards.
    """

    message: str
    optional: bool = False


class Remark(Struct, frozen=True):
    """A line of text for the person at the machine. Cleaned by the writer; never a command."""

    text: str


Motion = Rapid | Feed | ArcFeed | DrillCycle | TapCycle | ToolChange | SpindleOn | SpindleOff | Stop | Remark


class ProgramPlan(Struct, frozen=True):
    """One program: what it is called, what it uses, what it does, and what it must not do.

    Parameters
    ----------
    name : str
        Short and stable; the file is named after it.
    title : tuple of str
        Lines for the head of the program: job, part, hand, operation, fingerprint of the job.
    zero : str
        Where X0 Y0 Z0 is, in words.
    cautions : tuple of str
        The cautions that belong to this work; printed in the head.
    tools : tuple of ToolUse
    motions : tuple of Motion
        In order; the first is a :class:`ToolChange`.
    safe_height : float
        Z for sideways rapids, above everything.
    limits : ProgramLimits
    """

    name: str
    tools: tuple[ToolUse, ...]
    motions: tuple[Motion, ...]
    safe_height: float
    limits: ProgramLimits = field(default_factory=ProgramLimits)
    title: tuple[str, ...] = ()
    zero: str = ""
    cautions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _finite(f'program "{self.name}": safe height', self.safe_height)
        numbers = [t.number for t in self.tools]
        if len(set(numbers)) != len(numbers):
            raise InputError(f'program "{self.name}": two tools have one number: {sorted(numbers)}')
        if not self.motions or not isinstance(self.motions[0], ToolChange):
            raise InputError(f'program "{self.name}": expected a tool change as the first motion')
        for motion in self.motions:
            if isinstance(motion, ToolChange) and motion.tool not in numbers:
                raise InputError(f'program "{self.name}": tool {motion.tool} is not among its tools {sorted(numbers)}')

    def tool(self, number: int) -> ToolUse:
        """Return the tool of this number."""
        for tool in self.tools:
            if tool.number == number:
                return tool
        raise InputError(f'program "{self.name}": no tool {number}')
