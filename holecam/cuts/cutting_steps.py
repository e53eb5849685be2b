"""How deep, how wide and how fast to begin with: step-down, step-over, speed and feed for a cutter in a material.

Starting points from :mod:`holecam.standards.milling_depths` and :mod:`holecam.standards.cutting_data`, never more.
"""

from __future__ import annotations

import math

from msgspec import Struct

from holecam.cuts.cutters import MillingCutter
from holecam.cuts.path_values import CutPath
from holecam.errors import InputError
from holecam.standards.cutting_data import cutting_start
from holecam.standards.materials import Material
from holecam.standards.milling_depths import milling_depths, wood_chip_factor

GREATEST_STEP_OVER = 0.95
"""Times the diameter: rows farther apart leave ridges when the cutter is ground undersize (common practice)."""

FINEST_STEP_OVER = 0.05
"""Times the diameter: a finer one is a slip of point or unit. The cutter would rub, and the path would repeat itself by
the thousand (common practice)."""

MOST_STEPS_DOWN = 10_000
"""Heights of one cut; more is a slip of point or unit."""

MOST_STROKES = 50_000
"""Lines and arcs of one cut over all its heights: a day at the machine. Beyond it something was mistyped."""

PLAIN_STEP_OVER = 0.4
"""Times the diameter: step-over where nothing is known of the material (common practice)."""

PLAIN_STEP_DEPTH = 0.5
"""Times the diameter: step-down where nothing is known of the material (common practice)."""

BREAK_THROUGH = 0.5
"""mm below the stock that a cut right through goes, into the board under it (common practice)."""

QUICK_FEED = 1500.0
"""mm/min for moves above the work where the machine's rapid is not known: a slow one, so that times are not too short
(common practice)."""


class CuttingSteps(Struct, frozen=True):
    """Where to begin; lengths in mm, feed in mm/min. ``finish`` is what is left on the walls for the last pass."""

    step_depth: float
    step_over: float
    finish: float
    rpm: int
    feed: float
    chip: float
    source: str
    notes: tuple[str, ...]


def cutting_steps(
    material: Material,
    cutter: MillingCutter,
    *,
    set_up: str = "light",
    buried: bool = True,
    slowest_rpm: float | None = None,
    fastest_rpm: float | None = None,
) -> CuttingSteps:
    """Return step-down, step-over, speed and feed to begin with.

    Parameters
    ----------
    set_up : {"weak", "light", "rigid"}
        Rigidity of the set-up; a weak one halves the depth first, not the chip.
    buried : bool
        Whether the cutter also cuts over its whole width, as when a pocket or slot is opened; False with small bites.
    slowest_rpm, fastest_rpm : float or None
        Range of the spindle. Wood is cut at the highest speed.

    Raises
    ------
    InputError
        The material has no milling figures, or the set-up is not known.
    """
    depths = milling_depths(material, diameter=cutter.diameter, set_up=set_up)
    start = cutting_start(
        material,
        "mill",
        diameter=cutter.diameter,
        tool_material="carbide" if cutter.carbide else "HSS",
        teeth=cutter.teeth,
        slowest_rpm=slowest_rpm,
        fastest_rpm=fastest_rpm,
    )
    depth = depths.slot if buried else depths.side
    factor, notes = 1.0, list(start.notes)
    if material.family == "wood":
        factor = wood_chip_factor(depth=depth, diameter=cutter.diameter)
        if cutter.teeth > 2:
            notes.append(f"{cutter.teeth} teeth: take a cutter with one or two for wood, chips need room")
    if cutter.flute_length is not None and depth > cutter.flute_length:
        depth = cutter.flute_length
        notes.append(f"step-down held to the flutes, {cutter.flute_length} mm")
    return CuttingSteps(
        depth,
        depths.stepover,
        depths.finish,
        start.rpm,
        start.feed * factor,
        start.chip * factor,
        f"depths: {depths.source}; {start.source}",
        tuple(notes),
    )


def heights_down(
    what: str, depth: float, step_depth: float, *, stock_thickness: float | None, through: bool
) -> tuple[float, ...]:
    """Return the heights of the passes, mm, the last one at the full depth, all steps equal and none above the wish.

    Raises
    ------
    InputError
        Depth or step are not positive, or the depth goes through the stock and this was not asked for.
    """
    for words, value in (("depth", depth), ("step-down", step_depth)):
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{what}: {words} {value} mm: expected a length above zero", key=words)
    if stock_thickness is not None and not through and depth >= stock_thickness - 1e-9:
        raise InputError(
            f"{what}: depth {depth:.3f} mm goes through the stock, {stock_thickness:.3f} mm. Make it shallower, or say "
            "that it goes through.",
            key="depth",
        )
    if through:
        if stock_thickness is None:
            raise InputError(f"{what}: it goes through, so the thickness of the stock is needed", key="through")
        depth = stock_thickness + BREAK_THROUGH
    count = max(1, math.ceil(depth / step_depth - 1e-9))
    if count > MOST_STEPS_DOWN:
        raise InputError(
            f"{what}: step-down {step_depth:g} mm: {depth:.3f} mm would take {count} passes, expected at most "
            f"{MOST_STEPS_DOWN}. Look at its unit and point.",
            key="step_depth",
        )
    return tuple(-depth * k / count for k in range(1, count + 1))


def checked_step_over(what: str, step_over: float, diameter: float) -> float:
    """Return the step-over when it can be cut with.

    Raises
    ------
    InputError
        It is zero or less, or so wide that ridges stay.
    """
    if not (math.isfinite(step_over) and step_over > 0):
        raise InputError(
            f"{what}: step-over {step_over} mm: the cutter would never get anywhere. Give a length above zero, such as "
            f"{PLAIN_STEP_OVER * diameter:.3f} mm.",
            key="step_over",
        )
    if step_over < FINEST_STEP_OVER * diameter - 1e-9:
        raise InputError(
            f"{what}: step-over {step_over:g} mm with a cutter of {diameter:g} mm: it would rub rather than cut. "
            f"Give at least a twentieth of the diameter, {FINEST_STEP_OVER * diameter:.3f} mm.",
            key="step_over",
        )
    if step_over > GREATEST_STEP_OVER * diameter + 1e-9:
        raise InputError(
            f"{what}: step-over {step_over} mm with a cutter of {diameter} mm: ridges would stay. Give at most "
            f"{GREATEST_STEP_OVER * diameter:.3f} mm.",
            key="step_over",
        )
    return step_over


def checked_length(what: str, strokes: int, heights: int) -> None:
    """Refuse a cut of so many lines and arcs that something must have been mistyped.

    Raises
    ------
    InputError
        More than :data:`MOST_STROKES` over all heights.
    """
    if strokes * heights > MOST_STROKES:
        raise InputError(
            f"{what}: {strokes} lines and arcs at each of {heights} heights, expected at most {MOST_STROKES} in all. "
            "Take a larger step-over, step-down or cutter.",
            key="step_depth",
        )


def path_minutes(path: CutPath, feed: float, *, rapid: float = QUICK_FEED) -> float:
    """Return how long a path takes, minutes, acceleration left out; feeds in mm/min.

    Descents into cut material go at the cutting feed.

    Raises
    ------
    InputError
        A feed is not positive.
    """
    if not (feed > 0 and rapid > 0):
        raise InputError(f"feeds {feed} and {rapid} mm/min: expected both above zero")
    minutes = 0.0
    for move in path.moves():
        minutes += move.length / (rapid if move.kind.is_rapid else feed * move.feed_factor)
    return minutes
