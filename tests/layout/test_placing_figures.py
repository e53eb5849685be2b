"""Patterns, placings, fits, set-ups and doubts in full: every field by hand or as recorded, limits from both sides."""

from __future__ import annotations

import math

import pytest
from recorded_figures import plain_figures, same_as_recorded

from holecam.errors import InputError
from holecam.layout.best_fit import (
    BestFit,
    MeasuredHole,
    NoFit,
    RigidFit,
    _mirror_better,
    _suspects,
    _weights,
    _words,
    best_fit,
    rigid_fit,
)
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
from holecam.layout.grids import grid, triangle_row_pitch
from holecam.layout.hole_circles import _turns, chord, hole_circle
from holecam.layout.patterns import (
    COINCIDENT_HOLES,
    FARTHEST,
    MOST_HOLES,
    PatternPoints,
    _numbers_text,
    _rows_upward,
    check_count,
    check_pitch,
    check_points,
    free_points,
    given_circles,
    line,
    nearest_pair_within,
)
from holecam.layout.placing import (
    MirrorLine,
    PlacedPattern,
    direction_from_words,
    mirrored_pair,
    move_old_pattern,
    place_from_one,
)
from holecam.layout.placing_findings import best_fit_findings, two_hole_finding, units_mixed
from holecam.layout.reference_doubt import (
    direction_doubt_deg,
    doubt_from_fit,
    doubt_from_one,
    doubt_from_two,
    standard_doubt,
)
from holecam.layout.rows_along import _ways, row_along
from holecam.layout.skewed_setup import (
    Edge,
    EdgeTouch,
    FoundHole,
    SkewedSetup,
    _crossing,
    _crossing_doubt,
    _edge_line,
    _normal,
    _turn_from_picks,
    setup_from_edge_and_hole,
    setup_from_two_edges,
    setup_from_two_holes,
)
from holecam.layout.two_holes import (
    TwoHoleFit,
    along_doubt,
    line_up,
    place_from_two,
    residual,
    steady_between,
)
from holecam.shapes import Arc, Circle, Placement, Point, Segment, rectangle

FILE = "placing"
CROOKED = free_points([(0.0, 0.0), (31.7, 4.2), (12.9, 55.1), (-8.3, 20.6), (40.0, 41.0)])


# Patterns ---------------------------------------------------------------------------------------------------------


def test_patterns_in_full() -> None:
    bend = (Segment((0.0, 0.0), (50.0, 0.0)), Arc((50.0, 0.0), (70.0, 20.0), (50.0, 20.0), ccw=True))
    circles = [Circle((10.0 * c, 20.0 * r + 2.4 * c), 2.5 + 0.01 * r) for r in range(2) for c in range(3)]
    found = {
        "line by pitch": line(3, pitch=10.0),
        "line by length": line(4, length=10.0),
        "one hole": line(1, pitch=5.0),
        "grid": grid(3, 2, column_pitch=10.0, row_pitch=7.0),
        "grid by column": grid(2, 3, column_pitch=10.0, row_pitch=7.0, numbering="by column"),
        "staggered": grid(
            3, 4, column_pitch=10.0, row_pitch=7.0, stagger=4.0, short_rows=True, numbering="there and back"
        ),
        "circle": hole_circle(5, diameter=40.0, start_deg=30.0),
        "part of a circle": hole_circle(4, diameter=40.0, start_deg=-20.0, included_deg=90.0, clockwise=True),
        "circle by steps": hole_circle(3, diameter=40.0, step_deg=25.0),
        "along a bend": row_along(bend, offset=3.0, pitch=12.0, start=4.0),
        "along a bend, shared out": row_along(bend, offset=-3.0, count=4, start=2.0, end=5.0),
        "round a plate": row_along(rectangle(0, 0, 40, 20).curves, offset=4.0, count=6, start=5.0, closed=True),
        "drawn circles": given_circles(circles, diameter=5.0, within=0.03),
        "points": CROOKED,
        "left out": CROOKED.without([2, 4]),
        "set off": line(3, pitch=10.0).off_centre((1.0, -2.0)),
        "grid left out": grid(3, 2, column_pitch=10.0, row_pitch=7.0).without([5]),
    }
    same_as_recorded("patterns", found, file=FILE)
    assert found["left out"].numbers == (1, 3, 5)
    assert [p.in_row for p in found.values()].count(True) == 4


def test_holes_by_number() -> None:
    kept = CROOKED.without([1])
    assert [kept.index(n) for n in (2, 3, 4, 5)] == [0, 1, 2, 3]
    assert kept.at(5) == (40.0, 41.0)
    assert CROOKED.index(1) == 0
    assert CROOKED.index(5) == 4
    for number in (0, -1, 6):
        with pytest.raises(InputError, match=f"hole {number}: there are holes 1 to 5") as told:
            CROOKED.index(number)
        assert (told.value.key, told.value.value, told.value.expected) == ("hole", str(number), "holes 1 to 5")
    assert line(6, pitch=2.0).pitches_between(2, 6) == 4
    assert line(6, pitch=2.0).without([3]).pitches_between(4, 2) == 2


def test_numbers_in_words() -> None:
    assert _numbers_text([3]) == "hole 3"
    assert _numbers_text([5, 1, 2, 3, 7]) == "holes 1 to 3, 5, 7"
    assert _numbers_text(range(1, 16, 2)) == "holes 1, 3, 5, 7, 9, 11, 13, 15"
    assert _numbers_text(range(1, 18, 2)) == "holes 1, 3, 5, 7, 9, 11, 13, 15, ..."


