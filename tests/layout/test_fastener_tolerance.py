"""Floating and fixed fastener formulas against the worked example of the standard and against the exact bolt-up."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.layout.bolt_up import BoltUp, Joint, bolt_up
from holecam.layout.bolt_up_motion import Freedom, Motion
from holecam.layout.bolt_up_play import JointHole, RoundHole, TappedHole
from holecam.layout.fastener_tolerance import (
    fixed_tolerance,
    fixed_tolerance_other,
    fixed_tolerance_unprojected,
    floating_tolerance,
    least_hole,
    tolerance_left,
    virtual_hole,
    virtual_screw,
)


@pytest.mark.outside_check(
    subject=("floating fastener", "fixed fastener"),
    source="ASME Y14.5 Appendix B: F 6, H 6.44 gives 0.44 and 0.22 (0.22 read in a reprint, the sizes from memory)",
    closeness="exact",
    standing="published",
)
def test_the_worked_example_of_the_standard() -> None:
    # ASME Y14.5 App. B, F = 6, H = 6.44: T = 0.44 floating, 0.22 each fixed (0.22 read in a reprint, sizes from memory)
    assert floating_tolerance(6.44, 6.0) == pytest.approx(0.44)
    assert fixed_tolerance(6.44, 6.0) == pytest.approx(0.22)
    assert fixed_tolerance_other(6.44, 6.0, 0.18) == pytest.approx(0.26)


@pytest.mark.outside_check(
    subject="fixed fastener",
    source="ASME Y14.5 Appendix B: H = F + T1 + T2 (1 + 2 P/D)",
    closeness="exact",
    standing="published",
)
def test_without_projected_zone_the_thread_gets_less() -> None:
    # H = F + T1 + T2 (1 + 2 P / D), same appendix
    t2 = fixed_tolerance_unprojected(6.44, 6.0, plate_thickness=6.0, thread_depth=12.0)
    assert t2 == pytest.approx(0.44 / 3)
    assert least_hole(
        6.0, clearance_tolerance=t2, thread_tolerance=t2, plate_thickness=6, thread_depth=12
    ) == pytest.approx(6.44)
    given_first = fixed_tolerance_unprojected(
        6.44, 6.0, plate_thickness=6.0, thread_depth=12.0, clearance_tolerance=0.2
    )
    assert given_first == pytest.approx(0.12)
    assert least_hole(6.0, clearance_tolerance=0.22, thread_tolerance=0.22) == pytest.approx(6.44)


@given(
    hole=st.floats(3, 12),
    extra=st.floats(0.05, 1),
    plate=st.floats(1, 20),
    depth=st.floats(3, 30),
    share=st.floats(0, 0.99),
)
def test_zones_used_up_make_the_hole_again(hole: float, extra: float, plate: float, depth: float, share: float) -> None:
    screw, big = hole, hole + extra
    t1 = share * extra
    t2 = fixed_tolerance_unprojected(big, screw, plate_thickness=plate, thread_depth=depth, clearance_tolerance=t1)
    again = least_hole(screw, clearance_tolerance=t1, thread_tolerance=t2, plate_thickness=plate, thread_depth=depth)
    assert again == pytest.approx(big)
    assert virtual_screw(screw, fixed_tolerance(big, screw)) == pytest.approx(
        virtual_hole(big, fixed_tolerance(big, screw))
    )


@pytest.mark.parametrize("floating", [True, False])
def test_holes_at_the_edge_of_their_zones_just_go_together(floating: bool) -> None:
    # the formulas guarantee assembly from common datums: worst directions, no adjustment, ratio exactly 1
    screw, hole = 6.0, 6.44
    zone = floating_tolerance(hole, screw) if floating else fixed_tolerance(hole, screw)
    mate_hole: JointHole = RoundHole(hole) if floating else TappedHole()
    rng = np.random.default_rng(1)
    for _ in range(10):
        joints = []
        for i in range(5):
            place, angle = rng.uniform(-50, 50, 2), rng.uniform(-math.pi, math.pi)
            off = zone / 2 * np.array([math.cos(angle), math.sin(angle)])
            joints.append(Joint(i, tuple(place + off), tuple(place - off), RoundHole(hole), mate_hole, screw))
        held = bolt_up(joints, motion=Motion(Freedom.HELD))
        free = bolt_up(joints)
        assert isinstance(held, BoltUp)
        assert isinstance(free, BoltUp)
        assert held.ratio == pytest.approx(1.0, abs=1e-9)
        assert free.ratio <= 1.0 + 1e-9


def test_tolerance_left_counts_the_diameter() -> None:
    left = tolerance_left(3, 0.44, 0.15)
    assert (left.used, left.left) == (0.30, pytest.approx(0.14))


def test_bad_figures_are_refused() -> None:
    with pytest.raises(InputError, match="hole 0 mm"):
        floating_tolerance(0, 6)
    with pytest.raises(InputError, match="fastener nan mm"):
        fixed_tolerance(6.4, math.nan)
    with pytest.raises(InputError, match="thread depth 0 mm"):
        fixed_tolerance_unprojected(6.4, 6, plate_thickness=3, thread_depth=0)
    with pytest.raises(InputError, match="tolerance of the clearance hole -1 mm"):
        fixed_tolerance_unprojected(6.4, 6, plate_thickness=3, thread_depth=6, clearance_tolerance=-1)
    with pytest.raises(InputError, match="tolerance of the other piece -1 mm"):
        fixed_tolerance_other(6.4, 6, -1)
    with pytest.raises(InputError, match="plate thickness -1 mm"):
        least_hole(6, clearance_tolerance=0, thread_tolerance=0, plate_thickness=-1)
    with pytest.raises(InputError, match="tolerance of the thread -1 mm"):
        least_hole(6, clearance_tolerance=0, thread_tolerance=-1)
    with pytest.raises(InputError, match="hole 4: expected a finite zone"):
        tolerance_left(4, math.inf, 0.1)
