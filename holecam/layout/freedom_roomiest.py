"""The allowed shift with the greatest margin inside a window, with a proved bound on what any other could have.

The greatest margin lies where three limits balance, or two across a straight or concave passage, or at the window's
edge. Cells are visited with the best possible margin first. That bound uses, for each limit, the distance to the one
point of the obstacle that is nearest at the cell's middle (the true distance is never larger), and the least of two
limits is at most any weighted mean of them. Candidates are climbed to the top by small exact linear programmes. The
search ends when bound and best candidate differ by no more than the gap asked for; the gap reached is reported.
"""

from __future__ import annotations

import heapq
import math
from itertools import combinations as choose
from itertools import count

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from holecam.errors import InputError
from holecam.layout.freedom_cells import Cell, LocalLimits, LocalMargins, all_limits
from holecam.layout.freedom_field import Binding, Freedom
from holecam.layout.freedom_nearest import nearest_allowed
from holecam.shapes import Curve, Point, Segment
from holecam.shapes.curve_arrays import Floats

GAP = 0.0005
"""mm. Proved difference to the greatest margin: a tenth of the finest metric readout's step."""

MOST_CELLS = 20_000
"""Cells after which the search stops and reports the gap that it has reached."""

BINDS_WITHIN = 1e-5
"""mm. Limits whose surplus is within this of the least one bind together."""

WEIGHTS = np.linspace(0.0, 1.0, 9)
"""Weights of the mean of two limits that are tried for a bound; any weight gives a true one."""

LIMITS_TO_CLIMB = 12
"""Limits, the tightest first, that a step of the climb looks at."""

WORTH_MOVING = 100.0
"""Gaps by which another shift of the same room has to be nearer to the wish to be taken instead."""

LEAST_STEP = 1e-9
"""mm. The climb ends at steps shorter than this."""

Window = tuple[float, float, float, float]
"""(x least, y least, x greatest, y greatest) of shifts, mm."""


class RoomiestShift(Struct, frozen=True):
    """The shift of greatest margin in a window.

    ``margin`` is its margin, mm, negative when nothing in the window is allowed; no shift of the window has more than
    ``bound``. ``bindings`` are the limits that balance there.
    """

    shift: Point
    margin: float
    bound: float
    bindings: tuple[Binding, ...]
    window: Window

    @property
    def gap(self) -> float:
        """Proved distance to the greatest margin, mm."""
        return max(0.0, self.bound - self.margin) if math.isfinite(self.bound) else 0.0

    @property
    def allowed(self) -> bool:
        """Whether every limit holds there."""
        return self.margin >= 0.0


class _Slopes(Struct, frozen=True, eq=False):
    """Limits near a shift as distances to single points: value ``v``, unit gradient ``g`` (n, 2), distance ``d``.

    ``d`` is 0 where no such point may stand for the limit; its value then changes by the length of a move at most.
    ``straight`` marks those that rise no faster than their gradient in the cell.
    """

    v: Floats
    g: Floats
    d: Floats
    straight: NDArray[np.bool_]


class _Field(Struct, frozen=True):
    """The shifts that count: those of a window that lie no farther than ``furthest`` mm from its middle."""

    window: Window
    middle: Point
    furthest: float

    def meets(self, cell: Cell) -> bool:
        """Return whether a cell holds any of them."""
        x0, y0, x1, y1 = self.window
        overlaps = (
            cell.x - cell.half < x1 and cell.x + cell.half > x0 and cell.y - cell.half < y1 and cell.y + cell.half > y0
        )
        return overlaps and cell.distance_to(self.middle) < self.furthest

    def nearest_to(self, p: Point) -> Point:
        """Return a shift that counts near ``p``: ``p`` itself where it counts; else drawn toward the middle."""
        x0, y0, x1, y1 = self.window
        x, y = min(max(p[0], x0), x1), min(max(p[1], y0), y1)
        away = math.dist((x, y), self.middle)
        if away <= self.furthest:
            return (x, y)
        share = self.furthest / away * (1.0 - 1e-15)
        return (self.middle[0] + share * (x - self.middle[0]), self.middle[1] + share * (y - self.middle[1]))


def window_around(shift: Point, reach: float) -> Window:
    """Return the square window that reaches ``reach`` mm to each side of a shift."""
    return (shift[0] - reach, shift[1] - reach, shift[0] + reach, shift[1] + reach)


def roomiest_within(freedom: Freedom, reach: float, *, gap: float = GAP, most_cells: int = MOST_CELLS) -> RoomiestShift:
    """Return the shift of greatest margin among those no longer than ``reach`` mm, as :func:`roomiest` does."""
    return roomiest(freedom, window_around((0.0, 0.0), reach), furthest=reach, gap=gap, most_cells=most_cells)


