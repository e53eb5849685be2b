"""Clearance holes close, normal and loose: ASME B18.2.8 for unified, ISO 273 (fine, medium, coarse) for metric screws.

Other screws (BA, Whitworth form, free, and sizes that the standards leave out) get the allowance of the nearest listed
size, which is common practice and marked so.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from holecam.errors import InputError
from holecam.lengths.parsing import MM_PER_UNIT, Unit
from holecam.standards.drill_names import parse_drill
from holecam.standards.drills import USUAL_SETS, Drill, drills_by_size, smallest_at_least
from holecam.standards.screw_systems import screw_system
from holecam.standards.table import COMMON_PRACTICE, rows
from holecam.standards.threads import Thread

FITS = ("close", "normal", "loose")

FIT_WORDS = {
    "close": "close", "fine": "close", "tight": "close", "snug": "close",
    "normal": "normal", "medium": "normal", "free": "normal", "standard": "normal",
    "loose": "loose", "coarse": "loose",
}  # fmt: skip
"""What a user may write for a fit; the words of ISO 273 are among them."""


class ClearanceHole(NamedTuple):
    """A hole for a screw to pass: the size asked for (exact, mm) and the drill for it, or the next larger owned."""

    fit: str
    wanted: Fraction
    drill: Drill
    source: str

    @property
    def diameter(self) -> float:
        """Diameter of the drill, mm."""
        return self.drill.diameter


class ClearanceHoles(NamedTuple):
    """The three fits for one screw."""

    thread: Thread
    close: ClearanceHole
    normal: ClearanceHole
    loose: ClearanceHole


def clearance_holes(thread: Thread, *, drills: Sequence[Drill] | None = None) -> ClearanceHoles:
    """Return the three clearance holes for a thread.

    Parameters
    ----------
    drills : sequence of Drill or None
        Drills owned, from small to large: each hole then takes the smallest that is not below the size asked for.
        ``None`` gives the drill that the standard names.

    Raises
    ------
    InputError
        No drill owned is large enough.

    Examples
    --------
    >>> from holecam.standards.thread_names import parse_thread
    >>> [clearance_hole(parse_thread("M4"), fit).drill.name for fit in FITS]
    ['4.3 mm', '4.5 mm', '4.8 mm']
    """
    close, normal, loose = (clearance_hole(thread, fit, drills=drills) for fit in FITS)
    return ClearanceHoles(thread, close, normal, loose)


def clearance_hole(thread: Thread, fit: str, *, drills: Sequence[Drill] | None = None) -> ClearanceHole:
    """Return one clearance hole; see :func:`clearance_holes`.

    Raises
    ------
    InputError
        The fit is not known, or no drill owned is large enough.
    """
    name = FIT_WORDS.get(fit.strip().lower())
    if name is None:
        raise InputError(f'fit "{fit}" is not known. Write close, normal or loose.', key="fit", value=fit)
    named, wanted, source = _wanted(thread, name)
    if drills is not None:
        drill = smallest_at_least(wanted, drills)
        if drill is None:
            largest = f"the largest is {drills[-1].name}" if drills else "none is owned"
            raise InputError(
                f"{thread.name}: a {name} clearance hole takes {float(wanted):.3f} mm; no drill owned is as large, "
                f"{largest}.",
                key="drills owned",
            )
    elif named:
        drill = parse_drill(named, unit=thread.unit)
    else:
        drill = smallest_at_least(wanted, drills_by_size(USUAL_SETS[thread.unit])) or _made(wanted, thread.unit)
    return ClearanceHole(name, wanted, drill, source)


def _wanted(thread: Thread, fit: str) -> tuple[str, Fraction, str]:
    """Return the drill that a standard names (or ""), the exact size in mm and the source."""
    if screw_system(thread) in ("unified", "metric"):
        for row in rows("clearance_holes"):
            if row["nominal"] == thread.nominal:
                named = row[fit] if row["unit"] == "in" else f"{row[fit]} mm"
                return named, parse_drill(named).exact_diameter, row["source"]
    nearest = min(
        (row for row in rows("clearance_holes") if row["unit"] == thread.unit),
        key=lambda row: abs(Fraction(row["diameter"]) - thread.size),
    )
    named = nearest[fit] if thread.unit == "in" else f"{nearest[fit]} mm"
    nominal = Fraction(nearest["diameter"]) * MM_PER_UNIT[thread.unit]
    allowance = parse_drill(named).exact_diameter - nominal
    source = f"{COMMON_PRACTICE}: allowance of {nearest['nominal']} ({nearest['source']})"
    return "", thread.exact_major + allowance, source


def _made(wanted: Fraction, unit: Unit) -> Drill:
    """Return a hole above the largest drill: to be bored, in steps of 1/64 in or 0.5 mm upward."""
    step = Fraction(1, 64) if unit == "in" else Fraction(1, 2)
    steps = -(-(wanted / MM_PER_UNIT[unit]) // step)
    size = steps * step
    if unit == "mm":
        return parse_drill(f"{float(size):g} mm")
    whole, part = divmod(size, 1)
    return parse_drill(f"{whole}-{part} in" if part else f"{whole} in")
