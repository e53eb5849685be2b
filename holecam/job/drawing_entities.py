"""Lines, arcs and circles out of the entities of a DXF file, in millimetres."""

from __future__ import annotations

import io
import itertools
import math
from collections import Counter
from collections.abc import Iterator
from typing import Any, Literal

from ezdxf.document import Drawing
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.insert import Insert
from ezdxf.lldxf.const import DXFError
from msgspec import Struct, field

from holecam.errors import InputError
from holecam.job.faults import shown
from holecam.job.library_warnings import warnings_heard
from holecam.job.splines import ellipse_points, spline_points
from holecam.job.table_keys import nearest
from holecam.shapes import Arc, Circle, Curve, Point, Segment, distance

MOST_ENTITIES = 20_000
"""Entities after blocks are opened up; a drawing of a part has hundreds. Blocks inside blocks can hold billions."""

DEEPEST_BLOCK = 16
"""Blocks inside each other."""

FLAT = 1e-6
"""mm. Heights that differ by more are not a plane drawing."""

MM_PER_DRAWING_UNIT: dict[int, tuple[str, float]] = {
    1: ("in", 25.4),
    2: ("feet", 304.8),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1000.0),
    8: ("microinches", 25.4e-6),
    9: ("thousandths of an inch", 0.0254),
    13: ("microns", 0.001),
    14: ("decimetres", 100.0),
}
"""Codes of $INSUNITS that mean a length of this world (DXF reference, header variables)."""

MM_PER_STATED = {"in": 25.4, "mm": 1.0, "cm": 10.0}

IGNORED = frozenset({"TEXT", "MTEXT", "DIMENSION", "LEADER", "MULTILEADER", "POINT", "HATCH", "ATTDEF", "ATTRIB",
                     "VIEWPORT", "TOLERANCE", "IMAGE", "WIPEOUT", "ARC_DIMENSION", "ACAD_TABLE"})  # fmt: skip
"""Entities that carry no edge; they are left out and counted."""


class Entities(Struct):
    """Curves and circles of a drawing, in its own frame but in mm."""

    curves: list[Curve] = field(default_factory=list)
    circles: list[Circle] = field(default_factory=list)
    layers: tuple[str, ...] = ()
    notes: list[str] = field(default_factory=list)
    damage: tuple[str, ...] = ()
    off_by: float = 0.0


def read_entities(
    raw: bytes,
    *,
    file: str,
    layer: str | None,
    unit: Literal["in", "mm", "cm"] | None,
    tolerance: float,
    overrule_unit: bool = False,
) -> Entities:
    """Return the curves and circles of one layer, or of all visible layers.

    Raises
    ------
    InputError
        The bytes are no drawing, its unit is missing or contradicts ``unit``, the layer does not exist or is empty,
        or something on it cannot be read truly.
    """
    with warnings_heard() as warnings:
        found = _entities(raw, file, layer=layer, unit=unit, tolerance=tolerance, overrule_unit=overrule_unit)
    found.damage = tuple(f"{file}: a part of it is damaged and was left out ({words})." for words in warnings)
    return found


def _entities(
    raw: bytes, file: str, *, layer: str | None, unit: str | None, tolerance: float, overrule_unit: bool
) -> Entities:
    drawing = _document(raw, file)
    scale, notes = _scale(drawing, file=file, unit=unit, overrule_unit=overrule_unit)
    reader = _Reader(file, scale, tolerance / scale, _hidden_layers(drawing) if layer is None else frozenset())
    try:
        found = reader.read(drawing, layer)
    except InputError:
        raise
    except Exception as error:  # the library raises many kinds on a damaged drawing; none may reach the user
        raise _broken(file, error) from error
    found.notes = [*notes, *found.notes]
    return found


def _broken(file: str, error: Exception) -> InputError:
    reason = shown(str(error)) or type(error).__name__
    return InputError(
        f"{file}: expected a DXF drawing, found one that cannot be read ({reason}). Save it again as DXF from "
        "the drawing program.",
        key="file",
        value=file,
    )


def _document(raw: bytes, file: str) -> Drawing:
    if raw[:4] == b"AC10" or raw[:2] == b"PK" or raw[:5] == b"%PDF-":
        kind = "a DWG file" if raw[:4] == b"AC10" else "another kind of file"
        raise InputError(f"{file}: expected a DXF drawing, found {kind}. Save it as DXF.", key="file", value=file)
    if not raw.strip():
        raise InputError(f"{file}: expected a DXF drawing, found an empty file.", key="file", value=file)
    from ezdxf.filemanagement import dxf_stream_info
    from ezdxf.lldxf.tagger import ascii_tags_loader, binary_tags_loader

    try:
        if b"Binary DXF\r\n\x1a\x00" in raw[:32]:
            return Drawing.load(binary_tags_loader(raw))
        info = dxf_stream_info(io.StringIO(raw.decode("latin-1")))
        text = raw.decode(info.encoding, errors="surrogateescape")
        return Drawing.load(ascii_tags_loader(io.StringIO(text, newline=None)))
    except (DXFError, OSError, UnicodeError, LookupError) as error:
        raise _broken(file, error) from error
    except Exception as error:  # as above: damaged files raise what they like
        raise _broken(file, error) from error


