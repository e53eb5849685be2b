"""Holes: what is drilled, tapped, opened and sunk at every point of a pattern; and holes that are there already."""

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator

from holecam.job.models_pattern import PatternShape
from holecam.job.models_place import Candidate, MirrorCopy, Place
from holecam.job.quantities import (
    Degrees,
    Flag,
    HoleNumber,
    Length,
    Model,
    Name,
    NonNegativeLength,
    OrText,
    Percent,
    PointAngle,
    PositiveLength,
    Text,
    exactly_one,
    given,
    refusal,
)
from holecam.job.trade_words import DrillName, MaterialName, MethodName, PilotName, ThreadName

Head = Literal["socket", "flat", "cheese", "pan", "round", "hex", "button", "none"]
"""Shape of a screw's head; flat heads are countersunk and centre themselves."""

Fit = Literal["close", "normal", "loose", "fine", "medium", "coarse"]
"""Class of a clearance hole: close, normal, loose (ASME B18.2.8) or fine, medium, coarse (ISO 273)."""


def _depth(value: Any) -> Any:
    if isinstance(value, (str, int, float)) and not isinstance(value, bool):
        if not isinstance(value, str) or value.strip().lower() not in ("through", "thru"):
            hint = 'For a blind hole say which depth: { full_thread = "..." } or { to_shoulder = "..." }.'
            raise refusal('"through" or a table', hint)
        return {"through": True}
    return value


class DepthModel(Model):
    """How deep: "through", or a table for a blind hole. Depths are measured down from the face that is drilled."""

    through: Flag = False
    """Right through."""
    full_thread: PositiveLength | None = None
    """Length of full thread that is needed; the drill goes deeper by the tap's lead."""
    to_shoulder: PositiveLength | None = None
    """Depth of the full diameter, without the drill's point."""
    to_tip: PositiveLength | None = None
    """Depth of the very tip."""
    leave_bottom: NonNegativeLength | None = None
    """Metal to leave under the tip; alone it asks for the deepest hole that leaves it."""

    @model_validator(mode="after")
    def _one_depth(self) -> Self:
        blind = given(self, "full_thread", "to_shoulder", "to_tip")
        if self.through and (blind or self.leave_bottom is not None):
            raise refusal("through or a blind depth, not both", at=("through",))
        if len(blind) > 1:
            raise refusal("one of full_thread, to_shoulder or to_tip", f"It has {' and '.join(blind)}.")
        if not self.through and not blind and self.leave_bottom is None:
            raise refusal('"through", or full_thread, to_shoulder, to_tip or leave_bottom')
        return self


Depth = Annotated[DepthModel, BeforeValidator(_depth), OrText('"through"')]


def _counterbore(value: Any) -> Any:
    return {"head": value} if isinstance(value, str) else value


class CounterboreModel(Model):
    """A flat-bottomed recess for a screw's head: by the head's name, or by its own size."""

    head: Head | None = None
    """Take diameter and depth from the table for this head."""
    diameter: PositiveLength | None = None
    """Diameter of the recess."""
    depth: PositiveLength | None = None
    """Depth of the recess."""

    @model_validator(mode="after")
    def _size(self) -> Self:
        if self.head is None and (self.diameter is None or self.depth is None):
            raise refusal("head, or diameter and depth, for a counterbore")
        return self


Counterbore = Annotated[CounterboreModel, BeforeValidator(_counterbore), OrText('Name of a head, such as "socket".')]


def _countersink(value: Any) -> Any:
    return {"head": value} if isinstance(value, str) else value


class CountersinkModel(Model):
    """A cone for a flat head, or a light chamfer."""

    head: Literal["flat"] | None = None
    """Take the cone from the table for flat heads."""
    diameter: PositiveLength | None = None
    """Diameter at the face."""
    angle_deg: PointAngle | None = None
    """Included angle; without it 82 degrees for unified screws (UNC, UNF, UNEF) and 90 for all others."""

    @model_validator(mode="after")
    def _size(self) -> Self:
        exactly_one(self, "head", "diameter", what="a countersink")
        return self


Countersink = Annotated[CountersinkModel, BeforeValidator(_countersink), OrText('"flat"')]


class Tapping(Model):
    """How the thread is made."""

    percent: Percent | None = None
    """Share of a full thread that is wanted; without it the material and the depth decide."""
    method: Literal["cut", "form"] = "cut"
    """Cut, or formed by pressing."""
    by: Literal["hand", "machine"] | None = None
    """Tapped by hand or under power; without it by hand unless the machine can tap rigidly."""
    tap: Literal["taper", "plug", "bottoming"] | None = None
    """Lead of the last tap used; without it plug for through holes and bottoming for blind ones."""
    drill: DrillName | None = None
    """This drill and no other."""


