"""The only module of this folder that calls holecam: a job text goes in, the texts that a user would get come out."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import holecam
from holecam.output.plan_json import plan_json
from holecam.output.spreadsheet import coordinates_csv

Plan = dict[str, Any]
"""A parsed ``plan.json``."""

Drawings = Mapping[str, Callable[[Path], None]]
"""For each drawing of a job, its name and what writes it to a path."""


@dataclass(frozen=True)
class PlannedWork:
    """What came of a job: one plan and one table of coordinates for each hand, and all programs by file name."""

    refused: str
    """Why the job was refused; nothing else is filled then."""

    plans: tuple[Plan, ...] = ()
    coordinates: tuple[str, ...] = ()
    programs: Mapping[str, str] | None = None
    papers: Mapping[str, bytes] | None = None
    """The folder by file name, where the check wants the papers for people too."""
    planned: Any = None
    """What the package holds of the planned job; only :meth:`passes` hands it back."""

    @property
    def plan(self) -> Plan:
        """The plan of the part itself."""
        return self.plans[0]

    def programs_of(self, hand: int) -> dict[str, str]:
        """Return the programs of the part (0) or of its other hand (1), in the order of their names."""
        texts = self.programs or {}
        return {n: texts[n] for n in sorted(texts) if n.startswith("other-hand-") == bool(hand)}

    def passes(self, name: str, text: str) -> bool:
        """Return whether a program, as somebody may have changed it, passes the check against the plan."""
        with tempfile.TemporaryDirectory(prefix="holecam-apart-") as folder:
            path = Path(folder) / "changed.nc"
            path.write_bytes(text.encode("utf-8"))
            try:
                return bool(holecam.verify_program(path, job=self.planned, meant_as=name).passed)
            except holecam.HolecamError:
                return False


def plan_text(text: str, drawings: Drawings | None = None, *, papers: bool = False) -> PlannedWork:
    """Plan a job text and return what its folder would hold, the papers for people only if they are wanted."""
    with tempfile.TemporaryDirectory(prefix="holecam-apart-") as folder:
        path = Path(folder) / "job.toml"
        path.write_text(text, encoding="utf-8")
        for name, write in (drawings or {}).items():
            write(Path(folder) / name)
        try:
            planned = holecam.plan_job(holecam.read_job(path))
        except holecam.HolecamError as error:
            return PlannedWork(refused=str(error))
    return PlannedWork(
        refused="",
        plans=tuple(json.loads(plan_json(plan)) for plan in planned.plans),
        coordinates=tuple(coordinates_csv(plan) for plan in planned.plans),
        programs=dict(planned.program_texts),
        papers=planned.papers() if papers else None,
        planned=planned,
    )
