"""What moves along with a pattern: its mirrored copy, and patterns that are placed from it.

Such holes lie at ``p + L t`` when the pattern is shifted by ``t``; ``L`` is a turn or a mirroring. Taken back by that
motion, they lie at ``p'`` and move by ``t`` like the pattern's own, and so does all that they have to keep from. So
one search looks after all of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from holecam.job.models import Job
from holecam.job.models_hole import Pattern
from holecam.layout.freedom_field import Freedom, freedom_of, together
from holecam.layout.spacing_compare import web_needed
from holecam.layout.spacing_rules import SpacingLimits
from holecam.layout.spacing_sites import DrillSite
from holecam.layout.spacing_surroundings import KeepOut, Surroundings
from holecam.plan.finding import Severity
from holecam.planning.job_limits import limits_for
from holecam.planning.pattern_spacing import special_limits
from holecam.planning.placed_patterns import mirror_line
from holecam.planning.placed_sets import PlacedSets
from holecam.planning.surroundings import BodyFacts
from holecam.shapes import Circle, Curve, Outline, Placement, Point, Segment

SAME_WAY = 1e-6
"""mm in a shift of 1 mm. A set that moves by less does not follow the pattern."""

LINE_REACHES = 1000.0
"""mm beyond the pattern, to both sides, that its mirror line is drawn: farther than any shift that is looked for."""

MIRROR_LINE = "the line across which it is mirrored"


class MovedAlong(Struct, frozen=True):
    """A set of holes that goes along when a pattern is shifted.

    Parameters
    ----------
    name : str
        Of the work: a mirrored copy, or a pattern that is placed from the moved one.
    back : Placement
        Carries its holes and what surrounds them to where their shift is that of the pattern.
    is_copy : bool
        Whether it is the pattern's own mirrored copy.
    free_itself : bool
        Whether the job lets it look for a place of its own; its limits then do not bind the pattern.
    """

    name: str
    back: Placement
    is_copy: bool
    free_itself: bool


def moved_along(
    job: Job, pattern: Pattern, sets: PlacedSets, shifted: Callable[[Point], PlacedSets]
) -> list[MovedAlong]:
    """Return every set that goes along with a pattern; ``shifted`` gives all sets with the pattern shifted."""
    by_x, by_y = shifted((1.0, 0.0)), shifted((0.0, 1.0))
    found = []
    for name, work in sets.works.items():
        if name == pattern.name:
            continue
        here = work.pattern.points[0]
        there = [s.works[name].pattern.points[0] for s in (by_x, by_y)]
        ways = [(x - here[0], y - here[1]) for x, y in there]
        if max(math.hypot(*way) for way in ways) < SAME_WAY:
            continue
        own = sets.pattern_of[name] == pattern.name
        base = job.pattern(sets.pattern_of[name])
        back = mirror_line(base).placement() if own else _motion(ways[0], ways[1]).inverse()
        free = not own and base.place is not None and base.place.when_blocked != "stop"
        found.append(MovedAlong(name, back, own, free))
    return found


def _motion(x_goes: Point, y_goes: Point) -> Placement:
    """Return the turn or mirroring that carries the unit steps along X and Y to these."""
    mirror = x_goes[0] * y_goes[1] - x_goes[1] * y_goes[0] < 0.0
    turn = math.degrees(math.atan2(-y_goes[0], y_goes[1]))
    return Placement(round(turn, 9), mirror=mirror)


def taken_back(around: Surroundings, back: Placement) -> Surroundings:
    """Return the surroundings of holes that move along, carried to where those holes move as the pattern does."""
    part = around.part
    return Surroundings(
        part=replace(
            part,
            outline=None if part.outline is None else back.apply_outline(part.outline).counterclockwise(),
            openings=tuple(back.apply_outline(o).counterclockwise() for o in part.openings),
        ),
        old_holes=tuple(replace(h, center=back.apply(h.center)) for h in around.old_holes),
        keep_outs=tuple(replace(k, shape=_shape_back(k, back)) for k in around.keep_outs),
        standing_sites=tuple(replace(s, center=back.apply(s.center)) for s in around.standing_sites),
    )


def _shape_back(keep_out: KeepOut, back: Placement) -> Outline | Circle | tuple[Curve, ...]:
    shape = keep_out.shape
    if isinstance(shape, Outline):
        return back.apply_outline(shape).counterclockwise()
    if isinstance(shape, Circle):
        return back.apply_circle(shape)
    return tuple(back.apply_curve(c) for c in shape)


def joint_freedom(
    job: Job,
    own: Freedom,
    others: Sequence[MovedAlong],
    sites: Mapping[str, tuple[DrillSite, ...]],
    surroundings: Callable[[str], Surroundings],
    facts: Callable[[str], BodyFacts],
    pattern_of: Mapping[str, str],
) -> Freedom:
    """Return the limits of a pattern together with those of the sets that go along with it, at level ``STOP``.

    Parameters
    ----------
    own : Freedom
        Of the pattern itself, against what stands still.
    others : sequence of MovedAlong
    sites : mapping
        The holes of every work.
    surroundings, facts : functions of a work's name
        What stands still around it, and the body that it is drilled in.
    pattern_of : mapping
        As in the placed sets.
    """
    parts = []
    for other in others:
        name = pattern_of[other.name]
        around, body = surroundings(other.name), facts(other.name)
        moving = tuple(replace(s, center=other.back.apply(s.center)) for s in sites[other.name])
        limits = limits_for(job, name, body)
        between = special_limits(job, name, around, body, pattern_of)
        parts.append(freedom_of(moving, taken_back(around, other.back), limits, level=Severity.STOP, between=between))
        if other.is_copy:
            parts.append(_from_its_copy(own.sites, own.limits, other.back, own.thickness))
    return together(own, *parts)


def _from_its_copy(
    sites: tuple[DrillSite, ...], limits: SpacingLimits, mirror: Placement, thickness: float | None
) -> Freedom:
    """Return what keeps holes and their mirrored twins apart: half the web of two from the line between them."""
    widest = np.array([max(s.profile.largest_radius for s in sites)])
    web = max(limits.touching, float(web_needed(widest, widest, limits, thickness=thickness)[2][0]))
    upright = abs(mirror.apply_vector((0.0, 1.0))[1]) > 0.5 and mirror.apply_vector((0.0, 1.0))[1] > 0.0
    (x, y), axis = mirror.pivot, 1 if upright else 0
    low = min(s.center[axis] for s in sites) - LINE_REACHES
    high = max(s.center[axis] for s in sites) + LINE_REACHES
    line = Segment((x, low), (x, high)) if upright else Segment((low, y), (high, y))
    keep_off = KeepOut(MIRROR_LINE, "keep-out", (line,), margin=web / 2.0)
    return freedom_of(sites, Surroundings(keep_outs=(keep_off,)), limits, level=Severity.STOP)