class HoleWork(Model):
    """What is done at every hole: exactly one of thread, drill, clearance_for or ream, and what goes with it."""

    thread: ThreadName | None = None
    """Thread to tap, such as "5-40", "M4", "2 BA", "1/4-20"."""
    drill: DrillName | None = None
    """Drill to use, such as "No. 29", "F", "3/16", "4.2 mm"."""
    clearance_for: ThreadName | None = None
    """Screw that has to pass, such as "5-40" or "M4"."""
    ream: PositiveLength | None = None
    """Finished diameter of a reamed or bored hole; it is drilled under size first."""
    fit: Fit | None = None
    """How freely the screw passes, beside clearance_for; without it normal."""
    tap: Tapping | None = None
    """How the thread is made."""
    depth: Depth | None = None
    """How deep; without it through."""
    material: MaterialName | None = None
    """Metal at these holes, where it is not that of the part."""
    thickness: PositiveLength | None = None
    """Thickness at these holes; without it from their face (face_z) down to the far face of the part."""
    face_z: Length | None = None
    """Height of the face that is drilled, where it is not 0."""
    over: Name | None = None
    """Name of a [[step_down]] whose protected sheet lies under these holes: no drill point passes its hard floor."""
    pilot: PilotName | None = None
    """Pilot drill, by name; "none" for no pilot. Without it the tool decides."""
    spot: Flag = True
    """Spot each hole first."""
    deburr: Flag = True
    """Break the edges afterwards."""
    counterbore: Counterbore | None = None
    """A recess for the head."""
    countersink: Countersink | None = None
    """A cone for the head."""
    head: Head | None = None
    """Head of the screw that goes in: its diameter is checked against edges and neighbours."""
    head_diameter: PositiveLength | None = None
    """Diameter of the head, where the table does not have it."""
    washer_diameter: PositiveLength | None = None
    """Outside diameter of a washer."""

    @model_validator(mode="after")
    def _one_work(self) -> Self:
        exactly_one(self, "thread", "drill", "clearance_for", "ream", what="the work at each hole")
        if self.tap is not None and self.thread is None:
            raise refusal("tap only beside thread", at=("tap",))
        if self.fit is not None and self.clearance_for is None:
            raise refusal("fit only beside clearance_for", at=("fit",))
        if self.depth is not None and self.depth.full_thread is not None and self.thread is None:
            raise refusal("full_thread only beside thread", "Use to_shoulder or to_tip.", at=("depth", "full_thread"))
        if self.counterbore is not None and self.countersink is not None:
            raise refusal("counterbore or countersink, not both", at=("countersink",))
        return self


class Pattern(PatternShape, HoleWork):
    """New holes: their points, where these lie, and what is made there."""

    name: Name
    """What to call it; other tables refer to it by this name."""
    body: Name | None = Field(default=None, alias="in")
    """Name of the [[body]] that is drilled; without it the part."""
    place: Place | None = None
    """Where the pattern lies."""
    candidates: tuple[Candidate, ...] = Field(default=(), alias="candidate", max_length=50)
    """Other places to weigh against the first."""
    mirror_copy: MirrorCopy | None = None
    """The same holes once more, mirrored."""
    drilled_by: MethodName | None = None
    """How the holes are located when drilled: a method from the table, such as "spot and drill by readout"."""
    only: tuple[HoleNumber, ...] = ()
    """Drill only these numbers this time."""
    notes: Text = ""
    """Anything else; printed."""

    @model_validator(mode="after")
    def _placed(self) -> Self:
        if self.place is None and self.needs_place:
            raise refusal("place", 'Say where one hole lies: place = { hole = 1, at = ["...", "..."] }.')
        check_place(self, self.place)
        count = self.known_count
        if count is not None and any(n > count for n in self.only):
            raise refusal(f"hole numbers from 1 to {count}", at=("only",))
        names = [c.name for c in self.candidates]
        for n, candidate in enumerate(self.candidates):
            if candidate.name in names[:n]:
                raise refusal("a different name for each candidate", at=("candidate", n, "name"))
            check_place(self, candidate.place, at=("candidate", n, "place"))
        return self


def check_place(shape: PatternShape, place: Place | None, *, at: tuple[str | int, ...] = ("place",)) -> None:
    """Refuse a place that speaks of a hole or a centre which the pattern does not have."""
    if place is None:
        return
    count = shape.known_count
    if place.centre is not None and not (shape.circle or shape.arc or shape.grid or shape.like):
        hint = 'Place it by a hole: { hole = 1, at = ["...", "..."] }.'
        raise refusal("centre only for a circle, arc or grid", hint, at=(*at, "centre"))
    if count is None:
        return
    numbers: list[tuple[tuple[str | int, ...], int]] = []
    if place.at is not None:
        numbers = [((*at, "hole"), place.hole)]
    elif place.measured is not None:
        numbers = [((*at, "measured", n, "hole"), m.hole) for n, m in enumerate(place.measured)]
    for where, number in numbers:
        if number > count:
            raise refusal(f"a hole number from 1 to {count}", f"The pattern has no hole {number}.", at=where)


METALS = ("copper", "brass", "bronze", "steel", "aluminium", "cast iron", "solder", "epoxy", "wood")
"""Words that name what a plug is made of; "aluminum" counts as aluminium."""

