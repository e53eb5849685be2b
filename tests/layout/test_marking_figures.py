"""Marking out and the error of a chain from the inside: inner figures by hand, whole tables as recorded."""

from __future__ import annotations

import math

import numpy as np
import pytest
from recorded_figures import same_as_recorded

from holecam.errors import InputError
from holecam.layout.marking_out import (
    MarkingOut,
    _from,
    _from_the_back,
    _outward,
    comes_off,
    datum_edges,
    height,
    mark_out,
    ray,
)
from holecam.layout.marking_out_alignment import (
    HeldEdge,
    _gap,
    _gaps_of,
    _graded_step,
    _start,
    edge_of,
    hold_together,
)
from holecam.layout.marking_out_regions import (
    Strip,
    _closed,
    _left_turn,
    _loops,
    _pieces,
    _side,
    beyond,
    mirrored_strip,
    share_of,
    total_area,
)
from holecam.shapes import Arc, Outline, Placement, Segment, outline_through, rectangle

FILE = "marking"

# A former for a lantern hood, invented: flat foot, upright heel, a round nose, a hollow in its back
DRAWN = Outline(
    (
        Segment((0, 0), (80, 0)),
        Segment((80, 0), (80, 10)),
        Arc((80, 10), (60, 30), (60, 10), True),
        Segment((60, 30), (40, 30)),
        Arc((40, 30), (20, 30), (30, 30), False),
        Segment((20, 30), (0, 40)),
        Segment((0, 40), (0, 0)),
    )
)
MADE = Outline(
    (
        Segment((1, 0.5), (81.5, 0.4)),
        Segment((81.5, 0.4), (81.2, 10)),
        Arc((81.2, 10), (61.2, 30), (61.2, 10), True),
        Segment((61.2, 30), (41, 29.2)),
        Arc((41, 29.2), (21, 29.2), (31, 29.2), False),
        Segment((21, 29.2), (0, 40.5)),
        Segment((0, 40.5), (1, 0.5)),
    )
)
LINE = Segment((0.0, 0.0), (10.0, 0.0))
UP = Arc((10.0, 0.0), (-10.0, 0.0), (0.0, 0.0), ccw=True)
DOWN = Arc((-10.0, 0.0), (10.0, 0.0), (0.0, 0.0), ccw=False)


# Regions ----------------------------------------------------------------------------------------------------------


def test_where_on_a_curve_a_point_lies() -> None:
    """Along a line of 10, and along a half circle either way round; off its ends the nearer end."""
    assert [share_of(LINE, p) for p in ((0.0, 3.0), (2.5, -4.0), (10.0, 0.0), (-1.0, 0.0), (11.0, 5.0))] == [
        0.0, 0.25, 1.0, 0.0, 1.0,
    ]  # fmt: skip
    slanted = Segment((1.0, 1.0), (4.0, 5.0))
    assert share_of(slanted, (2.5, 3.0)) == pytest.approx(0.5)
    for deg, share in ((0, 0.0), (45, 0.25), (90, 0.5), (135, 0.75), (180, 1.0), (200, 1.0), (340, 0.0), (-80, 0.0)):
        p = (7.0 * math.cos(math.radians(deg)), 7.0 * math.sin(math.radians(deg)))
        assert share_of(UP, p) == pytest.approx(share, abs=1e-12)
        assert share_of(DOWN, p) == pytest.approx(1.0 - share, abs=1e-12)
    assert share_of(Segment((1.0, 1.0), (1.0, 1.0)), (5.0, 5.0)) == 0.0


def test_curves_are_cut_where_others_cross_touch_or_join() -> None:
    others = (Segment((4.0, -5.0), (4.0, 5.0)), Segment((7.0, 0.0), (7.0, 3.0)), Segment((20.0, 0.0), (30.0, 0.0)))
    found = _pieces((LINE,), others)
    assert [(round(p.start[0], 9), round(p.end[0], 9)) for p in found] == [(0.0, 4.0), (4.0, 7.0), (7.0, 10.0)]
    # one that ends a hair above the line joins it, one a tenth above does not
    hair = _pieces((LINE,), (Segment((3.0, 5e-7), (3.0, 5.0)), Segment((6.0, 0.1), (6.0, 5.0))))
    assert [round(p.end[0], 6) for p in hair] == [3.0, 10.0]
    arcs = _pieces((UP,), (Segment((0.0, 0.0), (0.0, 20.0)),))
    assert [(round(a.start[0], 6), round(a.end[0], 6)) for a in arcs] == [(10.0, 0.0), (0.0, -10.0)]
    assert all(isinstance(a, Arc) and a.ccw for a in arcs)


