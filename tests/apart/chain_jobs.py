"""Random chains of sections, measured one by one and over several; now and then a section or a reading is wrong."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shop_figures import ShopFigures

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class ChainJob:
    """A job and its truth; lengths in mm, readings in the order of the plan."""

    text: str
    drawn: Floats
    cosines: Floats
    """Of the slope of each section."""
    coefficients: Floats
    """Shape ``(readings, sections)``: a section alone counts along itself, in a reading over several by its cosine."""
    readings: Floats
    doubts: Floats
    """Standard doubts."""
    moves: int | None
    """How many sections lie before the place that is shifted; all where nothing is told."""


def draw_chain_job(seed: int) -> ChainJob:
    """Return the random job of a seed."""
    figures = ShopFigures(f"chain {seed}", decimals_in=3, decimals_mm=2)
    draw = figures.random
    count = draw.randint(2, 5)
    process = figures.pick((0.1, 0.5))
    moves = draw.choice((None, 1, 2))
    blunder = figures.chance(0.5)
    text = [
        f'title = "Invented: chain {seed}"',
        f'unit = "{figures.unit}"',
        "[part]",
        'material = "brass"',
        'thickness = "2 mm"',
        "[[chain]]",
        'name = "ch"',
        f"process = {figures.text(process)}",
    ]
    if moves:
        names = ", ".join(f'"s{i}"' for i in range(moves))
        text.append(f"moves = [{names}]")
    drawn, slopes, truth = [], [], []
    rows: list[Floats] = []
    readings: list[float] = []
    doubts: list[float] = []
    for i in range(count):
        drawn.append(figures.between(10.0, 120.0))
        slopes.append(draw.choice((0, 0, 0, 12, -30)))
        truth.append(drawn[-1] + draw.gauss(0.0, process / 2) + draw.choice((0.0, 0.0, 3.0)))
        text += ["[[chain.section]]", f'name = "s{i}"', f"drawn = {figures.text(drawn[-1])}"]
        text += [f"slope_deg = {slopes[-1]}"] if slopes[-1] else []
        if not figures.chance(0.85):
            continue
        within = figures.pick((0.05, 0.1, 0.4))
        values = [figures.exact(truth[-1] + draw.uniform(-within, within)) for _ in range(draw.choice((1, 1, 2, 3)))]
        text.append(f"measured = [{', '.join(map(figures.text, values))}]")
        text.append(f"within = {figures.text(within)}")
        rows.append(np.eye(count)[i])
        readings.append(float(np.mean(values)))
        spread = float(np.std(values, ddof=1)) / math.sqrt(len(values)) if len(values) > 1 else 0.0
        doubts.append(math.hypot(within / math.sqrt(3.0), spread))
    cosines = np.cos(np.radians(slopes))
    for j in range(draw.randint(1, 3)):
        first = draw.randint(0, count - 1)
        over = range(count) if j == 0 else range(first, draw.randint(first + 1, count))
        within = figures.pick((0.05, 0.1, 0.4))
        row = np.array([cosines[i] if i in over else 0.0 for i in range(count)])
        wrong = draw.choice((0.0, 2.0, 5.0)) if blunder and j == 0 else 0.0
        value = figures.exact(float(row @ np.array(truth)) + draw.uniform(-within, within) + wrong)
        names = ", ".join(f'"s{i}"' for i in over)
        text += ["[[chain.reading]]", f'name = "r{j}"', f"of = [{names}]", f"is = {figures.text(value)}"]
        text.append(f"within = {figures.text(within)}")
        rows.append(row)
        readings.append(value)
        doubts.append(within / math.sqrt(3.0))
    return ChainJob(
        "\n".join(text) + "\n", np.array(drawn), cosines, np.array(rows), np.array(readings), np.array(doubts), moves
    )
