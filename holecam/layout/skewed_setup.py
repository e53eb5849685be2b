"""A part that sits skewed on the table: the motion from the part frame to what the readout shows.

The part need not be trammed. Two holes, or two points picked along an edge and one more touch, give turn and shift;
every coordinate on the sheet is then what the readout has to show.
"""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.patterns import COINCIDENT_HOLES
from holecam.layout.placing import direction_of_edge
from holecam.layout.two_holes import Hold, along_doubt, line_up, steady_between
from holecam.shapes import Placement, Point, direction_deg, distance, half_turn_range

LEAST_CROSSING_DEG = 10.0
"""Degrees. Two edges that cross at less than this fix their crossing badly: an error of the touch counts almost six
times. A choice; the usual pair crosses at 90 degrees."""


class Edge(Struct, frozen=True):
    """A straight edge of the part, from ``start`` to ``end`` in the part frame.

    ``outside`` tells on which side of that way the metal ends: on the right when one goes anticlockwise round the part.
    """

    start: Point
    end: Point
    outside: Literal["left", "right"] = "right"

    @property
    def along_deg(self) -> float:
        """Direction from start to end, degrees."""
        return direction_of_edge(self.start, self.end)


class FoundHole(Struct, frozen=True):
    """A hole of the part and what the readout showed over its centre; ``doubt`` is standard, mm, per axis."""

    part: Point
    machine: Point
    doubt: float = 0.0


class EdgeTouch(Struct, frozen=True):
    """What the readout showed when the finder touched an edge; ``doubt`` is standard, mm, square to the edge.

    The spindle then stands outside the part, one finder radius from the edge. A radius of 0 means that the reading was
    corrected already, or that the edge was sighted.
    """

    machine: Point
    finder_radius: float = 0.0
    doubt: float = 0.0


class SkewedSetup(Struct, frozen=True):
    """How the part sits on the table, and how sure that is.

    Parameters
    ----------
    machine_from_part : Placement
        Carries part coordinates into what the readout shows.
    turn_deg : float
        Turn of the part on the table, degrees anticlockwise, above -180 and up to 180.
    turn_doubt_deg : float
        Standard doubt of the turn: that of both picks over their distance.
    steady_point : Point
        The place in the part frame that is surest on the table; from it the doubt of the turn grows.
    shift_doubt : float
        Standard doubt of that place on the table, mm, along the axis in which it is larger.
    baseline : float
        Distance of the two picks that gave the turn, mm.
    misfit : float or None
        What the picks have over: found less drawn distance of two holes, or how far the edge was found outside its
        place as seen from the hole (below 0: inside), mm. ``None`` when nothing is over.
    words : str
        How it was found, in a sentence.
    """

    machine_from_part: Placement
    turn_deg: float
    turn_doubt_deg: float
    steady_point: Point
    shift_doubt: float
    baseline: float
    misfit: float | None
    words: str

    def reading_of(self, xy_part: Point) -> Point:
        """Return what the readout shows over a point of the part, mm: for proving the set-up on a third feature."""
        return self.machine_from_part.apply(xy_part)

    def doubt_at(self, xy_part: Point) -> float:
        """Return the standard doubt of a point's place on the table, mm, in the direction in which it is largest."""
        return math.hypot(self.shift_doubt, math.radians(self.turn_doubt_deg) * distance(self.steady_point, xy_part))


def setup_from_two_holes(first: FoundHole, second: FoundHole, *, hold: Hold = "first") -> SkewedSetup:
    """Return the set-up from two holes (or pins, or punch marks) of the part.

    Raises
    ------
    InputError
        Both holes in one place, in the part or on the table.
    """
    for a, b, where in ((first.part, second.part, "in the part"), (first.machine, second.machine, "on the table")):
        if not distance(a, b) > COINCIDENT_HOLES:
            raise InputError(f"set-up: both holes lie at {a} {where}; expected two places far apart")
    motion = line_up(first.part, second.part, first.machine, second.machine, hold=hold)
    baseline = distance(first.machine, second.machine)
    steady, across = steady_between(first.part, second.part, first.doubt, second.doubt)
    return _setup(
        motion,
        turn_doubt=math.hypot(first.doubt, second.doubt) / baseline,
        steady_point=steady,
        shift_doubt=max(across, along_doubt(first.doubt, second.doubt, hold)),
        baseline=baseline,
        misfit=baseline - distance(first.part, second.part),
        words="from two holes of the part",
    )


def setup_from_edge_and_hole(
    edge: Edge, picks: tuple[EdgeTouch, EdgeTouch], hole: FoundHole, *, nearly_deg: float = 0.0
) -> SkewedSetup:
    """Return the set-up whose turn comes from two picks along an edge and whose shift comes from one hole.

    The picks may be taken in either order: of the two turns half a turn apart, the one nearer to ``nearly_deg``
    counts, by default the part lying about as drawn. That the edge itself lies where it should is checked, not used.
    """
    turn, baseline, turn_doubt = _turn_from_picks(edge, picks, nearly_deg)
    motion = Placement(turn, hole.machine, False, hole.part)
    normal, place = _edge_line(edge, picks, turn)
    misfit = place - _dot(normal, motion.apply(edge.start))
    return _setup(
        motion,
        turn_doubt=turn_doubt,
        steady_point=hole.part,
        shift_doubt=hole.doubt,
        baseline=baseline,
        misfit=misfit,
        words="turn from two points along an edge, place from one hole",
    )


