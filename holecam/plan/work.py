"""The work in its order: operations, the rows an operator ticks off, and the stops where something is measured."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal

from msgspec import Struct

from holecam.shapes import Point


class OperationKind(StrEnum):
    """What an operation is. The order of the members is the usual order of the work."""

    PLUG = "plug"
    FIND_DATUM = "find the datum"
    SPOT = "spot"
    MEASURE = "measure"
    DRILL = "drill"
    REAM = "ream"
    COUNTERBORE = "counterbore"
    COUNTERSINK = "countersink"
    TAP = "tap"
    DEBURR = "deburr"
    SLOT = "slot"
    POCKET = "pocket"
    STEP_DOWN = "step-down"
    FINAL_CHECK = "final check"


class Overshoot(Struct, frozen=True):
    """How to come to a position so that the backlash is taken up the same way every time.

    ``x`` and ``y`` are signed distances, mm, to pass the position by before coming back; 0 when the move already ends
    in the right sense. ``words`` says it as the operator does it.
    """

    x: float = 0.0
    y: float = 0.0
    words: str = ""


class NextSetting(Struct, frozen=True):
    """A setting that follows from what was measured: ``offset + factor * (target - measured)``, mm.

    Parameters
    ----------
    kind : {"side offset", "lower z", "move x", "move y"}
        What the result sets; ``move x`` and ``move y`` move every following coordinate.
    target : float
        What the measurement should be, mm.
    factor, offset : float
        0.5 and 0 for a slot widened on both sides; 1 and 0 for a plain difference.
    words : str
        The rule in words, for the printed page.
    """

    kind: Literal["side offset", "lower z", "move x", "move y"]
    target: float
    factor: float
    offset: float
    words: str


class Stop(Struct, frozen=True):
    """A planned halt: look or measure, and what to do on either answer.

    ``after_row`` is the number of the row after which it stands, 0 before the first. ``key`` is unique in the plan
    and names the field for what was found.
    """

    key: str
    title: str
    look_for: str
    expect: str
    if_not: str
    after_row: int = 0
    expected: float | None = None
    tolerance: float | None = None
    settings: tuple[NextSetting, ...] = ()

    @property
    def is_reading(self) -> bool:
        """Whether the expected figure is a position on the readout, and not a size measured on the work."""
        return any(s.kind in ("move x", "move y") for s in self.settings)


class Row(Struct, frozen=True):
    """One position to go to, or one pass to cut.

    Parameters
    ----------
    number : int
        From 1 within the operation.
    hole : int or None
        Number of the hole; ``None`` for a pass or a closing row.
    label : str
        What stands in front of the row on the paper.
    xy_part, xy_machine : Point
        Where to go (a pass: where it starts), mm, not rounded.
    to_part, to_machine : Point or None
        Where a pass ends.
    z : float or None
        Height of the tool's tip, mm, up is positive, 0 at the face that the operation names.
    overshoot : Overshoot
    closing : bool
        The row that returns to the first position to prove that nothing moved.
    note : str
    """

    number: int
    hole: int | None
    label: str
    xy_part: Point
    xy_machine: Point
    to_part: Point | None = None
    to_machine: Point | None = None
    z: float | None = None
    overshoot: Overshoot = Overshoot()
    closing: bool = False
    note: str = ""


class Operation(Struct, frozen=True):
    """One operation with one tool, at one setting of the machine.

    Parameters
    ----------
    number : int
        From 1, in the order of the work.
    kind : OperationKind
    title : str
    instructions : tuple of str
        One action a line, conditions before actions.
    tool : int
        Number in ``Plan.tools``; 0 for none.
    spindle_rpm, feed : float or None
        As on the sheet: turns a minute, mm a minute.
    rows : tuple of Row
    stops : tuple of Stop
    program : str
        Name of the program that does it, without folder; empty when done by hand or withheld.
    more_programs : tuple of str
        Further programs of the same operation, in the order in which they are run: a step-down, one pass a file.
    withheld : str
        Why there is no program, when a finding withholds it.
    pauses_here : bool
        It is safe to stop for the day after it.
    z_zero : str
        In words, what Z 0 is: the face that was touched.
    body : str
        Name of the piece that is worked on; empty for the part.
    cut : str
        Name of the slot or pocket of which it is a part: each part rests on those before it.
    """

    number: int
    kind: OperationKind
    title: str
    instructions: tuple[str, ...] = ()
    tool: int = 0
    spindle_rpm: float | None = None
    feed: float | None = None
    rows: tuple[Row, ...] = ()
    stops: tuple[Stop, ...] = ()
    program: str = ""
    withheld: str = ""
    pauses_here: bool = False
    z_zero: str = ""
    more_programs: tuple[str, ...] = ()
    body: str = ""
    cut: str = ""

    @property
    def row_word(self) -> str:
        """What the rows of this operation are: holes, or passes of a cutter."""
        milled = self.kind in (OperationKind.SLOT, OperationKind.POCKET)
        # holes of a chain have no numbers of their own
        chain = milled and bool(self.rows) and all(row.to_part is None for row in self.rows)
        return "hole" if any(row.hole is not None for row in self.rows) or not self.tool or chain else "pass"
