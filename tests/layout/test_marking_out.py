"""Marking out: laying on, heights, what comes off, the back, all against closed forms and another geometry library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from holecam.errors import InputError
from holecam.layout.marking_out import MarkingOut, MarkKind, comes_off, datum_edges, height, mark_out, ray
from holecam.layout.marking_out_alignment import HeldEdge, hold_together
from holecam.shapes import Arc, Outline, Placement, Segment, distance, outline_through, rectangle

# A former for a lantern hood, invented: flat foot (edge 1), upright heel (edge 6), a nose of radius 20
DRAWN = Outline(
    (
        Segment((0, 0), (80, 0)),
        Segment((80, 0), (80, 10)),
        Arc((80, 10), (60, 30), (60, 10), True),
        Segment((60, 30), (20, 30)),
        Segment((20, 30), (0, 40)),
        Segment((0, 40), (0, 0)),
    )
)
# As made: 1.5 mm too long at the nose, 0.8 mm too low on top, one corner more
MADE = Outline(
    (
        Segment((0, 0), (81.5, 0)),
        Segment((81.5, 0), (81.5, 10)),
        Arc((81.5, 10), (61.5, 30), (61.5, 10), True),
        Segment((61.5, 30), (50, 29.2)),
        Segment((50, 29.2), (20, 29.2)),
        Segment((20, 29.2), (0, 40)),
        Segment((0, 40), (0, 0)),
    )
)
GOOD = (HeldEdge(1, 1), HeldEdge(6, 7))


def polygon(outline: Outline) -> Polygon:
    points = []
    for c in outline.curves:
        points += [c.point_at(k / 2000) for k in range(2000)] if isinstance(c, Arc) else [c.start]
    return Polygon(points)


@given(turn=st.floats(-180, 180), dx=st.floats(-200, 200), dy=st.floats(-200, 200))
@settings(max_examples=25)
def test_the_piece_is_laid_on_wherever_it_was_measured(turn: float, dx: float, dy: float) -> None:
    elsewhere = Placement(turn, (dx, dy)).apply_outline(MADE)
    held = hold_together(DRAWN, elsewhere, GOOD)
    assert held.settled
    assert max(held.gaps) < 1e-9
    for before, after in zip(MADE.curves, held.drawn_from_made.apply_outline(elsewhere).curves, strict=True):
        assert distance(before.start, after.start) < 1e-8


def skewed() -> Outline:
    """A slab whose left edge leans by half a degree."""
    lean = 40 * math.tan(math.radians(0.5))
    return outline_through([(0, 0), (80, 0), (80, 40), (lean, 40)])


def test_the_first_datum_edge_is_laid_on_exactly_the_second_as_far_as_it_can() -> None:
    wanted = rectangle(0, 0, 80, 40)
    first = hold_together(wanted, skewed(), (HeldEdge(1, 1), HeldEdge(4, 4)))
    assert first.drawn_from_made.turn_deg == pytest.approx(0.0, abs=1e-9)
    # the leaning edge is held with ends and middle alike off: half of the lean each way
    lean = 40 * math.tan(math.radians(0.5))
    assert first.gaps == (pytest.approx(0.0, abs=1e-9), pytest.approx(lean / 2, abs=1e-6))
    second = hold_together(wanted, skewed(), (HeldEdge(4, 4), HeldEdge(1, 1)))
    assert abs(second.drawn_from_made.turn_deg) == pytest.approx(0.5, abs=1e-9)
    assert second.gaps[0] == pytest.approx(0.0, abs=1e-9)
    fit = hold_together(wanted, skewed(), (HeldEdge(1, 1), HeldEdge(4, 4)), method="fit")
    assert 0.0 < abs(fit.drawn_from_made.turn_deg) < 0.5


def test_one_edge_leaves_sliding_open() -> None:
    held = hold_together(DRAWN, MADE, (HeldEdge(1, 1),))
    assert not held.settled
    # settled by the middles: 80 mm against 81.5 mm
    assert held.drawn_from_made.shift[0] == pytest.approx(-0.75)
    assert held.drawn_from_made.shift[1] == pytest.approx(0.0, abs=1e-12)


def test_arcs_are_laid_centre_on_centre() -> None:
    held = hold_together(DRAWN, MADE, (HeldEdge(3, 3), HeldEdge(1, 1)))
    assert held.settled
    assert held.drawn_from_made.apply((61.5, 10)) == pytest.approx((60, 10), abs=1e-9)
    assert held.gaps[1] == pytest.approx(0.0, abs=1e-9)


def test_the_sense_of_travel_does_not_matter() -> None:
    one = mark_out(DRAWN, MADE, GOOD)
    two = mark_out(DRAWN, MADE.reversed(), (HeldEdge(1, 7), HeldEdge(6, 1)))
    assert two.remove_area == pytest.approx(one.remove_area)
    three = mark_out(DRAWN.reversed(), MADE, (HeldEdge(6, 1), HeldEdge(1, 7)))
    assert three.missing_area == pytest.approx(one.missing_area)
    # numbers stay as the user counts them: his sixth edge is the foot
    assert next(e for e in three.face.edges if e.edge == 6).length == pytest.approx(80.0)


def test_heights_and_centres() -> None:
    out = mark_out(DRAWN, MADE, GOOD)
    centre = next(p for p in out.face.points if p.kind is MarkKind.ARC_CENTRE)
    assert (centre.from_a, centre.from_b, centre.radius) == (10.0, 60.0, 20.0)
    kinds = {p.view: p.kind for p in out.face.points if p.kind is not MarkKind.ARC_CENTRE}
    assert kinds[(60, 30)] is MarkKind.TANGENT_POINT
    assert kinds[(80, 10)] is MarkKind.TANGENT_POINT
    assert kinds[(20, 30)] is MarkKind.CORNER
    ramp = next(p for p in out.face.points if p.view == (20, 30))
    assert (ramp.from_a, ramp.from_b) == (30.0, 20.0)
    assert ramp.angle_deg == pytest.approx(math.degrees(math.atan2(10, -20)))
    assert ramp.turn_deg == pytest.approx(-math.degrees(math.atan2(10, 20)))
    edge = next(e for e in out.face.edges if e.edge == 5)
    assert edge.angle_deg == pytest.approx(180 - math.degrees(math.atan2(10, 20)))
    assert edge.length == pytest.approx(math.hypot(20, 10))
    assert next(e for e in out.face.edges if e.edge == 3).radius == 20.0


def test_heights_from_a_leaning_part_and_a_single_datum() -> None:
    tilted = Placement(30.0, (5, 7)).apply_outline(DRAWN)
    out = mark_out(tilted, MADE, GOOD)
    centre = next(p for p in out.face.points if p.kind is MarkKind.ARC_CENTRE)
    assert (centre.from_a, centre.from_b) == (pytest.approx(10.0), pytest.approx(60.0))
    a, b = datum_edges(DRAWN, [1])
    assert height(b, (25.0, 12.0)) == pytest.approx(25.0)
    assert height(a, (25.0, 12.0)) == pytest.approx(12.0)
    # an edge parallel to the first is no second datum
    assert datum_edges(DRAWN, [1, 4])[1].start == b.start
    assert height(datum_edges(DRAWN, [1, 5])[1], (20, 30)) == pytest.approx(0.0, abs=1e-12)


def test_what_comes_off_in_plain_places() -> None:
    out = mark_out(DRAWN, MADE, GOOD, spacing=10.0)
    by_place = {(round(s.view[0], 6), round(s.view[1], 6)): s for s in out.face.stations}
    assert by_place[(40.0, 0.0)].off_square == 0.0  # the good edge
    low = by_place[(40.0, 30.0)]
    assert (low.off_square, low.off_along) == (pytest.approx(-0.8), pytest.approx(-0.8))
    corner = out.face.points[1]  # the lower front corner: the foot is good, the front stands out
    assert (corner.view, corner.off_before) == ((80, 0), 0.0)
    assert corner.off_after == pytest.approx(1.5)
    heel = out.face.points[0]
    assert (heel.view, heel.off_before, heel.off_after) == ((0, 0), 0.0, 0.0)
    assert out.most_off == pytest.approx(1.5)
    sides = mark_out(DRAWN, MADE, GOOD, spacing=5.0, along="y")
    front = next(s for s in sides.face.stations if s.view == (80.0, 5.0))
    assert (front.off_square, front.off_along) == (pytest.approx(1.5), pytest.approx(1.5))
    assert front.position == 5.0


@pytest.mark.outside_check(
    subject="marking out",
    source="shapely: areas and distances",
    closeness="1e-4 mm; 0.001 mm2",
    standing="library",
)
def test_what_comes_off_against_another_geometry_library() -> None:
    out = mark_out(DRAWN, MADE, GOOD, spacing=3.7)
    made = polygon(out.made)
    checked = 0
    for s in out.face.stations:
        if s.off_along is None or s.off_along == 0.0:
            continue
        up = 1.0 if s.view[1] > 1e-9 else -1.0
        line = LineString([s.view, (s.view[0], s.view[1] + up * (200 if s.off_along > 0 else -200))])
        other = Spot(s.view).distance(line.intersection(made.exterior))
        assert abs(s.off_along) == pytest.approx(other, abs=1e-4)
        assert (s.off_along > 0) == made.contains(Spot(s.view))
        checked += 1
    assert checked > 10
    assert out.remove_area == pytest.approx(made.difference(polygon(DRAWN)).area, abs=1e-3)
    assert out.missing_area == pytest.approx(polygon(DRAWN).difference(made).area, abs=1e-3)


def test_on_the_nose_the_square_distance_is_that_of_the_circles() -> None:
    out = mark_out(DRAWN, MADE, GOOD, spacing=2.7, along="y")
    checked = 0
    for s in out.face.stations:
        x, y = s.view
        if x > 60.0 and 12.0 < y < 24.0:
            # from a point of the drawn circle, along its radius, to the circle moved by 1.5 mm
            ux, uy = (x - 60) / 20, (y - 10) / 20
            along = 1.5 * ux
            expected = along - 20 + math.sqrt(20**2 - (1.5 * uy) ** 2)
            assert s.off_square == pytest.approx(expected, abs=1e-9)
            checked += 1
    assert checked >= 3


def test_a_good_piece_needs_nothing() -> None:
    out = mark_out(DRAWN, Placement(12.0, (3, 4)).apply_outline(DRAWN), (HeldEdge(1, 1), HeldEdge(6, 6)))
    assert (out.remove, out.missing) == ((), ())
    assert out.most_off == pytest.approx(0.0, abs=1e-9)
    assert out.most_missing == pytest.approx(0.0, abs=1e-9)


def test_the_back_is_mirrored_and_its_heights_stay() -> None:
    out = mark_out(DRAWN, MADE, GOOD, spacing=7.0)
    assert out.back.side == "back"
    for face, back in zip(out.face.points, out.back.points, strict=True):
        assert back.view == (pytest.approx(80.0 - face.view[0]), face.view[1])
        assert (back.from_a, back.from_b, back.off_after) == (face.from_a, face.from_b, face.off_after)
    ramp = next(e for e in out.back.edges if e.edge == 5)
    assert ramp.angle_deg == pytest.approx(math.degrees(math.atan2(10, 20)))
    assert [s.view[0] for s in out.back.stations] == sorted(s.view[0] for s in out.back.stations)
    assert sorted(s.from_b for s in out.back.stations) == sorted(s.from_b for s in out.face.stations)
    # the same as drawing the mirrored piece and marking out its face
    flip = Placement(0.0, (80.0, 0.0), True)
    mirrored = mark_out(flip.apply_outline(DRAWN), flip.apply_outline(MADE), GOOD)
    views = sorted((round(p.view[0], 9), round(p.view[1], 9)) for p in mirrored.face.points)
    assert views == sorted((round(p.view[0], 9), round(p.view[1], 9)) for p in out.back.points)


@pytest.mark.parametrize("scale", [1 / 25.4, 25.4])
def test_unit_swapped_outlines_give_the_same(scale: float) -> None:
    def scaled(outline: Outline) -> Outline:
        def s(p: tuple[float, float]) -> tuple[float, float]:
            return (p[0] * scale, p[1] * scale)

        return Outline(
            tuple(
                Segment(s(c.start), s(c.end))
                if isinstance(c, Segment)
                else Arc(s(c.start), s(c.end), s(c.center), c.ccw)
                for c in outline.curves
            )
        )

    one, two = mark_out(DRAWN, MADE, GOOD), mark_out(scaled(DRAWN), scaled(MADE), GOOD)
    assert two.remove_area == pytest.approx(one.remove_area * scale**2)
    assert two.most_missing == pytest.approx(one.most_missing * scale)
    assert len(two.face.stations) == len(one.face.stations)


def test_a_piece_that_is_short_at_an_end_misses_metal_there() -> None:
    short = rectangle(0, 0, 78, 20)
    out = mark_out(rectangle(0, 0, 80, 20), short, (HeldEdge(1, 1), HeldEdge(4, 4)), along="y", spacing=5.0)
    front = next(s for s in out.face.stations if s.view == (80.0, 10.0))
    assert front.off_square == pytest.approx(-2.0)
    assert out.remove == ()
    assert out.missing_area == pytest.approx(40.0)
    assert out.most_missing == pytest.approx(2.0)


def test_comes_off_is_nothing_on_the_edge_and_none_where_nothing_is_met() -> None:
    box = rectangle(0, 0, 10, 10)
    assert comes_off((10.0, 5.0), (1.0, 0.0), box) == 0.0
    assert comes_off((8.0, 5.0), (1.0, 0.0), box) == pytest.approx(2.0)
    assert comes_off((13.0, 5.0), (1.0, 0.0), box) == pytest.approx(-3.0)
    assert comes_off((13.0, 50.0), (1.0, 0.0), box) is None


def test_bad_input_is_refused() -> None:
    with pytest.raises(InputError, match="at least one edge"):
        mark_out(DRAWN, MADE, ())
    with pytest.raises(InputError, match="edge 9 of the drawn outline: it has edges 1 to 6"):
        mark_out(DRAWN, MADE, (HeldEdge(9, 1),))
    with pytest.raises(InputError, match="one is a line and the other an arc"):
        mark_out(DRAWN, MADE, (HeldEdge(1, 3),))
    with pytest.raises(InputError, match="none of the held edges is a line"):
        mark_out(DRAWN, MADE, (HeldEdge(3, 3),))
    with pytest.raises(InputError, match=r"stations 0.0 mm"):
        mark_out(DRAWN, MADE, GOOD, spacing=0.0)
    with pytest.raises(InputError, match="expected at most 1000"):
        mark_out(DRAWN, MADE, GOOD, spacing=0.01)
    with pytest.raises(InputError, match="doubt of the outline as made"):
        mark_out(DRAWN, MADE, GOOD, within=-1.0)
    assert isinstance(mark_out(DRAWN, MADE, GOOD, within=0.2), MarkingOut)


@pytest.mark.parametrize(("spacing", "wanted"), [(10.0, [10, 20, 30]), (13.0, [13, 26, 39]), (40.0, []), (50.0, [])])
@pytest.mark.parametrize("at", [0.0, -17.5, 250.0])
def test_stations_lie_between_the_ends_and_on_none(spacing: float, wanted: list[float], at: float) -> None:
    """A box of 40 by 20: two crossings a station; its own ends, where a line would run along an edge, are none."""
    box = rectangle(at, at, at + 40.0, at + 20.0)
    out = mark_out(box, box, (HeldEdge(1, 1), HeldEdge(4, 4)), spacing=spacing)
    assert [s.position for s in out.face.stations] == pytest.approx([x for x in wanted for _ in "ab"])
    assert {round(s.view[1] - at, 9) for s in out.face.stations} <= {0.0, 20.0}
    upright = mark_out(box, box, (HeldEdge(1, 1), HeldEdge(4, 4)), spacing=spacing, along="y")
    assert [s.position for s in upright.face.stations] == pytest.approx([x for x in wanted for _ in "ab" if x < 20.0])


def test_as_many_stations_as_are_allowed() -> None:
    strip = rectangle(0.0, 0.0, 1001.0, 5.0)
    assert len(mark_out(strip, strip, (HeldEdge(1, 1),), spacing=1.0).face.stations) == 2 * 1000
    longer = rectangle(0.0, 0.0, 1002.0, 5.0)
    with pytest.raises(InputError, match=r"stations every 1.0 mm make 1001: expected at most 1000"):
        mark_out(longer, longer, (HeldEdge(1, 1),), spacing=1.0)


def test_random_corrections_add_up() -> None:
    rng = np.random.default_rng(2)
    for _ in range(15):
        points = [(0.0, 0.0), (80.0, 0.0), (80 + rng.normal(), 25 + rng.normal())]
        points += [(40 + rng.normal(), 33 + rng.normal()), (0.0, 25 + rng.normal())]
        drawn = outline_through([(0, 0), (80, 0), (80, 25), (40, 33), (0, 25)])
        made = Placement(float(rng.uniform(-180, 180)), (3.0, 4.0)).apply_outline(outline_through(points))
        out = mark_out(drawn, made, (HeldEdge(1, 1), HeldEdge(5, 5)))
        assert out.remove_area - out.missing_area == pytest.approx(made.area - drawn.area, abs=1e-5)


@pytest.mark.parametrize("middle", [(0.0, 0.0), (-300.0, 40.0), (300.0, -40.0)])
@pytest.mark.parametrize(("half_length", "half_width"), [(50.0, 1.0), (1.0, 50.0)])
def test_a_ray_reaches_across_the_whole_piece_wherever_it_lies(
    middle: tuple[float, float], half_length: float, half_width: float
) -> None:
    x, y = middle
    box = rectangle(x - half_length, y - half_width, x + half_length, y + half_width)
    for way, reach in (((1.0, 0.0), half_length), ((-1.0, 0.0), half_length), ((0.0, 1.0), half_width)):
        assert ray(middle, way, box) == pytest.approx(reach)
        # From outside the nearer side is met first; turned away nothing is
        start = (x - way[0] * 200.0, y - way[1] * 200.0)
        assert ray(start, way, box) == pytest.approx(200.0 - reach)
        assert ray(start, (-way[0], -way[1]), box) is None


def test_the_most_that_comes_off_is_that_at_a_corner_between_the_looks() -> None:
    # the rear edge as made rises to a corner of 2 mm that lies between two of the places looked at
    made = outline_through([(0, 0), (100, 0), (100, 60), (50.37, 62), (0, 60)])
    out = mark_out(rectangle(0, 0, 100, 60), made, (HeldEdge(1, 1), HeldEdge(4, 5)))
    assert out.most_off == pytest.approx(2.0, abs=1e-3)


def test_the_most_that_comes_off_is_that_where_the_outlines_cross() -> None:
    # the tongue as made leaves the front edge of the drawn outline between two looks, and is thickest right there
    made = outline_through([(0, 0), (100, 0), (100, 60), (60.37, 60), (60.37, 50), (50.37, 50), (50.37, 63), (0, 60)])
    out = mark_out(rectangle(0, 0, 100, 60), made, (HeldEdge(1, 1), HeldEdge(4, 8)))
    assert out.most_off == pytest.approx(3.0, abs=1e-3)


def test_the_most_that_is_missing_is_how_far_the_drawn_edge_lies_from_the_piece() -> None:
    # the right end as made slants: 4 mm are missing in its upper corner, and square to the rear edge 60 mm of nothing
    made = outline_through([(0, 0), (100, 0), (96, 60), (0, 60)])
    out = mark_out(rectangle(0, 0, 100, 60), made, (HeldEdge(1, 1), HeldEdge(4, 4)))
    assert out.most_missing == pytest.approx(4.0 * 60.0 / math.hypot(60.0, 4.0), abs=1e-6)