def test_two_points_nearer_than_the_reach() -> None:
    """In one square cell or in neighbouring ones, each way and across corners; the first pair in order."""
    for dx, dy in ((0.9, 0.0), (0.0, 0.9), (0.6, 0.6), (-0.9, 0.0), (0.0, -0.9), (-0.6, 0.6), (0.6, -0.6)):
        for x, y in ((0.0, 0.0), (1.99, 1.99), (-0.01, -0.01), (1.2, 0.7), (0.5, 1.5)):
            assert nearest_pair_within([(x, y), (x + dx, y + dy)], 1.0) == (0, 1)
            assert nearest_pair_within([(x, y), (x + 1.12 * dx, y + 1.2 * dy)], 0.8) is None
    assert nearest_pair_within([(0.0, 0.0), (1.0, 0.0)], 1.0) is None
    assert nearest_pair_within([(0.0, 0.0), (5.0, 0.0), (5.2, 0.0), (0.3, 0.0)], 1.0) == (1, 2)
    assert nearest_pair_within([(0.0, 0.0), (0.9, 0.0), (0.45, 0.0)], 0.95) == (0, 1)
    assert nearest_pair_within([(0.0, 0.0), (1.6, 0.0), (0.8, 0.0)], 1.0) == (0, 2)


def test_sizes_and_places_at_their_limits() -> None:
    assert check_count(1, "x") == 1
    assert check_count(MOST_HOLES, "x") == MOST_HOLES == 100_000
    assert check_pitch(FARTHEST, "x") == FARTHEST == 100_000.0
    assert check_pitch(1e-9, "x") == 1e-9
    with pytest.raises(InputError, match="x: 100001 holes") as told:
        check_count(MOST_HOLES + 1, "x")
    assert (told.value.key, told.value.value) == ("count", "100001")
    with pytest.raises(InputError, match="x: length 100001 mm") as told:
        check_pitch(100_001.0, "x", key="length")
    assert (told.value.key, told.value.value) == ("length", "100001")
    check_points([(FARTHEST, -FARTHEST), (-FARTHEST, FARTHEST)], (1, 2), "x")
    with pytest.raises(InputError, match="holes 4 and 9 lie in one place"):
        check_points([(0.0, 0.0), (0.0, 0.99 * COINCIDENT_HOLES)], (4, 9), "x")
    check_points([(0.0, 0.0), (0.0, 1.01 * COINCIDENT_HOLES)], (4, 9), "x")
    assert line(2, length=10.0).points == ((0.0, 0.0), (10.0, 0.0))
    assert grid(2, 2, column_pitch=5.0, row_pitch=5.0, short_rows=True).points == ((0.0, 0.0), (5.0, 0.0), (0.0, 5.0))
    assert len(grid(2, 2, column_pitch=5.0, row_pitch=5.0, stagger=-4.99)) == 4
    for stagger in (5.0, -5.0):
        with pytest.raises(InputError, match="expected less than the column pitch"):
            grid(2, 2, column_pitch=5.0, row_pitch=5.0, stagger=stagger)
    assert triangle_row_pitch(10.0) == pytest.approx(8.6602540378)


def test_circles_of_a_diameter_in_rows() -> None:
    """Half the wanted diameter decides what is one row; within decides what is wanted."""
    assert _rows_upward([(5.0, 2.5), (0.0, 0.0), (9.0, 2.6), (3.0, 2.5)], 2.5) == [
        [(0.0, 0.0), (3.0, 2.5), (5.0, 2.5)], [(9.0, 2.6)],
    ]  # fmt: skip
    circles = [Circle((0.0, 0.0), 2.5), Circle((9.0, 0.0), 2.55), Circle((0.0, 9.0), 2.45), Circle((9.0, 9.0), 2.61)]
    assert given_circles(circles, diameter=5.0, within=0.1000001).points == ((0.0, 0.0), (9.0, 0.0), (0.0, 9.0))
    assert given_circles(circles, diameter=5.0, within=0.0).points == ((0.0, 0.0),)
    assert len(given_circles(circles, diameter=5.0, within=0.23)) == 4
    with pytest.raises(InputError, match=r"within -0\.1 mm"):
        given_circles(circles, diameter=5.0, within=-0.1)
    with pytest.raises(InputError, match="within 5 mm"):
        given_circles(circles, diameter=5.0, within=5.0)
    many = [Circle((10.0 * k, 0.0), 1.0 + 0.1 * k) for k in range(14)]
    with pytest.raises(InputError) as told:
        given_circles(many, diameter=9.0, within=0.1)
    assert "expected one of 2, 2.2, 2.4, 2.6, 2.8, 3, 3.2, 3.4, 3.6, 3.8, 4, 4.2, ... mm" in str(told.value)
    assert (told.value.key, told.value.value) == ("diameter", "9")
    with pytest.raises(InputError, match=r"3\.6, 3\.8, 4, 4\.2 mm"):
        given_circles(many[:12], diameter=9.0, within=0.1)


def test_angles_of_holes_on_a_circle() -> None:
    assert _turns(4, 360.0, None, "x") == [0.0, 90.0, 180.0, 270.0]
    assert _turns(4, 90.0, None, "x") == [0.0, 30.0, 60.0, 90.0]
    assert _turns(1, 90.0, None, "x") == [0.0]
    assert _turns(3, 360.0, 20.0, "x") == [0.0, 20.0, 40.0]
    assert _turns(4, 360.0, 119.9, "x") == pytest.approx([0.0, 119.9, 239.8, 359.7])
    for count, included, step, words in (
        (4, 360.0, 120.0, "less than 120 degrees"), (1, 360.0, 0.0, "less than 360 degrees"), (2, 0.0, None, "above 0"),
        (2, 360.1, None, "at most 360"), (2, 90.0, 30.0, "one of them"),
    ):  # fmt: skip
        with pytest.raises(InputError, match=words):
            _turns(count, included, step, "x")
    assert _turns(2, 359.9, None, "x") == [0.0, 359.9]
    assert chord(diameter=10.0, step_deg=60.0) == pytest.approx(5.0)


