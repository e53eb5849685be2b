"""Will the screw break before the thread strips? Stress and shear areas, and the least engagement (FED-STD-H28/2).

The published formulas take the smallest external and the largest internal thread of a class. Class 2A/2B (ASME B1.1)
and 6g/6H (ISO 965-1) are worked out here by the formulas of those standards; for other series basic sizes stand in, and
the result says so.
"""

import math
from typing import NamedTuple

from holecam.errors import InputError
from holecam.standards.minor_limits import minor_limits
from holecam.standards.threads import Thread

BASIC_SIZES_MARGIN = 1.1
"""Engagement is lengthened by this where basic sizes stand in for the limits of a class; common practice."""


def tensile_stress_area(thread: Thread) -> float:
    """Return the tensile stress area in mm2: pi/4 (D - k P)^2.

    k is 0.9743 for inch threads of 60 degrees (FED-STD-H28/2B Table II.B.1, ASME B1.1) and 0.938194 for metric (ISO
    898-1); Whitworth and BA take the mean of pitch and minor diameter.

    Examples
    --------
    ISO 898-1 prints 8.78 mm2 for M4, ASME B1.1 0.0318 in2 for 1/4-20.

    >>> from holecam.standards.thread_names import parse_thread
    >>> round(tensile_stress_area(parse_thread("M4")), 2)
    8.78
    >>> round(tensile_stress_area(parse_thread("1/4-20")) / 25.4**2, 4)
    0.0318
    """
    return math.pi / 4 * (thread.major - thread.form.stress * thread.pitch) ** 2


class ThreadExtremes(NamedTuple):
    """Diameters in mm that decide the shear areas: external smallest, internal largest; whether a class gave them."""

    external_major: float
    external_pitch: float
    internal_pitch: float
    internal_minor: float
    basis: str
    from_class: bool


def thread_extremes(thread: Thread, *, minor: float | None = None) -> ThreadExtremes:
    """Return the worst diameters of screw and tapped hole; ``minor`` is the hole as drilled, mm, if it is known.

    Raises
    ------
    InputError
        The hole is not between 0 and the major diameter.
    """
    if minor is not None and not 0 < minor < thread.major:
        raise InputError(
            f"hole {minor:g} mm: expected a diameter below {thread.major:.4g} mm", key="hole", value=f"{minor:g}"
        )
    limits = minor_limits(thread)
    internal_minor = minor or (thread.basic_minor if limits is None else limits.largest)
    if thread.form.name == "unified":
        major, external, internal = _unified_2a_2b(thread)
        return ThreadExtremes(major, external, internal, internal_minor, "ASME B1.1 classes 2A and 2B", True)
    if thread.form.name == "metric":
        major, external, internal = _metric_6g_6h(thread)
        return ThreadExtremes(major, external, internal, internal_minor, "ISO 965-1 classes 6g and 6H", True)
    pitch_diameter = thread.basic_pitch_diameter
    return ThreadExtremes(thread.major, pitch_diameter, pitch_diameter, internal_minor, "basic sizes", False)


def _unified_2a_2b(thread: Thread) -> tuple[float, float, float]:
    """Smallest external major and pitch diameter (2A), largest internal pitch diameter (2B), ASME B1.1 formulas.

    Pitch diameter tolerance 2A: 0.0015 D^(1/3) + 0.0015 Le^(1/2) + 0.015 P^(2/3), Le = D for UNC and UNF, 9 P else;
    allowance 0.3 of it; 2B 1.3 of it; major diameter 2A 0.06 P^(2/3). Inches.
    """
    D, P = thread.major / 25.4, thread.pitch / 25.4
    engaged = D if thread.series in ("UNC", "UNF") else 9 * P
    tolerance = 0.0015 * D ** (1 / 3) + 0.0015 * engaged**0.5 + 0.015 * P ** (2 / 3)
    allowance = 0.3 * tolerance
    basic_pitch = D - 0.649519 * P
    return (
        (D - allowance - 0.06 * P ** (2 / 3)) * 25.4,
        (basic_pitch - allowance - tolerance) * 25.4,
        (basic_pitch + 1.3 * tolerance) * 25.4,
    )


_DIAMETER_STEPS = (0.99, 1.4, 2.8, 5.6, 11.2, 22.4, 45.0, 90.0, 180.0, 355.0)
"""mm. Ranges of nominal diameter of ISO 965-1; its formulas take the geometric mean of a range."""


