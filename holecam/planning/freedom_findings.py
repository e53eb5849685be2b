"""Say what the freedom of a pattern means for its wanted place, and hand its picture to the papers."""

from __future__ import annotations

from holecam.layout.freedom_field import Binding
from holecam.layout.freedom_half_pitch import HalfPitchAdvice
from holecam.layout.freedom_nearest import NearestShift
from holecam.layout.freedom_region import FreedomRegion
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity
from holecam.plan.reports import FreedomPicture
from holecam.shapes import Point


def binding_words(binding: Binding | None, *, unit: Unit = "mm") -> str:
    """Return what binds in words: ``hole 3 of "rail screws" against old 2, 0.1250 in of 0.1500 in``; empty for none."""
    if binding is None:
        return ""
    place = f"{length_text(binding.distance, unit)} of {length_text(binding.need, unit)} needed"
    return f"{binding.site.name} against {binding.obstacle_name}, {place}"


def place_findings(nearest: NearestShift, *, pattern: str, unit: Unit = "mm") -> tuple[Finding, ...]:
    """Return the finding that the wanted place of a pattern is not allowed; none when it is.

    A stop when no allowed place lies within reach, else a caution that names the nearest one: the pattern is not
    moved without being told to.
    """
    if nearest.wish_allowed or nearest.wish_binding is None:
        return ()
    binding = nearest.wish_binding
    lacking = length_text(-nearest.wish_margin, unit)
    what = f"The wanted place fails by {lacking}: {binding_words(binding, unit=unit)}."
    if nearest.shift is None:
        reach = length_text(nearest.reach, unit)
        message = f"{what} No shift of up to {reach} keeps every limit."
        severity, remedy = (
            Severity.STOP,
            "Turn the row, use fewer or smaller holes, or state limits of your own with a reason.",
        )
    else:
        dx, dy = (length_text(v, unit, signed=True) for v in nearest.shift)
        message = f"{what} The nearest allowed place is {length_text(nearest.distance, unit)} away: X {dx}, Y {dy}."
        severity, remedy = Severity.CAUTION, "Take the nearest allowed place, or another one, and plan again."
    return (
        Finding(
            code="wanted-place",
            severity=severity,
            about=f'pattern "{pattern}"',
            message=message,
            measured=nearest.wish_margin,
            limit=0.0,
            source="the limits that bind",
            remedy=remedy,
            holes=(binding.site.number,),
        ),
    )


def half_pitch_findings(advice: HalfPitchAdvice | None, *, pattern: str, unit: Unit = "mm") -> tuple[Finding, ...]:
    """Return a note with what half a pitch gives between the pattern's own old holes; none without advice."""
    if advice is None:
        return ()
    web = length_text(advice.web, unit)
    dx, dy = (length_text(v, unit, signed=True) for v in advice.shift)
    if advice.passes_on_the_line:
        how = f"Half a pitch between its own old holes leaves a web of {web}"
    else:
        aside = length_text(advice.aside, unit)
        how = (
            f"Half a pitch between its own old holes leaves a web of only {web}; the two rows also have to lie "
            f"{aside} apart"
        )
    hindered = "" if advice.allowed else f" There it fails: {binding_words(advice.binding, unit=unit)}."
    return (
        Finding(
            code="half-pitch",
            severity=Severity.NOTE,
            about=f'pattern "{pattern}"',
            message=f"{how} (shift X {dx}, Y {dy}).{hindered}",
            measured=advice.web,
            limit=None,
            source="pitch / 2 less both radii",
            remedy="Consider half a pitch if nothing speaks against it."
            if advice.allowed
            else "Look for another place.",
        ),
    )


def freedom_picture(
    region: FreedomRegion, *, wish: Point, chosen: Point, roomiest: Point | None = None
) -> FreedomPicture:
    """Return the region as the papers draw it: all forbidden chains as one path, filled by the even-odd rule."""
    return FreedomPicture(region.window, region.forbidden, wish, chosen, roomiest)