def setup_from_two_edges(
    edge: Edge, picks: tuple[EdgeTouch, EdgeTouch], other_edge: Edge, touch: EdgeTouch, *, nearly_deg: float = 0.0
) -> SkewedSetup:
    """Return the set-up from two picks along one edge and one touch on another: no hole is needed.

    The crossing of both edges is the reference and comes out exactly where the touches say.

    Raises
    ------
    InputError
        The two edges run nearly the same way, so that they do not cross surely.
    """
    turn, baseline, turn_doubt = _turn_from_picks(edge, picks, nearly_deg)
    between = abs(math.sin(math.radians(edge.along_deg - other_edge.along_deg)))
    if between < math.sin(math.radians(LEAST_CROSSING_DEG)):
        raise InputError(
            f"set-up: the two edges cross at less than {LEAST_CROSSING_DEG:g} degrees; expected edges that run across "
            "each other. Touch another edge, or use a hole."
        )
    normal, place = _edge_line(edge, picks, turn)
    other_normal, other_place = _edge_line(other_edge, (touch,), turn)
    part_normal, other_part_normal = _normal(edge, 0.0), _normal(other_edge, 0.0)
    part_corner = _crossing(
        part_normal, _dot(part_normal, edge.start), other_part_normal, _dot(other_part_normal, other_edge.start)
    )
    motion = Placement(turn, _crossing(normal, place, other_normal, other_place), False, part_corner)
    # A small error of the turn moves neither the edge at its surest pick nor the other edge at its touch: the part
    # turns about the point that lies square to each edge from there
    on_edge, edge_doubt = steady_between(picks[0].machine, picks[1].machine, picks[0].doubt, picks[1].doubt)
    along, other_along = (-normal[1], normal[0]), (-other_normal[1], other_normal[0])
    steady = _crossing(along, _dot(along, on_edge), other_along, _dot(other_along, touch.machine))
    return _setup(
        motion,
        turn_doubt=turn_doubt,
        steady_point=motion.inverse().apply(steady),
        shift_doubt=_crossing_doubt(edge_doubt, touch.doubt, between),
        baseline=baseline,
        misfit=None,
        words="turn from two points along an edge, place from that edge and one touch on another",
    )


def _crossing_doubt(u: float, v: float, sine: float) -> float:
    """Return the standard doubt of the crossing of two lines with doubts u and v, where it is largest.

    Root of the larger eigenvalue of the covariance N^-1 diag(u^2, v^2) N^-T, N holding the unit normals.
    """
    trace, determinant = (u * u + v * v) / sine**2, (u * v / sine) ** 2
    return math.sqrt((trace + math.sqrt(max(trace * trace - 4.0 * determinant, 0.0))) / 2.0)


def _setup(
    motion: Placement,
    *,
    turn_doubt: float,
    steady_point: Point,
    shift_doubt: float,
    baseline: float,
    misfit: float | None,
    words: str,
) -> SkewedSetup:
    return SkewedSetup(
        machine_from_part=motion,
        turn_deg=half_turn_range(motion.turn_deg),
        turn_doubt_deg=math.degrees(turn_doubt),
        steady_point=steady_point,
        shift_doubt=shift_doubt,
        baseline=baseline,
        misfit=misfit,
        words=words,
    )


def _turn_from_picks(edge: Edge, picks: tuple[EdgeTouch, EdgeTouch], nearly_deg: float) -> tuple[float, float, float]:
    """Return the turn in degrees, the distance of the picks, and the standard doubt of the turn in radians."""
    a, b = picks
    baseline = distance(a.machine, b.machine)
    if not baseline > COINCIDENT_HOLES:
        raise InputError(f"set-up: both picks lie at {a.machine}; expected two points far apart along the edge")
    if a.finder_radius != b.finder_radius or a.finder_radius < 0.0:
        raise InputError("set-up: expected one finder, its radius 0 or more, for both picks along the edge")
    turn = direction_deg(a.machine, b.machine) - edge.along_deg
    if abs(half_turn_range(turn - nearly_deg)) > 90.0:
        turn += 180.0
    return half_turn_range(turn), baseline, math.hypot(a.doubt, b.doubt) / baseline


def _normal(edge: Edge, turn_deg: float) -> Point:
    """Return the unit vector out of the metal, the part turned."""
    x, y = Placement(turn_deg + edge.along_deg).apply_vector((1.0, 0.0))
    return (y, -x) if edge.outside == "right" else (-y, x)


def _edge_line(edge: Edge, touches: tuple[EdgeTouch, ...], turn_deg: float) -> tuple[Point, float]:
    """Return the edge on the table as unit normal n (out of the metal) and distance d: points m with n . m = d."""
    normal = _normal(edge, turn_deg)
    distances = [_dot(normal, t.machine) - t.finder_radius for t in touches]
    return normal, sum(distances) / len(distances)


def _crossing(n1: Point, d1: float, n2: Point, d2: float) -> Point:
    across = n1[0] * n2[1] - n1[1] * n2[0]
    return ((d1 * n2[1] - d2 * n1[1]) / across, (n1[0] * d2 - n2[0] * d1) / across)


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]
