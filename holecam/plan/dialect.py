"""How one machine wants its programs written: the choices of a ``[machine]`` block, as one frozen value.

The writer follows them and the reader reads back in the same dialect. The defaults are the subset of RS-274 that the
design page names; every other choice says in plain words what it changes.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from holecam.errors import InputError
from holecam.lengths import Unit

DECIMALS: dict[str, int] = {"in": 4, "mm": 3}
"""Decimals of a coordinate unless the dialect says otherwise: 0.0001 in or 0.001 mm."""

FEWEST_DECIMALS: dict[str, int] = {"in": 3, "mm": 2}
"""Fewer would round a hole farther than a mill's readout does (0.001 in, 0.01 mm)."""

MOST_DECIMALS = 6
"""More than any control keeps."""

LARGEST_PROGRAM_NUMBER = 99_999
"""Digits that controls with program numbers take: four or five (common practice)."""


class Dialect(Struct, frozen=True):
    """The choices that a machine makes. All of them can be read back.

    Parameters
    ----------
    unit : {"mm", "in"}
        Unit of the program, G21 or G20. Feeds follow it (mm/min or in/min).
    decimals : int or None
        Decimals of coordinates; ``None`` takes 3 for mm and 4 for inch.
    cycles : {"canned", "long-hand"}
        Holes as G81 and G83, or as the plain moves that they stand for.
    arcs : {"arcs", "lines"}
        Arcs as G2 and G3, or as chords for a control without them.
    chord_tolerance : float
        mm. With ``arcs="lines"``: the farthest that a chord may lie from its arc (on the inner side of the arc).
    arc_centers : {"incremental", "absolute"}
        I and J count from the start of the arc, or from the program's zero. A control set the other way runs another
        arc, so this must match the machine's setting.
    line_number_step : int
        0 writes no line numbers; 10 writes N10, N20...
    program_number : int or None
        Written as ``O1234`` on a line of its own before the first block.
    comments : {"parentheses", "semicolon", "none"}
        How remarks are marked. With ``"none"`` stops come without their message: the sheet has it.
    tool_change : {"change", "stop"}
        ``T2 M6``, or a programmed stop with the tool's name for a change by hand. No length offsets are written:
        after the first tool each ``M6`` is followed by a stop, at which the height of the new tool is set.
    end : {"M30", "M2"}
        Last word of the program.
    percent_signs : bool
        A line with ``%`` before and after the program, as tape readers and some serial links want.
    rigid_tapping : bool
        The spindle can follow the feed: holes may be tapped with G84. Without it a plan has a stop for tapping by
        hand, and a planned tapping cycle is refused.
    """

    unit: Unit = "mm"
    decimals: int | None = None
    cycles: Literal["canned", "long-hand"] = "canned"
    arcs: Literal["arcs", "lines"] = "arcs"
    chord_tolerance: float = 0.002
    arc_centers: Literal["incremental", "absolute"] = "incremental"
    line_number_step: int = 0
    program_number: int | None = None
    comments: Literal["parentheses", "semicolon", "none"] = "parentheses"
    tool_change: Literal["change", "stop"] = "change"
    end: Literal["M30", "M2"] = "M30"
    percent_signs: bool = False
    rigid_tapping: bool = False

    def __post_init__(self) -> None:
        allowed = {
            "unit": ("mm", "in"),
            "cycles": ("canned", "long-hand"),
            "arcs": ("arcs", "lines"),
            "arc_centers": ("incremental", "absolute"),
            "comments": ("parentheses", "semicolon", "none"),
            "tool_change": ("change", "stop"),
            "end": ("M30", "M2"),
        }
        for key, values in allowed.items():
            if getattr(self, key) not in values:
                raise InputError(f'{key} = "{getattr(self, key)}": expected one of {", ".join(values)}', key=key)
        fewest = FEWEST_DECIMALS[self.unit]
        if self.decimals is not None and not fewest <= self.decimals <= MOST_DECIMALS:
            raise InputError(f"decimals = {self.decimals}: expected {fewest} to {MOST_DECIMALS} for {self.unit}")
        if not 0.0001 <= self.chord_tolerance <= 0.1:
            raise InputError(f"chord_tolerance = {self.chord_tolerance} mm: expected 0.0001 to 0.1 mm")
        if not 0 <= self.line_number_step <= 1000:
            raise InputError(f"line_number_step = {self.line_number_step}: expected 0 (none) to 1000")
        if self.program_number is not None and not 1 <= self.program_number <= LARGEST_PROGRAM_NUMBER:
            raise InputError(f"program_number = {self.program_number}: expected 1 to {LARGEST_PROGRAM_NUMBER}")

    @property
    def places(self) -> int:
        """Decimals that are written."""
        return DECIMALS[self.unit] if self.decimals is None else self.decimals

    @property
    def step(self) -> float:
        """The smallest written step, mm."""
        return (25.4 if self.unit == "in" else 1.0) * 10.0**-self.places
