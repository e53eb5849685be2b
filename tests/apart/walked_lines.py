"""Lines of straight pieces and arcs: the line beside them at an offset, and points so far along it.

The line beside keeps the offset from every piece: about an outer corner it swings on an arc, at an inner corner it is
cut where the two neighbours cross. Only corners between pieces that are long against the offset are meant: nothing
here looks for pieces that vanish.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, replace

from shop_figures import XY

SMOOTH = 1e-7
"""Pieces whose directions differ by less, radians, run into each other."""


@dataclass(frozen=True)
class Piece:
    """A straight piece where ``radius`` is nought, else an arc; ``sweep`` in radians, anticlockwise above nought."""

    start: complex
    end: complex
    centre: complex = 0j
    radius: float = 0.0
    sweep: float = 0.0

    @property
    def length(self) -> float:
        """Return how long it is."""
        return abs(self.sweep) * self.radius if self.radius else abs(self.end - self.start)

    def point(self, far: float) -> complex:
        """Return the point so far along it."""
        share = far / self.length
        if not self.radius:
            return self.start + share * (self.end - self.start)
        return self.centre + (self.start - self.centre) * cmath.exp(1j * self.sweep * share)

    def way(self, *, at_end: bool) -> complex:
        """Return the direction of travel at one of its ends, as a number of size one."""
        if not self.radius:
            return (self.end - self.start) / abs(self.end - self.start)
        away = ((self.end if at_end else self.start) - self.centre) / self.radius
        return away * (1j if self.sweep > 0 else -1j)

    def turned_round(self) -> Piece:
        """Return the same piece travelled the other way."""
        return replace(self, start=self.end, end=self.start, sweep=-self.sweep)

    def beside(self, offset: float) -> Piece:
        """Return the piece at an offset to the left of travel."""
        start, end = (p + offset * 1j * self.way(at_end=last) for p, last in ((self.start, False), (self.end, True)))
        radius = self.radius and self.radius - math.copysign(offset, offset * self.sweep)
        return Piece(start, end, self.centre, radius, self.sweep)


def straight(start: XY, end: XY) -> Piece:
    """Return a straight piece."""
    return Piece(complex(*start), complex(*end))


def arc_about(start: XY, end: XY, centre: XY, *, left: bool) -> Piece:
    """Return the arc about a centre that bends to the left or to the right."""
    a, b, c = complex(*start), complex(*end), complex(*centre)
    sweep = cmath.phase((b - c) / (a - c)) % math.tau
    return Piece(a, b, c, abs(a - c), sweep if left else sweep - math.tau)


def arc_of_radius(start: XY, end: XY, radius: float, *, left: bool, long_way: bool) -> Piece:
    """Return the shorter or longer of the arcs of a radius that bend to one side."""
    a, b = complex(*start), complex(*end)
    half = abs(b - a) / 2
    inward = 1j * (b - a) / abs(b - a) * (1 if left else -1)
    centre = (a + b) / 2 + inward * math.sqrt(radius**2 - half**2) * (-1 if long_way else 1)
    return arc_about(start, end, (centre.real, centre.imag), left=left)


def arc_through(start: XY, through: XY, end: XY) -> Piece:
    """Return the arc through three points."""
    a, b, c = complex(*start), complex(*through), complex(*end)
    w = (c - a) / (b - a)
    centre = a + (b - a) * (w - abs(w) ** 2) / (2j * w.imag)
    left = ((b - a).conjugate() * (c - b)).imag > 0
    return arc_about(start, end, (centre.real, centre.imag), left=left)


def rounded(pieces: list[Piece], radius: float) -> list[Piece]:
    """Return two straight pieces that meet with their corner rounded: both cut back, an arc between."""
    one, two = pieces
    turn = cmath.phase(two.way(at_end=False) / one.way(at_end=True))
    cut = radius * math.tan(abs(turn) / 2)
    begin, end = one.end - cut * one.way(at_end=True), one.end + cut * two.way(at_end=False)
    centre = begin + radius * (1j if turn > 0 else -1j) * one.way(at_end=True)
    return [replace(one, end=begin), Piece(begin, end, centre, radius, turn), replace(two, start=end)]


def walk_beside(pieces: list[Piece], offset: float, *, closed: bool) -> list[Piece]:
    """Return the line at an offset to the left of travel."""
    moved = [piece.beside(offset) for piece in pieces]
    after: dict[int, Piece] = {}
    for i in range(len(pieces) if closed else len(pieces) - 1):
        j = (i + 1) % len(pieces)
        turn = cmath.phase(pieces[j].way(at_end=False) / pieces[i].way(at_end=True))
        if abs(turn) < SMOOTH or not offset:
            continue
        if turn * offset > 0:  # an inner corner
            met = _crossing(moved[i], moved[j], pieces[i].end)
            moved[i], moved[j] = _ended(moved[i], met), _begun(moved[j], met)
        else:
            after[i] = Piece(moved[i].end, moved[j].start, pieces[i].end, abs(offset), turn)
    line = []
    for i, piece in enumerate(moved):
        line += [piece, *([after[i]] if i in after else [])]
    return line


def _ended(piece: Piece, at: complex) -> Piece:
    if not piece.radius:
        return replace(piece, end=at)
    back = cmath.phase((piece.end - piece.centre) / (at - piece.centre))
    return replace(piece, end=at, sweep=piece.sweep - back)


def _begun(piece: Piece, at: complex) -> Piece:
    return _ended(piece.turned_round(), at).turned_round()


def _crossing(one: Piece, two: Piece, near: complex) -> complex:
    """Return where two pieces or their continuations cross, the nearest to a point."""
    if one.radius and two.radius:
        apart = two.centre - one.centre
        d = abs(apart)
        along = (d**2 + one.radius**2 - two.radius**2) / (2 * d)
        up = math.sqrt(one.radius**2 - along**2)
        found = [one.centre + (along + s * up * 1j) * apart / d for s in (1, -1)]
    elif one.radius or two.radius:
        line, arc = (two, one) if one.radius else (one, two)
        way = line.way(at_end=False)
        foot = line.start + way * ((arc.centre - line.start) * way.conjugate()).real
        reach = math.sqrt(arc.radius**2 - abs(foot - arc.centre) ** 2)
        found = [foot + way * reach, foot - way * reach]
    else:
        a, b = one.way(at_end=False), two.way(at_end=False)
        t = ((two.start - one.start).conjugate() * b).imag / (a.conjugate() * b).imag
        found = [one.start + t * a]
    return min(found, key=lambda p: abs(p - near))


def length_of(line: list[Piece]) -> float:
    """Return the length of a line."""
    return sum(piece.length for piece in line)


def point_along(line: list[Piece], far: float) -> XY:
    """Return the point so far along a line; at its very end or a hair beyond, the end."""
    for piece in line:
        if far <= piece.length:
            break
        far -= piece.length
    else:
        far = piece.length
    point = piece.point(far)
    return (point.real, point.imag)
