"""Thickness of a layer that nobody can measure alone: from the solder that went in, or from readings over the stack."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist, fmean

from msgspec import Struct

from holecam.cuts.layer_estimates import NOTHING, Estimate, Term
from holecam.errors import InputError
from holecam.standards.bonding_layers import mean_gap_from_mass, mean_gap_from_wire

PLACES_FOR_A_WEDGE = 4
"""Readings at fewer places than this do not show a wedge: with three, one degree of freedom is left for the spread."""


class LayerReading(Struct, frozen=True):
    """A layer measured through the stack at several places.

    ``thickness`` holds at the thinnest end of the cut when a wedge was found, else anywhere. ``mean`` is the mean of
    the readings, ``spread`` their standard deviation (about the sloping line, when there is one), ``small_sample`` the
    factor by which so few readings widen the doubt. ``wedge`` is how much thicker the layer is at one end of the cut
    than at the other, mm; ``None`` without places.
    """

    thickness: Estimate
    mean: float
    spread: float
    places: int
    small_sample: float
    wedge: float | None = None
    wedge_standard: float | None = None


def layer_from_wire(
    name: str,
    *,
    wire_length: float,
    wire_diameter: float,
    joint_area: float,
    local_half_width: float,
    lost_percent: float = 0.0,
    wire_length_within: float = 0.0,
    wire_diameter_within: float = 0.0,
    joint_area_within: float = 0.0,
) -> Estimate:
    """Return a solder layer's thickness from the wire that was used: volume over joint area, mm.

    Parameters
    ----------
    name : str
        Of the layer; names the doubt.
    wire_length, wire_diameter : float
        mm.
    joint_area : float
        mm2.
    local_half_width : float
        How far the layer may differ from its mean at one place, plus or minus, mm: pools and wedges are not in the
        sum. The thinnest place is what counts, so there is no default.
    lost_percent : float
        Share that ran out or was wiped off.
    wire_length_within, wire_diameter_within, joint_area_within : float
        Half-widths of the three measurements.
    """
    _share(lost_percent)
    mean = mean_gap_from_wire(wire_length=wire_length, wire_diameter=wire_diameter, joint_area=joint_area)
    relative = (
        Term.within("wire length", wire_length_within / wire_length),
        Term.within("wire diameter", 2.0 * wire_diameter_within / wire_diameter),
        Term.within("joint area", joint_area_within / joint_area),
    )
    return _mean_layer(name, mean * (1.0 - lost_percent / 100.0), relative, local_half_width)


def layer_from_mass(
    name: str,
    *,
    mass_g: float,
    density_g_cm3: float,
    joint_area: float,
    local_half_width: float,
    lost_percent: float = 0.0,
    mass_within_g: float = 0.0,
    joint_area_within: float = 0.0,
) -> Estimate:
    """Return a solder layer's thickness from the mass that was used; otherwise as :func:`layer_from_wire`."""
    _share(lost_percent)
    mean = mean_gap_from_mass(mass_g=mass_g, density_g_cm3=density_g_cm3, joint_area=joint_area)
    relative = (
        Term.within("mass", mass_within_g / mass_g),
        Term.within("joint area", joint_area_within / joint_area),
    )
    return _mean_layer(name, mean * (1.0 - lost_percent / 100.0), relative, local_half_width)


def layer_from_readings(
    name: str,
    readings: Sequence[float],
    *,
    less: Estimate = NOTHING,
    instrument_half_width: float = 0.0,
    sureness: float = 3.0,
    places: Sequence[float] | None = None,
    cut_from: float | None = None,
    cut_to: float | None = None,
) -> LayerReading:
    """Return a layer's thickness from micrometer readings at several places.

    Parameters
    ----------
    name : str
        Of the layer; names the doubts.
    readings : sequence of float
        Readings over the layer, or over it and its neighbours, mm; two or more.
    less : Estimate
        Thickness of the neighbours that the readings include: bar and sheet, as off-cuts of them measured. Their
        doubts keep their names, so that the bar's cancels again when the stack is summed from its top.
    instrument_half_width : float
        The micrometer is within plus or minus this, mm; it does not average out.
    sureness : float
        ``k`` of the hard floor: the small-sample factor is Student's quantile at the chance Phi(k), over ``k``.
    places : sequence of float, optional
        Where each reading was taken, along the bar, mm. With four or more a straight line is fitted, and the layer is
        taken at the thinnest end of the cut from ``cut_from`` to ``cut_to``.

    Raises
    ------
    InputError
        Fewer than two readings, places that do not match them, or a layer that comes out at 0 or less.
    """
    if len(readings) < 2:
        raise InputError(f'"{name}": expected readings at two places or more, got {len(readings)}', key=name)
    if not all(math.isfinite(v) and v > 0 for v in readings):
        raise InputError(f'"{name}": expected readings above zero, got {list(readings)}', key=name)
    if not (math.isfinite(sureness) and sureness > 0):
        raise InputError(f"sureness {sureness}: expected a number above zero", key="sureness")
    if places is not None and len(places) != len(readings):
        raise InputError(
            f'"{name}": {len(readings)} readings and {len(places)} places: expected one for each', key=name
        )
    if places is not None and not all(math.isfinite(p) for p in places):
        raise InputError(f'"{name}": places of the readings: expected finite lengths, got {list(places)}', key=name)
    if places is not None and len(readings) >= PLACES_FOR_A_WEDGE and max(places) > min(places):
        fit = _sloping(readings, places, cut_from, cut_to)
    else:
        fit = _level(readings)
    factor = student_quantile(NormalDist().cdf(sureness), fit.freedom) / sureness
    local = fit.local_standard * factor
    thickness = (
        Estimate(
            fit.value,
            (
                (Term(f"{name}: places", local, sureness * local), 1.0),
                (Term.within(f"{name}: micrometer", instrument_half_width), 1.0),
            ),
        )
        - less
    )
    if not thickness.value > 0:
        raise InputError(
            f'"{name}": {fit.value:.4f} mm read, less {less.value:.4f} mm of its neighbours, leaves '
            f"{thickness.value:.4f} mm: expected a layer above zero; measure the off-cuts again",
            key=name,
        )
    return LayerReading(thickness, fmean(readings), fit.spread, len(readings), factor, fit.wedge, fit.wedge_standard)


