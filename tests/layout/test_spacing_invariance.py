"""Mirrored, turned, shifted and unit-swapped versions of one job give the same findings."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from spacing_scenes import Scene, moved, scenes

from holecam.layout.spacing import check_spacing
from holecam.layout.spacing_rules import table_limits
from holecam.lengths import parse_length
from holecam.plan.finding import Finding
from holecam.planning.spacing_findings import spacing_findings
from holecam.shapes import Placement

LIMITS = table_limits()


def findings(scene: Scene) -> list[Finding]:
    sites, surroundings = scene
    return sorted(spacing_findings(check_spacing(sites, surroundings, LIMITS)), key=_key)


def _key(f: Finding) -> tuple[str, str, float, float]:
    return (f.about, f.code, round(f.measured or 0.0, 6), round(f.limit or 0.0, 6))


def same(first: list[Finding], second: list[Finding]) -> None:
    assert [(f.code, f.severity, f.about, f.source, f.holes) for f in first] == [
        (f.code, f.severity, f.about, f.source, f.holes) for f in second
    ]
    for a, b in zip(first, second, strict=True):
        assert a.measured == pytest.approx(b.measured, abs=1e-7)
        assert a.limit == pytest.approx(b.limit, abs=1e-9)


@given(
    scenes,
    st.floats(-180.0, 180.0).filter(lambda turn: abs(turn) > 1.0),
    st.tuples(st.floats(-300.0, 300.0), st.floats(-300.0, 300.0)),
    st.booleans(),
)
@settings(max_examples=80)
def test_a_moved_job_gives_the_same_findings(
    scene: Scene, turn_deg: float, shift: tuple[float, float], mirror: bool
) -> None:
    same(findings(scene), findings(moved(scene, Placement(turn_deg, shift, mirror))))


@given(scenes)
@settings(max_examples=40)
def test_messages_differ_by_unit_only(scene: Scene) -> None:
    sites, surroundings = scene
    report = check_spacing(sites, surroundings, LIMITS)
    metric, inch = spacing_findings(report, unit="mm"), spacing_findings(report, unit="in")
    assert [replace(f, message="") for f in metric] == [replace(f, message="") for f in inch]
    assert all(
        " in " not in f.message.replace("runs in it", "").replace("takes in", "") for f in metric if "mm" in f.message
    )


@given(st.integers(0, 400), st.integers(0, 400), st.integers(60, 200))
@settings(max_examples=40)
def test_a_job_written_in_inches_or_in_millimetres(x: int, y: int, pitch: int) -> None:
    """Coordinates in thousandths of an inch, the second time written out as exact millimetres."""
    from holecam.layout.spacing_sites import DrillSite, plain_profile
    from holecam.layout.spacing_surroundings import OldHole, PartShape, Surroundings
    from holecam.shapes import rectangle

    def metric(thou: int) -> str:
        return f"{float(Fraction(thou) * Fraction(254, 10000)):.4f} mm"

    def inches(thou: int) -> str:
        return f"{thou / 1000:.3f} in"

    both = []
    for write in (inches, metric):

        def mm(thou: int, write: object = write) -> float:
            assert callable(write)
            return float(parse_length(write(thou), unit="mm"))

        profile = plain_profile(mm(125))
        sites = tuple(DrillSite(k + 1, "row", (mm(x + k * pitch), mm(y)), profile) for k in range(4))
        old = tuple(OldHole(f"old {k + 1}", (mm(200 + k * 150), mm(200)), mm(140)) for k in range(4))
        part = PartShape(rectangle(mm(0) - mm(100), mm(0) - mm(100), mm(1000), mm(500)))
        both.append(findings((sites, Surroundings(part, old))))
    same(both[0], both[1])
