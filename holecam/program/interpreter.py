"""Executes one block after another: modal state, order of execution, moves and events. The slow, complete reader.

Order of execution within a block as in NISTIR 6556, 3.8, table 8 (from memory): remark, feed mode, F, S, T, M6,
spindle, coolant, overrides, dwell, plane, units, radius compensation, length offset, work offset, path control,
distance mode, return level, motion, stop. What the report leaves to the control, or what controls read differently, is
refused.
"""

from __future__ import annotations

import math

from holecam.plan.dialect import Dialect
from holecam.program.arc_reading import PLANE_AXES, center_from_offsets, center_from_radius, upright_chords
from holecam.program.arc_words import RADIUS_MISMATCH
from holecam.program.blocks import Block, RefusedLineError
from holecam.program.cycles import CycleWords, steps
from holecam.program.language import (
    CYCLES,
    G_GROUP,
    M_GROUP,
    REFUSED_G,
    REFUSED_M,
    RULE_ARCS,
    RULE_CYCLES,
    RULE_G,
    RULE_GROUPS,
    RULE_M,
    RULE_ORDER,
    Group,
    code_text,
)
from holecam.program.moves import Event, EventKind, Kind, MoveColumns, Setup

NAN = float("nan")
NO_CENTER = (NAN, NAN)
AXES = "XYZ"
MOST_REMARK = 400
"""Characters of a remark that are kept with the stop or tool change after it."""

CYCLE_WORDS = {**dict.fromkeys((730, 830), "RQ"), **dict.fromkeys((820, 840, 890), "RP")}
"""Words beside axes and repeats that a cycle takes; the others take R alone."""

MOST_REPEATS = 1000
"""Repeats (L) of one cycle; more is a mistake."""


