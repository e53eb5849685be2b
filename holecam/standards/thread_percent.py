"""How much thread to ask for: by material, depth, size and kind of tap."""

import math
from typing import TYPE_CHECKING, NamedTuple

from holecam.errors import InputError
from holecam.standards.table import optional, rows
from holecam.standards.threads import Thread

if TYPE_CHECKING:
    from holecam.standards.materials import Material

CEILING_PERCENT = 83.0
"""Above this a cut thread only breaks taps. US Army TM 9-254 par. 4-27."""

ROUND_FORM_CEILING_PERCENT = 90.0
"""The same for Whitworth and BA threads: 100 percent is their basic minor diameter, which 60-degree threads reach at
83.3 percent; their published limits of the minor diameter lie mostly above 77 percent. Common practice."""

FLOOR_PERCENT = 50.0
"""The least that published practice goes down to, in small or deep holes. US Army TM 9-254 par. 4-27."""

FORMED_CEILING_PERCENT, FORMED_FLOOR_PERCENT = 80.0, 50.0
"""A forming tap jams when the hole is smaller; below, the crest stays open. Common practice."""


def ceiling_percent(thread: Thread, *, formed: bool) -> float:
    """Return the percentage above which a thread only breaks taps, by form and kind of tap."""
    if formed:
        return FORMED_CEILING_PERCENT
    return CEILING_PERCENT if thread.form.angle_deg == 60 else ROUND_FORM_CEILING_PERCENT


FEWEST_THREADS = 3.0
"""Full threads that hold in thin sheet; with fewer take a bush, a backing bar or a nut. Common practice."""


class TargetPercent(NamedTuple):
    """A percentage of thread to aim at, with the reason and its source."""

    percent: float
    why: str
    source: str


def target_percent(
    thread: Thread, *, material: "Material | None" = None, engagement: float | None = None, formed: bool = False
) -> TargetPercent:
    """Return the percentage to aim at: the first row of the table whose conditions all hold.

    Parameters
    ----------
    material : Material or None
        ``None`` leaves out every row that asks for a material.
    engagement : float or None
        Length of full thread in mm: the thickness of the stock, or the depth of thread in a blind hole.
    formed : bool
        The thread is rolled with a forming tap.

    Raises
    ------
    InputError
        The engagement is not positive and finite.
    """
    in_diameters = None if engagement is None else checked_length(engagement, "thickness") / thread.major
    for row in rows("thread_percent"):
        if row["tap"] != ("formed" if formed else "cut"):
            continue
        if row["family"] and (material is None or row["family"] != material.family):
            continue
        if row["soft"] and (material is None or not material.soft):
            continue
        at_least, at_most = optional(row["engagement_from_d"]), optional(row["engagement_to_d"])
        if at_least is not None and (in_diameters is None or in_diameters < at_least):
            continue
        if at_most is not None and (in_diameters is None or in_diameters > at_most):
            continue
        largest = optional(row["major_to_mm"])
        if largest is not None and thread.major > largest:
            continue
        return TargetPercent(float(row["percent"]), row["why"], row["source"])
    raise InputError(f"{thread.name}: the table of thread percentages has no row for it", key="thread")


def stated_target(percent: float) -> TargetPercent:
    """Return the percentage that a user states.

    Raises
    ------
    InputError
        It is not between 20 and 100: with less there is no thread to speak of.
    """
    if not 20 <= percent <= 100:
        raise InputError(
            f"percent of thread {percent:g}: expected 20 to 100; ordinary work takes 75, small or deep holes 50",
            key="percent",
            value=f"{percent:g}",
        )
    return TargetPercent(percent, "as stated", "stated by the user")


def checked_length(value: float, name: str) -> float:
    """Return a length in mm that is positive and finite.

    Raises
    ------
    InputError
        It is not.
    """
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{name} {value:g} mm: expected a positive length", key=name, value=f"{value:g}")
    return value
