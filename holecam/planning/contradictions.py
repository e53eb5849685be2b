"""What in a job does not go together, though each figure by itself could be meant; nothing else would show it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import chain

from holecam.job.drawings import read_drawing
from holecam.job.hole_numbers import hole_count
from holecam.job.models import Job
from holecam.job.models_pattern import PatternShape
from holecam.layout.spacing_surroundings import OldHole
from holecam.lengths import length_text
from holecam.plan.finding import Finding, Severity
from holecam.plan.hole_words import numbers_text
from holecam.planning.placed_sets import PlacedSets
from holecam.planning.surroundings import BodyFacts
from holecam.standards.drill_names import parse_drill

SAME_CIRCLE = 0.01
"""mm. Circles of a drawing whose diameters differ by less are of one size."""

MOST_TOLD = 8
"""Hole numbers, or sizes of circles, that one message lists."""

NO_SET = "other"
"""The set of a drill that no table has."""


def contradictions(
    job: Job,
    sets: PlacedSets,
    old: Mapping[str, tuple[OldHole, ...]],
    bodies: Mapping[str | None, BodyFacts],
) -> list[Finding]:
    """Return what cannot all be meant: old holes off the part, holes that meet no screw, circles of several sizes."""
    return [*_old_holes(job, old, bodies), *_mates(job, sets), *_drawn(job), *_drills(job)]


def _old_holes(
    job: Job, old: Mapping[str, tuple[OldHole, ...]], bodies: Mapping[str | None, BodyFacts]
) -> Iterator[Finding]:
    for holes in job.old_holes:
        outline = bodies[holes.body].outline
        if outline is None:
            continue
        beyond = [(hole, -outline.inside_by(hole.center)) for hole in old[holes.name]]
        off = [(hole, away) for hole, away in beyond if away > hole.radius]
        if not off:
            continue
        worst, away = max(off, key=lambda each: each[1])
        yield Finding(
            "old-hole-off-part",
            Severity.CAUTION,
            f'old holes "{holes.name}"',
            f"{len(off)} of {len(beyond)} lie beyond the edge of the part, {worst.label} by "
            f"{length_text(away, job.unit)}: no check keeps a new hole away from where they really are.",
            away,
            0.0,
            source="outline of the part",
            remedy="Check their X and Y, sign and hand.",
        )


def _mates(job: Job, sets: PlacedSets) -> Iterator[Finding]:
    for mate in job.mates:
        screws = hole_count(job.pattern(sets.pattern_of[mate.pattern]), job)
        count = hole_count(mate.holes, job)
        if screws is None or count is None:
            continue
        left_out = set(mate.holes.leave_out)
        idle = [n for n in range(screws + 1, count + 1) if n not in left_out]
        if idle:
            yield Finding(
                "mate-holes-over",
                Severity.CAUTION,
                f'pattern "{mate.pattern}" on mate "{mate.name}"',
                f'"{mate.name}" has {count} holes, and "{mate.pattern}" {screws}: {_told(idle)} of the mate '
                f"{'meets' if len(idle) == 1 else 'meet'} no screw.",
                float(count),
                float(screws),
                "1",
                "job file",
                "Count the holes of both again; name under leave_out those of the mate that stay empty.",
            )


def _told(numbers: list[int]) -> str:
    return numbers_text(numbers) if len(numbers) <= MOST_TOLD else f"{numbers[0]} to {numbers[-1]}"


def _drawn(job: Job) -> Iterator[Finding]:
    shapes: chain[tuple[str, PatternShape]] = chain(
        ((f'pattern "{p.name}"', p) for p in job.patterns),
        ((f'old holes "{h.name}"', h) for h in job.old_holes),
        ((f'mate "{m.name}"', m.holes) for m in job.mates),
    )
    for about, shape in shapes:
        drawing = shape.drawing
        if drawing is None or drawing.diameter is not None:
            continue
        circles = read_drawing(drawing, folder=job.source.folder).circles
        sizes = Counter(round(2 * c.radius / SAME_CIRCLE) for c in circles)
        if len(sizes) > 1:
            told = ", ".join(
                f"{number} of {length_text(size * SAME_CIRCLE, job.unit)}"
                for size, number in sorted(sizes.items())[:MOST_TOLD]
            )
            yield Finding(
                "drawn-circles-differ",
                Severity.CAUTION,
                about,
                f'The circles of "{drawing.file}" are of several sizes, {told}, and a hole is made at each of them.',
                source="drawing",
                remedy="Name the size that is meant with diameter, or a layer that holds nothing else.",
            )


def _drills(job: Job) -> Iterator[Finding]:
    owned = {drill.nanometres for drill in job.owned_drills}
    for pattern in job.patterns:
        for name in (pattern.drill, pattern.tap.drill if pattern.tap is not None else None):
            if name is None:
                continue
            drill = parse_drill(name, unit=job.unit)
            if drill.set_name == NO_SET and drill.nanometres not in owned:
                yield Finding(
                    "no-such-drill",
                    Severity.CAUTION,
                    f'pattern "{pattern.name}"',
                    f'"{name}" is in no set of drills, and [tools] drills does not list it.',
                    source="job file",
                    remedy="Look at the digits; list the drill under [tools] drills if it is there.",
                )
