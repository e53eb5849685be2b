"""What the documents say of holes near edges, keep-outs and other holes: one finding each, or none.

The limits are those of ``docs/`` and ``holecam limits``: edge distances in diameters, webs in diameters and
thicknesses, common practice all of them. They are written down here a second time; this finds a slip in either
copy, and no error of the practice itself.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from layout_model import KeepOut, OldHole, Part, Shape
from shapely.geometry import Point
from shop_figures import XY

Said = tuple[tuple[int, ...], str, str]
"""Numbers of the holes, code of the finding, its severity."""

CODES = frozenset(
    {"off-part", "breaks-through-edge", "edge-distance", "modest-edge-distance", "in-keep-out", "near-keep-out",
     "modest-keep-out-distance", "thin-web", "modest-web", "touches", "same-place", "concentric", "thin-plug-wall"}
    | {f"{way}-{what}" for way in ("breaks-into", "centre-in", "takes-in", "inside")
       for what in ("plug", "open-hole", "new-hole")}
)  # fmt: skip
"""The findings that are computed here."""

NOISE = 0.01
"""Holes that come within this of each other touch, mm."""

SAME_CENTRE = 0.05
"""Centres within this are one, mm."""


@dataclass(frozen=True)
class Site:
    """A new hole: its number, its pattern, its place and size in mm."""

    number: int
    pattern: str
    xy: XY
    diameter: float
    pitch: float | None

    @property
    def radius(self) -> float:
        """Half the diameter."""
        return self.diameter / 2.0


def edge_limits(metal_class: str, diameter: float, pitch: float | None) -> dict[str, float]:
    """Return the least distances of a centre from an edge, mm, for each severity."""
    shares = {"note": 2.0, "caution": 1.5, "stop": 1.0}
    if metal_class == "aluminium":
        shares["note"] = 2.5
    if metal_class in ("sheet", "soft-sheet"):
        shares["caution"] = 2.0
    limits = {severity: share * diameter for severity, share in shares.items()}
    limits["stop"] = max(limits["stop"], diameter / 2.0 + (pitch or 0.0))
    return limits


def web_limits(metal_class: str, one: float, other: float, thickness: float) -> dict[str, float]:
    """Return the least metal between two holes, mm, for each severity."""
    larger = max(one, other)
    limits = {"note": larger, "caution": max(0.5 * larger, thickness), "stop": max(0.25 * larger, 1.0)}
    if metal_class == "sheet":
        limits["note"] = 2.0 * larger
    if metal_class == "soft-sheet":
        limits = {"note": larger, "caution": 1.5 * thickness, "stop": thickness}
    return limits


def said_of_a_pair(
    apart: float, new: Site, other_radius: float, filling: str, part: Part, shy: float = 0.0
) -> tuple[str, str] | None:
    """Return code and severity of a new hole and another at a distance of centres.

    ``filling`` of the other: new, open, solid (same metal, held), held or loose.
    """
    radius, pitch = new.radius, new.pitch
    web = apart - radius - other_radius
    if web > NOISE:
        limits = web_limits(part.metal_class, new.diameter, 2.0 * other_radius, part.thickness)
        for severity in ("stop", "caution", "note"):
            if web < limits[severity]:
                return ("modest-web" if severity == "note" else "thin-web", severity)
        return None
    kind = ("new", "open", "solid", "held", "loose").index(filling)
    what = {"new": "new-hole", "open": "open-hole"}.get(filling, "plug")
    same = apart <= SAME_CENTRE
    code = ("same-place" if filling == "new" else "concentric") if same else ""
    if same and radius >= other_radius - SAME_CENTRE:
        return code, ("stop", "note", "note", "note", "note")[kind]
    if apart + radius <= other_radius and radius < other_radius:
        thin = other_radius - shy - apart - radius < max(pitch or 0.0, 0.5)
        severity = (("stop", "stop", "caution", "stop", "stop") if thin else ("stop", "stop", "note", "note", "stop"))[
            kind
        ]
        return code or ("thin-plug-wall" if thin and what == "plug" else f"inside-{what}"), severity
    if apart + other_radius <= radius:
        severity = ("stop", "caution", "caution", "caution", "caution")[kind]
        return code or f"takes-in-{what}", "stop" if filling == "open" and apart < other_radius else severity
    severity = ("stop", "stop", "caution", "stop", "stop")[kind]
    if apart < other_radius:
        return code or f"centre-in-{what}", severity
    return (code or f"breaks-into-{what}" if web < -NOISE else "touches"), severity


def signed_distance(shape: Shape, point: Shape, *, inside: bool) -> float:
    """Return how far a point lies on the wanted side of a border, mm; below nought on the wrong side."""
    away = float(shape.boundary.distance(point))
    return away if bool(shape.contains(point)) == inside else -away


def _at_edges(site: Site, part: Part) -> Iterator[tuple[tuple[str, str] | None, float]]:
    """Yield what is said at each border, and how near to the next limit that is, mm."""
    point = Point(site.xy)
    limits = edge_limits(part.metal_class, site.diameter, site.pitch)
    for shape, inside in ((part.outline, True), *((opening, False) for opening in part.openings)):
        away = signed_distance(shape, point, inside=inside)
        near = min(abs(away - limit) for limit in (0.0, site.radius, *limits.values()))
        if away < 0.0:
            yield ("off-part", "stop"), near
        elif away < site.radius:
            yield ("breaks-through-edge", "stop"), near
        elif away < limits["stop"]:
            yield ("edge-distance", "stop"), near
        elif away < limits["caution"]:
            yield ("edge-distance", "caution"), near
        elif away < limits["note"]:
            yield ("modest-edge-distance", "note"), near
        else:
            yield None, near


def _at_keep_out(site: Site, keep: KeepOut, thickness: float) -> tuple[tuple[str, str] | None, float]:
    point = Point(site.xy)
    away = signed_distance(keep.shape, point, inside=False) if keep.closed else float(keep.shape.distance(point))
    touch = site.radius + keep.half_width
    limits, said = [touch], None
    if keep.margin is not None:
        limits.append(touch + keep.margin)
        said = ("near-keep-out", "stop") if away < touch + keep.margin else None
    elif not keep.closed:  # a bend without a margin: metal within two and a half thicknesses of it is drawn along
        limits += [touch + 2.0 * thickness, touch + 2.5 * thickness]
        if away < touch + 2.0 * thickness:
            said = ("near-keep-out", "caution")
        elif away < touch + 2.5 * thickness:
            said = ("modest-keep-out-distance", "note")
    if away < touch:
        said = ("in-keep-out", "stop")
    return said, min(abs(away - limit) for limit in limits)


def said_of(sites: list[Site], part: Part) -> tuple[Counter[Said], int]:
    """Return every finding about places, and how many of them hang on less than the shape's own doubt."""
    said: list[Said] = []
    unsure = 0

    def note(numbers: tuple[int, ...], what: tuple[str, str] | None) -> None:
        if what is not None:
            said.append((numbers, *what))

    for i, site in enumerate(sites):
        for what, near in (*_at_edges(site, part), *(_at_keep_out(site, k, part.thickness) for k in part.keep_outs)):
            unsure += near < part.shape_doubt
            note((site.number,), what)
        for old in part.old_holes:
            what = _beside_old(site, old, part, 0.0)
            unsure += _beside_old(site, old, part, 2e-9) != _beside_old(site, old, part, -2e-9)
            note((site.number,), what)
        for other in sites[:i]:
            first, second = (site, other) if site.pattern != other.pattern else (other, site)
            apart = math.dist(site.xy, other.xy)
            note((first.number, second.number), said_of_a_pair(apart, first, second.radius, "new", part))
    return Counter(said), unsure


def _beside_old(site: Site, old: OldHole, part: Part, more: float) -> tuple[str, str] | None:
    return said_of_a_pair(math.dist(site.xy, old.xy) + more, site, old.radius, old.filling, part, 2.0 * old.shy)
