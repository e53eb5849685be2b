"""Standard threads: UNC, UNF, UNEF, ISO metric coarse and fine, BA, BSW, BSF, model engineers' 32 and 40 tpi."""

import math
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from holecam.errors import InputError
from holecam.lengths.parsing import MM_PER_UNIT, Unit
from holecam.standards.drills import NANOMETRES
from holecam.standards.table import raw_rows
from holecam.standards.thread_forms import ThreadForm, thread_form

FREE = "free"
"""Series of a thread that a user states by diameter, pitch and form."""

UNIFIED_SERIES = ("UNC", "UNF", "UNEF")
MODEL_SERIES = ("ME 32 tpi", "ME 40 tpi")
WHITWORTH_SERIES = ("BSW", "BSF", *MODEL_SERIES)
METRIC_SERIES = ("metric coarse", "metric fine")


class Thread(NamedTuple):
    """A screw thread. ``size`` (basic major diameter) and ``pitch_size`` are exact, in ``unit``.

    ``name`` is how the tool prints it and reads it back; ``nominal`` is the screw size without the pitch (``#6``,
    ``1/4``, ``M4``, ``2 BA``), by which screw heads and clearance holes are listed.
    """

    name: str
    series: str
    nominal: str
    form: ThreadForm
    unit: Unit
    size: Fraction
    pitch_size: Fraction
    source: str

    @property
    def exact_major(self) -> Fraction:
        """Basic major diameter, exact, mm."""
        return self.size * MM_PER_UNIT[self.unit]

    @property
    def major(self) -> float:
        """Basic major diameter, mm: one division of whole numbers, the nearest float to the exact size."""
        return self.size.numerator * NANOMETRES[self.unit] / (self.size.denominator * NANOMETRES["mm"])

    @property
    def pitch(self) -> float:
        """Distance from crest to crest, mm."""
        return self.pitch_size.numerator * NANOMETRES[self.unit] / (self.pitch_size.denominator * NANOMETRES["mm"])

    @property
    def tpi(self) -> float:
        """Threads an inch."""
        return 25.4 / self.pitch

    @property
    def basic_minor(self) -> float:
        """Basic minor diameter, mm: D less 1.082532 P (60 degrees), 1.280654 P (Whitworth) or 1.2 P (BA)."""
        return self.major - self.form.minor * self.pitch

    @property
    def basic_pitch_diameter(self) -> float:
        """Basic pitch (effective) diameter, mm: D less the depth on one side of the full form.

        0.649519 P for 60 degrees, 0.640327 P for Whitworth, 0.6 P for BA.
        """
        return self.major - self.form.depth * self.pitch

    @property
    def pitch_text(self) -> str:
        """Return the pitch in the words of its standard: ``32 tpi`` or ``0.7 mm``."""
        if self.unit == "in":
            return f"{_plain(1 / self.pitch_size)} tpi"
        return f"{_plain(self.pitch_size)} mm"


@cache
def all_threads() -> tuple[Thread, ...]:
    """Return every standard thread, in the order of the table."""
    return tuple(_from_cells(cells) for cells in raw_rows("threads")[1])


@cache
def thread_written(written: str) -> Thread | None:
    """Return the thread of a usual name in lower case without blanks, without making all the others.

    UNC and UNF go without their series too (6-32), a number size with or without # (#6-32), coarse metric threads with
    their pitch (m4x0.7). ``None`` when nothing is written so.
    """
    for cells in raw_rows("threads")[1]:
        series, nominal, _, _, tpi, pitch, _, _ = cells
        if series in UNIFIED_SERIES:
            forms = [f"{nominal}-{tpi}{series.lower()}"]
            if series != "UNEF":
                forms.append(f"{nominal}-{tpi}")
            if nominal.startswith("#"):
                forms += [form[1:] for form in forms]
        elif series in METRIC_SERIES:
            forms = [f"{nominal}x{pitch}".lower()]
            if series == "metric coarse":
                forms.append(nominal.lower())
        else:
            forms = [_name(series, nominal, tpi, pitch).lower().replace(" ", "")]
        if written in forms:
            return _from_cells(cells)
    return None


def _from_cells(cells: tuple[str, ...]) -> Thread:
    series, nominal, unit, major, tpi, pitch, form, source = cells
    return Thread(
        name=_name(series, nominal, tpi, pitch),
        series=series,
        nominal=nominal,
        form=thread_form(form),
        unit="in" if unit == "in" else "mm",
        size=_exact(major),
        pitch_size=Fraction(1, int(tpi)) if tpi else _exact(pitch),
        source=source,
    )


def _name(series: str, nominal: str, tpi: str, pitch: str) -> str:
    """Return the designation: 6-32 UNC, M4, M8 x 1, 2 BA, 1/4 BSW, 3/16 x 40 ME."""
    if series in UNIFIED_SERIES:
        return f"{nominal.lstrip('#')}-{tpi} {series}"
    if series == "metric fine":
        return f"{nominal} x {pitch}"
    if series in MODEL_SERIES:
        return f"{nominal} x {tpi} ME"
    return nominal if series in ("metric coarse", "BA") else f"{nominal} {series}"


