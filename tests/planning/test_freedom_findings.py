"""What the freedom means in words: the wanted place, the nearest one, half a pitch, the picture."""

from __future__ import annotations

import pytest

from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.freedom_half_pitch import half_pitch_advice
from holecam.layout.freedom_nearest import nearest_allowed
from holecam.layout.freedom_region import region
from holecam.layout.freedom_roomiest import window_around
from holecam.layout.spacing_rules import table_limits
from holecam.layout.spacing_sites import DrillSite, plain_profile
from holecam.layout.spacing_surroundings import OldHole, PartShape, Plug, PlugFixing, PlugHardness, Surroundings
from holecam.plan.finding import Severity
from holecam.planning.freedom_findings import binding_words, freedom_picture, half_pitch_findings, place_findings
from holecam.shapes import rectangle

PLUG = Plug("brass screw", PlugFixing.SOFT_SOLDERED, PlugHardness.SAME)


def rail(pitch: float = 31.75) -> Freedom:
    """Six holes moved onto their own old row on a bar; invented."""
    sites = [DrillSite(i + 1, "rail screws", (12.0 + pitch * i, 8.0), plain_profile(3.2)) for i in range(6)]
    old = tuple(OldHole(f"old {i + 1}", (12.0 + pitch * i, 8.0), 3.2, PLUG) for i in range(6))
    return freedom_of(sites, Surroundings(PartShape(rectangle(0, 0, 200, 16)), old), table_limits())


def test_the_wanted_place_and_the_nearest_one() -> None:
    nearest = nearest_allowed(rail(), (3.0, 0.0), reach=20.0)
    (finding,) = place_findings(nearest, pattern="rail screws", unit="mm")
    assert (finding.code, finding.severity) == ("wanted-place", Severity.CAUTION)
    assert finding.measured == pytest.approx(3.0 - 4.8)
    assert finding.message == (
        'The wanted place fails by 1.800 mm: hole 1 of "rail screws" against old 1, 3.000 mm of 4.800 mm needed. '
        "The nearest allowed place is 1.800 mm away: X +4.800 mm, Y 0.000 mm."
    )
    assert place_findings(nearest_allowed(rail(), (8.0, 0.0), reach=20.0), pattern="rail screws") == ()


def test_nowhere_to_go_is_a_stop() -> None:
    nearest = nearest_allowed(rail(), (3.0, 0.0), reach=1.0)
    (finding,) = place_findings(nearest, pattern="rail screws", unit="in")
    assert finding.severity is Severity.STOP
    assert "No shift of up to 0.0394 in keeps every limit." in finding.message
    assert finding.holes == (1,)


def test_half_a_pitch_in_words() -> None:
    (finding,) = half_pitch_findings(half_pitch_advice(rail(), (3.0, 0.0)), pattern="rail screws")
    assert (finding.code, finding.severity) == ("half-pitch", Severity.NOTE)
    assert finding.message == (
        "Half a pitch between its own old holes leaves a web of 12.675 mm (shift X +15.875 mm, Y 0.000 mm)."
    )
    (short,) = half_pitch_findings(half_pitch_advice(rail(8.0), (1.0, 0.0)), pattern="rail screws")
    assert "leaves a web of only 0.800 mm; the two rows also have to lie 2.653 mm apart" in short.message
    assert half_pitch_findings(None, pattern="rail screws") == ()


def test_half_a_pitch_that_something_else_forbids() -> None:
    sites = [DrillSite(i + 1, "row", (12.0 + 30.0 * i, 8.0), plain_profile(3.2)) for i in range(3)]
    old = [OldHole(f"old {i + 1}", (12.0 + 30.0 * i, 8.0), 3.2) for i in range(3)]
    old.append(OldHole("rivet", (28.0, 9.0), 3.2))
    freedom = freedom_of(sites, Surroundings(old_holes=tuple(old)), table_limits())
    (finding,) = half_pitch_findings(half_pitch_advice(freedom, (2.0, 0.0)), pattern="row")
    assert 'There it fails: hole 1 of "row" against rivet' in finding.message


def test_no_binding_has_no_words() -> None:
    assert binding_words(None) == ""


def test_the_picture_carries_exact_chains() -> None:
    freedom = rail()
    found = region(freedom, window_around((3.0, 0.0), 12.0))
    picture = freedom_picture(found, wish=(3.0, 0.0), chosen=(4.8, 0.0), roomiest=(9.0, 0.0))
    assert picture.window == (-9.0, -12.0, 15.0, 12.0)
    assert picture.forbidden == found.forbidden
    assert (picture.wish, picture.chosen, picture.roomiest) == ((3.0, 0.0), (4.8, 0.0), (9.0, 0.0))
