"""Write a planned program as text, in the subset of RS-274 that the design page names.

What is written: ``G0 G1 G2 G3 G17 G20 G21 G40 G49 G54 G80 G81 G83 G90 G94 G98 M0 M1 M3 M5 M6 M30 F S T``, and G84 only
for a machine that can tap with it. A motion word never stands without axis words. Every coordinate is rounded once,
from its absolute value; a move that has no length after rounding is left out.
"""

from __future__ import annotations

import math
from fractions import Fraction

from holecam.errors import InputError
from holecam.lengths import MM_PER_UNIT, decimal_text, exact, round_half_away
from holecam.plan.dialect import Dialect
from holecam.plan.motions import (
    ArcFeed,
    DrillCycle,
    Feed,
    ProgramPlan,
    Rapid,
    Remark,
    SpindleOff,
    SpindleOn,
    Stop,
    TapCycle,
    ToolChange,
    ToolUse,
)
from holecam.program.arc_words import (
    CHORD_STEPS,
    RADIUS_MISMATCH,
    arc_sweep,
    center_on_grid,
    chord_count,
    part_count,
    points_along,
)
from holecam.program.grid import Grid
from holecam.program.remarks import remark_lines
from holecam.shapes import Point

LARGEST_LINE_NUMBER = 99_999
"""Five digits (NISTIR 6556, line number); the count starts again after it. Repeats are allowed there."""

SMALLEST_ARC_STEPS = 3
"""Steps: a smaller radius is written as lines, because its shape is lost in the rounding anyway."""

PECK_BACKOFF = 0.254
"""mm (0.010 in). A drill that comes back to its hole by rapid stops this far above the bottom left before: the value
of the published interpreter's G83 (from memory)."""

FEED_DECIMALS: dict[str, int] = {"mm": 1, "in": 2}
"""Decimals of a feed that are tried first; slow feeds get more."""

FEED_ROUNDING = Fraction(1, 500)
"""A written feed may differ from the planned one by this share."""


def write_program(plan: ProgramPlan, dialect: Dialect | None = None) -> str:
    """Return the text of a program, lines ended by ``\\n``.

    Raises
    ------
    InputError
        The plan asks for something that the dialect or the language cannot say: tapping by a machine that cannot,
        an arc from an unknown place, a cut before the position is known.

    Notes
    -----
    The text is not checked here: :func:`holecam.program.check_program` reads it back and holds it against the plan.
    """
    writer = _Writer(plan, dialect or Dialect())
    for motion in plan.motions:
        writer.write(motion)
    return writer.finish()


def _names_place(motion: object) -> bool:
    return isinstance(motion, Rapid) and motion.x is not None and motion.y is not None