def test_ways_along_a_line_by_hand() -> None:
    """A line of 100: by pitch as many as fit, by count shared out, round about the last a step before the first."""

    def ways(
        pitch: float | None, count: int | None, start: float, end: float, *, round_about: bool = False
    ) -> list[float]:
        return _ways(100.0, pitch, count, start, end, "row", round_about=round_about)

    assert ways(25.0, None, 0.0, 0.0) == [0.0, 25.0, 50.0, 75.0, 100.0]
    assert ways(25.0, None, 5.0, 20.0) == [5.0, 30.0, 55.0, 80.0]
    assert ways(25.0, None, 5.0, 20.1) == [5.0, 30.0, 55.0]
    assert ways(25.0 + 1e-7, None, 0.0, 0.0)[-1] == pytest.approx(100.0, abs=1e-6)  # past the end by noise alone
    assert len(ways(25.0 + 1e-6, None, 0.0, 0.0)) == 4
    assert ways(None, 5, 10.0, 10.0) == [10.0, 30.0, 50.0, 70.0, 90.0]
    assert ways(None, 1, 10.0, 10.0) == [10.0]
    assert ways(None, 4, 10.0, 0.0, round_about=True) == [10.0, 35.0, 60.0, 85.0]
    assert ways(25.0, None, 10.0, 0.0, round_about=True) == [10.0, 35.0, 60.0, 85.0]
    assert ways(150.0, None, 10.0, 0.0, round_about=True) == [10.0]
    assert ways(20.0, 3, 10.0, 0.0) == [10.0, 30.0, 50.0]
    assert ways(20.0, 5, 20.0, 0.0) == [20.0, 40.0, 60.0, 80.0, 100.0]
    for args, words in (
        ((20.0, 6, 20.0, 0.0), r"6 holes at a pitch of 20 mm need 100\.000 mm; the line has 80\.000 mm"),
        ((None, 3, 60.0, 50.0), r"60 mm at the start and 50 mm at the end: expected less than the line, 100\.000 mm"),
        ((20.0, 0, 0.0, 0.0), "count 0"), ((None, 0, 0.0, 0.0), "count 0"), ((0.0, None, 0.0, 0.0), "pitch 0 mm"),
    ):  # fmt: skip
        with pytest.raises(InputError, match=words):
            ways(*args)
    with pytest.raises(InputError, match=r"6 holes at a pitch of 20 mm need 120\.000 mm; .* at most 5 holes"):
        ways(20.0, 6, 0.0, 0.0, round_about=True)
    with pytest.raises(InputError, match=r"100\.1 mm at the start"):
        ways(None, 3, 100.1, 0.0, round_about=True)
    assert ways(None, 2, 50.0, 50.0) == [50.0, 50.0]
    bend = [Segment((0.0, 0.0), (50.0, 0.0))]
    for name, value in (("start", -0.1), ("end", math.inf), ("start", math.nan), ("end", -1.0)):
        with pytest.raises(InputError, match=f"{name} {value:g} mm: expected 0 or more"):
            row_along(bend, pitch=5.0, **{name: value})  # type: ignore[arg-type]
    # a closed line that keeps something free at the end is treated as an open one
    ring = rectangle(0, 0, 30, 20).curves
    assert row_along(ring, count=2, end=50.0, closed=True).points == ((0.0, 0.0), (30.0, 20.0))
    assert row_along(ring, count=2, closed=True).points == ((0.0, 0.0), (30.0, 20.0))
    assert row_along(ring, count=2, start=70.0, closed=True).points == (
        pytest.approx((10.0, 20.0)), pytest.approx((20.0, 0.0)),
    )  # fmt: skip


# Placing ----------------------------------------------------------------------------------------------------------


def test_placings_in_full() -> None:
    found = {
        "from one": place_from_one(CROOKED, hole=2, at=(10.0, 20.0), along_deg=30.0),
        "from one, mirrored": place_from_one(CROOKED, hole=3, at=(10.0, 20.0), along_deg=-50.0, mirror=True),
        "shifted": move_old_pattern(CROOKED, shift=(3.0, -4.0)),
        "turned": move_old_pattern(CROOKED, shift=(3.0, -4.0), turn_deg=25.0, about=3),
        "mirrored and turned": move_old_pattern(
            CROOKED, shift=(3.0, -4.0), turn_deg=25.0, about=4, mirror=MirrorLine((5.0, 6.0), 35.0)
        ),
        "mirrored alone": move_old_pattern(CROOKED, mirror=MirrorLine.at_x(12.0)),
        "pair": mirrored_pair(grid(2, 2, column_pitch=9.0, row_pitch=5.0), MirrorLine.at_y(-3.0)),
    }
    same_as_recorded("placings", found, file=FILE)
    shifted = found["shifted"]
    assert isinstance(shifted, PlacedPattern)
    assert shifted.reference is None
    assert shifted.at(2) == (34.7, pytest.approx(0.2))
    alone = found["mirrored alone"]
    assert isinstance(alone, PlacedPattern)
    assert alone.points == tuple((pytest.approx(24.0 - x), pytest.approx(y)) for x, y in CROOKED.points)


def test_directions_in_words_to_the_letter() -> None:
    assert [direction_from_words(t) for t in ("+5", "-.25", "12.", "30 degrees", "7deg", 12)] == [
        5,
        -0.25,
        12,
        30,
        7,
        12,
    ]
    with pytest.raises(InputError) as told:
        direction_from_words("x", key="way")
    assert (told.value.key, told.value.value) == ("way", "x")
    with pytest.raises(InputError) as told:
        direction_from_words(math.inf)
    assert (told.value.key, told.value.value) == ("along", "inf")
    for text in ("4,5", "+4,5", "-12,25"):
        with pytest.raises(InputError, match='Write "'):
            direction_from_words(text)


