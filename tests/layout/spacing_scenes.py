"""Random parts with old holes, edges and keep-outs, for the tests of spacing and freedom. All data invented."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st
from msgspec.structs import replace

from holecam.layout.spacing_sites import Bore, DrillSite, Head, HoleProfile, ZRange
from holecam.layout.spacing_surroundings import (
    KeepOut,
    OldHole,
    PartShape,
    Plug,
    PlugFixing,
    PlugHardness,
    Surroundings,
)
from holecam.shapes import Arc, Circle, Curve, Outline, Placement, Segment, circle_outline, outline_through, rectangle

Scene = tuple[tuple[DrillSite, ...], Surroundings]

OPEN = None
LOOSE = Plug("brass screw", PlugFixing.SCREWED, PlugHardness.SAME)
HELD = Plug("steel pin, brazed", PlugFixing.BRAZED, PlugHardness.HARDER)
SOLID = Plug("brass, brazed in", PlugFixing.BRAZED, PlugHardness.SAME)


def scene_of(seed: int) -> Scene:
    """Return a crooked row or a scatter of holes on a part with rounded ends, among old holes, pockets and bends."""
    r = np.random.default_rng(seed)

    def number(low: float, high: float) -> float:
        return float(r.uniform(low, high))

    count, turn = int(r.integers(1, 6)), number(0.0, math.tau)
    profiles = (_profile(number(2.0, 5.0), number(0.3, 0.9)), _stepped(number(2.0, 3.5)))
    centers = [
        (
            20.0 + 11.0 * i * math.cos(turn) + float(r.normal()),
            20.0 + 11.0 * i * math.sin(turn) + float(r.normal()),
        )
        for i in range(count)
    ]
    sites = tuple(DrillSite(i + 1, "row", center, profiles[int(r.integers(0, 2))]) for i, center in enumerate(centers))
    x0, y0 = min(c[0] for c in centers) - 12.0, min(c[1] for c in centers) - 12.0
    x1, y1 = max(c[0] for c in centers) + 12.0, max(c[1] for c in centers) + 12.0

    def place() -> tuple[float, float]:
        return (number(x0, x1), number(y0, y1))

    plugs = (OPEN, LOOSE, HELD, SOLID)
    old = tuple(
        OldHole(f"old {i + 1}", place(), number(2.0, 5.0), plugs[int(r.integers(0, 4))])
        for i in range(int(r.integers(0, 7)))
    )
    outline = rectangle(x0, y0, x1, y1, corner_radius=number(0.0, min(x1 - x0, y1 - y0) / 2))
    openings = (circle_outline(Circle(place(), number(1.0, 3.0))),) if r.random() < 0.3 else ()
    keep_outs: list[KeepOut] = []
    if r.random() < 0.5:
        x, y = place()
        keep_outs.append(KeepOut("patch", "pocket", rectangle(x, y, x + 5.0, y + 3.0, corner_radius=1.0), margin=0.4))
    if r.random() < 0.4:
        keep_outs.append(KeepOut("rib", "bend", _bend(place(), number(0.0, math.tau)), margin=0.5, head_margin=0.2))
    if r.random() < 0.3:
        keep_outs.append(KeepOut("boss", "seat", Circle(place(), number(1.0, 3.0)), caution_margin=0.6))
    part = PartShape(outline if r.random() < 0.9 else None, openings, number(1.0, 4.0))
    return sites, Surroundings(part, old, tuple(keep_outs))


def _profile(diameter: float, pitch: float) -> HoleProfile:
    return HoleProfile(diameter, (Bore(diameter, ZRange(0.0), "thread"),), (), pitch)


def _stepped(diameter: float) -> HoleProfile:
    """A clearance hole with a shallow counterbore, and a washer above the face."""
    return HoleProfile(
        diameter,
        (Bore(diameter, ZRange(0.0), "clearance hole"), Bore(1.7 * diameter, ZRange(0.0, -1.0), "counterbore")),
        (Head(2.0 * diameter, ZRange(1.5, 0.0), "washer"),),
    )


def _bend(start: tuple[float, float], turn: float) -> tuple[Curve, ...]:
    """A tangent line that ends in a quarter of a circle."""
    ux, uy = math.cos(turn), math.sin(turn)
    corner = (start[0] + 6.0 * ux, start[1] + 6.0 * uy)
    center = (corner[0] - 3.0 * uy, corner[1] + 3.0 * ux)
    return (Segment(start, corner), Arc(corner, (center[0] + 3.0 * ux, center[1] + 3.0 * uy), center, ccw=True))


def grid_scene_of(seed: int) -> Scene:
    """Return holes on whole millimetres: limits that touch, coincide, and leave passages of no width.

    Every hole is 4 mm, keeps 6 mm from old holes and edges, 3 mm from keep-outs; plates just wide enough are common.
    """
    r = np.random.default_rng(seed)
    profile = _profile(4.0, 0.7)
    places = [
        [(6.0 * i, 0.0) for i in range(int(r.integers(1, 6)))],
        [(12.0 * i, 12.0 * j) for i in range(3) for j in range(2)],
        [(8.0 * i, 0.0) for i in range(4)],
        [(float(x), float(y)) for x, y in r.integers(0, 20, (int(r.integers(1, 5)), 2))],
    ][int(r.integers(0, 4))]
    on_itself = r.random() < 0.5
    old_places = places if on_itself else [(float(x), float(y)) for x, y in r.integers(-10, 30, (5, 2))]
    x0, y0 = min(p[0] for p in places) - float(r.integers(6, 14)), min(p[1] for p in places) - float(r.integers(6, 14))
    x1, y1 = max(p[0] for p in places) + float(r.integers(6, 14)), max(p[1] for p in places) + float(r.integers(6, 14))
    outline = rectangle(x0, y0, x1, y1, corner_radius=float(r.choice([0.0, 3.0, 6.0])))
    keep_outs: list[KeepOut] = []
    x, y = (float(v) for v in r.integers(-8, 20, 2))
    if r.random() < 0.5:
        keep_outs.append(KeepOut("patch", "pocket", rectangle(x, y, x + 4.0, y + 4.0), margin=1.0))
    if r.random() < 0.5:
        keep_outs.append(KeepOut("rib", "joint", (Segment((y, x), (y + 6.0, x)),), margin=1.0))
    return (
        tuple(DrillSite(i + 1, "grid", p, profile) for i, p in enumerate(places)),
        Surroundings(
            PartShape(outline if r.random() < 0.7 else None),
            tuple(OldHole(f"old {i + 1}", p, 4.0, LOOSE) for i, p in enumerate(old_places)),
            tuple(keep_outs),
        ),
    )


scenes = st.integers(0, 2**32 - 1).map(scene_of)
grid_scenes = st.integers(0, 2**32 - 1).map(grid_scene_of)


def moved(scene: Scene, placement: Placement) -> Scene:
    """Return a scene carried along by a rigid motion, mirror included."""
    sites, s = scene
    keep_outs = []
    for k in s.keep_outs:
        if isinstance(k.shape, Outline):
            keep_outs.append(replace(k, shape=placement.apply_outline(k.shape)))
        elif isinstance(k.shape, Circle):
            keep_outs.append(replace(k, shape=placement.apply_circle(k.shape)))
        else:
            keep_outs.append(replace(k, shape=tuple(placement.apply_curve(c) for c in k.shape)))
    part = replace(
        s.part,
        outline=None if s.part.outline is None else placement.apply_outline(s.part.outline),
        openings=tuple(placement.apply_outline(o) for o in s.part.openings),
    )
    return (
        tuple(replace(h, center=placement.apply(h.center)) for h in sites),
        Surroundings(
            part,
            tuple(replace(h, center=placement.apply(h.center)) for h in s.old_holes),
            tuple(keep_outs),
            tuple(replace(h, center=placement.apply(h.center)) for h in s.standing_sites),
        ),
    )


def shifted(sites: tuple[DrillSite, ...], shift: tuple[float, float]) -> tuple[DrillSite, ...]:
    """Return holes moved by a shift."""
    return tuple(replace(h, center=(h.center[0] + shift[0], h.center[1] + shift[1])) for h in sites)


def triangle(size: float) -> Outline:
    """A triangle without any symmetry."""
    return outline_through([(0.0, 0.0), (size, 0.2 * size), (0.3 * size, 0.9 * size)])