class _Writer:
    """Turns motions into lines; keeps the position in counts, so that what is left out is exactly what is known."""

    def __init__(self, plan: ProgramPlan, dialect: Dialect) -> None:
        limits = plan.limits
        guarded = (
            *(floor.z for floor in limits.hard_floors),
            *(bend.sheet_z + bend.gap for bend in limits.bends),
            *(keep.top_z for keep in limits.keep_outs if keep.top_z is not None),
        )
        self.plan = plan
        self.dialect = dialect
        self.grid = Grid(dialect, guarded)
        self.lines: list[str] = []
        self.at: list[int | None] = [None, None, None]  # counts; None where the place is not known
        self.true = [math.nan] * 3  # mm, unrounded: where the arcs of the plan start
        self.tool = 0
        self.rpm = 0.0
        self.turning = False
        self.halted = False  # stopped by the plan; the spindle starts again before the next move
        self.resume_rpm = 0.0
        self.feed = ""
        self.feed_texts: dict[float, str] = {}
        self.in_cycle = False
        self.block_count = 0
        self._head()

    # Head and end

    def _head(self) -> None:
        plan, dialect = self.plan, self.dialect
        if dialect.percent_signs:
            self.lines.append("%")
        if dialect.program_number is not None:
            self.lines.append(f"O{dialect.program_number:04d}")
        self._remark("PROGRAM", plan.name)
        for line in plan.title:
            self._remark("JOB", line)
        self._remark("UNITS", "millimetres" if dialect.unit == "mm" else "inches")
        if plan.zero:
            self._remark("ZERO", plan.zero)
        for tool in plan.tools:
            self._remark("TOOL", self._tool_text(tool))
        for line in plan.cautions:
            self._remark("CAUTION", line)
        self._block(f"G17 {'G20' if dialect.unit == 'in' else 'G21'} G40 G49 G54")
        self._block("G80 G90 G94")

    def finish(self) -> str:
        """Retract, stop, end."""
        self._retract()
        self._stop_spindle()
        self._block(self.dialect.end)
        if self.dialect.percent_signs:
            self.lines.append("%")
        return "\n".join(self.lines) + "\n"

    # Motions

    def write(self, motion: object) -> None:
        """Write one motion."""
        if not isinstance(motion, (DrillCycle, TapCycle)):
            self._end_cycle()
        if self.halted and isinstance(motion, (Rapid, Feed, ArcFeed, DrillCycle, TapCycle)):
            self._resume(to_new_place=isinstance(motion, (DrillCycle, TapCycle)) or _names_place(motion))
        match motion:
            case Feed():
                self._line_to(motion.x, motion.y, motion.z, motion.feed_mm_min)
            case ArcFeed():
                self._arc(motion)
            case Rapid():
                self._rapid(motion.x, motion.y, motion.z)
            case DrillCycle():
                self._drill(motion)
            case TapCycle():
                self._tap(motion)
            case ToolChange():
                self._take(self.plan.tool(motion.tool))
            case SpindleOn():
                self._turn(motion.rpm)
            case SpindleOff():
                self._stop_spindle()
                self.resume_rpm = 0.0
            case Stop():
                self._stop(motion)
            case Remark():
                self._remark("NOTE", motion.text)
            case _:
                raise InputError(f"program: {motion!r} is not a motion")

    def _rapid(self, x: float | None, y: float | None, z: float | None) -> None:
        """Rapid with height and place apart: up first, down last. A control may run both at once along a dog leg."""
        before = self.at[2]
        up = z is not None and (before is None or self.grid.z_count(z) > before)
        if up:
            self._move("G0", None, None, z, "")
        self._move("G0", x, y, None, "")
        if not up:
            self._move("G0", None, None, z, "")

    def _line_to(self, x: float | None, y: float | None, z: float | None, feed: float) -> None:
        self._need_place()
        self._move("G1", x, y, z, self._feed_text(feed))

    def _need_place(self) -> None:
        """A cut from an unknown place is refused: even an axis that is given would start somewhere unknown."""
        if None not in self.at:
            return
        unknown = [name for name, here in zip("XYZ", self.at, strict=True) if here is None]
        raise InputError(
            f'program "{self.plan.name}": a cut begins where {", ".join(unknown)} is not known; '
            "plan a rapid move to its start first"
        )

    def _arc(self, arc: ArcFeed) -> None:
        self._need_place()
        start = (self.true[0], self.true[1])
        z0, z1 = self.true[2], self.true[2] if arc.z is None else arc.z
        end = (arc.x, arc.y)
        feed = self._feed_text(arc.feed_mm_min)
        sweep = arc_sweep(start, end, arc.center, ccw=arc.ccw)
        radius = ((start[0] - arc.center[0]) ** 2 + (start[1] - arc.center[1]) ** 2) ** 0.5
        step = self.grid.step
        if self.dialect.arcs == "lines" or radius < SMALLEST_ARC_STEPS * step:
            tolerance = self.dialect.chord_tolerance if self.dialect.arcs == "lines" else step
            self._chords(start, end, arc.center, sweep, z0, z1, chord_count(sweep, radius, tolerance), feed)
            return
        parts = part_count(sweep)
        here = start
        for k, there in enumerate(points_along(start, end, arc.center, sweep, parts), 1):
            z = z1 if k == parts else z0 + (z1 - z0) * k / parts
            self._arc_part(here, there, arc.center, sweep / parts, z, feed)
            here = there

    def _arc_part(self, start: Point, end: Point, center: Point, sweep: float, z: float, feed: str) -> None:
        """Write one arc of at most half a circle; as lines where the grid has no good centre for it."""
        grid = self.grid
        a = (self.at[0] or 0, self.at[1] or 0)
        b = (grid.count(end[0]), grid.count(end[1]))
        ccw = sweep > 0
        if a == b:
            self._move("G1", end[0], end[1], z, feed)
            return
        middle = center_on_grid(a, b, start, center, sweep, grid.step, RADIUS_MISMATCH[self.dialect.unit])
        if middle is None:
            radius = ((start[0] - center[0]) ** 2 + (start[1] - center[1]) ** 2) ** 0.5
            count = chord_count(sweep, radius, CHORD_STEPS * grid.step)
            self._chords(start, end, center, sweep, self.true[2], z, count, feed)
            return
        if self.dialect.arc_centers == "incremental":
            middle = (middle[0] - a[0], middle[1] - a[1])
        # Both end coordinates are written: an arc with one of them left out is read differently by some controls
        words = ["G3" if ccw else "G2", f"X{grid.text(b[0])}", f"Y{grid.text(b[1])}"]
        height = grid.z_count(z)
        if height != self.at[2]:
            words.append(f"Z{grid.text(height)}")
        words += [f"I{grid.text(middle[0])}", f"J{grid.text(middle[1])}"]
        self._block(" ".join(words) + self._feed_word(feed))
        self.at[:] = [*b, height]
        self.true[:] = [*end, z]

    def _chords(
        self, start: Point, end: Point, center: Point, sweep: float, z0: float, z1: float, count: int, feed: str
    ) -> None:
        for k, there in enumerate(points_along(start, end, center, sweep, count), 1):
            z = z1 if k == count else z0 + (z1 - z0) * k / count
            self._move("G1", there[0], there[1], z, feed)

    def _drill(self, hole: DrillCycle) -> None:
        if self.dialect.cycles == "long-hand":
            self._drill_long_hand(hole)
            return
        grid = self.grid
        words = ["G98", "G83" if hole.peck is not None else "G81", *self._cycle_words(hole)]
        if hole.peck is not None:
            words.append(f"Q{grid.text(max(1, grid.count(hole.peck)))}")
        self._block(" ".join(words) + self._feed_word(self._feed_text(hole.feed_mm_min)))
        self._after_cycle(hole)

    def _drill_long_hand(self, hole: DrillCycle) -> None:
        """Write the moves that G81 and G83 stand for; pecks count from the retract height."""
        back = self.true[2]
        feed = self._feed_text(hole.feed_mm_min)
        self._move("G0", hole.x, hole.y, None, "")
        self._move("G0", None, None, hole.retract_z, "")
        if hole.peck is not None:
            pecks = 1
            while hole.retract_z - pecks * hole.peck > hole.bottom_z + self.grid.step / 2:
                depth = hole.retract_z - pecks * hole.peck
                self._move("G1", None, None, depth, feed)
                self._move("G0", None, None, hole.retract_z, "")
                self._move("G0", None, None, min(depth + PECK_BACKOFF, hole.retract_z), "")
                pecks += 1
        self._move("G1", None, None, hole.bottom_z, feed)
        self._move("G0", None, None, max(back, hole.retract_z), "")

    def _tap(self, hole: TapCycle) -> None:
        if not self.dialect.rigid_tapping:
            raise InputError(
                f'program "{self.plan.name}": hole {hole.hole} is to be tapped by the machine, '
                "but the dialect says that its spindle cannot follow the feed; plan a stop for tapping by hand"
            )
        if not self.turning or self.rpm != hole.rpm:
            self._end_cycle()
            self._turn(hole.rpm)
        self._block(
            " ".join(["G98", "G84", *self._cycle_words(hole)]) + self._feed_word(self._feed_text(hole.feed_mm_min))
        )
        self._after_cycle(hole)

    def _cycle_words(self, hole: DrillCycle | TapCycle) -> list[str]:
        grid = self.grid
        return [
            f"X{grid.text(grid.count(hole.x))}",
            f"Y{grid.text(grid.count(hole.y))}",
            f"Z{grid.text(grid.z_count(hole.bottom_z))}",
            f"R{grid.text(grid.z_count(hole.retract_z))}",
        ]

    def _after_cycle(self, hole: DrillCycle | TapCycle) -> None:
        self.at[0], self.at[1] = self.grid.count(hole.x), self.grid.count(hole.y)
        self.true[0], self.true[1] = hole.x, hole.y
        back = self.grid.z_count(hole.retract_z)
        if self.at[2] is not None and back > self.at[2]:  # the cycle went up to R and comes back to it
            self.at[2], self.true[2] = back, hole.retract_z
        self.in_cycle = True

    # Tool, spindle, stops

    def _take(self, tool: ToolUse) -> None:
        if tool.number == self.tool:
            return
        if self.tool:
            self._retract()
        self._stop_spindle()
        if self.dialect.tool_change == "change":
            self._remark("TOOL", self._tool_text(tool))
            self._block(f"T{tool.number} M6")
            if self.tool:  # no length offset is written (G49): each further tool has its height set by hand
                self._remark("LENGTH", f"set the height of T{tool.number} from the same zero, then start")
                self._block("M0")
        else:
            self._remark("CHANGE", f"take {self._tool_text(tool)}, set its height, then start")
            self._block(f"T{tool.number}")
            self._block("M0")
        self.tool = tool.number
        self.halted, self.resume_rpm = False, 0.0
        self._forget_place()
        self._move("G0", None, None, self.plan.safe_height, "")

    def _tool_text(self, tool: ToolUse) -> str:
        unit = self.dialect.unit
        size = decimal_text(exact(tool.diameter) / MM_PER_UNIT[unit], 4 if unit == "in" else 3)
        kind = "" if tool.kind.value in tool.name else f", {tool.kind.value}"
        return f"T{tool.number} {tool.name}{kind}, diameter {size} {unit}"

    def _turn(self, rpm: float) -> None:
        self.resume_rpm = 0.0
        if self.turning and rpm == self.rpm:
            return
        speed = round_half_away(Fraction(rpm))
        if speed < 1:
            raise InputError(f'program "{self.plan.name}": spindle speed {rpm} rpm: expected 1 rpm or more')
        self._block(f"S{speed} M3")
        self.rpm, self.turning = rpm, True

    def _stop_spindle(self) -> None:
        if self.turning:
            self._block("M5")
        self.turning = False

    def _stop(self, stop: Stop) -> None:
        self._retract()
        if self.turning:
            self.resume_rpm = self.rpm
        self._stop_spindle()
        self._remark("STOP", stop.message)
        self._block("M1" if stop.optional else "M0")
        self.halted = True

    def _resume(self, *, to_new_place: bool) -> None:
        """Go on after a stop: spindle, safe height, place. Whoever measured may have moved the machine."""
        self.halted = False
        if self.resume_rpm:
            self._turn(self.resume_rpm)
        x, y, _ = self.true
        known = self.at[0] is not None and self.at[1] is not None
        self._forget_place()
        self._move("G0", None, None, self.plan.safe_height, "")
        if known and not to_new_place:
            self._move("G0", x, y, None, "")

    def _retract(self) -> None:
        """Go up to the safe height; never down to it."""
        self._end_cycle()
        here = self.at[2]
        if here is None or here < self.grid.z_count(self.plan.safe_height):
            self._move("G0", None, None, self.plan.safe_height, "")

    def _end_cycle(self) -> None:
        if self.in_cycle:
            self._block("G80")
        self.in_cycle = False

    def _forget_place(self) -> None:
        self.at[:] = [None, None, None]

    # Words and lines

    def _move(self, word: str, x: float | None, y: float | None, z: float | None, feed: str) -> None:
        """Write a straight move with the axes that change; nothing if none does."""
        words = [word]
        for axis, value in enumerate((x, y, z)):
            if value is None:
                continue
            count = self.grid.z_count(value) if axis == 2 else self.grid.count(value)
            if count != self.at[axis]:
                words.append("XYZ"[axis] + self.grid.text(count))
                self.at[axis] = count
            self.true[axis] = value
        if len(words) > 1:
            self._block(" ".join(words) + (self._feed_word(feed) if feed else ""))

    def _feed_text(self, feed_mm_min: float) -> str:
        known = self.feed_texts.get(feed_mm_min)
        if known is None:
            known = self.feed_texts[feed_mm_min] = self._new_feed_text(feed_mm_min)
        return known

    def _new_feed_text(self, feed_mm_min: float) -> str:
        unit = self.dialect.unit
        true = exact(feed_mm_min) / MM_PER_UNIT[unit]
        fastest = self.plan.limits.fastest_feed_mm_min
        most = None if fastest is None else exact(fastest) / MM_PER_UNIT[unit]
        for decimals in range(FEED_DECIMALS[unit], 6):
            text = decimal_text(true, decimals)
            if most is not None and Fraction(text) > most >= true:  # rounded past what the machine has
                text = decimal_text(Fraction(math.floor(true * 10**decimals), 10**decimals), decimals)
            if abs(Fraction(text) - true) <= true * FEED_ROUNDING:
                return text.rstrip("0").rstrip(".")
        raise InputError(f'program "{self.plan.name}": feed {feed_mm_min} mm/min is too slow to be written')

    def _feed_word(self, feed: str) -> str:
        if feed == self.feed:
            return ""
        self.feed = feed
        return f" F{feed}"

    def _remark(self, label: str, text: str) -> None:
        if self.dialect.comments == "none":
            return
        for line in remark_lines(label, text):
            self.lines.append(f"({line})" if self.dialect.comments == "parentheses" else f"; {line}")

    def _block(self, words: str) -> None:
        step = self.dialect.line_number_step
        if step:
            self.block_count += 1
            number = self.block_count * step
            if number > LARGEST_LINE_NUMBER:
                self.block_count, number = 1, step
            words = f"N{number} {words}"
        self.lines.append(words)
