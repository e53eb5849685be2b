"""The plan: every figure that a paper, a picture or a program needs, frozen."""

from __future__ import annotations

from msgspec import Struct

from holecam.lengths import Unit
from holecam.plan.chain import ChainReport
from holecam.plan.facts import Caution, CheckDistance, Figure, MachineFacts, PartFacts, Setup
from holecam.plan.finding import Finding, Severity
from holecam.plan.holes import PlannedHole, StandingHole
from holecam.plan.marking import MarkingReport
from holecam.plan.milled import MilledCut
from holecam.plan.motions import Dialect, ProgramPlan, ToolUse
from holecam.plan.reports import MateReport, PlaceReport
from holecam.plan.step_down import StepDownReport
from holecam.plan.work import Operation


class Plan(Struct, frozen=True):
    """The waist of the hour-glass: made from a job, read by every writer, computed by none of them.

    Lengths are mm. ``unit`` is what the papers speak; ``fingerprint`` identifies the job text. Holes are in the order
    of their numbers, operations in the order of the work.
    """

    title: str
    unit: Unit
    fingerprint: str
    part: PartFacts
    machine: MachineFacts
    setup: Setup
    holes: tuple[PlannedHole, ...]
    standing_holes: tuple[StandingHole, ...]
    tools: tuple[ToolUse, ...]
    operations: tuple[Operation, ...]
    programs: tuple[ProgramPlan, ...]
    dialect: Dialect
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    checks: tuple[CheckDistance, ...]
    figures: tuple[Figure, ...]
    places: tuple[PlaceReport, ...] = ()
    mates: tuple[MateReport, ...] = ()
    chains: tuple[ChainReport, ...] = ()
    markings: tuple[MarkingReport, ...] = ()
    step_downs: tuple[StepDownReport, ...] = ()
    cuts: tuple[MilledCut, ...] = ()
    revision: str = ""
    date: str = ""
    notes: tuple[str, ...] = ()

    @property
    def worst(self) -> Severity | None:
        """The worst severity among the findings, ``None`` when there are none."""
        return max((f.severity for f in self.findings), key=lambda s: s.rank, default=None)

    def tool(self, number: int) -> ToolUse:
        """Return the tool with this number.

        Raises
        ------
        KeyError
            No tool has it.
        """
        for tool in self.tools:
            if tool.number == number:
                return tool
        raise KeyError(number)