class Interpreter:
    """The state of the control. ``execute`` runs one block; the result is in ``columns`` and ``events``."""

    def __init__(self, dialect: Dialect) -> None:
        self.columns = MoveColumns()
        self.events: list[Event] = []
        self.doubts: list[tuple[int, str]] = []
        self.place = [NAN, NAN, NAN]  # mm, work frame
        self.motion: int | None = None  # tenths of the G code in effect
        self.feed = NAN  # mm/min
        self.rpm: float | None = None
        self.spindle = 0
        self.tool = 0
        self.selected: int | None = None
        self.plane = 170
        self.scale = 1.0  # mm in a unit; millimetres until stated, which is a finding
        self.units: str | None = None
        self.incremental = False
        self.distance_stated = False
        self.absolute_centers = dialect.arc_centers == "absolute"
        self.change_by_stop = dialect.tool_change == "stop"
        self.return_high = True  # G98
        self.level = NAN  # Z before the running sequence of cycles
        self.cycle: CycleWords | None = None
        self.cycle_count = 0
        self.length_offset: int | None = None
        self.work_offset: int | None = None
        self.ended_at = 0
        self.remark = ""
        self.remark_closed = True
        self._setup = -1

    @property
    def setup(self) -> int:
        """Index of what is set now."""
        if self._setup < 0:
            self._setup = self.columns.setup_index(
                Setup(
                    self.tool,
                    self.spindle,
                    self.rpm,
                    self.units is not None,
                    self.distance_stated,
                    self.length_offset,
                )
            )
        return self._setup

    # One block

    def execute(self, block: Block, line: int) -> None:
        """Run a block.

        Raises
        ------
        RefusedLineError
            Something that the published language refuses or that is not read. The state is then not to be trusted.
        """
        if block.remarks:
            self._keep_remark(block.remarks)
        if block.empty:
            return
        self.remark_closed = True
        by_group = _groups(block)
        used = set()
        words = block.words
        if "F" in words:
            used.add("F")
            self._set_feed(words["F"], by_group.get(Group.UNITS))
        if "S" in words:
            used.add("S")
            if words["S"] < 0:
                raise RefusedLineError("S: a spindle speed is 0 or more", RULE_G)
            self.rpm = words["S"]
        if "T" in words:
            used.add("T")
            self.selected = _whole("T", words["T"])
        if Group.TOOL_CHANGE in by_group:
            self._change_tool(line)
        if Group.SPINDLE in by_group:
            self.spindle = {3: 1, 4: -1, 5: 0}[by_group[Group.SPINDLE]]
            self._event(EventKind.SPINDLE, line, number=self.spindle * (self.rpm or 0.0))
        if Group.NON_MODAL in by_group:
            self._dwell(words, line)
            used.add("P")
        self._set_modes(by_group, words, used)
        if "S" in words or by_group.keys() - {Group.MOTION}:
            self._setup = -1
        self._move(by_group.get(Group.MOTION), words, used, line)
        unused = sorted(set(words) - used)
        if unused:
            raise RefusedLineError(f"the word {unused[0]} has no use in this line", RULE_GROUPS)
        if Group.STOPPING in by_group:
            self._halt(by_group[Group.STOPPING], line)
        if Group.STOPPING in by_group or any(axis in words for axis in AXES):
            self.remark = ""

    def _keep_remark(self, remarks: list[str]) -> None:
        """Keep the text that stands before a stop: lines of remarks in a row belong together."""
        if self.remark_closed:
            self.remark = ""
        self.remark_closed = False
        parts = [self.remark, *(r.removeprefix("... ") for r in remarks)]
        self.remark = " ".join(part for part in parts if part)[:MOST_REMARK]

    def _event(self, kind: EventKind, line: int, *, text: str = "", number: float = 0.0, halts: bool = False) -> None:
        self.events.append(Event(kind, line, len(self.columns), text, number, self.spindle != 0, halts))

    def _set_feed(self, value: float, units: int | None) -> None:
        if value < 0:
            raise RefusedLineError("F: a feed is 0 or more", RULE_G)
        if units is not None and {200: "in", 210: "mm"}[units] != self.units:
            raise RefusedLineError(
                "F stands in the line that sets the units: in the order of execution it comes before them. "
                "Write it in a later line",
                RULE_ORDER,
            )
        self.feed = value * self.scale

    def _change_tool(self, line: int) -> None:
        if self.selected is None:
            raise RefusedLineError("M6 without a tool: no T word came before it", RULE_M)
        self.tool = self.selected
        self.spindle = 0
        self.place = [NAN, NAN, NAN]  # another length, and hands at the machine
        self._event(EventKind.TOOL_CHANGE, line, text=self.remark, number=self.tool)

    def _dwell(self, words: dict[str, float], line: int) -> None:
        if "P" not in words or words["P"] < 0:
            raise RefusedLineError("G4 needs the seconds as P, 0 or more", RULE_G)
        if any(axis in words for axis in AXES):
            raise RefusedLineError("axis words beside G4: some controls take X as the time", RULE_GROUPS)
        self._event(EventKind.DWELL, line, number=words["P"])

    def _set_modes(self, by_group: dict[Group, int], words: dict[str, float], used: set[str]) -> None:
        if Group.PLANE in by_group:
            self.plane = by_group[Group.PLANE]
        if Group.UNITS in by_group:
            units = "in" if by_group[Group.UNITS] == 200 else "mm"
            if units != self.units:
                self.feed = NAN  # whether a feed follows the units differs: it has to be stated again
                self.cycle = None
            self.units, self.scale = units, 25.4 if units == "in" else 1.0
        if Group.LENGTH_OFFSET in by_group:
            self._set_length_offset(by_group[Group.LENGTH_OFFSET], words, used)
        if Group.WORK_OFFSET in by_group:
            offset = by_group[Group.WORK_OFFSET]
            if offset != (self.work_offset or 540) and (self.work_offset is not None or len(self.columns)):
                raise RefusedLineError(
                    f"{code_text('G', offset)}: the program goes on from another zero, and how far away it lies is "
                    "not known here",
                    RULE_G,
                )
            self.work_offset = offset
        if Group.DISTANCE in by_group:
            self.incremental = by_group[Group.DISTANCE] == 910
            self.distance_stated = True
        if Group.ARC_CENTERS in by_group:
            self.absolute_centers = by_group[Group.ARC_CENTERS] == 901
        if Group.RETURN_LEVEL in by_group:
            self.return_high = by_group[Group.RETURN_LEVEL] == 980

    @property
    def zero(self) -> str:
        """The zero that the program says it counts from, such as G55; empty where it says none."""
        return "" if self.work_offset is None else code_text("G", self.work_offset)

    def _set_length_offset(self, code: int, words: dict[str, float], used: set[str]) -> None:
        offset = 0
        if code == 430:
            if "H" not in words:
                raise RefusedLineError("G43 needs the number of its offset as H", RULE_G)
            used.add("H")
            offset = _whole("H", words["H"])
        if offset != self.length_offset:
            self.place[2] = NAN  # the tip jumps by a length that is not known here
        self.length_offset = offset

    def _halt(self, code: int, line: int) -> None:
        if code in (2, 30):
            self._event(EventKind.END, line, text=self.remark)
            self.ended_at = line
            self.spindle = 0
        elif code == 0 and self.change_by_stop and self.selected not in (None, self.tool):
            self.tool = self.selected or 0
            self._event(EventKind.TOOL_CHANGE, line, text=self.remark, number=self.tool, halts=True)
            self.place = [NAN, NAN, NAN]
        elif code == 0:
            self._event(EventKind.STOP, line, text=self.remark, halts=True)
        else:
            self._event(EventKind.OPTIONAL_STOP, line, text=self.remark)
        self._setup = -1

    # Motion

    def _move(self, code: int | None, words: dict[str, float], used: set[str], line: int) -> None:
        axes = [axis for axis in AXES if axis in words]
        if code == 800:
            if axes:
                raise RefusedLineError("axis words beside G80: no motion is in effect", RULE_G)
            self.motion, self.cycle = None, None
            return
        if code is not None and not axes:
            raise RefusedLineError(f"{code_text('G', code)} without axis words", RULE_G)
        if not axes:
            return
        if code is None and self.motion is None:
            raise RefusedLineError(f"the word {axes[0]} while no motion is in effect", RULE_G)
        used.update(axes)
        motion = self.motion if code is None else code
        if motion is None:  # settled above
            return
        if motion in CYCLES:
            self._cycle(motion, words, used, line)
            self.motion = motion
            return
        self.cycle = None
        self.motion = motion
        end = [self._target(axis, words) for axis in range(3)]
        if motion in (0, 10):
            self._add(Kind.RAPID if motion == 0 else Kind.FEED, end, line)
        else:
            self._arc(end, words, used, line, ccw=motion == 30)

    def _target(self, axis: int, words: dict[str, float]) -> float:
        value = words.get(AXES[axis])
        if value is None:
            return self.place[axis]
        if not self.incremental:
            return value * self.scale
        if math.isnan(self.place[axis]):
            raise RefusedLineError(
                f"{AXES[axis]} counts from a place that is not known (G91): go to an absolute position first", RULE_G
            )
        return round(self.place[axis] + value * self.scale, 9)

    def _add(
        self, kind: Kind, end: list[float], line: int, *, center: tuple[float, float] = NO_CENTER, cycle: int = -1
    ) -> None:
        here = (self.place[0], self.place[1], self.place[2])
        self.columns.add(line, kind, here, (end[0], end[1], end[2]), center, self.feed, self.setup, cycle)
        self.place = list(end)

    def _arc(self, end: list[float], words: dict[str, float], used: set[str], line: int, *, ccw: bool) -> None:
        first, second, third = PLANE_AXES[self.plane]
        if AXES[first] not in words and AXES[second] not in words:
            raise RefusedLineError(f"the arc has neither {AXES[first]} nor {AXES[second]}", RULE_ARCS)
        if any(math.isnan(self.place[axis]) for axis in (first, second)):
            raise RefusedLineError("the arc starts at a place that is not known", RULE_ARCS)
        a, b = (self.place[first], self.place[second]), (end[first], end[second])
        limit = RADIUS_MISMATCH["in" if self.units == "in" else "mm"]
        letters = ("IJK"[first], "IJK"[second])
        given = [letter for letter in letters if letter in words]
        if "R" in words:
            if given:
                raise RefusedLineError(f"the arc has both R and {given[0]}", RULE_ARCS)
            used.add("R")
            center = center_from_radius(a, b, words["R"] * self.scale, ccw=ccw, limit=limit)
        else:
            used.update(given)
            i, j = (words[letter] * self.scale if letter in words else None for letter in letters)
            center = center_from_offsets(a, b, (i, j), absolute=self.absolute_centers, limit=limit)
        if self.plane == 170:
            self._add(Kind.ARC_CCW if ccw else Kind.ARC_CW, end, line, center=center)
            return
        if math.isnan(self.place[third]):
            raise RefusedLineError("the arc starts at a place that is not known", RULE_ARCS)
        start = (self.place[0], self.place[1], self.place[2])
        for point in upright_chords(start, (end[0], end[1], end[2]), center, self.plane, ccw=ccw):
            self._add(Kind.FEED, list(point), line)

    def _cycle(self, code: int, words: dict[str, float], used: set[str], line: int) -> None:
        name = code_text("G", code)
        if self.plane != 170:
            raise RefusedLineError(f"{name}: cycles are read in the XY plane (G17) only", RULE_CYCLES)
        if math.isnan(self.place[2]):
            raise RefusedLineError(f"{name} starts at a height that is not known", RULE_CYCLES)
        cycle = self._cycle_words(code, words, used)
        repeats = 1
        if "L" in words:
            used.add("L")
            repeats = _whole("L", words["L"])
            if not 1 <= repeats <= MOST_REPEATS:
                raise RefusedLineError(f"L{repeats}: expected 1 to {MOST_REPEATS} repeats", RULE_CYCLES)
        clear = self._clear_height(cycle, line)
        if self.place[2] < cycle.retract:
            self._cycle_move(Kind.RAPID, z=cycle.retract, line=line)
        for _ in range(repeats):
            x, y = self._target(0, words), self._target(1, words)
            if math.isnan(x) or math.isnan(y):
                raise RefusedLineError(f"{name}: the place of the hole is not known", RULE_CYCLES)
            if (x, y) != (self.place[0], self.place[1]):
                self._add(Kind.RAPID, [x, y, self.place[2]], line, cycle=self.cycle_count)
            if self.place[2] != cycle.retract:
                self._cycle_move(Kind.RAPID, z=cycle.retract, line=line)
            for kind, z in steps(cycle, clear):
                self._cycle_move(kind, z=z, line=line)
            self.cycle_count += 1

    def _cycle_move(self, kind: Kind, *, z: float, line: int) -> None:
        self._add(kind, [self.place[0], self.place[1], z], line, cycle=self.cycle_count)

    def _cycle_words(self, code: int, words: dict[str, float], used: set[str]) -> CycleWords:
        """Return the words of the cycle, those not given taken from the line before (they are sticky)."""
        before = self.cycle if self.cycle is not None and self.cycle.code == code else None
        if before is None:
            self.level = self.place[2]
        name = code_text("G", code)
        for letter in ("Z", "R"):
            if letter not in words and before is None:
                raise RefusedLineError(f"{name} needs {letter} in its first line", RULE_CYCLES)
        used.update(CYCLE_WORDS.get(code, "R"))
        if self.incremental and not ("R" in words and "Z" in words):
            raise RefusedLineError(
                f"{name}: with G91 controls differ on what a kept R or Z counts from; write both again", RULE_CYCLES
            )
        if self.incremental:  # R counts from the height before the cycle, Z from R
            retract = round(self.place[2] + words["R"] * self.scale, 9)
            bottom = round(retract + words["Z"] * self.scale, 9)
        else:
            retract = words["R"] * self.scale if "R" in words else before.retract if before else NAN
            bottom = words["Z"] * self.scale if "Z" in words else before.bottom if before else NAN
        peck = words["Q"] * self.scale if "Q" in words else before.peck if before else None
        dwell = words.get("P", before.dwell if before else None)
        cycle = CycleWords(code, bottom, retract, peck, dwell)
        cycle.check()
        self.cycle = cycle
        return cycle

    def _clear_height(self, cycle: CycleWords, line: int) -> float:
        """Return where the cycle ends: R with G99; with G98 the height before, if that is above R."""
        if not self.return_high:
            return cycle.retract
        here, first = max(self.place[2], cycle.retract), max(self.level, cycle.retract)
        if here != first:
            # After lines with G99: the height before this line, or before the whole sequence? Controls differ.
            self.doubts.append((line, "return-level-unclear"))
        return min(here, first)


def _groups(block: Block) -> dict[Group, int]:
    """Return the codes of a block by modal group; refuse unknown ones and two of a group."""
    found: dict[Group, int] = {}
    for letter, codes, known, refused in (
        ("G", block.g_codes, G_GROUP, REFUSED_G),
        ("M", block.m_codes, M_GROUP, REFUSED_M),
    ):
        for code in codes:
            text = code_text(letter, code if letter == "G" else code * 10)
            group = known.get(code)
            if group is None:
                raise RefusedLineError(
                    refused.get(code, f"{text} is not a word that is read"), RULE_G if letter == "G" else RULE_M
                )
            if group in found and not (group is Group.COOLANT and {code, found[group]} == {7, 8}):
                raise RefusedLineError(f"{text}: the line has two words for {group.value}", RULE_GROUPS)
            found[group] = code
    return found


def _whole(letter: str, value: float) -> int:
    if value < 0 or value != math.floor(value) or value > 99_999_999:
        raise RefusedLineError(f"{letter}{value:g}: expected a whole number of 0 or more", RULE_G)
    return int(value)
