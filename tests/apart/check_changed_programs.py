"""The check of a program against its plan: does it refuse what does harm, and pass what does none.

A random cut or hole job is planned, one of its programs changed by a slip, and both are read by the interpreter of
this folder. A change does harm when the tool comes more than 0.35 mm off its path below the top of the part, or
leaves out as much; when it goes 0.01 mm deeper than before; when it moves fast where it cut; with a spindle that
stands, turns otherwise or faster, or another tool; with more than 1.3 times the greatest feed; when a stop is gone;
when it passes sideways below the safe height. Each such program has to be refused. Programs that mean the same have
to pass.

Not covered: rapids straight down in milling programs, where an earlier pass may have taken the metal; jobs with
drawings, programs of more than 25 000 characters; what harms less than the figures above, which is neither asked to
pass nor to be refused; other work offsets than G54, which the check lets pass; a feed that a control keeps modally
wrong.
"""

from __future__ import annotations

import itertools
import math
import random
from typing import Any

import numpy as np
from account import Account
from changed_programs import harmless_changes, slips
from cnc_setups import CncSetup
from hole_jobs import HoleJob, draw_hole_job
from numpy.typing import NDArray
from planned_work import PlannedWork
from pocket_jobs import draw_pocket_job
from rs274 import Move, Reading, interpret
from scipy.spatial import KDTree
from slot_jobs import draw_slot_job
from step_down_jobs import StepDownJob, draw_step_down_job

LONGEST_TEXT = 25_000
SAMPLE = 0.2
"""Distance of the samples along a path, mm: another path shows from all of it on, at the top of the part."""

TOOLS_APART = 1e4
OFF_PATH = 0.35
DEEPER = 0.01
LOUDER = 1.3
HARMFUL_WORDS = ("without its centre", "before its plane", "radii of an arc", "before unit and distance", "no end",
                 "not promised", "without a motion", "not known")  # fmt: skip
"""Complaints of the interpreter after which nobody can say what a control does."""


def draw_job_to_change(seed: int) -> Any:
    """Return the random job of a seed: of holes, slots, pockets and step-downs in turn."""
    draw = (draw_hole_job, draw_slot_job, draw_pocket_job, draw_step_down_job)[seed % 4]
    return draw(seed)


def check_changed_programs(job: Any, work: PlannedWork, account: Account) -> None:
    """Change one program of a planned job in many ways, one at a time, and hold the check of each against its harm."""
    setup: CncSetup = job.setup
    if getattr(job, "drawings", None):
        return  # their files are gone by now
    programs = {name: text for name, text in work.programs_of(0).items() if len(text) <= LONGEST_TEXT}
    if not programs:
        return
    chance = random.Random(job.text)
    name = chance.choice(sorted(programs))
    text = programs[name]
    top = job.face if isinstance(job, HoleJob) else job.top if isinstance(job, StepDownJob) else 0.0
    if not account.hold(f"REFUSED {name}, as it was written", work.passes(name, text)):
        return
    before = _Path(text, setup, top)
    before.drills = isinstance(job, HoleJob)
    for change in harmless_changes(text, chance, setup.dialect):
        account.programs += 1
        account.hold(f"REFUSED {name}, though it means the same: {change.what}", work.passes(name, change.text))
    for change in slips(text, chance, setup.dialect):
        account.programs += 1
        if not work.passes(name, change.text):
            account.figures += 1
            continue
        harm = before.harm_of(_Path(change.text, setup, top))
        account.hold(f"PASSED {name}, though it does harm ({harm}): {change.what}", not harm)


class _Path:
    """What a program does below the top of the part, in samples."""

    def __init__(self, text: str, setup: CncSetup, top: float) -> None:
        self.reading: Reading = interpret(text, arc_centres=setup.dialect.arc_centres, comments=setup.dialect.comments)
        self.safe_height = setup.safe_height
        self.drills = False
        """Whether each stroke down is one into metal."""
        self.moves: list[Move] = []
        places: list[tuple[float, ...]] = []
        for move in self.reading.moves:
            if not move.known:
                continue
            points = move.points(0.01)
            for a, b in itertools.pairwise(points):
                count = max(1, math.ceil(math.dist(a, b) / SAMPLE))
                for i in range(1, count + 1):
                    place = tuple(p + (q - p) * i / count for p, q in zip(a, b, strict=True))
                    if place[2] < top - 0.02:
                        places.append(place)
                        self.moves.append(move)
        self.places: NDArray[np.float64] = np.array(places, dtype=np.float64).reshape(-1, 3)

    @property
    def by_tool(self) -> NDArray[np.float64]:
        """The samples with their tool as a fourth coordinate: the way of one tool is never that of another."""
        tools = np.array([move.tool for move in self.moves], dtype=np.float64) * TOOLS_APART
        return np.column_stack([self.places, tools])

    def harm_of(self, changed: _Path) -> str:
        """Return in which way a changed path does harm, or nothing."""
        for complaint in changed.reading.complaints:
            if any(words in complaint for words in HARMFUL_WORDS):
                return complaint
        if not len(self.places) or not len(changed.places):
            return "" if len(self.places) == len(changed.places) else "all or nothing"
        away, index = KDTree(self.by_tool).query(changed.by_tool)
        if away.max() > OFF_PATH:
            return f"{away.max():.3f} mm off the path, {changed.moves[int(away.argmax())]}"
        left = KDTree(changed.by_tool).query(self.by_tool)[0]
        if left.max() > OFF_PATH:
            return f"{left.max():.3f} mm left out"
        if changed.places[:, 2].min() < self.places[:, 2].min() - DEEPER:
            return "deeper"
        return self._other_words(changed, index) or self._gone(changed)

    def _other_words(self, changed: _Path, index: NDArray[np.intp]) -> str:
        most = max((move.feed for move in self.reading.moves), default=0.0) * LOUDER
        for move, i in zip(changed.moves, index, strict=True):
            was = self.moves[int(i)]
            if "rapid" in (move.kind, was.kind):
                down = math.dist(move.start[:2], move.end[:2]) < 1e-6
                if was.kind != "rapid" and move.end[2] <= move.start[2] + 1e-9 and (self.drills or not down):
                    return f"rapid where it cut, {move}"
                continue
            if not move.turning or move.speed != was.speed or move.tool != was.tool:
                return f"other spindle or tool, {move}"
            if not 0.0 < move.feed <= most:
                return f"feed {move.feed:g}, {move}"
        return ""

    def _gone(self, changed: _Path) -> str:
        stops, kept = (sum(h.word in ("M0", "M6") for h in p.reading.halts) for p in (self, changed))
        if kept < stops:
            return "a stop is gone"
        if changed.lowest_sideways < min(self.lowest_sideways, self.safe_height) - 0.02:
            return f"sideways rapid at Z {changed.lowest_sideways:.3f}"
        return ""

    @property
    def lowest_sideways(self) -> float:
        """The lowest height of a sideways rapid."""
        rapids = (m for m in self.reading.moves if m.kind == "rapid" and m.start[:2] != m.end[:2])
        return min((m.lowest for m in rapids if not math.isnan(m.lowest)), default=math.inf)
