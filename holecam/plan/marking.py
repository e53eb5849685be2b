"""Marking out a correction: what to scribe, what comes off, what is missing, as values that papers show."""

from __future__ import annotations

from msgspec import Struct

from holecam.shapes import Outline, Point


class Mark(Struct, frozen=True):
    """One point to scribe: heights from the two datum edges, mm.

    ``kind`` is ``corner``, ``tangent point`` or ``arc centre``; ``radius`` belongs to a centre; ``angle_deg`` is the
    direction of the edge that leaves the point, from datum edge A. ``comes_off`` is square to the edge that leaves,
    below zero where metal or wood is missing, ``None`` for a centre.
    """

    edge: int
    kind: str
    from_a: float
    from_b: float
    radius: float | None
    angle_deg: float | None
    comes_off: float | None


class MarkStation(Struct, frozen=True):
    """The drawn outline at one station: heights from the datum edges and what comes off, mm, below zero missing."""

    position: float
    from_a: float
    from_b: float
    off_square: float | None
    off_along: float | None


class MarkSide(Struct, frozen=True):
    """The tables for one side of the piece: ``face`` or, mirrored, ``back``."""

    side: str
    marks: tuple[Mark, ...]
    stations: tuple[MarkStation, ...]


class MarkingReport(Struct, frozen=True):
    """One correction.

    ``drawn`` and ``made`` are the outlines laid on each other, drawn frame; ``remove`` and ``missing`` closed borders
    of what comes off and of what is not there, each with its islands. Areas in mm2, ``most_off`` in mm.
    """

    name: str
    drawn: Outline
    made: Outline
    datum_a: tuple[Point, Point]
    datum_b: tuple[Point, Point]
    sides: tuple[MarkSide, ...]
    remove: tuple[tuple[Outline, ...], ...]
    missing: tuple[tuple[Outline, ...], ...]
    remove_area: float
    missing_area: float
    most_off: float
