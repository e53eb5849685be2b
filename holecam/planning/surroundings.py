"""What the new holes have to respect, from the job: the part's edge, old holes with their plugs, keep-outs."""

from __future__ import annotations

from msgspec import Struct

from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_hole import OldHoles, PlugModel
from holecam.job.models_part import BodyModel
from holecam.job.models_part import KeepOut as JobKeepOut
from holecam.job.outlines import outline_of, path_of
from holecam.layout.placing import PlacedPattern
from holecam.layout.spacing_rules import SpacingLimits, table_limits
from holecam.layout.spacing_sites import EVERYWHERE, ZRange
from holecam.layout.spacing_surroundings import KeepOut, OldHole, PartShape, Plug, PlugFixing, PlugHardness
from holecam.lengths import Unit, length_text
from holecam.shapes import Circle, Curve, Outline
from holecam.standards.materials import Material, material
from holecam.standards.thread_names import parse_thread
from holecam.standards.threads import Thread, all_threads

THIN_SHEET = 2.0
"""mm. Sheet up to this thickness takes the sheet's own limits of web (practice table A1)."""

FIXING_OF_LOCK = {
    "threaded": PlugFixing.SCREWED,
    "soldered": PlugFixing.SOFT_SOLDERED,
    "brazed": PlugFixing.BRAZED,
    "epoxy": PlugFixing.EPOXY,
    "anaerobic": PlugFixing.LOCKED,
    "pinned": PlugFixing.PINNED,
    "pressed": PlugFixing.PRESSED,
}

HARDNESS_RANK = {
    "epoxy": 0,
    "solder": 0,
    "wood": 0,
    "plastic": 0,
    "zinc": 1,
    "copper": 1,
    "aluminium": 1,
    "brass": 2,
    "bronze": 2,
    "iron": 3,
    "steel": 3,
    "stainless": 4,
}
"""Which of two metals a drill finds softer, by family: an order, not a measurement (common practice)."""

FAMILY_OF_PLUG = {"cast iron": "iron"}
"""What a plug's metal is called where that is not its family's name: a part of cast iron is of the family iron."""

KNOWN_KINDS = ("keep-out", "bend", "joint", "pocket", "wall", "seat")


class BodyFacts(Struct, frozen=True):
    """One body of the job as shapes: its edge, its openings, its material, its limits."""

    outline: Outline | None
    openings: tuple[Outline, ...]
    thickness: float
    material: Material
    top_z: float

    @property
    def shape(self) -> PartShape:
        """The body as the spacing check sees it."""
        return PartShape(self.outline, self.openings, self.thickness)


def body_facts(job: Job, body: BodyModel) -> BodyFacts:
    """Return a body of the job as shapes, mm."""
    folder = job.source.folder
    return BodyFacts(
        outline=None if body.outline is None else outline_of(body.outline, folder=folder),
        openings=tuple(outline_of(o, folder=folder) for o in body.openings),
        thickness=float(body.thickness),
        material=material(body.material).in_temper(body.temper),
        top_z=float(body.top_z),
    )


def plug_of(model: PlugModel, part: Material) -> Plug:
    """Return a plug as the checks see it."""
    fixing = FIXING_OF_LOCK.get(model.locked or "", PlugFixing.UNKNOWN)
    return Plug(f"{model.metal} {model.kind or 'plug'}", fixing, hardness_of(model.metal, part))


def hardness_of(metal: str, part: Material) -> PlugHardness:
    """Return how a plug's metal compares with the part's."""
    metal = FAMILY_OF_PLUG.get(metal, metal)
    plug_rank = HARDNESS_RANK.get(metal)
    if plug_rank is None:
        try:
            found = material(metal)
        except InputError:
            return PlugHardness.UNKNOWN
        metal, plug_rank = found.family, HARDNESS_RANK.get(found.family)
    part_rank = HARDNESS_RANK.get(part.family)
    if plug_rank is None or part_rank is None:
        return PlugHardness.UNKNOWN
    if metal == part.family:
        return PlugHardness.SAME
    if plug_rank == part_rank:
        return PlugHardness.UNKNOWN
    return PlugHardness.SOFTER if plug_rank < part_rank else PlugHardness.HARDER