def roomiest(
    freedom: Freedom,
    window: Window,
    *,
    furthest: float = math.inf,
    gap: float = GAP,
    most_cells: int = MOST_CELLS,
) -> RoomiestShift:
    """Return the shift of greatest margin in a window, certified to ``gap`` mm as far as ``most_cells`` permit.

    Of a passage that is equally roomy all along, the shift nearest to the window's middle. With ``furthest`` only the
    shifts count that lie no farther than that, mm, from the window's middle: a circle cut out of the window.

    Raises
    ------
    InputError
        The window is empty or not finite, or the gap is not positive.
    """
    x0, y0, x1, y1 = window
    if not (all(math.isfinite(v) for v in window) and x0 < x1 and y0 < y1):
        raise InputError(f"window {window}: expected finite lengths, least below greatest")
    if not furthest > 0.0:
        raise InputError(f"furthest {furthest} mm: expected a length above zero")
    if not gap > 0.0:
        raise InputError(f"gap {gap} mm: expected a length above zero")
    limits = all_limits(freedom)
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    if limits.count == 0:
        return RoomiestShift(middle, math.inf, math.inf, (), window)
    ticket = count()
    field = _Field(window, middle, furthest)
    best_shift, best = _climb(limits, middle, max(x1 - x0, y1 - y0) / 4, field)
    root = Cell(*middle, max(x1 - x0, y1 - y0) / 2, limits)
    heap = [(-math.inf, next(ticket), root)]
    cells, given_up = 0, -math.inf
    wanted = gap / 2
    while heap and -heap[0][0] > best + wanted and cells < most_cells:
        key, _, cell = heapq.heappop(heap)
        for quarter in cell.quarters(cell.limits):
            cells += 1
            if not field.meets(quarter):
                continue
            at = field.nearest_to(quarter.center)
            values = quarter.limits.at(at)
            if values.least > best:
                best_shift, best = _climb(limits, at, quarter.half, field)
            reach = quarter.radius + math.dist(at, quarter.center)
            most = values.least + 2.0 * reach  # what exceeds it here is nowhere in the cell the least
            local = quarter.limits.below(values, most)
            upper = min(-key, _upper(local, values.below(most), at, quarter, reach))
            if upper > best + wanted:
                heapq.heappush(heap, (-upper, next(ticket), Cell(quarter.x, quarter.y, quarter.half, local)))
            else:
                given_up = max(given_up, upper)
    bound = max(best, given_up, -heap[0][0] if heap else -math.inf)
    if bound - best <= wanted:
        best_shift, best = _least_move(freedom, best_shift, best, field, gap)
    return RoomiestShift(best_shift, best, bound, freedom.bindings(best_shift, within=BINDS_WITHIN), window)


def _least_move(freedom: Freedom, shift: Point, margin: float, field: _Field, gap: float) -> tuple[Point, float]:
    """Return, where a long passage is equally roomy all along, its shift nearest to the window's middle.

    It gives up half the gap at most, and only for a shift that is nearer by a good deal.
    """
    middle = field.middle
    away = math.dist(shift, middle)
    if away <= WORTH_MOVING * gap:
        return shift, margin
    nearest = nearest_allowed(freedom.grown(margin - gap / 2), middle, reach=away).shift
    if (
        nearest is None
        or math.dist(nearest, middle) > away - WORTH_MOVING * gap
        or field.nearest_to(nearest) != nearest
    ):
        return shift, margin
    return nearest, freedom.margin(nearest)


def _upper(local: LocalLimits, values: LocalMargins, at: Point, cell: Cell, reach: float) -> float:
    """Return a margin that no shift of the cell exceeds; ``values`` are those of the local limits at ``at``."""
    upper = values.least + reach
    slopes = _slopes(local, values, at, values.least + 2.0 * reach, reach)
    if not len(slopes.v):
        return upper
    # |t - foot| <= d + g.(t - at) + reach^2 / (2 (d - reach)) where the foot lies farther off than the cell reaches
    known = slopes.d > np.where(slopes.straight, 1.0, 1.5) * reach
    bend = np.where(known, reach * reach / (2.0 * np.where(known, slopes.d - reach, 1.0)), reach)
    bend[known & slopes.straight] = 0.0
    g = np.where(known[:, None], slopes.g, 0.0)
    half_x = cell.half + abs(at[0] - cell.x)
    half_y = cell.half + abs(at[1] - cell.y)
    value = slopes.v + bend
    tightest = int(value.argmin())
    w = WEIGHTS[:, None]
    mean = w * value[tightest] + (1.0 - w) * value
    gx, gy = w * g[tightest, 0] + (1.0 - w) * g[:, 0], w * g[tightest, 1] + (1.0 - w) * g[:, 1]
    return min(upper, float((mean + np.abs(gx) * half_x + np.abs(gy) * half_y).min()))