def _scale(drawing: Drawing, *, file: str, unit: str | None, overrule_unit: bool) -> tuple[float, list[str]]:
    """Return mm for one unit of the drawing."""
    code = drawing.header.get("$INSUNITS", 0) if "$INSUNITS" in drawing.header else 0
    said = MM_PER_DRAWING_UNIT.get(code) if isinstance(code, int) else None
    if unit is None:
        if said is not None:
            return said[1], [f"{file}: the drawing says that its numbers are {said[0]}."]
        raise InputError(
            f'{file}: expected a drawing that says its unit; it does not. Add drawing_unit = "in", "mm" or "cm".',
            key="drawing_unit",
        )
    stated = MM_PER_STATED[unit]
    if said is not None and said[1] != stated:
        if not overrule_unit:
            raise InputError(
                f"{file}: expected drawing_unit to agree with the drawing, which says {said[0]}. Leave drawing_unit "
                "out, or write overrule_unit = true if the drawing is wrong.",
                key="drawing_unit",
                value=unit,
            )
        return stated, [f"{file}: the drawing says {said[0]}; the job overrules it with {unit}."]
    return stated, []


def _hidden_layers(drawing: Drawing) -> frozenset[str]:
    return frozenset(entry.dxf.name.casefold() for entry in drawing.layers if entry.is_off() or entry.is_frozen())


