"""A planned job: its plans, its checked programs, and what a notebook wants to see of them."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.job.models import Job
from holecam.plan.finding import Finding, Severity
from holecam.plan.holes import PlannedHole
from holecam.plan.plan import Plan

if TYPE_CHECKING:
    from holecam.delivery.folder import Delivered
    from holecam.output.notebook import Shown

OTHER_HAND = "other-hand-"
"""Put before the names of the files that belong to the mirrored part."""


class PlannedJob(Struct, frozen=True):
    """The plans of a job and the texts of the programs that passed their check, by file name.

    A job with another hand has two plans: the part as given, then its mirror image. What speaks of "the plan" below
    is the part as given. At the end of a notebook cell a planned job shows its picture, coordinates and findings.
    """

    job: Job
    plans: tuple[Plan, ...]
    programs: tuple[Mapping[str, str], ...]

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings of all plans, each once."""
        return tuple(dict.fromkeys(f for plan in self.plans for f in plan.findings))

    @property
    def withholds(self) -> bool:
        """Whether some finding withholds something."""
        return any(f.severity is Severity.STOP for f in self.findings)

    @property
    def plan(self) -> Plan:
        """The plan of the part as given: every figure that the papers print."""
        return self.plans[0]

    @property
    def holes(self) -> tuple[PlannedHole, ...]:
        """The holes of the plan, in the order of their numbers."""
        return self.plan.holes

    @property
    def xy_part(self) -> NDArray[np.float64]:
        """Centres of the holes in the part frame, mm, not rounded, shape ``(n, 2)``."""
        return np.array([h.xy_part for h in self.holes], dtype=np.float64).reshape(-1, 2)

    @property
    def xy_machine(self) -> NDArray[np.float64]:
        """Centres of the holes in the frame that the readout shows, mm, not rounded, shape ``(n, 2)``."""
        return np.array([h.xy_machine for h in self.holes], dtype=np.float64).reshape(-1, 2)

    @property
    def xy_readout(self) -> NDArray[np.float64]:
        """The same as the readout can show it: each rounded once to its step, mm, shape ``(n, 2)``."""
        from holecam.lengths import counts

        step = self.plan.machine.readout.resolution
        rounded = [[float(counts(v, step) * step) for v in h.xy_machine] for h in self.holes]
        return np.array(rounded, dtype=np.float64).reshape(-1, 2)

    @property
    def program_texts(self) -> dict[str, str]:
        """The programs that passed their check, by file name; those of the mirrored part with its prefix."""
        return {
            f"{'' if number == 0 else OTHER_HAND}{name}": text
            for number, programs in enumerate(self.programs)
            for name, text in programs.items()
        }

    def papers(self) -> dict[str, bytes]:
        """Return every paper and program by file name, as :meth:`write` puts them on the disk."""
        from holecam.delivery.plan_folder import papers_of

        return papers_of(self)

    def write(self, folder: str | os.PathLike[str]) -> Delivered:
        """Write papers and programs into a folder, and return what was written and which edited files were kept.

        Raises
        ------
        OutputError
            The folder cannot be written; what was there is as it was.
        """
        from holecam.delivery.plan_folder import write_folder

        return write_folder(self, Path(folder))

    def freedom(self) -> Shown:
        """Return pictures, for a notebook, of where each pattern could go; empty where that was not worked out."""
        from holecam.output.notebook import show_freedom

        return show_freedom(self.plan)

    def chains(self) -> Shown:
        """Return pictures, for a notebook, of the measured chains; empty where there are none."""
        from holecam.output.notebook import show_chains

        return show_chains(self.plan)

    def cuts(self) -> Shown:
        """Return pictures, for a notebook, of slots, pockets and step-downs; empty where there are none."""
        from holecam.output.notebook import show_cuts

        return show_cuts(self.plan)

    def _repr_html_(self) -> str:
        from holecam.output.notebook import show_plan

        return "".join(show_plan(plan).html for plan in self.plans)

    def __repr__(self) -> str:
        """Return the plans as tables for a terminal."""
        from holecam.output.terminal_table import plan_table

        return "\n".join(plan_table(plan) for plan in self.plans)