def test_on_which_side_of_an_outline_a_piece_lies() -> None:
    square = rectangle(0.0, 0.0, 10.0, 10.0)
    told = [
        _side(Segment(a, b), square).name
        for a, b in (
            ((2.0, 2.0), (8.0, 8.0)), ((12.0, 2.0), (12.0, 8.0)), ((2.0, 0.0), (8.0, 0.0)), ((8.0, 0.0), (2.0, 0.0)),
            ((10.0, 1.0), (10.0, 9.0)), ((2.0, 5e-7), (8.0, 5e-7)), ((2.0, 2e-6), (8.0, 2e-6)),
        )
    ]  # fmt: skip
    assert told == ["INSIDE", "OUTSIDE", "SAME_WAY", "OTHER_WAY", "SAME_WAY", "SAME_WAY", "INSIDE"]


def test_the_sharpest_left_turn_goes_on() -> None:
    assert math.degrees(_left_turn(LINE, Segment((10.0, 0.0), (10.0, 5.0)))) == pytest.approx(90.0)
    assert math.degrees(_left_turn(LINE, Segment((10.0, 0.0), (15.0, -5.0)))) == pytest.approx(-45.0)
    # tangent arcs part by what they do a hundredth of a millimetre on: half the angle gone
    left = Arc((10.0, 0.0), (0.0, 10.0), (0.0, 0.0), ccw=True)
    assert _left_turn(Segment((10.0, -5.0), (10.0, 0.0)), left) == pytest.approx(0.01 / 10.0 / 2.0, rel=1e-3)
    # two triangles that meet at a point close by themselves
    first = [Segment((0, 0), (4, 0)), Segment((4, 0), (2, 3)), Segment((2, 3), (0, 0))]
    second = [Segment((2, 3), (4, 6)), Segment((4, 6), (0, 6)), Segment((0, 6), (2, 3))]
    assert sorted(round(o.area, 9) for o in _loops([*first, *second])) == [6.0, 6.0]
    # what encloses an area is closed, a crack along a shared edge encloses nothing
    assert [round(o.area, 9) for o in _loops(first[:2])] == [6.0]
    assert _loops([Segment((0, 0), (4, 0)), Segment((4, 0), (2, 1e-5))]) == []


def test_small_gaps_are_closed_by_lines() -> None:
    chain = [Segment((0, 0), (4, 0)), Segment((4, 4e-6), (2, 3)), Segment((2, 3), (0, 0))]
    assert [len(_closed(c).curves) for c in (chain, [Segment((0, 0), (4, 0)), *chain[1:]])] == [4, 4]
    near = [Segment((0, 0), (4, 0)), Segment((4, 5e-8), (2, 3)), Segment((2, 3), (0, 0))]
    assert len(_closed(near).curves) == 3


def test_what_one_outline_has_beyond_another() -> None:
    """A square of 10 and one moved by (4, 3): 100 less 6 x 7; a hole in the middle; two parts, the larger first."""
    square, moved = rectangle(0, 0, 10, 10), rectangle(4, 3, 14, 13)
    (strip,) = beyond(square, moved)
    assert strip.area == pytest.approx(58.0)
    assert strip.outer.signed_area > 0.0
    inner = rectangle(2, 2, 4, 5)
    (ring,) = beyond(square, inner)
    assert ring.area == pytest.approx(94.0)
    assert len(ring.islands) == 1
    assert ring.islands[0].signed_area == pytest.approx(-6.0)
    assert beyond(inner, square) == ()
    bar = rectangle(-1, 4, 11, 6)
    parts = beyond(square, bar)
    assert [round(s.area, 9) for s in parts] == [40.0, 40.0]
    uneven = beyond(square, rectangle(-1, 2, 11, 6))
    assert [round(s.area, 9) for s in uneven] == [40.0, 20.0]
    assert total_area(uneven) == pytest.approx(60.0)
    assert beyond(square, square) == ()
    assert beyond(square, rectangle(-1, 2, 11, 6), least_area=30.0) == uneven[:1]
    # which way either is travelled does not matter; shared edges make no cracks
    assert [round(s.area, 9) for s in beyond(square.reversed(), bar.reversed())] == [40.0, 40.0]
    (shared,) = beyond(square, rectangle(0, 0, 6, 10))
    assert shared.area == pytest.approx(40.0)
    # two islands in one, and an island goes to the region that holds it
    two = outline_through([(0, 0), (30, 0), (30, 10), (0, 10)])
    cut = rectangle(12, -1, 14, 11)
    left, right = sorted(beyond(two, cut), key=lambda s: s.outer.bounds[0])
    assert (left.area, right.area) == (pytest.approx(120.0), pytest.approx(160.0))
    assert left.islands == right.islands == ()