def test_two_found_holes_by_hand() -> None:
    """Holes 1 and 3 of a row of 10 found 20.6 apart on Y: 0.6 too far, 0.3 a pitch."""
    row = line(3, pitch=10.0)
    for hold, at in (
        ("first", ((5.0, 7.0), (5.0, 27.0))),
        ("second", ((5.0, 7.6), (5.0, 27.6))),
        ("split", ((5.0, 7.3), (5.0, 27.3))),
    ):
        found = place_from_two(row, first=1, first_at=(5.0, 7.0), second=3, second_at=(5.0, 27.6), hold=hold)  # type: ignore[arg-type]
        assert (found.drawn, found.measured) == (20.0, pytest.approx(20.6))
        assert (found.difference, found.per_pitch) == (pytest.approx(0.6), pytest.approx(0.3))
        assert found.placed.at(1) == pytest.approx(at[0])
        assert found.placed.at(3) == pytest.approx(at[1])
        assert found.placed.reference == {"first": 1, "second": 3, "split": None}[hold]
        assert [r.hole for r in found.residuals] == [1, 3]
        assert [r.dy for r in found.residuals] == pytest.approx([at[0][1] - 7.0, at[1][1] - 27.6])
        assert [r.size for r in found.residuals] == pytest.approx([at[0][1] - 7.0, 27.6 - at[1][1]])
    mirrored = place_from_two(CROOKED, first=1, first_at=(0.0, 0.0), second=2, second_at=(31.7, 4.2), mirror=True)
    back = mirrored_pair(CROOKED, MirrorLine.through_points((0.0, 0.0), (31.7, 4.2))).mirrored
    for p, q in zip(mirrored.placed.points, back.points, strict=True):
        assert p == pytest.approx(q)
    assert mirrored.per_pitch is None
    with pytest.raises(InputError, match="holes 2 and 2: expected two different holes"):
        place_from_two(row, first=2, first_at=(0, 0), second=2, second_at=(1, 1))
    with pytest.raises(InputError, match=r"were both found at \(0, 0\): expected two places, 10\.000 mm apart"):
        place_from_two(row, first=1, first_at=(0, 0), second=2, second_at=(0, 0.001))
    assert place_from_two(row, first=1, first_at=(0, 0), second=2, second_at=(0, 0.0011)).measured == 0.0011
    with pytest.raises(InputError, match='hold "both": expected first, second or split'):
        line_up((0, 0), (1, 0), (0, 0), (1, 0), hold="both")  # type: ignore[arg-type]


def test_the_surest_point_between_two() -> None:
    assert steady_between((0.0, 0.0), (10.0, 20.0), 0.1, 0.1) == (
        pytest.approx((5.0, 10.0)),
        pytest.approx(0.1 / math.sqrt(2.0)),
    )
    steady, doubt = steady_between((1.0, 2.0), (11.0, 22.0), 0.2, 0.1)  # 4 to 1: four fifths of the way
    assert steady == pytest.approx((9.0, 18.0))
    assert doubt == pytest.approx(0.02 / math.sqrt(0.05))
    assert steady_between((0.0, 0.0), (10.0, 20.0), 0.0, 0.1) == ((0.0, 0.0), 0.0)
    assert steady_between((2.0, 0.0), (10.0, 20.0), 0.0, 0.0) == ((6.0, 10.0), 0.0)
    assert [along_doubt(0.3, 0.4, h) for h in ("first", "second", "split")] == [0.3, 0.4, 0.25]  # type: ignore[arg-type]
    r = residual(4, (3.0, 4.0), (6.0, 8.0))
    assert (r.hole, r.dx, r.dy, r.size) == (4, -3.0, -4.0, 5.0)


# Fits -------------------------------------------------------------------------------------------------------------


OFF: tuple[Point, ...] = ((0.05, -0.02), (-0.03, 0.06), (0.02, 0.04), (-0.04, -0.05), (0.01, 0.0))


def measured(
    *, turn: float = 20.0, scale: float = 1.0, doubts: tuple[float, ...] | None = None, **wrong: Point
) -> list[MeasuredHole]:
    lay = Placement(turn, (100.0, 50.0))
    out = []
    for k, (p, (dx, dy)) in enumerate(zip(CROOKED.points, OFF, strict=True)):
        x, y = lay.apply(p)
        ex, ey = wrong.get(f"hole{k + 1}", (0.0, 0.0))
        at = ((x + dx + ex) * scale, (y + dy + ey) * scale)
        out.append(MeasuredHole(k + 1, at, None if doubts is None else doubts[k]))
    return out


FITS: dict[str, tuple[list[MeasuredHole], bool]] = {
    "five": (measured(), False),
    "one wrong": (measured(hole3=(1.5, 0.9)), False),
    "weighted": (measured(doubts=(0.02, 0.05, 0.05, 0.1, 0.03)), False),
    "two": (measured()[:2], False),
    "three": (measured()[:3], False),
    "inches": (measured(scale=1 / 25.4), False),
    "the other hand": (measured(), True),
}


@pytest.mark.parametrize("name", FITS)
def test_best_fits_in_full(name: str) -> None:
    holes, mirror = FITS[name]
    found = best_fit(CROOKED, holes, mirror=mirror)
    assert isinstance(found, BestFit)
    assert found.fit.square_sum >= 0.0
    findings = best_fit_findings(found, about='pattern "rail"', unit="in" if name == "inches" else "mm")
    same_as_recorded(f"fit: {name}", [found, findings], file=FILE)
    same_as_recorded(f"doubt of the fit: {name}", doubt_from_fit(found), file=FILE)


def test_a_fit_by_hand() -> None:
    """A square of 2 turned by 90 degrees and shifted, each corner 0.1 too far out: scale is never used to fit."""
    square = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)]
    found = [(10.0 - 1.1 * y, 20.0 + 1.1 * x) for x, y in square]
    fit = rigid_fit(square, found, [2.0] * 4)
    assert isinstance(fit, RigidFit)
    assert (fit.motion.turn_deg, fit.motion.mirror) == (pytest.approx(90.0), False)
    assert fit.motion.shift == pytest.approx((10.0, 20.0))
    assert fit.rms == pytest.approx(0.1 * math.sqrt(2.0))
    assert fit.square_sum == pytest.approx(2.0 * 4 * 0.02)
    assert fit.leverage == pytest.approx(2.0 * 8.0)
    assert fit.spread_ratio == pytest.approx(1.1)
    # the mirror image of a square about its own axis fits as well, told by the holes' numbers alone
    other = rigid_fit(square, [(-x, y) for x, y in square], mirror=True)
    assert isinstance(other, RigidFit)
    assert (other.motion.turn_deg, other.rms) == (pytest.approx(0.0), pytest.approx(0.0))
    # the heavier point is kept the better: 3 to 1 on a line
    heavy = rigid_fit([(0.0, 0.0), (10.0, 0.0)], [(0.0, 0.0), (10.4, 0.0)], [3.0, 1.0])
    assert isinstance(heavy, RigidFit)
    assert heavy.motion.apply((0.0, 0.0)) == pytest.approx((0.1, 0.0))
    assert heavy.rms == pytest.approx(math.sqrt((3 * 0.01 + 0.09) / 4))