class _Reader:
    """Turns entities into curves; counts what it leaves out."""

    def __init__(self, file: str, scale: float, tolerance: float, hidden: frozenset[str]) -> None:
        self.file = file
        self.scale = scale
        self.tolerance = tolerance  # in units of the drawing
        self.hidden = hidden
        self.found = Entities()
        self.left_out: Counter[str] = Counter()
        self.hidden_count = 0
        self.approximated: Counter[str] = Counter()
        self.heights: set[float] = set()
        self.budget = MOST_ENTITIES

    def read(self, drawing: Drawing, layer: str | None) -> Entities:
        there: Counter[str] = Counter()
        for entity, name in self._opened(drawing.modelspace(), "0", 0):
            there[name] += 1
            if layer is not None and name.casefold() != layer.casefold():
                continue
            if name.casefold() in self.hidden:
                self.hidden_count += 1
                continue
            self._take(entity)
        self.found.layers = tuple(sorted(shown(n) for n in there))
        if layer is not None and layer.casefold() not in {n.casefold() for n in there}:
            self._no_layer(layer, drawing)
        self._tell()
        return self.found

    def _no_layer(self, layer: str, drawing: Drawing) -> None:
        names = self.found.layers
        listed = ", ".join(f'"{n}"' for n in names[:20]) or "none"
        exists = layer.casefold() in {e.dxf.name.casefold() for e in drawing.layers}
        meant = nearest(layer, names)
        what = f'found nothing on layer "{layer}"' if exists else f'found no layer "{layer}"'
        hint = f' Did you mean "{meant}"?' if meant and not exists else ""
        raise InputError(
            f"{self.file}: expected a layer that holds something, {what}.{hint} Layers that hold something: {listed}.",
            key="layer",
            value=layer,
        )

    def _opened(self, entities: Any, block_layer: str, depth: int) -> Iterator[tuple[DXFEntity, str]]:
        """Yield entities with the layer on which they show; blocks are opened up, within a budget."""
        if depth > DEEPEST_BLOCK:
            raise InputError(f"{self.file}: expected blocks at most {DEEPEST_BLOCK} deep inside each other.")
        for entity in entities:
            self.budget -= 1
            if self.budget < 0:
                raise InputError(
                    f"{self.file}: expected at most {MOST_ENTITIES} entities, found more. Save the outline alone."
                )
            own = entity.dxf.get("layer", "0")
            name = block_layer if depth and own == "0" else own
            if not isinstance(entity, Insert):
                yield entity, name
                continue
            if entity.block() is None:
                self.left_out["block that is not in the file"] += 1
                continue
            if entity.mcount > max(1, self.budget):
                raise InputError(
                    f"{self.file}: expected at most {MOST_ENTITIES} entities, found a block repeated "
                    f"{entity.mcount} times."
                )
            copies = entity.multi_insert() if entity.mcount > 1 else (entity,)
            for copy in copies:
                yield from self._opened(copy.virtual_entities(), name, depth + 1)

    def _take(self, entity: DXFEntity) -> None:
        kind = entity.dxftype()
        if kind == "LINE":
            self._line(_xyz(entity.dxf.start), _xyz(entity.dxf.end))
        elif kind == "CIRCLE":
            centre = self._ocs_point(entity, entity.dxf.center)
            self.found.circles.append(Circle(centre, self._length(entity.dxf.radius)))
        elif kind == "ARC":
            self._arc(entity)
        elif kind == "LWPOLYLINE":
            # The library hands out numpy numbers; a numpy bool is no bool where shapes compare by identity
            points = [(float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb")]  # type: ignore[attr-defined]
            self._polyline(entity, points, float(entity.dxf.get("elevation", 0.0)), bool(entity.closed))  # type: ignore[attr-defined]
        elif kind == "POLYLINE":
            self._old_polyline(entity)
        elif kind == "ELLIPSE":
            self._ellipse(entity)
        elif kind == "SPLINE":
            self._spline(entity)
        elif kind in IGNORED:
            self.left_out[kind] += 1
        else:
            raise InputError(
                f"{self.file}: expected lines, arcs, circles, polylines, splines or ellipses, found {kind}. Explode "
                "it, or name a layer that has only the outline."
            )

    def _height(self, z: float) -> None:
        self.heights.add(round(z * self.scale / FLAT) * FLAT)
        if len(self.heights) > 1 and max(self.heights) - min(self.heights) > 2 * FLAT:
            raise InputError(
                f"{self.file}: expected a plane drawing, found heights from {min(self.heights):.4f} to "
                f"{max(self.heights):.4f} mm. Flatten it, or name the layer that has the outline."
            )

    def _point(self, x: float, y: float) -> Point:
        spot = (float(x) * self.scale, float(y) * self.scale)
        if not (math.isfinite(spot[0]) and math.isfinite(spot[1])):
            raise InputError(f"{self.file}: expected finite coordinates, found {spot}.")
        return spot

    def _length(self, value: float) -> float:
        size = float(value) * self.scale
        if not (math.isfinite(size) and size > 0):
            raise InputError(f"{self.file}: expected a radius above zero, found {size:g} mm.")
        return size

    def _upside_down(self, entity: DXFEntity) -> bool:
        """Return whether the entity is drawn in the mirrored plane; other planes are refused."""
        x, y, z = entity.dxf.get("extrusion", (0, 0, 1))
        if abs(x) > 1e-9 or abs(y) > 1e-9 or z == 0:
            raise InputError(f"{self.file}: expected a plane drawing, found an entity on a tilted plane.")
        return bool(z < 0)

    def _ocs_point(self, entity: DXFEntity, spot: Any) -> Point:
        x, y, z = _xyz(spot)
        down = self._upside_down(entity)
        self._height(-z if down else z)
        return self._point(-x if down else x, y)

    def _line(self, a: tuple[float, float, float], b: tuple[float, float, float]) -> None:
        self._height(a[2])
        self._height(b[2])
        self.found.curves.append(Segment(self._point(a[0], a[1]), self._point(b[0], b[1])))

    def _arc(self, entity: DXFEntity) -> None:
        centre = self._ocs_point(entity, entity.dxf.center)
        down = self._upside_down(entity)
        radius = self._length(entity.dxf.radius)
        first, last = float(entity.dxf.start_angle), float(entity.dxf.end_angle)
        if not (math.isfinite(first) and math.isfinite(last)):
            raise InputError(f"{self.file}: expected finite angles.")
        if abs((last - first) % 360.0) < 1e-9:
            self.found.circles.append(Circle(centre, radius))
            return
        ends = [_on_circle(centre, radius, 180.0 - angle if down else angle) for angle in (first, last)]
        self.found.curves.append(Arc(ends[0], ends[1], centre, ccw=not down))

    def _polyline(
        self, entity: DXFEntity, points: list[tuple[float, float, float]], elevation: float, closed: bool
    ) -> None:
        down = self._upside_down(entity)
        self._height(-elevation if down else elevation)
        spots = [(self._point(-x if down else x, y), -bulge if down else bulge) for x, y, bulge in points]
        following = [*spots[1:], spots[0]] if closed and spots else spots[1:]
        arcs: list[Curve] = []
        for (a, bulge), (b, _) in zip(spots, following, strict=False):
            curve = _bulged(a, b, bulge)
            if curve is not None:
                arcs.append(curve)
        circle = _circle_of(arcs)
        if circle is not None:
            self.found.circles.append(circle)
            return
        self.found.curves.extend(arcs)

    def _old_polyline(self, entity: DXFEntity) -> None:
        if entity.is_2d_polyline:  # type: ignore[attr-defined]
            flags = int(entity.dxf.get("flags", 0))
            points, elevation = [], float(_xyz(entity.dxf.get("elevation", (0, 0, 0)))[2])
            for vertex in entity.vertices:  # type: ignore[attr-defined]
                if flags & 4 and vertex.dxf.get("flags", 0) & 16:
                    continue  # the frame of a fitted curve, not the curve
                x, y, _ = _xyz(vertex.dxf.location)
                points.append((x, y, float(vertex.dxf.get("bulge", 0.0))))
            self._polyline(entity, points, elevation, bool(entity.is_closed))  # type: ignore[attr-defined]
        elif entity.is_3d_polyline:  # type: ignore[attr-defined]
            spots = [_xyz(v.dxf.location) for v in entity.vertices]  # type: ignore[attr-defined]
            closing = [spots[0]] if entity.is_closed and spots else []  # type: ignore[attr-defined]
            for a, b in zip(spots, [*spots[1:], *closing], strict=False):
                self._line(a, b)
        else:
            raise InputError(f"{self.file}: expected plane outlines, found a mesh.")

    def _ellipse(self, entity: DXFEntity) -> None:
        x, y, z = _xyz(entity.dxf.center)
        down = self._upside_down(entity)
        self._height(z)
        major = _xyz(entity.dxf.major_axis)
        points = ellipse_points(
            centre=(x, y),
            major=(major[0], major[1]),
            ratio=float(entity.dxf.ratio),
            start=float(entity.dxf.start_param),
            end=float(entity.dxf.end_param),
            mirrored=down,
            tolerance=self.tolerance,
        )
        self._chords(points, "ellipse")

    def _spline(self, entity: DXFEntity) -> None:
        curve = entity.construction_tool()  # type: ignore[attr-defined]
        for p in curve.control_points:
            self._height(float(p[2]))
        points = spline_points(
            degree=int(curve.degree),
            control=[(float(p[0]), float(p[1])) for p in curve.control_points],
            knots=[float(k) for k in curve.knots()],
            weights=[float(w) for w in curve.weights()],
            tolerance=self.tolerance,
        )
        self._chords(points, "spline")

    def _chords(self, points: list[Point], kind: str) -> None:
        spots = [self._point(*p) for p in points]
        self.found.curves.extend(Segment(a, b) for a, b in itertools.pairwise(spots) if distance(a, b) > 1e-9)
        self.approximated[kind] += 1
        self.found.off_by = self.tolerance * self.scale

    def _tell(self) -> None:
        notes = self.found.notes
        for kind, count in sorted(self.approximated.items()):
            notes.append(
                f"{self.file}: {count} {kind}{'s' if count > 1 else ''} replaced by straight lines that lie at most "
                f"{self.found.off_by:g} mm off, on the hollow side of the curve."
            )
        if self.hidden_count:
            notes.append(f"{self.file}: {self.hidden_count} entities on hidden layers were left out.")
        if self.left_out:
            said = ", ".join(f"{n} {kind}" for kind, n in sorted(self.left_out.items()))
            notes.append(f"{self.file}: left out: {said}.")


def _xyz(spot: Any) -> tuple[float, float, float]:
    parts = [float(v) for v in spot]
    return (parts[0], parts[1], parts[2] if len(parts) > 2 else 0.0)


def _on_circle(centre: Point, radius: float, angle_deg: float) -> Point:
    angle = math.radians(angle_deg)
    return (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))


def _bulged(a: Point, b: Point, bulge: float) -> Curve | None:
    """Return the line or arc between two vertices; the bulge is the tangent of a quarter of the arc's angle."""
    chord = distance(a, b)
    if chord <= 1e-9:
        return None
    if not math.isfinite(bulge):
        raise InputError(f"drawing: expected a finite bulge at {a}")
    if abs(bulge) < 1e-9:
        return Segment(a, b)
    rise = (1 - bulge * bulge) / (4 * bulge)
    centre = ((a[0] + b[0]) / 2 - rise * (b[1] - a[1]), (a[1] + b[1]) / 2 + rise * (b[0] - a[0]))
    return Arc(a, b, centre, ccw=bulge > 0)


def _circle_of(curves: list[Curve]) -> Circle | None:
    """Return the circle that two half arcs make: the way a circle is drawn as a polyline."""
    if len(curves) != 2:
        return None
    first, second = curves
    if not (isinstance(first, Arc) and isinstance(second, Arc) and first.ccw is second.ccw):
        return None
    same_centre = distance(first.center, second.center) <= 1e-6
    meets = distance(first.start, second.end) <= 1e-9 and distance(first.end, second.start) <= 1e-9
    return Circle(first.center, first.radius) if same_centre and meets else None