def old_holes_of(holes: OldHoles, placed: PlacedPattern, facts: BodyFacts, unit: Unit) -> tuple[OldHole, ...]:
    """Return a set of old holes as obstacles, in the part frame, labelled by the set's name and number."""
    diameter = float(holes.diameter) if holes.diameter is not None else parse_thread(holes.thread or "").major
    plug = plug_of(holes.plug, facts.material) if holes.plug is not None else None
    if holes.to_plug is not None:
        if holes.to_plug.thread is not None:
            diameter = max(diameter, parse_thread(holes.to_plug.thread).major)
        if holes.to_plug.diameter is not None:
            diameter = max(diameter, float(holes.to_plug.diameter))
        metal = holes.to_plug.metal or facts.material.name
        fixing = FIXING_OF_LOCK[holes.to_plug.locked]
        if holes.to_plug.thread is None and holes.to_plug.diameter is None:
            diameter = max(diameter, plug_thread(holes, unit).major)
        words = f"to be plugged with {metal}, {length_text(diameter, unit)} across"
        plug = Plug(words, fixing, hardness_of(holes.to_plug.metal or facts.material.family, facts.material))
    z = EVERYWHERE
    if holes.depth is not None or holes.face_z is not None:
        top = float(holes.face_z) if holes.face_z is not None else facts.top_z
        z = ZRange(top, top - float(holes.depth)) if holes.depth is not None else ZRange(top)
    within = 0.0 if holes.within is None else float(holes.within)
    return tuple(OldHole(f"{holes.name} {n}", p, diameter, plug, z, within) for n, p in placed.holes())


def plug_thread(holes: OldHoles, unit: Unit) -> Thread:
    """Return the thread that old holes are opened to for a plug: the stated one, or the smallest that cleans them up.

    Raises
    ------
    InputError
        The stated plug is no larger than the hole, or no thread of the table is large enough.
    """
    size = parse_thread(holes.thread).major if holes.thread is not None else float(holes.diameter or 0)
    stated = holes.to_plug.thread if holes.to_plug is not None else None
    if stated is not None:
        thread = parse_thread(stated)
        if not thread.major > size:
            raise InputError(
                f'old holes "{holes.name}": to_plug.thread = "{stated}": expected a thread larger than the hole, '
                f"{length_text(size, unit)}"
            )
        return thread
    series = ("UNC", "UNF") if unit == "in" else ("metric coarse", "metric fine")
    fitting = [t for t in all_threads() if t.series in series and t.basic_minor >= size]
    if not fitting:
        raise InputError(
            f'old holes "{holes.name}": no thread of the table is large enough to clean them up; '
            "give to_plug a thread or a diameter"
        )
    return min(fitting, key=lambda t: (t.major, t.pitch))


def keep_outs_of(job: Job, body: str | None) -> tuple[KeepOut, ...]:
    """Return the keep-outs that lie on a body (``None``: the part)."""
    return tuple(_keep_out(job, k) for k in job.keep_outs if k.body == body)


def _keep_out(job: Job, keep_out: JobKeepOut) -> KeepOut:
    folder = job.source.folder
    shape: Outline | Circle | tuple[Curve, ...]
    margin = None if keep_out.margin is None else float(keep_out.margin)
    if keep_out.line is not None:
        shape = path_of(keep_out.line, folder=folder)
    elif keep_out.circle is not None and keep_out.centre is not None:
        centre = (float(keep_out.centre[0]), float(keep_out.centre[1]))
        shape = Circle(centre, float(keep_out.circle) / 2.0)
    else:
        assert keep_out.region is not None
        shape = outline_of(keep_out.region, folder=folder)
    bottom = float(keep_out.from_z) if keep_out.from_z is not None else EVERYWHERE.bottom
    top = float(keep_out.to_z) if keep_out.to_z is not None else EVERYWHERE.top
    return KeepOut(
        name=keep_out.name,
        kind=keep_out.kind if keep_out.kind in KNOWN_KINDS else "keep-out",
        shape=shape,
        margin=margin,
        half_width=_half_width(keep_out),
        z=ZRange(top, bottom),
    )


def _half_width(keep_out: JobKeepOut) -> float:
    """Return how far a line reaches to each side, mm: half its stated width, or a bend's inside radius if larger.

    The inside faces of a square bend meet in a line; the bend begins its radius away from it.
    """
    stated = float(keep_out.width) / 2.0 if keep_out.width is not None else 0.0
    return max(stated, 0.0 if keep_out.radius is None else float(keep_out.radius))


def spacing_class(facts: BodyFacts) -> str:
    """Return the class of limits for a body: soft sheet, sheet, or its material's own."""
    if facts.thickness <= THIN_SHEET and facts.material.family in ("copper", "brass", "bronze", "aluminium", "steel"):
        return "soft-sheet" if facts.material.soft else "sheet"
    return facts.material.spacing_class


def base_limits(facts: BodyFacts) -> SpacingLimits:
    """Return the limits of the table that hold for a body, before the job's own."""
    return table_limits(spacing_class(facts))