def _slopes(local: LocalLimits, values: LocalMargins, at: Point, bound: float, reach: float) -> _Slopes:
    """Return the limits whose value at a shift is at most ``bound``; every curve of an edge counts by itself."""
    freedom, d = local.freedom, local.discs
    x, y = at[0] - (d.x - freedom.xy[d.site, 0]), at[1] - (d.y - freedom.xy[d.site, 1])
    away = np.hypot(x, y)
    near = values.discs <= bound
    safe = np.where(away > 0.0, away, 1.0)
    # Inside a plug the margin falls with the distance; between both zones it has a kink that no slope describes
    outward = np.where(d.inner - away > away - d.outer, -1.0, 1.0)
    parts_v, parts_d = [values.discs[near]], [np.where(d.inner > -np.inf, 0.0, away)[near]]
    parts_g = [(np.stack([x / safe, y / safe], axis=1) * outward[:, None])[near]]
    straight = [False] * int(near.sum())
    for area, margins in zip(local.areas, values.areas, strict=True):
        points = freedom.xy[area.site] + np.array(at)
        table = area.boundary.chain.table(points)
        right_sides = margins + area.need >= 0.0
        rows, columns = np.nonzero(table - area.need[:, None] <= bound)
        for row, k in zip(rows.tolist(), columns.tolist(), strict=True):
            p: Point = (float(points[row, 0]), float(points[row, 1]))
            distance, right_side = float(table[row, k]), bool(right_sides[row])
            if distance == 0.0:
                continue
            if not right_side and distance > table[row].min() + BINDS_WITHIN:
                continue  # on the wrong side the nearest curve alone decides
            curve, sign = area.boundary.curves[k], 1.0 if right_side else -1.0
            foot = curve.nearest(p)
            parts_v.append(np.array([sign * distance - area.need[row]]))
            parts_g.append(np.array([[sign * (p[0] - foot[0]) / distance, sign * (p[1] - foot[1]) / distance]]))
            parts_d.append(np.array([distance if right_side else 0.0]))
            straight.append(rises_straight(curve, p, reach))
    return _Slopes(
        np.concatenate(parts_v), np.concatenate(parts_g), np.concatenate(parts_d), np.array(straight, dtype=np.bool_)
    )


def rises_straight(curve: Curve, p: Point, reach: float) -> bool:
    """Return whether the distance to a curve grows no faster than its slope within ``reach`` of a point.

    So it is beside the middle of a straight line, and on the hollow side of an arc that lies before the point all over.
    """
    (ax, ay), (bx, by) = curve.start, curve.end
    if isinstance(curve, Segment):
        size = math.hypot(bx - ax, by - ay)
        along = ((p[0] - ax) * (bx - ax) + (p[1] - ay) * (by - ay)) / size if size > 0.0 else 0.0
        return reach <= along <= size - reach
    (cx, cy), r = curve.center, curve.radius
    away = math.hypot(p[0] - cx, p[1] - cy)
    if not reach < away < r - reach:
        return False
    turn = (math.atan2(p[1] - cy, p[0] - cx) - curve.start_angle) * math.copysign(1.0, curve.sweep) % math.tau
    swing = math.asin(reach / away)
    return swing <= turn <= abs(curve.sweep) - swing


def _climb(limits: LocalLimits, start: Point, radius: float, field: _Field) -> tuple[Point, float]:
    """Return a shift of the window with a margin at least that of the start, climbed as far as steps go."""
    here, best = start, limits.at(start).least
    while radius > LEAST_STEP:
        slopes = _slopes(limits, limits.at(here), here, best + 2.0 * radius * math.sqrt(2.0), radius)
        step = _best_step(slopes, here, radius, field.window)
        there = field.nearest_to((here[0] + step[0], here[1] + step[1]))
        margin = limits.at(there).least
        if margin > best + LEAST_STEP * 1e-3:
            here, best = there, margin
        else:
            radius /= 4.0
    return here, best


def _best_step(slopes: _Slopes, here: Point, radius: float, window: Window) -> Point:
    """Return the step within a square that lifts the least of the linear limits most: a vertex, by trying all.

    Maximise z with z <= v + g.step for every limit, and the step inside the square and the window.
    """
    order = np.argsort(slopes.v, kind="stable")[:LIMITS_TO_CLIMB]
    if not len(order):
        return (0.0, 0.0)
    v, g = slopes.v[order], slopes.g[order]
    right, up = min(radius, window[2] - here[0]), min(radius, window[3] - here[1])
    left, down = min(radius, here[0] - window[0]), min(radius, here[1] - window[1])
    rows = np.concatenate(
        [
            np.stack([-g[:, 0], -g[:, 1], np.ones(len(v))], axis=1),
            np.array([[1.0, 0, 0], [-1.0, 0, 0], [0, 1.0, 0], [0, -1.0, 0]]),
        ]
    )
    right_hand = np.concatenate([v, [right, left, up, down]])
    picks = np.array(list(choose(range(len(rows)), 3)))
    picks = picks[picks.min(axis=1) < len(v)]
    systems, sides = rows[picks], right_hand[picks]
    solvable = np.abs(np.linalg.det(systems)) > 1e-12
    if not solvable.any():
        return (0.0, 0.0)
    vertices = np.linalg.solve(systems[solvable], sides[solvable][:, :, None])[:, :, 0]
    kept = (vertices @ rows.T <= right_hand + 1e-9 * (1.0 + np.abs(right_hand))).all(axis=1)
    if not kept.any():
        return (0.0, 0.0)
    vertices = vertices[kept]
    top = vertices[int(vertices[:, 2].argmax())]
    return (float(top[0]), float(top[1]))