def test_regions_of_lines_and_arcs_as_recorded() -> None:
    for name, a, b in (("made beyond drawn", MADE, DRAWN), ("drawn beyond made", DRAWN, MADE)):
        found = beyond(a, b)
        for strip in found:
            assert strip.area > 0.0
        same_as_recorded(name, [[s.outer, s.islands, s.area] for s in found], file=FILE)


def test_a_region_seen_from_the_back() -> None:
    strip = Strip(rectangle(1, 2, 5, 9), (rectangle(2, 3, 3, 4).reversed(),))
    back = mirrored_strip(strip)
    assert back.outer.bounds == (-5, 2, -1, 9)
    assert back.outer.signed_area == pytest.approx(28.0)
    assert back.islands[0].signed_area == pytest.approx(-1.0)
    assert back.area == strip.area == pytest.approx(27.0)
    round_ = mirrored_strip(Strip(rectangle(1, 2, 5, 9, corner_radius=1.0)))
    assert round_.outer.signed_area == pytest.approx(28.0 - (4.0 - math.pi))


# Laying on --------------------------------------------------------------------------------------------------------


def test_gaps_from_endless_lines_and_full_circles() -> None:
    assert _gap(LINE, (3.0, 4.0)) == (4.0, (0.0, 1.0))
    assert _gap(LINE, (30.0, -2.0)) == (-2.0, (0.0, 1.0))
    slanted, way = _gap(Segment((1.0, 1.0), (4.0, 5.0)), (1.0, 6.0))
    assert slanted == pytest.approx(3.0)
    assert way == pytest.approx((-0.8, 0.6))
    assert _gap(UP, (3.0, -4.0)) == (-5.0, (0.6, -0.8))
    assert _gap(UP, (0.0, 12.0)) == (2.0, (0.0, 1.0))
    assert _gap(UP, (0.0, 0.0)) == (-10.0, (1.0, 0.0))
    elsewhere = Arc((9.0, 5.0), (7.0, 7.0), (7.0, 5.0), ccw=True)
    assert _gap(elsewhere, (10.0, 9.0)) == (3.0, (0.6, 0.8))
    assert _gap(elsewhere, (7.0, 5.5)) == (-1.5, (0.0, 1.0))


def test_conditions_that_hold_an_edge() -> None:
    lay = Placement(90.0, (1.0, 2.0))
    arcs = _gaps_of(UP, Arc((13.0, 4.0), (-7.0, 4.0), (3.0, 4.0), ccw=True), lay)  # centre (3, 4) goes to (-3, 5)
    assert [(pytest.approx(q), pytest.approx(g), n) for q, g, n in arcs] == [
        ((-3.0, 5.0), -3.0, (1.0, 0.0)), ((-3.0, 5.0), 5.0, (0.0, 1.0)),
    ]  # fmt: skip
    lines = _gaps_of(LINE, Segment((0.0, 0.0), (4.0, 0.0)), lay)  # goes to X 1, Y 2, 4 and 6
    assert [round(g, 9) for _, g, _ in lines] == [2.0, 4.0, 6.0]