def _metric_6g_6h(thread: Thread) -> tuple[float, float, float]:
    """Smallest external major and pitch diameter (6g), largest internal pitch diameter (6H), ISO 965-1 formulas.

    es(g) = 15 + 11 P; Td(6) = 180 P^(2/3) - 3.15 P^(-1/2); Td2(6) = 90 P^0.4 d^0.1; TD2(6) = 1.32 Td2(6), micrometres.
    """
    D, P = thread.major, thread.pitch
    upper = next((s for s in _DIAMETER_STEPS[1:] if s >= D), _DIAMETER_STEPS[-1])
    lower = _DIAMETER_STEPS[_DIAMETER_STEPS.index(upper) - 1]
    mean = math.sqrt(lower * upper)
    fundamental = (15 + 11 * P) / 1000
    major_tolerance = (180 * P ** (2 / 3) - 3.15 / math.sqrt(P)) / 1000
    pitch_tolerance = 90 * P**0.4 * mean**0.1 / 1000
    basic_pitch = D - 0.649519 * P
    return (
        D - fundamental - major_tolerance,
        basic_pitch - fundamental - pitch_tolerance,
        basic_pitch + 1.32 * pitch_tolerance,
    )


def external_shear_area(thread: Thread, engagement: float, *, minor: float | None = None) -> float:
    """Return the area that shears when the screw's threads strip, mm2, for an engagement in mm.

    ``pi n Le Kn (1/(2 n) + tan(a) (Es - Kn))``, FED-STD-H28/2B Table II.B.1; Kn largest internal minor, Es smallest
    external pitch diameter, tan(a) 0.57735 at 60 degrees.
    """
    x = thread_extremes(thread, minor=minor)
    shape = thread.form.shear_shape
    per_thread = thread.pitch / 2 + shape * (x.external_pitch - x.internal_minor)
    return math.pi * _engaged(engagement) / thread.pitch * x.internal_minor * max(0.0, per_thread)


def internal_shear_area(thread: Thread, engagement: float) -> float:
    """Return the area that shears when the tapped hole strips, mm2, for an engagement in mm.

    ``pi n Le Ds (1/(2 n) + tan(a) (Ds - En))``, FED-STD-H28/2B Table II.B.1; Ds smallest external major, En largest
    internal pitch diameter.
    """
    x = thread_extremes(thread)
    shape = thread.form.shear_shape
    per_thread = thread.pitch / 2 + shape * (x.external_major - x.internal_pitch)
    return math.pi * _engaged(engagement) / thread.pitch * x.external_major * per_thread


def _engaged(engagement: float) -> float:
    if not (math.isfinite(engagement) and engagement > 0):
        raise InputError(f"engagement {engagement:g} mm: expected a positive length", key="engagement")
    return engagement


class LeastEngagement(NamedTuple):
    """Least length of engaged thread, mm, at which the screw breaks before either thread strips.

    ``equal_materials`` is the length for screw and hole of one strength; ``weakness`` is J, how much weaker the hole's
    thread is than the screw's; ``length`` is what is needed, ``diameters`` the same in D, ``threads`` in pitches.
    """

    length: float
    equal_materials: float
    weakness: float
    diameters: float
    threads: float
    stress_area: float
    basis: str
    note: str


def least_engagement(
    thread: Thread, *, screw_mpa: float, hole_mpa: float, minor: float | None = None
) -> LeastEngagement:
    """Return the least engagement for a screw and a tapped hole of given tensile strengths, MPa.

    ``Le = 2 At / (pi Kn (1/2 + tan(a) n (Es - Kn)))`` for equal strengths (there the screw's thread has twice the
    stress area in shear). ``J = (As screw_mpa)/(An hole_mpa)``; above 1 the hole strips first and J Le is needed.
    FED-STD-H28/2, as quoted in Machinery's Handbook.

    Raises
    ------
    InputError
        A strength is not positive and finite, or the hole leaves no thread to bear.
    """
    for name, value in (("screw strength", screw_mpa), ("hole strength", hole_mpa)):
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{name} {value:g} MPa: expected a positive strength", key=name, value=f"{value:g}")
    area = tensile_stress_area(thread)
    external = external_shear_area(thread, 1.0, minor=minor)  # for each mm of engagement
    if external <= 0:
        raise InputError(f"{thread.name}: the hole is so large that no thread is left to bear", key="hole")
    equal = 2 * area / external
    weakness = external * screw_mpa / (internal_shear_area(thread, 1.0) * hole_mpa)
    length = equal * max(1.0, weakness)
    extremes = thread_extremes(thread, minor=minor)
    note = ""
    if not extremes.from_class:
        length *= BASIC_SIZES_MARGIN
        note = f"limits of this series are not in the tables: basic sizes, and {BASIC_SIZES_MARGIN - 1:.0%} more length"
    return LeastEngagement(
        length=length,
        equal_materials=equal,
        weakness=weakness,
        diameters=length / thread.major,
        threads=length / thread.pitch,
        stress_area=area,
        basis=extremes.basis,
        note=note,
    )