def _exact(text: str) -> Fraction:
    if "/" in text:
        top, bottom = text.split("/")
        return Fraction(int(top), int(bottom))
    whole, _, decimals = text.partition(".")
    return Fraction(int(whole + decimals), 10 ** len(decimals))


def free_thread(*, size: Fraction, pitch_size: Fraction, unit: Unit, form: ThreadForm) -> Thread:
    """Return a thread by diameter, pitch and form, both exact in ``unit``.

    Raises
    ------
    InputError
        A size is not positive, the diameter is above 200 mm, or the form leaves no core at that pitch.
    """
    major, pitch = size * MM_PER_UNIT[unit], pitch_size * MM_PER_UNIT[unit]
    if not 0 < major <= 200:
        raise InputError(
            f"thread diameter {float(major):.6g} mm: expected more than 0 and at most 200 mm", key="thread"
        )
    if not pitch > 0:
        raise InputError(f"thread pitch {float(pitch):.6g} mm: expected more than 0", key="thread")
    if not form.minor * float(pitch) < 0.7 * float(major):
        raise InputError(
            f"thread of {float(major):.6g} mm with a pitch of {float(pitch):.6g} mm: the pitch is too coarse, "
            f'hardly any core would be left. Write threads an inch as "tpi", a pitch in mm.',
            key="thread",
        )
    if unit == "in":
        name = f"{_inches(size)} x {_plain(1 / pitch_size)} tpi {_FORM_WORDS[form.name]}"
    else:
        name = f"{_plain(size)} x {_plain(pitch_size)} mm {_FORM_WORDS[form.name]}"
    return Thread(name, FREE, name, form, unit, size, pitch_size, "as given")


_FORM_WORDS = {"unified": "60 deg", "metric": "60 deg", "whitworth": "whitworth", "ba": "ba form"}


def _inches(size: Fraction) -> str:
    """Return an inch size as a fraction where a rule has it, else as a decimal with its unit."""
    if size.denominator in (2, 4, 8, 16, 32, 64):
        whole, part = divmod(size, 1)
        return f"{whole}-{part}" if whole else str(part)
    if (size * 10**6).denominator == 1:
        return f"{_plain(size)} in"
    return str(size)


def _plain(value: Fraction) -> str:
    """Return a decimal without trailing zeros; it is exact for what people write."""
    return f"{float(value):.6f}".rstrip("0").rstrip(".")


def thread_percent(thread: Thread, hole: float, *, formed: bool = False) -> float:
    """Return the share of a full thread that a hole leaves, in percent, not clipped.

    Cut: ``100 (D - d) / (2 h)`` with the depth h of the form: 0.649519 P for 60 degrees (ASME B1.1, ISO 68-1; 76.98
    (D - d)/P in handbooks), 0.640327 P for Whitworth (BS 84), 0.6 P for BA (BS 93). Rolled with a forming tap, 60
    degrees only: ``147.06 (D - d) / P`` (handbook form).

    Parameters
    ----------
    hole : float
        Diameter of the finished hole, mm; a drill usually cuts oversize.

    Raises
    ------
    InputError
        The hole is not positive and finite, not below the major diameter, or there is no figure for a formed thread.

    Examples
    --------
    1/4-20 and a No. 7 drill, 0.201 in: tap drill charts print 75 percent.

    >>> from holecam.standards.thread_names import parse_thread
    >>> round(thread_percent(parse_thread("1/4-20"), 0.201 * 25.4), 1)
    75.4
    """
    if not (math.isfinite(hole) and hole > 0):
        raise InputError(f"hole {hole} mm: expected a positive diameter", key="hole", value=str(hole))
    if hole >= thread.major:
        raise InputError(
            f"hole {hole:.4g} mm is not below the major diameter of {thread.name}, {thread.major:.4g} mm: "
            "no thread would be left",
            key="hole",
            value=str(hole),
        )
    return 100.0 * (thread.major - hole) / _full_depth(thread, formed=formed)


def hole_for_percent(thread: Thread, percent: float, *, formed: bool = False) -> float:
    """Return the hole diameter in mm that leaves a percentage of thread; the inverse of :func:`thread_percent`.

    Raises
    ------
    InputError
        The percentage is not between 0 and 100 (0 excluded), or there is no figure for a formed thread.
    """
    if not 0 < percent <= 100:
        raise InputError(f"percent of thread {percent}: expected more than 0 and at most 100", key="percent")
    return thread.major - percent / 100.0 * _full_depth(thread, formed=formed)


FORMED_CONSTANT = 147.06
"""Hole for a forming tap: D - P * percent / 147.06. Handbook form of 0.0068 * percent / tpi."""


def _full_depth(thread: Thread, *, formed: bool) -> float:
    """Return what counts as 100 percent, on the diameter, in mm."""
    if not formed:
        return 2.0 * thread.form.depth * thread.pitch
    if thread.form.angle_deg != 60:
        raise InputError(
            f"{thread.name}: no published drill size for a forming tap of {thread.form.words}; use a cutting tap, "
            "or a trial hole and the tap maker's figure",
            key="formed",
        )
    return 100.0 * thread.pitch / FORMED_CONSTANT