def test_each_edge_settles_what_those_before_it_leave_open() -> None:
    """Unknown turn, x and y: the first level wants y = 2 and no turn, the second x = 3 and (in vain) y = 9."""
    matrix = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 1.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    right = np.array([2.0, 2.0, 3.0, 9.0])
    step, settled = _graded_step(matrix, right, np.array([0, 0, 1, 1]))
    assert step == pytest.approx([0.0, 3.0, 2.0])
    assert settled
    alike, _ = _graded_step(matrix, right, np.array([0, 0, 0, 0]))
    assert alike == pytest.approx(np.linalg.lstsq(matrix, right, rcond=None)[0])
    part, open_ = _graded_step(matrix[:2], right[:2], np.array([0, 0]))
    assert part == pytest.approx([0.0, 0.0, 2.0])
    assert not open_
    # a motion that hardly moves the edge is left open
    weak, settled = _graded_step(np.array([[1.0, 0, 0], [0, 1.0, 0], [0, 0, 5e-5]]), np.ones(3), np.array([0, 0, 0]))
    assert weak == pytest.approx([1.0, 1.0, 0.0])
    assert not settled
    firm, settled = _graded_step(np.array([[1.0, 0, 0], [0, 1.0, 0], [0, 0, 2e-4]]), np.ones(3), np.array([0, 0, 0]))
    assert firm == pytest.approx([1.0, 1.0, 5000.0])
    assert settled


def test_the_fit_to_begin_with() -> None:
    """An edge of 10 along X found along Y from (5, 5): back by 90 degrees, its middle (5, 10) to (5, 0)."""
    turn, shift = _start([(LINE, Segment((5.0, 5.0), (5.0, 15.0)))])
    assert math.degrees(turn) == pytest.approx(-90.0)
    assert shift == pytest.approx((5.0 - 10.0, 0.0 + 5.0))
    lay = Placement(37.0, (3.0, -8.0))
    pairs = [(c, lay.apply_curve(c)) for c in DRAWN.curves[:3]]
    back_turn, back_shift = _start(pairs)
    assert math.degrees(back_turn) == pytest.approx(-37.0)
    inverse = lay.inverse()
    assert Placement(math.degrees(back_turn), back_shift).apply((3.0, 4.0)) == pytest.approx(inverse.apply((3.0, 4.0)))


def test_edges_by_their_numbers_anticlockwise() -> None:
    square = rectangle(0, 0, 10, 5)
    assert edge_of(square, 1, "drawn") == square.curves[0]
    assert edge_of(square, 4, "drawn") == square.curves[3]
    back = square.reversed()
    assert edge_of(back, 1, "drawn") == back.curves[0].reversed()
    for number in (0, 5, -1):
        with pytest.raises(InputError, match=f"edge {number} of the drawn outline: it has edges 1 to 4"):
            edge_of(square, number, "drawn")


def test_outlines_held_together_as_recorded() -> None:
    for name, edges in (
        ("foot and heel", (HeldEdge(1, 1), HeldEdge(7, 7))), ("heel and foot", (HeldEdge(7, 7), HeldEdge(1, 1))),
        ("nose and foot", (HeldEdge(3, 3), HeldEdge(1, 1))), ("foot", (HeldEdge(1, 1),)), ("nose", (HeldEdge(3, 3),)),
        ("three", (HeldEdge(1, 1), HeldEdge(6, 6), HeldEdge(2, 2))),
    ):  # fmt: skip
        for method in ("datum", "fit"):
            found = hold_together(DRAWN, MADE, edges, method=method)  # type: ignore[arg-type]
            assert len(found.gaps) == len(edges)
            same_as_recorded(f"held at {name}, {method}", found, file=FILE)
    with pytest.raises(InputError, match="expected at least one edge at which the outlines are held together"):
        hold_together(DRAWN, MADE, ())
    with pytest.raises(InputError, match="edge 1 drawn and edge 3 made: one is a line and the other an arc"):
        hold_together(DRAWN, MADE, (HeldEdge(1, 3),))


# The table --------------------------------------------------------------------------------------------------------


def test_heights_angles_and_outward_ways() -> None:
    assert height(LINE, (3.0, 4.0)) == 4.0
    assert height(LINE, (30.0, -4.0)) == -4.0
    assert height(Segment((5.0, 9.0), (5.0, 0.0)), (8.0, 2.0)) == 3.0
    assert height(Segment((1.0, 1.0), (4.0, 5.0)), (1.0, 6.0)) == pytest.approx(3.0)
    assert _from(Segment((0.0, 0.0), (0.0, 5.0)), (-1.0, 0.0)) == pytest.approx(90.0)
    assert _from(Segment((0.0, 0.0), (-5.0, 0.0)), (0.0, 1.0)) == pytest.approx(-90.0)
    assert _outward(LINE, 0.5) == (0.0, -1.0)
    assert _outward(UP, 0.5) == pytest.approx((0.0, 1.0))
    assert _outward(UP, 0.0) == pytest.approx((1.0, 0.0))
    assert _outward(DOWN, 0.5) == pytest.approx((0.0, -1.0))


