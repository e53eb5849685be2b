"""Sizes as pictures write them: in the job's unit, rounded once to the readout's step; small ones never as nil."""

from __future__ import annotations

from fractions import Fraction

from holecam.lengths import MM_PER_INCH, Unit, decimal_text, exact, length_text, number_in
from holecam.output.readings import reading
from holecam.plan.plan import Plan
from holecam.shapes import Point

AREA_DECIMALS: dict[Unit, int] = {"in": 4, "mm": 2}
"""Decimals of a square inch and of a square millimetre: about the same fineness."""


def size_text(plan: Plan, length: float) -> str:
    """Return a distance or size, mm, with its unit and no plus sign."""
    shown = reading(plan, length)
    unit = shown.unit
    if shown.count == 0 and length > 0.0:
        return f"less than {reading(plan, float(shown.resolution)).text(signed=False)} {unit}"
    return f"{shown.text(signed=False)} {unit}"


def height_text(plan: Plan, z: float) -> str:
    """Return a height as the readout shows it, with its sign."""
    return _long_minus(reading(plan, z).text())


def fine_size(plan: Plan, length: float) -> str:
    """Return a distance, mm, finer than the readout shows it: rounded to its step, a limit would move with it."""
    return length_text(length, plan.unit)


def fine_height(plan: Plan, z: float) -> str:
    """Return a height that is no reading to be set, such as a hard floor: finer than the readout shows it."""
    return _long_minus(number_in(z, plan.unit, signed=True))


def place_text(plan: Plan, at: Point) -> str:
    """Return a place as the readout shows it."""
    return _long_minus(f"X {reading(plan, at[0]).text()}, Y {reading(plan, at[1]).text()}")


def _long_minus(words: str) -> str:
    return words.replace("-", "\N{MINUS SIGN}")


def area_text(plan: Plan, area: float) -> str:
    """Return an area, mm2, in the job's unit.

    0.0032 sq in, 2.08 mm2, less than 0.0001 sq in.
    """
    unit, decimals = plan.unit, AREA_DECIMALS[plan.unit]
    value = exact(area) / (MM_PER_INCH**2 if unit == "in" else 1)
    words = "sq in" if unit == "in" else "mm2"
    text = decimal_text(value, decimals)
    least = decimal_text(Fraction(1, 10**decimals), decimals)
    if area > 0.0 and Fraction(text) == 0:
        return f"less than {least} {words}"
    return f"{text} {words}"