def test_fits_that_cannot_be_told() -> None:
    one_place = rigid_fit([(0.0, 0.0), (10.0, 0.0)], [(5.0, 5.0), (5.0, 5.0019)])
    assert one_place == NoFit("found in one place", "all measured holes lie in one place, so they give no direction")
    assert isinstance(rigid_fit([(0.0, 0.0), (10.0, 0.0)], [(5.0, 5.0), (5.0, 5.0021)]), RigidFit)
    square = [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)]
    mirrored = rigid_fit(square, [(-x, y) for x, y in square])
    assert isinstance(mirrored, NoFit)
    assert mirrored.reason == "turn not determined"


def test_weights_that_a_fit_takes() -> None:
    assert _weights(3, 3, None) == [1.0, 1.0, 1.0]
    assert _weights(2, 2, (3.0, 0.5)) == [3.0, 0.5]
    for args, words in (
        ((3, 2, None), "3 pattern points against 2 measured ones"),
        ((1, 1, None), "expected at least 2 measured holes, got 1"),
        ((2, 2, (1.0,)), "expected 2 weights, got 1"), ((2, 2, (1.0, 0.0)), r"weight 0\.0: expected above zero"),
        ((2, 2, (1.0, math.inf)), "weight inf"),
    ):  # fmt: skip
        with pytest.raises(InputError, match=words):
            _weights(*args)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("holes", "message"),
    [
        ([MeasuredHole(1, (0, 0)), MeasuredHole(1, (1, 1))], "hole 1 was measured twice"),
        ([MeasuredHole(1, (0, 0)), MeasuredHole(9, (1, 1))], "hole 9: there are holes"),
        ([MeasuredHole(1, (0, math.nan)), MeasuredHole(2, (1, 1))], "hole 1 was found at"),
        ([MeasuredHole(1, (0, 0), 0.0), MeasuredHole(2, (1, 1), 0.1)], r"hole 1: doubt 0\.0 mm"),
        ([MeasuredHole(1, (0, 0), 0.1), MeasuredHole(2, (1, 1), math.inf)], "hole 2: doubt inf mm"),
        ([MeasuredHole(1, (0, 0), 0.1), MeasuredHole(2, (1, 1))], "no doubt is given for hole 2"),
        ([MeasuredHole(1, (0, 0))], "expected at least 2 measured holes, got 1"),
    ],
)
def test_measured_holes_that_cannot_be(holes: list[MeasuredHole], message: str) -> None:
    with pytest.raises(InputError, match=message):
        best_fit(CROOKED, holes)


def fit_of(rms: float, ratio: float = 1.0) -> RigidFit:
    return RigidFit(Placement(), rms, rms * rms * 5, 1.0, ratio)


def test_when_the_other_hand_is_mentioned() -> None:
    assert _mirror_better(fit_of(1.0), fit_of(0.49))
    assert not _mirror_better(fit_of(1.0), fit_of(0.5))
    assert not _mirror_better(fit_of(0.001), fit_of(0.0))
    assert _mirror_better(fit_of(0.0011), fit_of(0.0005))


def test_what_a_fit_says_in_words() -> None:
    assert _words(fit_of(0.1), (), 5, better=False) == []
    assert _words(fit_of(0.1, 25.4 * 1.09), (), 4, better=False)[0].endswith(
        "in millimetres and the pattern in inches."
    )
    assert _words(fit_of(0.1, 25.4 * 0.91), (), 4, better=False) != []
    assert _words(fit_of(0.1, 25.4 * 1.11), (), 4, better=False) == []
    assert _words(fit_of(0.1, 25.4 * 0.89), (), 4, better=False) == []
    assert _words(fit_of(0.1, 1 / 25.4), (), 4, better=False)[0].endswith("in inches, not mm.")
    assert [w.split()[0] for w in _words(fit_of(0.1), (2, 4), 2, better=True)] == ["The", "Hole", "Hole", "Two"]
    assert [w.split()[0] for w in _words(fit_of(0.1), (), 3, better=False)] == ["Three"]
    assert [units_mixed(r) for r in (25.4, 28.0, 27.9, 22.8, 22.9, 1.0, 1 / 25.4, 1.11 / 25.4)] == [
        True, False, True, False, True, False, True, False,
    ]  # fmt: skip


def test_suspects_by_the_closed_form_of_their_chance() -> None:
    """n (S_i / S)^((2 n - 5) / 2) below 0.05, by leaving each hole out; with three holes nobody is named."""
    found = [m.at for m in measured(hole3=(0.3, 0.2))]
    points, numbers = list(CROOKED.points), [11, 12, 13, 14, 15]
    fit = rigid_fit(points, found)
    assert isinstance(fit, RigidFit)
    chances = []
    for i in range(5):
        rest = rigid_fit(points[:i] + points[i + 1 :], found[:i] + found[i + 1 :])
        assert isinstance(rest, RigidFit)
        chances.append(5 * (rest.square_sum / fit.square_sum) ** 2.5)
    expected = tuple(n for n, c in zip(numbers, chances, strict=True) if c < 0.05)
    assert expected == (13,)
    assert _suspects(points, found, [1.0] * 5, numbers, fit, mirror=False) == expected
    assert _suspects(points[:3], found[:3], [1.0] * 3, numbers[:3], fit, mirror=False) == ()
    assert _suspects(points, found, [1.0] * 5, numbers, fit_of(0.001), mirror=False) == ()


def test_two_holes_in_words() -> None:
    row = line(3, pitch=10.0)
    for name, at, doubt, hold, unit in (
        ("within", (20.15, 0.0), 0.1, "first", "mm"), ("beyond", (20.25, 0.0), 0.1, "second", "mm"),
        ("not judged", (20.25, 0.0), None, "split", "in"), ("mixed", (20.0 / 25.4, 0.0), 0.1, "first", "mm"),
        ("short", (19.5, 0.0), 0.1, "split", "mm"),
    ):  # fmt: skip
        found = place_from_two(row, first=1, first_at=(0.0, 0.0), second=3, second_at=at, hold=hold)  # type: ignore[arg-type]
        finding = two_hole_finding(found, about="rail", doubt=doubt, unit=unit)  # type: ignore[arg-type]
        same_as_recorded(f"two holes: {name}", finding, file=FILE)
    crooked = place_from_two(CROOKED, first=1, first_at=(0.0, 0.0), second=2, second_at=(32.0, 4.2))
    assert isinstance(crooked, TwoHoleFit)
    assert "a pitch" not in two_hole_finding(crooked, about="x", doubt=None, unit="mm").message