def test_datum_edges_by_hand() -> None:
    skew = outline_through([(0, 0), (80, 0), (80, 40), (70, 0.6 * 40), (0, 40)])
    a, b = datum_edges(skew, (1, 2))
    assert (a, b) == (skew.curves[0], skew.curves[1])
    # an arc is no datum, and an edge within 1 degree of parallel is none either
    near = outline_through([(0, 0), (80, 0), (80, 40), (0, 41.3)])  # 0.93 degrees
    first, square = datum_edges(near, (1, 3))
    assert first == near.curves[0]
    assert square == Segment((0.0, 80.0), (0.0, 0.0))
    far = outline_through([(0, 0), (80, 0), (80, 40), (0, 41.5)])  # 1.07 degrees
    assert datum_edges(far, (1, 3))[1] == far.curves[2]
    assert datum_edges(DRAWN, (3, 7, 1)) == (DRAWN.curves[6], DRAWN.curves[0])
    with pytest.raises(InputError, match="none of the held edges is a line"):
        datum_edges(DRAWN, (3,))
    upright = datum_edges(rectangle(0, 0, 80, 40), (2,))[1]
    assert upright == Segment((40.0, 0.0), (80.0, 0.0))
    assert height(upright, (80.0, 7.0)) == pytest.approx(7.0)


def test_rays_and_what_comes_off() -> None:
    square = rectangle(0, 0, 10, 10)
    assert ray((3.0, 4.0), (1.0, 0.0), square) == pytest.approx(7.0)
    assert ray((3.0, 4.0), (0.0, -1.0), square) == pytest.approx(4.0)
    assert ray((-20.0, 4.0), (1.0, 0.0), square) == pytest.approx(20.0)
    assert ray((-20.0, 4.0), (-1.0, 0.0), square) is None
    assert ray((-300.0, -400.0), (0.6, 0.8), square) == pytest.approx(500.0)
    assert comes_off((4.0, 7.0), (0.0, 1.0), square) == pytest.approx(3.0)
    assert comes_off((4.0, 12.0), (0.0, 1.0), square) == pytest.approx(-2.0)
    assert comes_off((4.0, 10.0 - 5e-7), (0.0, 1.0), square) == 0.0
    assert comes_off((4.0, 10.0 - 2e-6), (0.0, 1.0), square) == pytest.approx(2e-6, rel=1e-3)
    assert comes_off((40.0, 12.0), (0.0, 1.0), square) is None


def marked(**how: object) -> MarkingOut:
    edges = how.pop("edges", (HeldEdge(1, 1), HeldEdge(7, 7)))
    return mark_out(DRAWN, MADE, edges, **how)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("name", "how"),
    [
        ("stations along X", {"spacing": 16.0}),
        ("stations along Y", {"spacing": 9.0, "along": "y", "within": 0.1}),
        ("fitted", {"method": "fit", "spacing": 30.0, "edges": (HeldEdge(7, 7), HeldEdge(3, 3))}),
        ("one datum", {"spacing": 40.0, "edges": (HeldEdge(1, 1),)}),
    ],
)
def test_whole_tables_as_recorded(name: str, how: dict[str, object]) -> None:
    found = marked(**how)
    told = [found.held, found.datum_a, found.datum_b, found.face, found.back, found.within]
    told += [found.remove_area, found.missing_area, found.most_off, found.most_missing]
    assert found.remove_area - found.missing_area == pytest.approx(MADE.area - DRAWN.area, abs=1e-4)
    same_as_recorded(f"marked: {name}", told, file=FILE)


