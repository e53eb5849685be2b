"""Was a pattern moved where it had to be, no further than needed, and is there no place where none was found?

The shifts of a pattern are tried on a grid: a shift is allowed when every hole keeps its least metal from every old
hole, edge and keep-out. What the tool chose has to be allowed, and no grid shift may lie nearer than it by more
than two steps of the readout. Roomiest places are held to the margin that the grid finds.

Not covered: jobs with two patterns or a spline; what new holes do to each other (a shift does not change it).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from account import Account
from layout_jobs import LayoutJob
from layout_limits import Site, edge_limits, said_of, web_limits
from layout_model import Points
from numpy.typing import NDArray
from planned_work import Plan

TINY = 1e-6
"""Noise of the figures in ``plan.json``, mm."""

FINEST, COARSEST = 0.02, 0.2
"""Steps of the grid of shifts, mm."""


class Freedom:
    """Which shifts of a pattern keep every limit that would stop it."""

    def __init__(self, job: LayoutJob, holes: Points, site: Site) -> None:
        """``site`` is any hole of the pattern: all have its size. ``holes`` lie where the job wants them."""
        part, self.holes = job.part, holes
        self.edge = edge_limits(part.metal_class, site.diameter, site.pitch)["stop"]
        self.old = [
            (np.array(old.xy), site.radius + old.radius
             + web_limits(part.metal_class, site.diameter, 2 * old.radius, part.thickness)["stop"])
            for old in part.old_holes
        ]  # fmt: skip
        shapes = [(part.outline, True), *((opening, False) for opening in part.openings)]
        self.borders = [(shape, shape.boundary, inside) for shape, inside in shapes]
        self.keep_outs = [
            (
                k.shape,
                k.shape.boundary if k.closed else k.shape,
                k.closed,
                site.radius + k.half_width + (k.margin or 0.0),
            )
            for k in part.keep_outs
        ]
        for shape, border, *_ in (*self.borders, *self.keep_outs):
            shapely.prepare(shape)
            shapely.prepare(border)

    def allowed(self, shifts: Points, more: float = 0.0) -> NDArray[np.bool_]:
        """Return which of the shifts, shape ``(n, 2)``, keep all limits and ``more`` mm beyond them."""
        kept = np.ones(len(shifts), dtype=bool)
        for hole in self.holes:
            index = np.nonzero(kept)[0]
            if len(index):
                kept[index] = self._at(shifts[index] + hole, more)
        return kept

    def _at(self, places: Points, more: float) -> NDArray[np.bool_]:
        kept = np.ones(len(places), dtype=bool)
        for centre, least in self.old:
            kept &= np.hypot(*(places - centre).T) >= least + more
        points = shapely.points(places)
        for shape, border, inside in self.borders:
            away = shapely.distance(border, points)
            kept &= np.where(shapely.contains(shape, points) == inside, away, -away) >= self.edge + more
        for shape, border, closed, least in self.keep_outs:
            away = shapely.distance(border, points)
            if closed:
                away = np.where(shapely.contains(shape, points), -away, away)
            kept &= away >= least + more
        return kept

    def margin(self, shifts: Points) -> float:
        """Return the most metal beyond all limits that one of the shifts has, to 0.001 mm, at most 20."""
        low, high = 0.0, 20.0
        while high - low > 1e-3:
            middle = (low + high) / 2
            low, high = (middle, high) if self.allowed(shifts, middle).any() else (low, middle)
        return low


def check_freedom(job: LayoutJob, plan: Plan, holes: Points, site: Site, account: Account) -> None:
    """Hold the place that was chosen for the only pattern of a job against a grid of shifts."""
    pattern, told = job.patterns[0], plan["places"][0]
    freedom = Freedom(job, holes, site)
    here = np.zeros((1, 2))
    sure, maybe = bool(freedom.allowed(here, TINY)[0]), bool(freedom.allowed(here, -TINY)[0])
    if sure != maybe:
        return
    if not sure:  # inside a sound plug, say: nothing that stops, so the wish is kept, though no search would go there
        sites = [replace(site, number=i, xy=(float(x), float(y))) for i, (x, y) in enumerate(holes)]
        said, unsure = said_of(sites, job.part)
        if unsure:
            return
        sure = not any(len(numbers) == 1 and severity == "stop" for numbers, _, severity in said)
    if not account.hold(
        f"WANTED PLACE allowed: {told['wanted_allowed']}, computed {sure}", told["wanted_allowed"] == sure
    ):
        return
    if sure or pattern.when_blocked == "stop":
        return
    shift = np.array(told["chosen_mm"]) - np.array(told["wanted_mm"])
    shifts, cell = _grid(pattern.free, pattern.furthest)
    readout = float(job.readout)
    open_shifts = shifts[freedom.allowed(shifts, 0.75 * readout)]
    away = np.hypot(*open_shifts.T)
    nearest = f"{away.min():.4f} mm at {open_shifts[away.argmin()]}" if len(away) else ""
    if np.abs(shift).max() <= 1e-12:
        account.hold(f"PLACE NOT FOUND: there is one {nearest}, {pattern.when_blocked}", not len(away))
        return
    account.hold(f"CHOSEN PLACE is not allowed: {shift}", bool(freedom.allowed(shift[None], -TINY)[0]))
    if not len(away):
        return
    if pattern.when_blocked == "nearest":
        far = float(np.hypot(*shift))
        account.hold(f"NEARER PLACE: {nearest}, chosen {far:.4f}", far <= away.min() + 2.0 * readout + TINY)
    elif not pattern.free:
        most, chosen = freedom.margin(open_shifts), freedom.margin(shift[None])
        room = chosen >= most - 0.75 * readout - 0.02 - cell
        account.hold(f"ROOMIER PLACE: {most:.4f} mm of room, chosen {chosen:.4f}", room)


def _grid(free: str, furthest: float) -> tuple[Points, float]:
    cell = max(FINEST, min(COARSEST, furthest / 70.0))
    if free:
        steps = np.arange(-furthest, furthest, cell / 4)
        none = np.zeros(len(steps))
        return (np.c_[steps, none] if free == "x" else np.c_[none, steps]), cell / 4
    count = int(furthest / cell)
    steps = np.arange(-count, count + 1) * cell
    shifts = np.array(np.meshgrid(steps, steps)).reshape(2, -1).T
    return shifts[np.hypot(*shifts.T) <= furthest], cell