# Set-ups ----------------------------------------------------------------------------------------------------------


LONG = Edge((0.0, 0.0), (100.0, 0.0))
SHORT = Edge((0.0, 60.0), (0.0, 0.0))


def test_a_set_up_from_two_holes_by_hand() -> None:
    """Drawn 100 apart on X, found 100.1 apart on Y: turned by 90, misfit 0.1; doubts 0.02 and 0.01."""
    first, second = FoundHole((10.0, 5.0), (200.0, 50.0), 0.02), FoundHole((110.0, 5.0), (200.0, 150.1), 0.01)
    found = setup_from_two_holes(first, second)
    assert found.reading_of((10.0, 5.0)) == (200.0, 50.0)
    assert found.reading_of((110.0, 5.0)) == pytest.approx((200.0, 150.0))
    assert found.turn_deg == pytest.approx(90.0)
    assert found.turn_doubt_deg == pytest.approx(math.degrees(math.hypot(0.02, 0.01) / 100.1))
    assert found.steady_point == pytest.approx((90.0, 5.0))
    assert found.shift_doubt == pytest.approx(0.02)  # along: that of the held hole; across: 0.009
    assert (found.baseline, found.misfit) == (pytest.approx(100.1), pytest.approx(0.1))
    assert found.words == "from two holes of the part"
    assert found.doubt_at((90.0, 105.0)) == pytest.approx(math.hypot(0.02, math.radians(found.turn_doubt_deg) * 100.0))
    split = setup_from_two_holes(first, second, hold="split")
    assert split.reading_of((60.0, 5.0)) == pytest.approx((200.0, 100.05))
    assert setup_from_two_holes(first, second, hold="second").shift_doubt == pytest.approx(0.01)
    with pytest.raises(InputError, match=r"both holes lie at \(10\.0, 5\.0\) in the part"):
        setup_from_two_holes(first, FoundHole((10.0, 5.0009), (0.0, 0.0)))
    with pytest.raises(InputError, match=r"both holes lie at \(200\.0, 50\.0\) on the table"):
        setup_from_two_holes(first, FoundHole((20.0, 5.0), (200.0, 50.0009)))


def test_a_turn_from_picks_by_hand() -> None:
    """Along an edge that runs on X in the part: picks 80 apart at 30 degrees, in either order."""
    c, s = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
    a, b = EdgeTouch((5.0, 6.0), 3.0, 0.01), EdgeTouch((5.0 + 80.0 * c, 6.0 + 80.0 * s), 3.0, 0.02)
    for picks in ((a, b), (b, a)):
        turn, baseline, doubt = _turn_from_picks(LONG, picks, 0.0)
        assert (turn, baseline) == (pytest.approx(30.0), pytest.approx(80.0))
        assert doubt == pytest.approx(math.hypot(0.01, 0.02) / 80.0)
        assert _turn_from_picks(LONG, picks, 180.0)[0] == pytest.approx(-150.0)
        assert _turn_from_picks(LONG, picks, -59.0)[0] == pytest.approx(30.0)
        assert _turn_from_picks(LONG, picks, -61.0)[0] == pytest.approx(-150.0)
    assert _turn_from_picks(SHORT, (a, b), 0.0)[0] == pytest.approx(-60.0)
    with pytest.raises(InputError, match=r"both picks lie at \(5\.0, 6\.0\)"):
        _turn_from_picks(LONG, (a, EdgeTouch((5.0, 6.0009), 3.0)), 0.0)
    for radii in ((3.0, 2.0), (-1.0, -1.0)):
        with pytest.raises(InputError, match="expected one finder, its radius 0 or more"):
            _turn_from_picks(LONG, (EdgeTouch((0, 0), radii[0]), EdgeTouch((9, 0), radii[1])), 0.0)
    assert _turn_from_picks(LONG, (EdgeTouch((0, 0)), EdgeTouch((9, 0))), 0.0) == (0.0, 9.0, 0.0)


def test_normals_lines_and_crossings_by_hand() -> None:
    assert _normal(LONG, 0.0) == pytest.approx((0.0, -1.0))
    assert _normal(Edge((0, 0), (9, 0), "left"), 0.0) == pytest.approx((0.0, 1.0))
    assert _normal(LONG, 90.0) == pytest.approx((1.0, 0.0))
    assert _normal(SHORT, 0.0) == pytest.approx((-1.0, 0.0))
    normal, place = _edge_line(LONG, (EdgeTouch((10.0, 4.0), 3.0), EdgeTouch((50.0, 4.2), 3.0)), 0.0)
    assert normal == pytest.approx((0.0, -1.0))
    assert place == pytest.approx(-4.1 - 3.0)
    assert _crossing((1.0, 0.0), 3.0, (0.0, 1.0), 4.0) == (3.0, 4.0)
    assert _crossing((0.6, 0.8), 5.0, (0.0, 1.0), 4.0) == pytest.approx((3.0, 4.0))
    assert _crossing((0.0, 1.0), 4.0, (0.6, 0.8), 5.0) == pytest.approx((3.0, 4.0))
    assert _crossing_doubt(0.03, 0.04, 1.0) == pytest.approx(0.04)
    # covariance N^-1 diag(u^2, v^2) N^-T for normals 30 degrees apart, u = v = 1: eigenvalues 1 / (1 -+ cos 30)
    assert _crossing_doubt(1.0, 1.0, 0.5) == pytest.approx(math.sqrt(1.0 / (1.0 - math.cos(math.radians(30.0)))))


