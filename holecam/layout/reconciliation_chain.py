"""A chain of drawn sections and what was measured on it, and what each reading should be for given sizes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.errors import InputError

Floats = NDArray[np.float64]


class Across(StrEnum):
    """What a reading over several sections measures."""

    ALONG = "along"
    """Along the chain's direction: sloped sections count with their projection."""

    SQUARE = "square"
    """Square to it: the rise of the sloped sections."""

    STRAIGHT = "straight"
    """In a straight line from end to end; for a single section its own length along the slope."""

    SLOPE = "slope"
    """The slope of one section, degrees, from the chain's direction."""


class Section(Struct, frozen=True):
    """One section of the chain, as drawn.

    Parameters
    ----------
    name : str
    drawn : float
        Length along the section, mm.
    slope_deg : float
        Angle to the chain's direction, anticlockwise, as drawn.
    process : float
        Standard spread of an honest piece about the drawing, mm.
    slope_process_deg : float
        The same of the slope, degrees.
    """

    name: str
    drawn: float
    slope_deg: float = 0.0
    process: float = 0.0
    slope_process_deg: float = 0.0

    def __post_init__(self) -> None:
        values = (self.drawn, self.slope_deg, self.process, self.slope_process_deg)
        if not all(math.isfinite(v) for v in values):
            raise InputError(f'section "{self.name}": expected finite figures, got {values}')
        if self.process < 0.0 or self.slope_process_deg < 0.0:
            raise InputError(f'section "{self.name}": expected a process spread of zero or more')


class Reading(Struct, frozen=True):
    """One measured size.

    Parameters
    ----------
    name : str
    of : tuple of str
        Names of the sections that it spans.
    value : float
        What was read, mm (degrees for a slope).
    doubt : float
        Standard doubt of the reading, same unit, above zero.
    across : Across
    """

    name: str
    of: tuple[str, ...]
    value: float
    doubt: float
    across: Across = Across.ALONG

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and math.isfinite(self.doubt) and self.doubt > 0.0):
            raise InputError(
                f'reading "{self.name}": expected a finite value and a doubt above zero, '
                f"got {self.value} and {self.doubt}"
            )
        if not self.of:
            raise InputError(f'reading "{self.name}": expected at least one section that it spans')
        if len(set(self.of)) != len(self.of):
            raise InputError(f'reading "{self.name}": a section is named twice')
        if self.across is Across.SLOPE and len(self.of) != 1:
            raise InputError(f'reading "{self.name}": a slope belongs to one section, got {len(self.of)}')


class Chain(Struct, frozen=True):
    """Sections in order from the datum, and the readings taken on them.

    Unknown are all lengths and the slopes that were measured; other slopes are taken as drawn.
    """

    sections: tuple[Section, ...]
    readings: tuple[Reading, ...]

    def __post_init__(self) -> None:
        names = [s.name for s in self.sections]
        if not names:
            raise InputError("chain: expected at least one section")
        if len(set(names)) != len(names):
            raise InputError(f"chain: expected a different name for each section, got {names}")
        called = [r.name for r in self.readings]
        if len(set(called)) != len(called):
            raise InputError(f"chain: expected a different name for each reading, got {called}")
        for reading in self.readings:
            for name in reading.of:
                if name not in names:
                    raise InputError(f'reading "{reading.name}": there is no section "{name}"; there are {names}')

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the sections, in order."""
        return tuple(s.name for s in self.sections)

    @property
    def measured_slopes(self) -> tuple[int, ...]:
        """Places of the sections whose slope was measured."""
        named = {r.of[0] for r in self.readings if r.across is Across.SLOPE}
        return tuple(i for i, s in enumerate(self.sections) if s.name in named)

    @property
    def drawn_sizes(self) -> Floats:
        """The unknowns at their drawn values: lengths (mm), then the measured slopes (degrees)."""
        slopes = [self.sections[i].slope_deg for i in self.measured_slopes]
        return np.array([s.drawn for s in self.sections] + slopes)

    @property
    def process(self) -> Floats:
        """Standard spreads of the unknowns about the drawing."""
        slopes = [self.sections[i].slope_process_deg for i in self.measured_slopes]
        return np.array([s.process for s in self.sections] + slopes)

    def expected(self, sizes: Floats, readings: Sequence[Reading]) -> tuple[Floats, Floats]:
        """Return what the readings should be (m,) for given sizes, and the derivatives (m, unknowns)."""
        count = len(self.sections)
        slopes = np.array([s.slope_deg for s in self.sections])
        place = {i: count + k for k, i in enumerate(self.measured_slopes)}
        for i, k in place.items():
            slopes[i] = sizes[k]
        c, s = _cosines(slopes), _sines(slopes)
        index = {name: i for i, name in enumerate(self.names)}
        values, rows = np.empty(len(readings)), np.zeros((len(readings), len(sizes)))
        radian = math.pi / 180.0
        for m, reading in enumerate(readings):
            spans = [index[name] for name in reading.of]
            if reading.across is Across.SLOPE:
                values[m] = slopes[spans[0]]
                if spans[0] in place:
                    rows[m, place[spans[0]]] = 1.0
                continue
            x, y = math.fsum(sizes[i] * c[i] for i in spans), math.fsum(sizes[i] * s[i] for i in spans)
            if reading.across is Across.STRAIGHT and len(spans) == 1:
                values[m], ux, uy = sizes[spans[0]], c[spans[0]], s[spans[0]]
            elif reading.across is Across.STRAIGHT:
                values[m] = math.hypot(x, y)
                ux, uy = (x / values[m], y / values[m]) if values[m] > 0.0 else (1.0, 0.0)
            elif reading.across is Across.ALONG:
                values[m], ux, uy = x, 1.0, 0.0
            else:
                values[m], ux, uy = y, 0.0, 1.0
            for i in spans:
                rows[m, i] = ux * c[i] + uy * s[i]
                if i in place:
                    rows[m, place[i]] = sizes[i] * (uy * c[i] - ux * s[i]) * radian
        return values, rows

    def vector(self, sizes: Floats, names: Sequence[str]) -> tuple[Floats, Floats]:
        """Return the sum of some sections as (along, square), mm, and its derivatives (2, unknowns)."""
        pair = [Reading("along", tuple(names), 0.0, 1.0), Reading("square", tuple(names), 0.0, 1.0, Across.SQUARE)]
        return self.expected(sizes, pair)


def _cosines(slopes: Floats) -> Floats:
    return np.where(slopes % 180.0 == 90.0, 0.0, np.cos(np.radians(slopes)))


def _sines(slopes: Floats) -> Floats:
    return np.where(slopes % 180.0 == 0.0, 0.0, np.sin(np.radians(slopes)))
