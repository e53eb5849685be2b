"""Where each pattern really goes: the wanted place when it is allowed, else what the job asks for instead."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping

import numpy as np
from msgspec import Struct

from holecam.job.models import Job
from holecam.job.models_hole import Pattern
from holecam.job.models_place import Place
from holecam.layout.freedom_field import Freedom, freedom_of
from holecam.layout.freedom_region import region
from holecam.layout.freedom_roomiest import RoomiestShift, window_around
from holecam.layout.spacing_sites import DrillSite
from holecam.layout.spacing_surroundings import OldHole, Surroundings
from holecam.plan.facts import Readout
from holecam.plan.finding import Severity
from holecam.plan.reports import FreedomPicture, PlaceReport
from holecam.planning.job_limits import limits_for
from holecam.planning.moved_along import MovedAlong, joint_freedom, moved_along
from holecam.planning.pattern_spacing import PatternSpacing, pattern_spacing, special_limits
from holecam.planning.place_search import FoundPlace, other_place, roomiest_place
from holecam.planning.place_words import (
    binding_text,
    half_pitch_words,
    most_room_words,
    named_holes,
    other_place_words,
    room_words,
    turn_words,
    why_not_words,
)
from holecam.planning.placed_patterns import PlacedWork
from holecam.planning.placed_sets import PlacedSets, place_all
from holecam.planning.surroundings import BodyFacts, keep_outs_of
from holecam.planning.workpieces import Recipes, bodies_of, old_holes_by_set, recipes_of
from holecam.shapes import Placement, Point
from holecam.shapes.curve_arrays import Floats, points_array

WINDOW_SHARE = 1.6
"""The picture reaches this much farther than the chosen shift or the least window, whichever is more."""

LEAST_WINDOW = 3.0
"""mm. Half width of the smallest picture of the freedom."""

LARGEST_PICTURE = 40
"""Holes times obstacles in thousands up to which the region is drawn; beyond it a picture says nothing."""


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
        words.append(why_not_words(freedom, pattern.name, job.unit))
        found, with_words = _place_for_all(around, pattern, along, alone, freedom, wanted, readout)
        words += other_place_words(pattern.place, found, freedom, wanted, job.unit)
        words += with_words if found is not None else []
        words += half_pitch_words(alone, job.unit)
        if found is not None and pattern.place is not None and pattern.place.when_blocked != "stop":
            chosen, turn = found.shift, found.turn_deg
    settled = work.shifted(chosen, turn) if chosen != (0.0, 0.0) or turn else work
    there = freedom.moved_to(_repeated(settled, freedom))
    at_shift = chosen
    if turn:  # the turned pattern has other limits; its own place is the new origin
        freedom, at_shift = there, (0.0, 0.0)
    if freedom.allowed(at_shift) and (freedom.discs.site.size or freedom.areas):
        words += room_words(freedom, at_shift, job.unit)
        if len(settled.pattern.points) > 1:
            held_at = around.sets.hole_text(pattern.name)(work.reference_hole)
            words += turn_words(there, settled.pattern.at(work.reference_hole), held_at)
    most_room = roomiest_place(freedom, pattern.place)
    if most_room is not None:
        words.append(most_room_words(most_room, wanted, job.unit))
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
        binding="" if meets else binding_text(freedom.binding(at_shift), job.unit),
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
) -> tuple[FoundPlace | None, list[str]]:
    """Return another place, best one at which all that goes along keeps its limits too, and what to say of that."""
    moving = {pattern.name, *(o.name for o in along)}
    bound = [o for o in along if not o.is_copy and not o.free_itself]
    copies = [o for o in along if o.is_copy]
    kept = [f"There {named_holes(copies + bound)} keep their limits too."] if copies + bound else []
    if bound:
        found = other_place(pattern.place, around.with_others(alone, copies + bound, moving), wanted, readout)
        if found is not None and not found.turn_deg:
            return found, kept
        kept = [f"No place within reach suits {named_holes(bound)}, placed from it, as well."]
    return other_place(pattern.place, freedom, wanted, readout), kept


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