@pytest.mark.parametrize("turn", [0.0, 3.0, -25.0, 80.0])
def test_set_ups_from_edges_find_the_part_again(turn: float) -> None:
    """Touches made by hand from a known place: finder of 3 outside each edge, readings in, the same place out."""
    lay = Placement(turn, (200.0, 120.0))
    picks = (EdgeTouch(lay.apply((10.0, -3.0)), 3.0, 0.01), EdgeTouch(lay.apply((90.0, -3.0)), 3.0, 0.02))
    touch = EdgeTouch(lay.apply((-3.0, 25.0)), 3.0, 0.015)
    two = setup_from_two_edges(LONG, picks, SHORT, touch)
    one = setup_from_edge_and_hole(LONG, picks, FoundHole((30.0, 20.0), lay.apply((30.0, 20.0)), 0.05))
    for found in (two, one):
        assert found.turn_deg == pytest.approx(turn)
        for p in ((0.0, 0.0), (77.0, -12.0)):
            assert found.reading_of(p) == pytest.approx(lay.apply(p))
        assert found.turn_doubt_deg == pytest.approx(math.degrees(math.hypot(0.01, 0.02) / 80.0))
        assert found.baseline == pytest.approx(80.0)
    assert one.misfit == pytest.approx(0.0, abs=1e-9)
    assert (one.steady_point, one.shift_doubt) == ((30.0, 20.0), 0.05)
    assert two.misfit is None
    assert two.shift_doubt == pytest.approx(max(0.015, 0.02 * 0.01 / math.hypot(0.01, 0.02)))
    # 26 along the edge from its first pick: a fifth of the way; level with the touch on the other
    assert two.steady_point == pytest.approx((26.0, 25.0))
    outside = setup_from_edge_and_hole(LONG, picks, FoundHole((30.0, 20.0), lay.apply((30.0, 20.3)), 0.05))
    assert outside.misfit == pytest.approx(0.3)
    same_as_recorded(f"set-ups {turn}", [two, one, outside], file=FILE)


def test_edges_that_hardly_cross_are_refused() -> None:
    picks = (EdgeTouch((10.0, 0.0)), EdgeTouch((90.0, 0.0)))
    for deg, fine in ((9.9, False), (10.1, True), (170.1, False), (169.9, True)):
        other = Edge((0.0, 0.0), (math.cos(math.radians(deg)), math.sin(math.radians(deg))))
        if fine:
            assert isinstance(setup_from_two_edges(LONG, picks, other, EdgeTouch((0.0, 0.0))), SkewedSetup)
        else:
            with pytest.raises(InputError, match="the two edges cross at less than 10 degrees"):
                setup_from_two_edges(LONG, picks, other, EdgeTouch((0.0, 0.0)))


# Doubts -----------------------------------------------------------------------------------------------------------


