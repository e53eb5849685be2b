"""Random parts and mates that are screwed together: tapped or clearance holes, holes off, wider ones, slotted ones."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from layout_model import THREADS, Points, turned
from numpy.typing import NDArray
from shop_figures import ShopFigures


@dataclass(frozen=True)
class BoltUpJob:
    """A job and its truth; lengths in mm."""

    text: str
    part_holes: Points
    mate_holes: Points
    mate_diameters: NDArray[np.float64]
    slots: tuple[tuple[float, float] | None, ...]
    """For a slotted mate hole, the vector from one end of its straight middle to the other; its hole is one end."""
    screw: float
    tapped: bool
    fixed: bool
    """Whether the mate stays where it lies: no shift and no turn."""


def draw_bolt_up_job(seed: int) -> BoltUpJob:
    """Return the random job of a seed."""
    figures = ShopFigures(f"bolt-up {seed}", decimals_in=3, decimals_mm=2)
    draw = figures.random
    chance = np.random.default_rng(seed)
    name = draw.choice(("M3", "M4", "M5") if figures.unit == "mm" else ("5-40", "8-32", "1/4-20"))
    tapped, fixed = figures.chance(0.6), figures.chance(0.2)
    screw = THREADS[name][0] if tapped else figures.exact(THREADS[name][0])
    count = draw.randint(2, 7)
    own: list[tuple[float, float]] = []
    while len(own) < count:
        point = figures.exact_point((draw.uniform(8, 90), draw.uniform(8, 50)))
        if all(math.dist(point, other) >= 14.0 for other in own):
            own.append(point)
    play = draw.uniform(0.1, 0.4)
    diameter = figures.exact(screw + 2 * play)
    scatter = play * draw.choice((0.3, 0.7, 1.2, 2.0))
    turn, shift = (0.0, np.zeros(2)) if fixed else (draw.uniform(-5, 5), chance.uniform(-20, 20, 2))
    rough = turned(own, turn) + shift + chance.normal(0.0, scatter, (count, 2))
    drawn = [figures.exact_point((x, y)) for x, y in rough]
    centres, diameters = np.array(drawn), np.full(count, diameter)
    slots: list[tuple[float, float] | None] = [None] * count
    measured = []
    for i in range(count):
        if not figures.chance(0.4):
            continue
        off = figures.exact_point((chance.normal(0.0, scatter), chance.normal(0.0, scatter)))
        centres[i] += off
        words = f"hole = {i + 1}, off = {figures.pair(off)}"
        if figures.chance(0.5):
            diameters[i] = figures.exact(screw + 2 * play * draw.uniform(0.8, 1.6))
            words += f", diameter = {figures.text(diameters[i])}"
        elif figures.chance(0.4):
            length, along = figures.exact(diameter + draw.uniform(0.5, 3.0)), round(draw.uniform(0, 180), 1)
            words += f", slotted = {{ length = {figures.text(length)}, along = {along} }}"
            vector = (length - diameter) * np.array((math.cos(math.radians(along)), math.sin(math.radians(along))))
            centres[i] -= vector / 2
            slots[i] = (float(vector[0]), float(vector[1]))
        measured.append(f"{{ {words} }}")
    text = [
        f'title = "Invented: bolt-up {seed}"',
        f'unit = "{figures.unit}"',
        "[tools]",
        'drills = ["number", "letter", "fraction", "metric"]',
        "[part]",
        'material = "brass"',
        f"thickness = {figures.text(5.0)}",
        "[[pattern]]",
        'name = "A"',
        f"points = {figures.pairs(own)}",
        f'{"thread" if tapped else "clearance_for"} = "{name}"',
        "[[mate]]",
        'name = "base"',
        'pattern = "A"',
        f"holes = {{ points = {figures.pairs(drawn)}, diameter = {figures.text(diameter)} }}",
        *([f"measured = [{', '.join(measured)}]"] if measured else []),
        f'located = "{"fixed" if fixed else "free"}"',
        *([] if tapped else [f"screw_diameter = {figures.text(screw)}"]),
    ]
    return BoltUpJob("\n".join(text) + "\n", np.array(own), centres, diameters, tuple(slots), screw, tapped, fixed)