def student_quantile(chance: float, freedom: int) -> float:
    """Return Student's t at a chance (0.5 up to 1) for whole degrees of freedom.

    The distribution is the closed sum of Abramowitz and Stegun 26.7.3 and 26.7.4; its inverse by bisection.

    >>> round(student_quantile(0.975, 4), 3)
    2.776
    """
    if freedom < 1 or not 0.5 <= chance < 1.0:
        raise InputError(f"Student's t at {chance} with {freedom} degrees of freedom: expected 0.5 to 1 and 1 or more")
    low, high = 0.0, 1.0
    while _student_chance(high, freedom) < chance:
        low, high = high, high * 2.0
    while low < (middle := 0.5 * (low + high)) < high:  # until no number lies between the two
        low, high = (middle, high) if _student_chance(middle, freedom) < chance else (low, middle)
    return high


def _student_chance(t: float, freedom: int) -> float:
    """Return the chance that Student's t stays below ``t >= 0``: 1/2 + A(t|freedom)/2 with A of 26.7.3 and 26.7.4."""
    theta = math.atan(t / math.sqrt(freedom))
    cos2 = math.cos(theta) ** 2
    if freedom % 2:
        total, term = 0.0, math.cos(theta)
        for n in range(3, freedom + 1, 2):
            total += term
            term *= cos2 * (n - 1) / n
        both_sides = (theta + math.sin(theta) * total) * 2.0 / math.pi
    else:
        total, term = 0.0, 1.0
        for n in range(2, freedom + 1, 2):
            total += term
            term *= cos2 * (n - 1) / n
        both_sides = math.sin(theta) * total
    return 0.5 + 0.5 * both_sides


class _Fit(Struct, frozen=True):
    value: float
    spread: float
    local_standard: float
    freedom: int
    wedge: float | None = None
    wedge_standard: float | None = None


def _level(readings: Sequence[float]) -> _Fit:
    """Return the mean and the standard doubt of one more place: ``s sqrt(1 + 1/n)``."""
    n, mean = len(readings), fmean(readings)
    spread = math.sqrt(sum((v - mean) ** 2 for v in readings) / (n - 1))
    return _Fit(mean, spread, spread * math.sqrt(1.0 + 1.0 / n), n - 1)


def _sloping(readings: Sequence[float], places: Sequence[float], cut_from: float | None, cut_to: float | None) -> _Fit:
    """Return the fitted line at the thinner end of the cut, with the standard doubt of one more place there."""
    start = min(places) if cut_from is None else cut_from
    end = max(places) if cut_to is None else cut_to
    n, mean, middle = len(readings), fmean(readings), fmean(places)
    square = sum((p - middle) ** 2 for p in places)
    slope = sum((p - middle) * (v - mean) for p, v in zip(places, readings, strict=True)) / square
    residuals = [v - mean - slope * (p - middle) for p, v in zip(places, readings, strict=True)]
    spread = math.sqrt(sum(r * r for r in residuals) / (n - 2))

    def doubt_at(place: float) -> float:
        return spread * math.sqrt(1.0 + 1.0 / n + (place - middle) ** 2 / square)

    at = min((start, end), key=lambda place: mean + slope * (place - middle) - 3.0 * doubt_at(place))
    return _Fit(
        mean + slope * (at - middle),
        spread,
        doubt_at(at),
        n - 2,
        abs(slope * (end - start)),
        spread * abs(end - start) / math.sqrt(square),
    )


def _mean_layer(name: str, mean: float, relative: tuple[Term, ...], local_half_width: float) -> Estimate:
    amount = tuple((Term(f"{name}: {t.name}", mean * t.standard, mean * t.half_width), 1.0) for t in relative)
    local = (Term.within(f"{name}: from place to place", local_half_width), 1.0)
    return Estimate(mean, (*amount, local))


def _share(lost_percent: float) -> None:
    if not 0 <= lost_percent < 100:
        raise InputError(f"solder lost {lost_percent} percent: expected 0 up to 100", key="lost_percent")
