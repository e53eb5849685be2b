"""Read a program back and say whether it may be run: against a plan, against stated limits, or on its own."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from holecam.lengths import Unit
from holecam.plan.dialect import Dialect
from holecam.plan.finding import Severity
from holecam.plan.limits import ProgramLimits
from holecam.plan.motions import ProgramPlan, ToolUse
from holecam.program.account import ProgramAccount, make_account
from holecam.program.check_context import CheckContext
from holecam.program.check_holes import check_holes, wanted_holes
from holecam.program.check_machine import check_machine
from holecam.program.check_modes import check_modes, check_reading, check_zero
from holecam.program.check_plan import check_cuts, check_stops, holes_done
from holecam.program.check_rapids import check_halts, check_rapids
from holecam.program.check_zones import check_zones
from holecam.program.planned_moves import PlannedMoves, planned_moves
from holecam.program.program_findings import FindingList, ProgramFinding
from holecam.program.reader import Reading, read_program

ROUNDING_STEPS = 2.0
"""Steps of the last decimal that a written path may lie from the planned one: rounded ends are within 0.71, a height
that is rounded up within 1, any place of an arc within 1.25, and a little is left for the reader's own arithmetic."""


class CheckResult(Struct, frozen=True):
    """What the check found, and what the program does."""

    findings: tuple[ProgramFinding, ...]
    account: ProgramAccount

    @property
    def passed(self) -> bool:
        """True when nothing withholds the program: no finding of severity ``STOP``."""
        return all(f.severity is not Severity.STOP for f in self.findings)

    @property
    def clean(self) -> bool:
        """True when there is neither a stop nor a caution."""
        return all(f.severity is Severity.NOTE for f in self.findings)


def check_program(text: str, plan: ProgramPlan, dialect: Dialect | None = None) -> CheckResult:
    """Return what is wrong with a program that should do what the plan says.

    Parameters
    ----------
    text : str
        The program as it will stand on the disk.
    plan : ProgramPlan
        Its motions, tools, safe height and limits.
    dialect : Dialect
        The dialect in which it was written; it is read back in the same.
    """
    speech = dialect or Dialect()
    step = speech.step
    tolerance = plan.limits.path_tolerance or ROUNDING_STEPS * step + 1e-6
    planned = planned_moves(plan, speech)
    return _check(
        text, speech, plan.limits, {t.number: t for t in plan.tools}, plan.safe_height, tolerance, planned, step
    )


def verify_text(
    text: str,
    *,
    dialect: Dialect | None = None,
    limits: ProgramLimits | None = None,
    tools: Iterable[ToolUse] = (),
    safe_height: float | None = None,
) -> CheckResult:
    """Return what is wrong with any program, without a plan: language, modes, rapids, zones, machine, end.

    Without ``safe_height`` (mm) the top of the stock counts, and without stock Z0: sideways rapids under it are
    findings. Holes that ``limits`` expects are compared. Tools that are not described are followed as needles.
    """
    speech = dialect or Dialect()
    held = limits or ProgramLimits()
    top = held.stock.top_z if held.stock is not None else 0.0
    tolerance = held.path_tolerance or ROUNDING_STEPS * speech.step + 1e-6
    known = {t.number: t for t in tools}
    return _check(text, speech, held, known, top if safe_height is None else safe_height, tolerance, None, speech.step)


def _check(
    text: str,
    dialect: Dialect,
    limits: ProgramLimits,
    tools: dict[int, ToolUse],
    safe_height: float,
    tolerance: float,
    planned: PlannedMoves | None,
    step: float,
) -> CheckResult:
    def look(reading: Reading, found: FindingList) -> CheckContext:
        return _look(reading, found, dialect, limits, tools, safe_height, tolerance, planned, step)

    found = FindingList()
    reading = read_program(text, dialect)
    context = look(reading, found)
    if reading.deletable:  # the switch may stand either way when the program is run
        found.add("block-delete", 0, "lines begin with /; the program was checked with the switch on and off")
        look(read_program(text, dialect, skip_deletable=True), found)
    return CheckResult(_once(found.findings()), make_account(context, reading.units, reading.line_count))


def _look(
    reading: Reading,
    found: FindingList,
    dialect: Dialect,
    limits: ProgramLimits,
    tools: dict[int, ToolUse],
    safe_height: float,
    tolerance: float,
    planned: PlannedMoves | None,
    step: float,
) -> CheckContext:
    unit: Unit = "in" if (reading.units or dialect.unit) == "in" else "mm"
    top = _stock_top(limits)
    chord = dialect.chord_tolerance if dialect.arcs == "lines" else 0.0
    context = CheckContext(
        reading.moves, reading.events, limits, tools, safe_height, top, tolerance, unit, found, chord
    )
    check_reading(reading, found)
    if planned is not None:
        check_zero(reading, found)
        if not reading.refused:
            check_halts(context)
    check_modes(context)
    check_rapids(context)
    check_zones(context)
    check_machine(context)
    if reading.refused:
        return context  # what follows the refused line is not known: holding the rest against the plan says nothing
    wanted = wanted_holes(context, planned)
    if wanted or planned is not None:
        check_holes(context, wanted)
    if planned is not None:
        done = check_cuts(context, planned, step) + holes_done(wanted)
        check_stops(context, planned, done)
    return context


def _stock_top(limits: ProgramLimits) -> float:
    if limits.stock is not None:
        return limits.stock.top_z
    return max((hole.top_z for hole in limits.holes), default=0.0)


def _once(findings: tuple[ProgramFinding, ...]) -> tuple[ProgramFinding, ...]:
    """Return the findings without repeats: with block delete a program is checked twice."""
    return tuple(dict.fromkeys(findings))