def test_doubts_by_hand() -> None:
    """A row along X from (10, 5), placed with 0.03 along and 0.04 across and 0.1 degrees: at 20 mm 0.035 more."""
    row = place_from_one(line(3, pitch=20.0), hole=1, at=(10.0, 5.0))
    found = doubt_from_one(row, reference_at=(10.0, 5.0), along=0.03, across=0.04, turn_doubt_deg=0.1)
    turn = math.radians(0.1)
    assert (found.together_along, found.together_across, found.turn_deg) == (0.03, 0.04, pytest.approx(0.1))
    third = found.of(3)
    assert (third.turning_along, third.turning_across) == (0.0, pytest.approx(40.0 * turn))
    assert (third.along, third.across) == (0.03, pytest.approx(math.hypot(0.04, 40.0 * turn)))
    assert third.turning == pytest.approx(40.0 * turn)
    assert found.farthest.number == 3
    place = found.place_doubt(3, own=0.01)
    assert (place.together, place.turning, place.own) == (0.04, pytest.approx(40.0 * turn), 0.01)
    slanted = doubt_from_one(row, reference_at=(10.0, 5.0), along=0.05, across=0.04, turn_doubt_deg=0.1, along_deg=90.0)
    assert slanted.of(2).turning_along == pytest.approx(20.0 * turn)
    assert slanted.of(2).turning_across == pytest.approx(0.0, abs=1e-15)
    assert slanted.place_doubt(1).together == 0.05
    two = doubt_from_two(row, first_at=(10.0, 5.0), second_at=(50.0, 5.0), first=0.02, second=0.01)
    assert two.steady_point == pytest.approx((42.0, 5.0))
    assert two.turn_deg == pytest.approx(math.degrees(math.hypot(0.02, 0.01) / 40.0))
    assert (two.together_along, two.along_deg) == (0.02, 0.0)
    assert two.together_across == pytest.approx(0.02 * 0.01 / math.hypot(0.02, 0.01))
    assert two.of(1).across == pytest.approx(0.02)
    assert two.of(3).across == pytest.approx(0.01)
    skew = place_from_one(CROOKED, hole=1, at=(3.0, 4.0), along_deg=33.0)
    same_as_recorded(
        "doubts of a crooked pattern",
        [doubt_from_one(skew, reference_at=(3.0, 4.0), along=0.03, across=0.04, turn_doubt_deg=0.1, along_deg=33.0),
         doubt_from_two(skew, first_at=skew.at(1), second_at=skew.at(3), first=0.02, second=0.03, hold="split")],
        file=FILE,
    )  # fmt: skip
    assert standard_doubt(0.3) == pytest.approx(0.3 / math.sqrt(3.0))
    assert direction_doubt_deg(0.3, 0.4, 100.0) == pytest.approx(math.degrees(0.005))


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda p: doubt_from_one(p, reference_at=(0, 0), along=-0.1, across=0.1), r"doubt along -0\.1"),
        (lambda p: doubt_from_one(p, reference_at=(0, 0), along=0.1, across=math.inf), "doubt across inf"),
        (
            lambda p: doubt_from_one(p, reference_at=(0, 0), along=0.1, across=0.1, turn_doubt_deg=-1.0),
            "of the direction -1",
        ),
        (
            lambda p: doubt_from_two(p, first_at=(0, 0), second_at=(0, 0), first=0.1, second=0.1),
            r"both reference holes lie at",
        ),
        (
            lambda p: doubt_from_two(p, first_at=(0, 0), second_at=(1, 0), first=-1.0, second=0.1),
            "doubt of the first hole",
        ),
        (
            lambda p: doubt_from_two(p, first_at=(0, 0), second_at=(1, 0), first=1.0, second=-0.1),
            "doubt of the second hole",
        ),
        (lambda p: doubt_from_one(p, reference_at=(0, 0), along=0.1, across=0.1).of(9), "hole 9: expected a hole of"),
        (lambda p: direction_doubt_deg(0.1, 0.1, 0.0), "baseline 0 mm"),
        (lambda p: direction_doubt_deg(-0.1, 0.1, 1.0), r"doubt -0\.1"),
        (lambda p: direction_doubt_deg(0.1, math.nan, 1.0), "doubt nan"),
        (lambda p: standard_doubt(-1.0), r"half-width -1\.0"),
    ],
)
def test_doubts_that_cannot_be(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make(place_from_one(line(3, pitch=20.0), hole=1, at=(10.0, 5.0)))  # type: ignore[operator]


# Fasteners --------------------------------------------------------------------------------------------------------


def test_fastener_formulas_by_hand() -> None:
    """H 6.6, F 6.0: 0.6 floating, 0.3 fixed; P 6 over D 12 doubles the thread's share."""
    assert floating_tolerance(6.6, 6.0) == pytest.approx(0.6)
    assert fixed_tolerance(6.6, 6.0) == pytest.approx(0.3)
    assert fixed_tolerance_other(6.6, 6.0, 0.2) == pytest.approx(0.4)
    assert fixed_tolerance_other(6.6, 6.0, 0.0) == pytest.approx(0.6)
    assert fixed_tolerance_unprojected(6.6, 6.0, plate_thickness=6.0, thread_depth=12.0) == pytest.approx(0.2)
    assert fixed_tolerance_unprojected(
        6.6, 6.0, plate_thickness=6.0, thread_depth=12.0, clearance_tolerance=0.2
    ) == pytest.approx(0.2)
    assert fixed_tolerance_unprojected(
        6.6, 6.0, plate_thickness=3.0, thread_depth=12.0, clearance_tolerance=0.0
    ) == pytest.approx(0.4)
    assert least_hole(6.0, clearance_tolerance=0.2, thread_tolerance=0.1) == pytest.approx(6.3)
    assert least_hole(
        6.0, clearance_tolerance=0.2, thread_tolerance=0.1, plate_thickness=6.0, thread_depth=8.0
    ) == pytest.approx(6.0 + 0.2 + 0.1 * 2.5)
    assert least_hole(6.0, clearance_tolerance=0.0, thread_tolerance=0.0) == 6.0
    assert virtual_hole(6.6, 0.2) == pytest.approx(6.4)
    assert virtual_screw(6.0, 0.2) == pytest.approx(6.2)
    assert plain_figures(tolerance_left(4, 0.5, 0.1)) == {"number": 4, "zone": 0.5, "used": 0.2, "left": 0.3}
    assert tolerance_left(1, 0.5, 0.0).left == 0.5


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: floating_tolerance(0.0, 6.0), r"hole 0\.0 mm: expected a finite size above zero"),
        (lambda: floating_tolerance(6.0, math.inf), "fastener inf mm"),
        (lambda: fixed_tolerance_other(6.6, 6.0, -0.1), r"tolerance of the other piece -0\.1 mm"),
        (lambda: fixed_tolerance_other(6.6, 6.0, math.nan), "tolerance of the other piece nan mm"),
        (lambda: fixed_tolerance_unprojected(6.6, 6.0, plate_thickness=0.0, thread_depth=1.0), r"plate thickness 0\.0"),
        (lambda: fixed_tolerance_unprojected(6.6, 6.0, plate_thickness=1.0, thread_depth=0.0), r"thread depth 0\.0"),
        (
            lambda: fixed_tolerance_unprojected(
                6.6, 6.0, plate_thickness=1.0, thread_depth=1.0, clearance_tolerance=-1.0
            ),
            r"tolerance of the clearance hole -1\.0",
        ),
        (
            lambda: fixed_tolerance_unprojected(
                6.6, 6.0, plate_thickness=1.0, thread_depth=1.0, clearance_tolerance=math.inf
            ),
            "tolerance of the clearance hole inf",
        ),
        (
            lambda: least_hole(6.0, clearance_tolerance=-1.0, thread_tolerance=0.0),
            r"tolerance of the clearance hole -1\.0",
        ),
        (lambda: least_hole(6.0, clearance_tolerance=0.0, thread_tolerance=math.inf), "tolerance of the thread inf"),
        (
            lambda: least_hole(6.0, clearance_tolerance=0.0, thread_tolerance=0.0, plate_thickness=-1.0),
            r"plate thickness -1\.0",
        ),
        (
            lambda: least_hole(6.0, clearance_tolerance=0.0, thread_tolerance=0.0, plate_thickness=math.inf),
            "plate thickness inf",
        ),
        (
            lambda: least_hole(6.0, clearance_tolerance=0.0, thread_tolerance=0.0, thread_depth=0.0),
            r"thread depth 0\.0",
        ),
        (lambda: least_hole(0.0, clearance_tolerance=0.0, thread_tolerance=0.0), r"fastener 0\.0"),
        (lambda: virtual_hole(0.0, 0.1), r"hole 0\.0"),
        (lambda: virtual_screw(-1.0, 0.1), r"screw -1\.0"),
        (lambda: tolerance_left(3, math.nan, 0.1), "hole 3: expected a finite zone"),
        (lambda: tolerance_left(3, 0.1, math.inf), "hole 3: expected a finite zone"),
        (lambda: tolerance_left(3, 0.1, -0.1), "hole 3: expected a finite zone"),
    ],
)
def test_fasteners_that_cannot_be(make: object, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make()  # type: ignore[operator]


def test_pattern_words_are_checked() -> None:
    with pytest.raises(InputError, match="expected hole numbers from 1, each once"):
        PatternPoints(((0, 0), (9, 0)), (2, 2), "x", "", "")
    assert PatternPoints(((0, 0), (9, 0)), (7, 2), "x", "", "").at(2) == (9.0, 0.0)
    assert PatternPoints(((0, 0),), (1,), "x", "", "", ("there",)).places == ("there",)
