"""Where each pattern really goes: the wanted place when it is allowed, else what the job asks for instead."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping

import numpy as np
from msgspec import Struct

from holecam.job.models import Job
from holecam.job.models_hole import Pattern
from holecam.job.models_place import Place
from holecam.layout.freedom_along_room import roomiest_along
from holecam.layout.freedom_field import Binding, Freedom, freedom_of
from holecam.layout.freedom_half_pitch import half_pitch_advice
from holecam.layout.freedom_lines import extents, free_along
from holecam.layout.freedom_nearest import nearest_allowed
from holecam.layout.freedom_readable import readable_shift
from holecam.layout.freedom_region import region
from holecam.layout.freedom_roomiest import GAP, RoomiestShift, roomiest_within, window_around
from holecam.layout.freedom_shift_and_turn import nearest_with_turn
from holecam.layout.freedom_turns import free_turns
from holecam.layout.spacing_sites import ARITHMETIC_NOISE, DrillSite
from holecam.layout.spacing_surroundings import OldHole, Surroundings
from holecam.lengths import Unit, length_text, rounded
from holecam.plan.facts import Readout
from holecam.plan.finding import Severity
from holecam.plan.reports import FreedomPicture, PlaceReport
from holecam.planning.job_limits import limits_for
from holecam.planning.moved_along import MovedAlong, joint_freedom, moved_along
from holecam.planning.pattern_spacing import PatternSpacing, pattern_spacing, special_limits
from holecam.planning.placed_patterns import PlacedWork, direction_deg_of
from holecam.planning.placed_sets import PlacedSets, place_all
from holecam.planning.surroundings import BodyFacts, keep_outs_of
from holecam.planning.workpieces import Recipes, bodies_of, old_holes_by_set, recipes_of
from holecam.shapes import Placement, Point
from holecam.shapes.angles import cos_sin_deg
from holecam.shapes.curve_arrays import Floats, points_array

FARTHEST_LOOK = 1000.0
"""mm. How far out the nearest allowed place is looked for, to tell it, where none lies within reach."""

USUAL_REACH = 25.4
"""mm. How far from the wanted place another one is looked for where the job does not say."""

WINDOW_SHARE = 1.6
"""The picture reaches this much farther than the chosen shift or the least window, whichever is more."""

LEAST_WINDOW = 3.0
"""mm. Half width of the smallest picture of the freedom."""

LARGEST_PICTURE = 40
"""Holes times obstacles in thousands up to which the region is drawn; beyond it a picture says nothing."""

MOST_CELLS = 4000
"""Parts of the window that are looked at for the place with the most room: a second at most. A long passage that is
equally roomy all along would take ten times that; the gap that is then left is told."""

LARGEST_SEARCH = 4000
"""Limits up to which the place with the most room is looked for: some tenths of a second."""

TURN_STEP_DEG = 0.05
"""Degrees. Step of the certified search over small turns."""

ROUNDING_SHARE = math.sqrt(0.5)
"""A hole moves by at most this many steps when both its coordinates are rounded."""

STEPS_TO_TRY = 400
"""Readout steps beyond the exact limit that are tried along a free direction before it is given up."""


class Settled(Struct, frozen=True):
    """Places that were changed, by pattern, and what there is to say of every pattern that was placed."""

    moved: Mapping[str, PlacedWork]
    reports: Mapping[str, PlaceReport]


def all_sites(sets: PlacedSets, recipes: Recipes) -> dict[str, tuple[DrillSite, ...]]:
    """Return the holes of every pattern as the checks see them, numbered through from 1 as in the plan."""
    sites: dict[str, tuple[DrillSite, ...]] = {}
    first = 1
    for name, work in sets.works.items():
        sites[name] = tuple(
            DrillSite(first + k, name, xy, recipes.of(name, number).profile, number)
            for k, (number, xy) in enumerate(work.pattern.holes())
        )
        first += len(sites[name])
    return sites


def surroundings_for(
    job: Job,
    name: str,
    sets: PlacedSets,
    sites: Mapping[str, tuple[DrillSite, ...]],
    old: Mapping[str, tuple[OldHole, ...]],
    bodies: Mapping[str | None, BodyFacts],
    *,
    without: Collection[str] = (),
) -> Surroundings:
    """Return everything that a pattern has to respect: edge, keep-outs, old holes and other patterns of its body.

    ``without`` names patterns that do not count, such as those that move along with it.
    """
    body = job.pattern(sets.pattern_of[name]).body
    standing = [o for o in sites if o != name and o not in without and _body(job, sets, o) == body]
    others = [s for other in standing for s in sites[other]]
    return Surroundings(
        part=bodies[body].shape,
        old_holes=tuple(hole for holes in job.old_holes if holes.body == body for hole in old[holes.name]),
        keep_outs=keep_outs_of(job, body),
        standing_sites=tuple(others),
    )


def _body(job: Job, sets: PlacedSets, name: str) -> str | None:
    return job.pattern(sets.pattern_of[name]).body


class Around(Struct, frozen=True):
    """What a pattern is placed among: all sets where they lie now, their holes, the old holes, the bodies."""

    job: Job
    sets: PlacedSets
    sites: Mapping[str, tuple[DrillSite, ...]]
    old: Mapping[str, tuple[OldHole, ...]]
    bodies: Mapping[str | None, BodyFacts]

    def surroundings(self, name: str, without: Collection[str] = ()) -> Surroundings:
        """Return what a work has to respect."""
        return surroundings_for(self.job, name, self.sets, self.sites, self.old, self.bodies, without=without)

    def facts(self, name: str) -> BodyFacts:
        """Return the body that a work is drilled in."""
        return self.bodies[_body(self.job, self.sets, name)]

    def freedom(self, name: str, without: Collection[str]) -> Freedom:
        """Return the limits of a work by itself."""
        around, facts, pattern = self.surroundings(name, without), self.facts(name), self.sets.pattern_of[name]
        return freedom_of(
            self.sites[name],
            around,
            limits_for(self.job, pattern, facts),
            level=Severity.STOP,
            between=special_limits(self.job, pattern, around, facts, self.sets.pattern_of),
        )

    def with_others(self, own: Freedom, others: list[MovedAlong], moving: Collection[str]) -> Freedom:
        """Return the limits of a pattern with those of sets that go along; ``moving`` never count as standing."""
        return joint_freedom(
            self.job,
            own,
            others,
            self.sites,
            lambda name: self.surroundings(name, without=moving),
            self.facts,
            self.sets.pattern_of,
        )

    def spacing(self, name: str) -> PatternSpacing:
        """Return the spacing of a work where the holes lie now."""
        around, pattern = self.surroundings(name), self.sets.pattern_of[name]
        return pattern_spacing(self.job, pattern, self.sites[name], around, self.facts(name), self.sets.pattern_of)

    def stopped(self, name: str) -> bool:
        """Return whether the checks stop anything of a work where the holes lie now."""
        return any(f.severity is Severity.STOP for f in self.spacing(name).findings(self.job.unit))


def settle(
    around: Around, pattern: Pattern, along: list[MovedAlong], readout: Readout
) -> tuple[PlacedWork, PlaceReport]:
    """Return where a pattern goes and the report on its freedom.

    A wanted place counts as allowed when no limit that stops is broken there, for the pattern and its mirrored copy.
    Another place is looked for at which what goes along keeps its limits too.
    """
    job, work = around.job, around.sets.works[pattern.name]
    moving = {pattern.name, *(o.name for o in along)}
    copies = [o for o in along if o.is_copy]
    alone = around.freedom(pattern.name, moving)
    freedom = around.with_others(alone, copies, moving)
    wanted = work.pattern.at(work.reference_hole)
    clear = freedom.allowed((0.0, 0.0))
    # Free places are looked for where no hole meets another; at the wanted one the checks may let it, as where an old
    # hole is opened up on its own centre
    meets = not clear and not any(around.stopped(name) for name in (pattern.name, *(o.name for o in copies)))
    words = list(work.words)
    chosen, turn = (0.0, 0.0), 0.0
    if meets:
        words.append(f'"{pattern.name}" meets what is there as the checks say; no limit that stops is broken.')
    elif not clear:
        words.append(_why_not(freedom, pattern.name, job.unit))
        found, with_words = _place_for_all(around, pattern, along, alone, freedom, wanted, readout)
        words += _other_words(pattern.place, found, freedom, wanted, job.unit)
        words += with_words if found is not None else []
        words += _half_pitch_words(alone, job.unit)
        if found is not None and pattern.place is not None and pattern.place.when_blocked != "stop":
            chosen, turn = found.shift, found.turn_deg
    settled = work.shifted(chosen, turn) if chosen != (0.0, 0.0) or turn else work
    there = freedom.moved_to(_repeated(settled, freedom))
    at_shift = chosen
    if turn:  # the turned pattern has other limits; its own place is the new origin
        freedom, at_shift = there, (0.0, 0.0)
    if freedom.allowed(at_shift) and (freedom.discs.site.size or freedom.areas):
        words += _room_words(freedom, at_shift, job.unit)
        if len(settled.pattern.points) > 1:
            held_at = around.sets.hole_text(pattern.name)(work.reference_hole)
            words += _turn_words(there, settled.pattern.at(work.reference_hole), held_at)
    most_room = _most_room(freedom, pattern.place)
    if most_room is not None:
        words.append(_most_room_words(most_room, wanted, job.unit))
    final = freedom.margin(at_shift)
    report = PlaceReport(
        pattern=pattern.name,
        method=work.method,
        reference_hole=work.reference_hole,
        wanted=wanted,
        chosen=settled.pattern.at(work.reference_hole),
        turn_deg=settled.pattern.part_from_pattern.turn_deg,
        mirrored=settled.pattern.part_from_pattern.mirror,
        words=tuple(words),
        wanted_allowed=clear or meets,
        margin=final if math.isfinite(final) and not meets else None,
        binding="" if meets else _binding_text(freedom.binding(at_shift), job.unit),
        misfit=work.misfit,
        residuals=work.residuals,
        picture=None if turn else _picture(freedom, chosen, pattern.place, most_room),
    )
    return settled, report


def _repeated(work: PlacedWork, freedom: Freedom) -> Floats:
    """Return the holes of a pattern once for each time that its limits stand in the freedom: its own, its copy's."""
    points = points_array(work.pattern.points)
    return np.tile(points, (len(freedom.sites) // len(points), 1))


def _place_for_all(
    around: Around,
    pattern: Pattern,
    along: list[MovedAlong],
    alone: Freedom,
    freedom: Freedom,
    wanted: Point,
    readout: Readout,
) -> tuple[_Found | None, list[str]]:
    """Return another place, best one at which all that goes along keeps its limits too, and what to say of that."""
    moving = {pattern.name, *(o.name for o in along)}
    bound = [o for o in along if not o.is_copy and not o.free_itself]
    copies = [o for o in along if o.is_copy]
    kept = [f"There {_named(copies + bound)} keep their limits too."] if copies + bound else []
    if bound:
        found = _other_place(pattern.place, around.with_others(alone, copies + bound, moving), wanted, readout)
        if found is not None and not found.turn_deg:
            return found, kept
        kept = [f"No place within reach suits {_named(bound)}, placed from it, as well."]
    return _other_place(pattern.place, freedom, wanted, readout), kept


class _Found(Struct, frozen=True):
    shift: Point
    distance: float
    turn_deg: float = 0.0


def _named(along: list[MovedAlong]) -> str:
    return " and ".join(f'the holes of "{o.name}"' for o in along)


def _reach(place: Place) -> float:
    return float(place.furthest) if place.furthest is not None else USUAL_REACH


def _other_place(place: Place | None, freedom: Freedom, wanted: Point, readout: Readout) -> _Found | None:
    """Return another place: nearest or roomiest, in the free direction, readable and still allowed when rounded."""
    if place is None:
        return None
    reach = _reach(place)
    direction = _free_direction(place)
    room = place.when_blocked == "roomiest"
    if direction is not None:
        found = _along(freedom, direction, wanted, readout, reach, room=room)
    elif room:
        step = float(readout.resolution)
        best = roomiest_within(freedom, max(reach - step, reach / 2.0))
        start = best.shift if best.allowed else (0.0, 0.0)
        left = reach - math.hypot(*start)  # the step to the readout's grid may not lead farther than allowed
        near = readable_shift(freedom, start, resolution=readout.resolution, reach=left, anchor=wanted)
        found = None if near is None else _Found(near.shift, math.hypot(*near.shift))
    else:
        near = readable_shift(freedom, (0.0, 0.0), resolution=readout.resolution, reach=reach, anchor=wanted)
        found = None if near is None else _Found(near.shift, near.distance)
    if found is None and place.turn_free_deg > 0 and direction is None:
        return _turned(place, freedom, wanted, readout, reach)
    return found


def _turned(place: Place, freedom: Freedom, wanted: Point, readout: Readout, reach: float) -> _Found | None:
    safe = freedom.grown(ROUNDING_SHARE * float(readout.resolution))
    result = nearest_with_turn(
        safe,
        (0.0, 0.0),
        pivot=wanted,
        low_deg=-place.turn_free_deg,
        high_deg=place.turn_free_deg,
        step_deg=TURN_STEP_DEG,
        reach=reach,
    )
    if result.best is None or result.best.shift is None:
        return None
    return _Found(result.best.shift, result.best.distance, result.best.turn_deg)


def _free_direction(place: Place) -> Point | None:
    if place.free_along is not None:
        return cos_sin_deg(direction_deg_of(place.free_along))
    return {"x": (1.0, 0.0), "y": (0.0, 1.0)}.get(place.free)


def _along(
    freedom: Freedom, direction: Point, wanted: Point, readout: Readout, reach: float, *, room: bool
) -> _Found | None:
    """Return an allowed shift along a line at which the reference lies on a step of the readout, where it can."""
    safe = freedom.grown(ROUNDING_SHARE * float(readout.resolution))
    line = free_along(safe, direction)
    if room:
        best = roomiest_along(safe, direction, reach)
        way = None if best is None else best.way
    else:
        way = line.nearest(0.0)
    if way is None or abs(way) > reach:
        return None
    step = float(readout.resolution)
    for k in range(STEPS_TO_TRY):
        for sign in (1.0, -1.0):
            raw = way + sign * k * step
            shift = _on_grid(line.shift(raw), direction, wanted, readout)
            if safe.allowed(shift) and math.hypot(*shift) <= reach + ARITHMETIC_NOISE:
                return _Found(shift, math.hypot(*shift))
            if k == 0:
                break
    return None


def _on_grid(shift: Point, direction: Point, wanted: Point, readout: Readout) -> Point:
    """Return the shift changed so that the reference lies on the readout's grid; only along an axis that is free."""
    if direction[1] == 0.0:
        return (float(rounded(wanted[0] + shift[0], readout.resolution)) - wanted[0], 0.0)
    if direction[0] == 0.0:
        return (0.0, float(rounded(wanted[1] + shift[1], readout.resolution)) - wanted[1])
    return shift


def _why_not(freedom: Freedom, name: str, unit: Unit) -> str:
    tight = [b for b in freedom.bindings((0.0, 0.0), within=1e9) if b.margin < 0] if len(freedom.sites) < 500 else []
    one = freedom.binding((0.0, 0.0))
    if not tight and one is not None:
        tight = [one]
    texts = [_binding_text(b, unit) for b in tight[:4]]
    more = f", and {len(tight) - 4} more" if len(tight) > 4 else ""
    return f'The wanted place of "{name}" fails: {"; ".join(texts)}{more}.'


def _binding_text(binding: Binding | None, unit: Unit) -> str:
    if binding is None:
        return ""
    return (
        f"{binding.site.name} is {length_text(binding.distance, unit)} from {binding.obstacle_name} and needs "
        f"{length_text(binding.need, unit)}"
    )


def _other_words(place: Place | None, found: _Found | None, freedom: Freedom, wanted: Point, unit: Unit) -> list[str]:
    if place is None:
        return ["Give the pattern a place of its own, so that another one can be found."]
    if found is None:
        none = f"No place within {length_text(_reach(place), unit)} of it is allowed"
        return [f"{none}{_farther_words(place, freedom, wanted, unit)}."]
    kind = "roomiest" if place.when_blocked == "roomiest" else "nearest"
    x, y = wanted[0] + found.shift[0], wanted[1] + found.shift[1]
    turned = f", turned {found.turn_deg:+.3f} degrees" if found.turn_deg else ""
    text = (
        f"The {kind} allowed place is {length_text(found.distance, unit)} away: the reference at "
        f"X {length_text(x, unit, signed=True)}, Y {length_text(y, unit, signed=True)}{turned}."
    )
    taken = "It was taken." if place.when_blocked != "stop" else 'Say when_blocked = "nearest" to take it.'
    return [f"{text} {taken}"]


def _farther_words(place: Place, freedom: Freedom, wanted: Point, unit: Unit) -> str:
    """Return how far the nearest allowed place is when none lies within reach, as the end of a sentence."""
    direction = _free_direction(place)
    if direction is not None:
        line = free_along(freedom, direction)
        way = line.nearest(0.0)
        shift = None if way is None else line.shift(way)
    else:
        shift = nearest_allowed(freedom, (0.0, 0.0), reach=max(FARTHEST_LOOK, 2.0 * _reach(place))).shift
    if shift is None or math.hypot(*shift) > max(FARTHEST_LOOK, 2.0 * _reach(place)):
        return ", nor one farther out" if not place.turn_free_deg else ""
    x, y = (length_text(w + s, unit, signed=True) for w, s in zip(wanted, shift, strict=True))
    away = length_text(math.hypot(*shift), unit)
    return (
        f"; the nearest that is lies {away} away, the reference at about X {x}, Y {y}: furthest would have to be more"
    )


def _half_pitch_words(freedom: Freedom, unit: Unit) -> list[str]:
    advice = half_pitch_advice(freedom, (0.0, 0.0))
    if advice is None:
        return []
    where = f"X {length_text(advice.shift[0], unit, signed=True)}, Y {length_text(advice.shift[1], unit, signed=True)}"
    verdict = "is allowed" if advice.allowed else "is not allowed either"
    return [
        (
            f"Half a pitch between the old holes ({where} from the wanted place) leaves a web of "
            f"{length_text(advice.web, unit)} and {verdict}."
        )
    ]


def _room_words(freedom: Freedom, shift: Point, unit: Unit) -> list[str]:
    names = {(1.0, 0.0): "+X", (-1.0, 0.0): "-X", (0.0, 1.0): "+Y", (0.0, -1.0): "-Y"}
    parts = []
    for extent in extents(freedom, shift):
        name = names.get((extent.direction[0] + 0.0, extent.direction[1] + 0.0), "")
        if not math.isfinite(extent.way):
            parts.append(f"{name} free")
        else:
            what = f" ({extent.binding.obstacle_name})" if extent.binding is not None else ""
            parts.append(f"{name} {length_text(extent.way, unit)}{what}")
    return [f"From there it could still move: {', '.join(parts)}."]


def _turn_words(freedom: Freedom, held: Point, held_at: str) -> list[str]:
    """Return how far the pattern may turn about its reference before something binds."""
    turns = free_turns(freedom, held)
    here = next((t for t in turns.free if t.holds(0.0)), None)
    if here is None:
        return []
    ways = []
    for angle, binding in ((here.high_deg, here.high_binding), (here.low_deg, here.low_binding)):
        what = f" ({binding.obstacle_name})" if binding is not None else ""
        ways.append("all the way round" if binding is None and abs(angle) >= 180.0 else f"{angle:+.2f} degrees{what}")
    return [f"Held at {held_at} it could turn {' and '.join(dict.fromkeys(ways))}."]


def _most_room(freedom: Freedom, place: Place | None) -> RoomiestShift | None:
    """Return the place with the most room within reach; ``None`` where nothing limits it or it would take long."""
    limits = len(freedom.discs.site) + sum(len(a.site) for a in freedom.areas)
    if place is None or not limits or limits > LARGEST_SEARCH or _free_direction(place) is not None:
        return None
    found = roomiest_within(freedom, _reach(place), most_cells=MOST_CELLS)
    return found if found.allowed else None


def _most_room_words(found: RoomiestShift, wanted: Point, unit: Unit) -> str:
    x, y = (length_text(w + s, unit, signed=True) for w, s in zip(wanted, found.shift, strict=True))
    tight = ", ".join(dict.fromkeys(b.obstacle_name for b in found.bindings[:3]))
    by = f" ({tight})" if tight else ""
    more = (
        f" No place within reach keeps them by more than {length_text(found.bound, unit)}." if found.gap > GAP else ""
    )
    return (
        f"Most room: the reference at X {x}, Y {y} keeps every limit that stops by "
        f"{length_text(found.margin, unit)}{by}.{more}"
    )


def _picture(
    freedom: Freedom, chosen: Point, place: Place | None, most_room: RoomiestShift | None
) -> FreedomPicture | None:
    if place is None or len(freedom.discs.site) > LARGEST_PICTURE * 1000 or len(freedom.sites) > 1000:
        return None
    reach = max(LEAST_WINDOW, WINDOW_SHARE * max(abs(chosen[0]), abs(chosen[1])))
    window = window_around((0.0, 0.0), reach)
    found = region(freedom, window)
    x0, y0, x1, y1 = window
    inside = most_room is not None and x0 <= most_room.shift[0] <= x1 and y0 <= most_room.shift[1] <= y1
    best = most_room.shift if most_room is not None and inside else None
    return FreedomPicture(window, found.forbidden, (0.0, 0.0), chosen, best)


def settle_all(job: Job, shifts: Mapping[str, Point], floors: Mapping[str, float], readout: Readout) -> Settled:
    """Return where every pattern of the part as given goes, one after the other in the order of the job.

    A pattern that is placed from another one comes after it, wherever it stands in the job. A pattern that was moved
    takes those along that are placed from it.
    """
    bodies = bodies_of(job, Placement())
    moved: dict[str, PlacedWork] = {}
    reports: dict[str, PlaceReport] = {}
    for pattern in _sources_first(job):
        sets = place_all(job, shifts, hand=Placement(), moved=moved)
        sites = all_sites(sets, recipes_of(job, sets, bodies, floors))
        around = Around(job, sets, sites, old_holes_by_set(job, sets, bodies), bodies)
        own, whole = sets.works[pattern.name], sets.whole[pattern.name]
        along = moved_along(
            job,
            pattern,
            sets,
            lambda way, whole=whole, name=pattern.name: place_all(  # type: ignore[misc]
                job, shifts, hand=Placement(), moved={**moved, name: whole.shifted(way)}
            ),
        )
        work, report = settle(around, pattern, along, readout)
        if work is not own:
            moved[pattern.name] = _as_moved(whole, own, work)
        reports[pattern.name] = report
    return Settled(moved, reports)


def _as_moved(whole: PlacedWork, before: PlacedWork, after: PlacedWork) -> PlacedWork:
    """Return a whole pattern moved as the holes of it that are drilled were."""
    here, there = before.pattern.part_from_pattern, after.pattern.part_from_pattern
    turn = there.turn_deg - here.turn_deg
    at, number = before.reference_hole, whole.reference_hole
    if not turn:
        (x0, y0), (x1, y1) = before.pattern.at(at), after.pattern.at(at)
        return whole.shifted((x1 - x0, y1 - y0))
    x0, y0 = whole.pattern.at(number)
    x1, y1 = (there @ here.inverse()).apply((x0, y0))
    return whole.shifted((x1 - x0, y1 - y0), turn)


def _sources_first(job: Job) -> list[Pattern]:
    """Return the patterns in the order of the job, each after the pattern that it is placed from."""
    by_name = {p.name: p for p in job.patterns}
    ordered: dict[str, Pattern] = {}

    def take(pattern: Pattern, waiting: tuple[str, ...]) -> None:
        start = pattern.place.moved.start if pattern.place is not None and pattern.place.moved is not None else None
        if start in by_name and start not in waiting:  # sets that refer to each other in a circle are refused later
            take(by_name[start], (*waiting, start))
        ordered.setdefault(pattern.name, pattern)

    for pattern in job.patterns:
        take(pattern, (pattern.name,))
    return list(ordered.values())