def test_a_table_by_hand() -> None:
    """A plate 40 x 20 made 42 x 19: 2 mm come off on the right, 1 mm is missing on top."""
    drawn, made = rectangle(0, 0, 40, 20), rectangle(0, 0, 42, 19)
    found = mark_out(drawn, made, (HeldEdge(1, 1), HeldEdge(4, 4)), spacing=10.0)
    assert [(p.edge, p.kind.name, p.view, p.from_a, p.from_b) for p in found.face.points] == [
        (1, "CORNER", (0, 0), 0, 0), (2, "CORNER", (40, 0), 0, 40), (3, "CORNER", (40, 20), 20, 40),
        (4, "CORNER", (0, 20), 20, 0),
    ]  # fmt: skip
    assert [(p.angle_deg, p.turn_deg) for p in found.face.points] == [(0, 90), (90, 90), (180, 90), (-90, 90)]
    offs = [(p.off_before, p.off_after) for p in found.face.points]
    assert offs == [(0.0, 0.0), (0.0, pytest.approx(2.0)), (None, pytest.approx(-1.0)), (pytest.approx(-1.0), None)]
    assert [(e.edge, e.length, e.angle_deg) for e in found.face.edges] == [
        (1, 40, 0),
        (2, 20, 90),
        (3, 40, 0),
        (4, 20, 90),
    ]
    assert [(s.position, s.view) for s in found.face.stations] == [
        (10.0, (10, 0)), (10.0, (10, 20)), (20.0, (20, 0)), (20.0, (20, 20)), (30.0, (30, 0)), (30.0, (30, 20)),
    ]  # fmt: skip
    assert [s.off_square for s in found.face.stations] == [0.0, pytest.approx(-1.0)] * 3
    assert [s.off_along for s in found.face.stations] == [0.0, pytest.approx(-1.0)] * 3
    assert [(s.from_a, s.from_b) for s in found.face.stations][:2] == [(0, 10), (20, 10)]
    assert (found.remove_area, found.missing_area) == (pytest.approx(38.0), pytest.approx(40.0))
    assert (found.most_off, found.most_missing) == (pytest.approx(2.0), pytest.approx(1.0))
    # from the back X runs the other way: 40 less X; angles are mirrored, heights and what comes off stay
    assert [p.view for p in found.back.points] == [(40, 0), (0, 0), (0, 20), (40, 20)]
    assert [p.angle_deg for p in found.back.points] == [180, 90, 0, pytest.approx(-90)]
    assert [p.turn_deg for p in found.back.points] == [-90] * 4
    assert [s.view for s in found.back.stations] == [(10, 0), (10, 20), (20, 0), (20, 20), (30, 0), (30, 20)]
    assert [s.position for s in found.back.stations] == [30, 30, 20, 20, 10, 10]
    assert [e.angle_deg for e in found.back.edges] == [0, 90, 0, 90]
    assert _from_the_back(_from_the_back(found.face, 40.0), 40.0).points == found.face.points
    # stations every tenth unless told, and none at the very ends
    assert len(mark_out(drawn, made, (HeldEdge(1, 1),)).face.stations) == 18
    assert len(mark_out(drawn, made, (HeldEdge(1, 1),), along="y").face.stations) == 18
    level = mark_out(drawn, made, (HeldEdge(1, 1), HeldEdge(4, 4)), spacing=5.0, along="y").face.stations
    assert [s.view for s in level] == [(0, 5), (40, 5), (0, 10), (40, 10), (0, 15), (40, 15)]
    assert [s.off_along for s in level] == [0.0, pytest.approx(2.0)] * 3


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"spacing": 0.0}, r"distance of the stations 0\.0 mm: expected above zero"),
        ({"spacing": math.inf}, "distance of the stations inf mm"),
        ({"within": -0.1}, r"doubt of the outline as made -0\.1 mm: expected zero or more"),
        ({"within": math.nan}, "doubt of the outline as made nan mm"),
        ({"spacing": 0.0799}, r"stations every 0\.0799 mm make 1001: expected at most 1000"),
    ],
)
def test_tables_that_cannot_be(how: dict[str, object], message: str) -> None:
    with pytest.raises(InputError, match=message):
        marked(**how)


def test_edges_that_run_along_the_station_line_have_no_figure_along_it() -> None:
    """Below a cosine of 0.2 (78.5 degrees from square) the station line runs along the edge."""
    drawn = outline_through([(0, 0), (40, 0), (44, 20), (38, 40), (0, 40)])  # right: cosines 0.196 and 0.287
    made = outline_through([(0, 0), (42, 0), (46, 20), (40, 40), (0, 40)])
    rows = mark_out(drawn, made, (HeldEdge(1, 1), HeldEdge(5, 5)), spacing=42.0).face.stations
    assert [(s.position, s.off_along is None) for s in rows] == [(42.0, True), (42.0, False)]
    assert all(s.off_square is not None for s in rows)
