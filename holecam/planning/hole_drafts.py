"""What a recipe for a hole is made of: tools, steps, the bore, and the recipe itself."""

from __future__ import annotations

from msgspec import Struct

from holecam.layout.spacing_sites import HoleProfile
from holecam.plan.facts import Figure
from holecam.plan.finding import Finding
from holecam.plan.holes import StepKind
from holecam.plan.motions import ToolKind
from holecam.planning.hole_depths import HoleDepth
from holecam.standards.drills import Drill
from holecam.standards.materials import Material
from holecam.standards.tap_drills import TapAdvice
from holecam.standards.threads import Thread


class ToolDraft(Struct, frozen=True):
    """A tool before it has a number. ``diameter`` 0 means: the one spot drill that serves every hole."""

    name: str
    kind: ToolKind
    diameter: float
    point_angle_deg: float | None = None
    pitch: float | None = None


class StepDraft(Struct, frozen=True):
    """A step before its tool has a number; fields as in :class:`holecam.plan.holes.HoleStep`."""

    kind: StepKind
    tool: ToolDraft | None
    diameter: float
    full_depth: float
    tip_depth: float
    through: bool
    peck: float | None = None
    by_hand: bool = False
    note: str = ""


class HoleRecipe(Struct, frozen=True):
    """All that is the same for every hole of one pattern; ``screw`` is what goes in, where the job names it."""

    purpose: str
    thread: Thread | None
    screw: Thread | None
    finished_diameter: float
    face_z: float
    thickness: float
    material: Material
    steps: tuple[StepDraft, ...]
    profile: HoleProfile
    depth: HoleDepth
    figures: tuple[Figure, ...]
    findings: tuple[Finding, ...]


class DrilledBore(Struct, frozen=True):
    """The drilled bore of a recipe: drill, purpose, what the thread is."""

    drill: Drill
    purpose: str
    thread: Thread | None
    screw: Thread | None
    finished: float
    kind: StepKind
    advice: TapAdvice | None
    figures: tuple[Figure, ...]
    notes: tuple[str, ...] = ()
