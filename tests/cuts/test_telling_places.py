"""What pictures of a cut point at: the widest place, how far a leftover stands out, lines at a margin."""

from __future__ import annotations

import math

import pytest

from holecam.cuts import telling_places
from holecam.cuts.cut_choices import KeepAway
from holecam.cuts.path_values import LevelPath, MoveKind, along, upright
from holecam.cuts.proof_values import Leftover
from holecam.cuts.telling_places import _farthest, margin_lines, sticks_out, widest_place
from holecam.shapes import Arc, Circle, Outline, Segment, circle_outline, rectangle

BOX = rectangle(0, 0, 40, 20)


def level(*moves: tuple[MoveKind, Segment | Arc]) -> LevelPath:
    down = upright(MoveKind.DESCEND, (3.0, 3.0), 5.0, -1.0)
    return LevelPath(-1.0, 0.0, (down, *(along(kind, curve, -1.0) for kind, curve in moves)))


def test_the_widest_place_is_looked_for_along_what_cuts() -> None:
    """On a slanted stroke up to the middle height, its end is farthest from the walls; a link does not count."""
    rising = (MoveKind.CUT, Segment((3.0, 3.0), (10.0, 9.0)))
    link = (MoveKind.LINK, Segment((10.0, 9.0), (20.0, 10.0)))
    assert widest_place(level(rising, link), 3.0, BOX, (), ()) == (pytest.approx((10.0, 9.0)), pytest.approx(9.0))
    finish = (MoveKind.FINISH, Segment((10.0, 9.0), (20.0, 10.0)))
    place = widest_place(level(rising, finish), 3.0, BOX, (), ())
    assert place is not None
    assert place[1] == pytest.approx(10.0)
    entry = (MoveKind.ENTRY, Segment((20.0, 3.0), (20.0, 10.0)))
    assert widest_place(level(entry), 3.0, BOX, (), ()) == (pytest.approx((20.0, 10.0)), pytest.approx(10.0))
    assert widest_place(level(link), 3.0, BOX, (), ()) is None
    assert widest_place(LevelPath(-1.0, 0.0, ()), 3.0, BOX, (), ()) is None


def test_the_widest_place_keeps_off_islands_and_margins() -> None:
    row = (MoveKind.CUT, Segment((4.0, 10.0), (36.0, 10.0)))
    post = circle_outline(Circle((20.0, 10.0), 2.0))
    for islands, kept, room in (
        ((), (), 10.0),
        ((post,), (), 9.0),  # half way between the post's rim at 18 and the end wall
        ((), (KeepAway("rib", (Segment((0.0, 17.0), (40.0, 17.0)),), 1.0),), 6.0),
    ):
        place = widest_place(level(row), 3.0, BOX, islands, kept)
        assert place is not None
        assert place[1] == pytest.approx(room, abs=0.4)
        assert place[1] <= room + 1e-9


def test_places_lie_a_quarter_radius_apart_or_farther_on_a_long_path(monkeypatch: pytest.MonkeyPatch) -> None:
    """Across the middle of a channel the widest place lies between places: 0.75 mm apart, then 3.2 mm."""
    up = (MoveKind.CUT, Segment((20.0, 1.3), (20.0, 17.3)))
    for most, gap in ((20000, 16.0 / 22), (5, 3.2)):
        monkeypatch.setattr(telling_places, "MOST_SAMPLES", most)
        found = widest_place(level(up), 3.0, BOX, (), ())
        places = [1.3 + gap * k for k in range(1, round(16.0 / gap) + 1)]
        best = max(places, key=lambda y: min(y, 20.0 - y))
        assert found == (pytest.approx((20.0, best)), pytest.approx(min(best, 20.0 - best)))


def test_a_square_corner_stands_out_by_the_root_of_two() -> None:
    rim = Arc((3.0, 0.0), (0.0, 3.0), (3.0, 3.0), ccw=False)
    border = Outline((Segment((0.0, 3.0), (0.0, 0.0)), Segment((0.0, 0.0), (3.0, 0.0)), rim))
    corner = Leftover(border, (), 1.9, (3.0, 3.0), "inside corner")
    assert sticks_out(corner, 3.0) == pytest.approx((math.sqrt(2) - 1) * 3.0)
    assert sticks_out(Leftover(border, (), 1.9, (3.0, 3.0), "narrow place"), 3.0) is None


def test_the_farthest_place_of_a_curve() -> None:
    assert _farthest((0.0, 0.0), Segment((3.0, 4.0), (1.0, 1.0))) == 5.0
    assert _farthest((0.0, 0.0), Segment((1.0, 1.0), (3.0, 4.0))) == 5.0
    half = Arc((4.0, -2.0), (4.0, 2.0), (4.0, 0.0), ccw=True)
    assert _farthest((0.0, 0.0), half) == pytest.approx(6.0), "its far side lies on the arc"
    assert _farthest((0.0, 0.0), half.reversed()) == pytest.approx(6.0)
    near = Arc((4.0, 2.0), (4.0, -2.0), (4.0, 0.0), ccw=True)
    assert _farthest((0.0, 0.0), near) == pytest.approx(math.hypot(4.0, 2.0)), "only its near side does"
    assert _farthest((4.0, 0.0), half) == pytest.approx(2.0)
    for off in (0.9e-6, 1.1e-6):
        assert _farthest((4.0 + off, 0.0), half) == pytest.approx(2.0, abs=2e-6)


def test_lines_at_a_margin_lie_outside_what_is_closed_and_all_round_what_is_open() -> None:
    assert margin_lines(KeepAway("pad", rectangle(0, 0, 6, 4).curves, 0.0)) == ()
    for pad in (rectangle(0, 0, 6, 4), rectangle(0, 0, 6, 4).reversed()):
        (outside,) = margin_lines(KeepAway("pad", pad.curves, 1.5))
        assert Outline(outside).area == pytest.approx(24 + 20 * 1.5 + math.pi * 2.25)
    (round_it,) = margin_lines(KeepAway("rib", (Segment((0, 0), (6, 0)), Segment((6, 0), (9, 0))), 1.5))
    assert Outline(round_it).area == pytest.approx(9 * 3.0 + math.pi * 2.25)
    two = margin_lines(KeepAway("ribs", (Segment((0, 0), (6, 0)), Segment((20, 0), (26, 0))), 1.5))
    assert [Outline(line).area for line in two] == pytest.approx([18 + math.pi * 2.25] * 2)
