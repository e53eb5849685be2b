"""Look-ups as functions: lengths, tap drills, drills, clearance holes, percent of thread. Nothing heavy is imported."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from holecam.errors import InputError
from holecam.lengths.parsing import Unit, parse_length
from holecam.standards.clearance_holes import ClearanceHoles, clearance_holes
from holecam.standards.drills import (
    SETS,
    Drill,
    drills_by_size,
    largest_at_most,
    nearest,
    next_larger,
    next_smaller,
    owned_drills,
)
from holecam.standards.tap_drills import TapAdvice, choose_tap_drill
from holecam.standards.thread_names import parse_thread

Length = str | int | float | Fraction | Decimal
"""A length as a caller has it: text such as ``"3/16"`` or ``"4.5 mm"``, or a bare number in a stated unit."""


class DrillAnswer(NamedTuple):
    """A size asked for, exact mm, and the drills about it; ``None`` where there is none.

    ``same`` has the size exactly; ``smaller`` and ``larger`` are the next ones on either side of it.
    """

    asked: Fraction
    same: Drill | None
    nearest: Drill | None
    smaller: Drill | None
    larger: Drill | None


def mm(length: Length, unit: Unit | None = None) -> float:
    """Return a length in millimetres.

    Parameters
    ----------
    length : str or number
        As people in a shop write it.
    unit : {"in", "mm"}, optional
        Unit of a bare number; without it a bare number is refused.

    Raises
    ------
    InputError
        Not a length, or a bare number without a unit.

    Examples
    --------
    >>> mm("3/16 in"), mm("12 thou"), mm(2.5, "mm")
    (4.7625, 0.3048, 2.5)
    >>> mm("3/16")
    Traceback (most recent call last):
    ...
    holecam.errors.InputError: length = "3/16": expected a length such as 4.5 mm, 3/16, 1-7/32, 0.187 in or 12 thou. \
A bare number has no unit here; write "3/16 mm" or "3/16 in".
    """
    return float(_exact(length, unit, "length"))


def tap(
    thread: str,
    *,
    percent: float | None = None,
    material: str | None = None,
    thickness: Length | None = None,
    formed: bool = False,
    drills: str | Sequence[str] | None = None,
    unit: Unit | None = None,
) -> TapAdvice:
    """Return the tap drill to take for a thread, its neighbours, and why.

    Parameters
    ----------
    thread : str
        ``"6-32"``, ``"M4"``, ``"2 BA"``, ``"1/4 BSW"``...
    percent : float, optional
        Percent of thread wanted, instead of the table's.
    material : str, optional
        What is tapped; soft or thin stock wants more thread.
    thickness : length, optional
        Thickness of the stock.
    formed : bool
        A forming tap instead of a cutting one.
    drills : str or list of str, optional
        Drills that are owned: ``number``, ``letter``, ``fraction``, ``metric``, ``inch``, ``all``, or single ones.
    unit : {"in", "mm"}, optional
        Unit of bare numbers.

    Raises
    ------
    InputError
        An unknown thread, material or drill, or no drill suits.

    Examples
    --------
    >>> advice = tap("6-32")
    >>> advice.recommended.drill.name, round(advice.recommended.percent)
    ('#36', 78)
    >>> tap("M4", drills="metric").recommended.drill.name
    '3.3 mm'
    """
    from holecam.standards.thread_percent import stated_target

    stock = None
    if material is not None:
        from holecam.standards.materials import material as material_named

        stock = material_named(material)
    return choose_tap_drill(
        parse_thread(thread),
        drills=_owned(drills, unit),
        target=None if percent is None else stated_target(percent),
        material=stock,
        engagement=None if thickness is None else _positive(thickness, unit, "thickness"),
        formed=formed,
    )


def drill(size: Length, *, drills: str | Sequence[str] | None = None, unit: Unit | None = None) -> DrillAnswer:
    """Return the drills about a size: a drill's name, or any length.

    >>> found = drill("#29")
    >>> found.same.name, round(found.same.diameter, 4), found.smaller.name, found.larger.name
    ('#29', 3.4544, '3.4 mm', '3.5 mm')
    >>> drill("7/32 in", drills="metric").nearest.name
    '5.6 mm'
    """
    asked = _hole(size, unit, "size")
    owned = _owned(drills, unit) or drills_by_size(SETS)
    same = largest_at_most(asked, owned)
    return DrillAnswer(
        asked,
        same if same is not None and same.exact_diameter == asked else None,
        nearest(asked, owned),
        next_smaller(asked, owned),
        next_larger(asked, owned),
    )


def clearance(thread: str, *, drills: str | Sequence[str] | None = None, unit: Unit | None = None) -> ClearanceHoles:
    """Return the clearance holes for a screw: ``close``, ``normal`` and ``loose``, each with its drill and source.

    With ``drills`` each hole takes the smallest drill owned that is not below the size of the table.

    >>> holes = clearance("M4")
    >>> holes.close.diameter, holes.normal.diameter, holes.loose.diameter
    (4.3, 4.5, 4.8)
    >>> clearance("5-40", drills="fraction").normal.drill.name
    '5/32 in'
    """
    return clearance_holes(parse_thread(thread), drills=_owned(drills, unit))


def thread_percent(thread: str, hole: Length, *, formed: bool = False, unit: Unit | None = None) -> float:
    """Return the percent of a full thread that a hole leaves; the hole is a drill's name or a diameter.

    1/4-20 and a No. 7 drill, 0.201 in: tap drill charts print 75 percent.

    >>> round(thread_percent("1/4-20", "#7"), 1), round(thread_percent("1/4-20", 0.201, unit="in"), 1)
    (75.4, 75.4)
    """
    from holecam.standards.threads import thread_percent as percent_of

    return percent_of(parse_thread(thread), float(_hole(hole, unit, "hole")), formed=formed)


def _exact(length: Length, unit: Unit | None, key: str) -> Fraction:
    if unit not in (None, "in", "mm"):
        raise InputError(f'unit "{unit}": expected in or mm', key="unit", value=str(unit), expected="in or mm")
    if isinstance(length, Decimal):
        length = f"{length:f}"
    elif hasattr(length, "item"):  # a number of an array library
        length = length.item()
    if not isinstance(length, (str, int, float, Fraction)):
        raise InputError(f"{key}: expected text or a number, got {type(length).__name__}", key=key)
    return parse_length(length, unit=unit, key=key)


def _positive(length: Length, unit: Unit | None, key: str) -> float:
    value = _exact(length, unit, key)
    if value <= 0:
        raise InputError(f'{key} = "{length}": expected a length above zero', key=key, value=str(length))
    return float(value)


def _hole(size: Length, unit: Unit | None, key: str) -> Fraction:
    if isinstance(size, str):
        from holecam.standards.drill_names import parse_size

        return parse_size(size, unit=unit)
    value = _exact(size, unit, key)
    if value <= 0:
        raise InputError(f'{key} = "{size}": expected a diameter above zero', key=key, value=str(size))
    return value


def _owned(drills: str | Sequence[str] | None, unit: Unit | None) -> tuple[Drill, ...] | None:
    if drills is None:
        return None
    entries = drills.split(",") if isinstance(drills, str) else list(drills)
    return owned_drills([entry for entry in entries if entry.strip()], unit=unit)