PLUG_KINDS = ("screw", "grub screw", "rivet", "pin", "rod", "fill")
PLUG_LOCKS = {
    "soft soldered": "soldered",
    "soft-soldered": "soldered",
    "soldered": "soldered",
    "sweated": "soldered",
    "silver soldered": "brazed",
    "silver-soldered": "brazed",
    "brazed": "brazed",
    "epoxied": "epoxy",
    "epoxy": "epoxy",
    "anaerobic": "anaerobic",
    "locked with retainer": "anaerobic",
    "pinned": "pinned",
    "riveted": "pinned",
    "threaded": "threaded",
    "screwed": "threaded",
    "pressed": "pressed",
    "loose": "loose",
}
"""How a plug is held, in the words people use, and the word that the checks use."""


SOLID_KINDS, FILLINGS = ("screw", "grub screw", "rivet", "pin", "rod"), ("solder", "epoxy")
"""Plugs that are pieces of metal, and what runs into a hole and makes no such piece."""


def _plug(value: Any) -> Any:
    if isinstance(value, bool):
        raise refusal("the words of a plug", 'Such as "brass screw, soft soldered"; for an open hole leave plug out.')
    if not isinstance(value, str):
        return value
    text = value.strip().lower()
    if text in ("open", "none"):
        raise refusal("the words of a plug", "For an open hole leave plug out.")
    found: dict[str, Any] = {"words": value.strip()}
    lock = next((word for word in sorted(PLUG_LOCKS, key=len, reverse=True) if word in text), None)
    rest = text.replace(lock, " ") if lock else text
    metal = next((m for m in METALS if m in rest.replace("aluminum", "aluminium")), None)
    kind = next((k for k in sorted(PLUG_KINDS, key=len, reverse=True) if k in rest), None)
    if metal is None and PLUG_LOCKS.get(lock or "") == "epoxy":
        metal, kind = "epoxy", kind or "fill"
    if metal is None and PLUG_LOCKS.get(lock or "") == "soldered":
        metal, kind = "solder", kind or "fill"
    if metal is None or (kind in SOLID_KINDS and metal in FILLINGS):  # "bras screw, soldered" is no screw of solder
        raise refusal(
            "words that name the plug's metal, its kind and how it is held",
            f'Such as "brass screw, soft soldered"; metals: {", ".join(METALS)}.',
        )
    found["metal"] = metal
    if kind:
        found["kind"] = kind
    if lock:
        found["locked"] = PLUG_LOCKS[lock]
    return found


class PlugModel(Model):
    """What fills an old hole: words such as "brass screw, soft soldered", or a table."""

    words: Text = ""
    """As the user says it."""
    metal: Name
    """What it is made of."""
    kind: Literal["screw", "grub screw", "rivet", "pin", "rod", "fill"] | None = None
    """What it is; without it unknown."""
    locked: Literal["threaded", "soldered", "brazed", "epoxy", "anaerobic", "pinned", "pressed", "loose"] | None = None
    """How it is held; without it unknown, which the checks treat as not held against a tap's torque."""


Plug = Annotated[PlugModel, BeforeValidator(_plug), OrText('Words such as "brass screw, soft soldered".')]


class PlugPlan(Model):
    """How open old holes are to be plugged before anything new is drilled."""

    metal: MaterialName | None = None
    """Metal of the plug; without it that of the part."""
    thread: ThreadName | None = None
    """Thread to open the hole to; without it the next that fits the hole."""
    diameter: PositiveLength | None = None
    """Plain plug: diameter to open the hole to."""
    length: PositiveLength | None = None
    """Length of the plug; without it the thickness and a little to file off."""
    locked: Literal["threaded", "soldered", "brazed", "epoxy", "anaerobic", "pinned"] = "soldered"
    """How it is to be held."""

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        if self.thread is not None and self.diameter is not None:
            raise refusal("thread or diameter, not both", at=("diameter",))
        return self


class OldHoles(PatternShape):
    """Holes that exist: open, plugged, or to be plugged in this job."""

    name: Name = "old holes"
    """What to call them."""
    body: Name | None = Field(default=None, alias="in")
    """Name of the [[body]] in which they are; without it the part."""
    place: Place | None = None
    """Where they lie."""
    diameter: PositiveLength | None = None
    """Diameter of the hole, or of the plug that fills it."""
    thread: ThreadName | None = None
    """Thread of the hole or of its plug: its major diameter counts."""
    plug: Plug | None = None
    """What fills them now; without it they are open."""
    to_plug: PlugPlan | None = None
    """How to plug them in this job."""
    depth: PositiveLength | None = None
    """Depth from the face; without it through."""
    face_z: Length | None = None
    """Height of the face they start from, where it is not 0."""
    within: NonNegativeLength | None = None
    """Their places are surely known within plus or minus this."""
    lean_deg: Degrees = 0.0
    """How far they lean."""

    @model_validator(mode="after")
    def _sized(self) -> Self:
        exactly_one(self, "diameter", "thread", what="the size of old holes")
        if self.place is None and self.needs_place:
            raise refusal("place", 'Say where one hole lies: place = { hole = 1, at = ["...", "..."] }.')
        if self.plug is not None and self.to_plug is not None:
            raise refusal("plug (filled now) or to_plug (to be filled), not both", at=("to_plug",))
        check_place(self, self.place)
        return self
