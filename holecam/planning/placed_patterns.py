"""From the place of a pattern in the job to holes in the part frame, with what is known about how sure that is."""

from __future__ import annotations

import math
from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_hole import Pattern
from holecam.job.models_pattern import PatternShape
from holecam.job.models_place import Direction, FoundHole, Place
from holecam.layout.best_fit import BestFit, MeasuredHole, NoFit, best_fit
from holecam.layout.patterns import PatternPoints
from holecam.layout.placing import (
    MirrorLine,
    PlacedPattern,
    direction_of_edge,
    move_old_pattern,
    place_from_one,
    placed,
)
from holecam.layout.placing_findings import best_fit_findings, two_hole_finding
from holecam.layout.reference_doubt import (
    ReferenceDoubt,
    doubt_from_fit,
    doubt_from_one,
    doubt_from_two,
    standard_doubt,
)
from holecam.layout.two_holes import place_from_two
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding
from holecam.plan.hole_words import HoleText, own_number
from holecam.plan.reports import HoleResidual
from holecam.shapes import Placement, Point
from holecam.standards.position_methods import position_method

FURTHER_THAN_FOUND = 1.0
"""Holes farther out than the two reference holes are told about; beyond 1 times the baseline the doubt grows fast."""


SAME_SPACING = 0.001
"""mm. Points of two patterns that differ by no more are the same figures, written in inches or in millimetres."""


class ZeroDoubt(Struct, frozen=True):
    """How surely the zero of the readout lies on the datum: plus or minus ``half_width``, mm, and who says so."""

    half_width: float
    source: str


class PlacedWork(Struct, frozen=True):
    """A pattern in the part frame, before anything was checked.

    ``method`` names the way of placing, ``words`` say what a reader of the sheet has to know, ``doubt`` is ``None``
    where nothing was said about how the reference was found; ``findings`` what measured places say.
    """

    pattern: PlacedPattern
    method: str
    reference_hole: int
    words: tuple[str, ...]
    doubt: ReferenceDoubt | None = None
    misfit: float | None = None
    residuals: tuple[HoleResidual, ...] = ()
    findings: tuple[Finding, ...] = ()

    def shifted(self, shift: Point, turn_deg: float = 0.0) -> PlacedWork:
        """Return the same work moved by a shift, and turned about its reference hole."""
        at = self.pattern.at(self.reference_hole)
        motion = Placement(turn_deg, (at[0] + shift[0], at[1] + shift[1]), False, at)
        old = self.pattern
        moved = placed(old.pattern, motion @ old.part_from_pattern, reference=old.reference)
        if turn_deg == 0.0:  # one addition a coordinate: no noise from the pivot, spacing as it was
            points = tuple((x + shift[0], y + shift[1]) for x, y in old.points)
            moved = replace(moved, points=points)
        return replace(self, pattern=moved)


def place_pattern(
    shape: PatternShape,
    place: Place | None,
    points: PatternPoints,
    others: Mapping[str, PlacedPattern],
    shifts: Mapping[str, Point],
    unit: Unit,
    zero: ZeroDoubt | None = None,
    *,
    hole_text: HoleText = own_number,
) -> PlacedWork:
    """Return a pattern in the part frame.

    Parameters
    ----------
    shape, place : from the job
    points : PatternPoints
        The pattern in its own frame.
    others : mapping
        Patterns and old holes that are placed already.
    shifts : mapping
        Shifts that measured chains call for, by the chain's name.
    unit : {"in", "mm"}
        For the words.
    zero : ZeroDoubt or None
        Moves every pattern that is placed by coordinates. A pattern placed from holes found with the same zero keeps
        its place by them, whatever the zero is.
    hole_text : function
        Gives a hole of the pattern in words.

    Raises
    ------
    InputError
        A reference that is not there, or measurements that give no place.
    """
    if place is None:
        return PlacedWork(placed(points, Placement()), "part coordinates", points.numbers[0], ("Given on the part.",))
    if place.at is not None:
        return _from_one(place, points, _xy(place.at), unit, zero, hole_text)
    if place.centre is not None:
        return _from_centre(shape, place, points, unit, zero)
    if place.measured is not None:
        return _from_measured(place, place.measured, points, unit, hole_text)
    return _moved(shape, place, points, others, shifts, unit, zero)


def direction_deg_of(direction: Direction | None) -> float:
    """Return a direction of the job in degrees, anticlockwise from +X; none means +X."""
    if direction is None:
        return 0.0
    if direction.angle_deg is not None:
        return direction.angle_deg
    assert direction.start is not None
    assert direction.end is not None
    return direction_of_edge(_xy(direction.start), _xy(direction.end))


def _xy(pair: tuple[object, object]) -> Point:
    return (float(pair[0]), float(pair[1]))  # type: ignore[arg-type]


def half_width_of(found_by: str | None, within: object | None) -> tuple[float | None, str]:
    """Return the half-width of a doubt, mm, and where it comes from; ``None`` when nothing was said."""
    if within is not None:
        return float(within), "job file"  # type: ignore[arg-type]
    if found_by is not None:
        method = position_method(found_by)
        return method.half_width, f"{method.name}, {method.source}"
    return None, ""


def zero_doubt_of(job: Job) -> ZeroDoubt | None:
    """Return how surely the readout was zeroed on the datum; ``None`` when the job does not say."""
    half_width, source = half_width_of(job.setup.zero_found_by, job.setup.zero_within)
    return None if half_width is None else ZeroDoubt(half_width, source)


def _doubt_of(place: Place, zero: ZeroDoubt | None, unit: Unit) -> tuple[float | None, tuple[str, ...]]:
    """Return the standard doubt of a place given by coordinates, with that of the zero in it, and both in words."""
    half_width, source = half_width_of(place.found_by, place.within)
    if half_width is None:
        words = "How surely the reference was found is not said; the whole pattern sits off by as much as it was."
    else:
        most = length_text(half_width, unit)
        words = f"Spacing is exact; the whole pattern may sit off by up to {most} as one ({source})."
    if zero is None:
        return (None if half_width is None else standard_doubt(half_width)), (words,)
    both = math.hypot(standard_doubt(half_width or 0.0), standard_doubt(zero.half_width))
    added = f"The zero of X and Y adds up to {length_text(zero.half_width, unit)} to that ({zero.source})."
    return both, (words, added)


def _from_one(
    place: Place, points: PatternPoints, at: Point, unit: Unit, zero: ZeroDoubt | None, hole_text: HoleText
) -> PlacedWork:
    along = direction_deg_of(place.along)
    result = place_from_one(points, hole=place.hole, at=at, along_deg=along, mirror=place.mirror)
    u, doubt_words = _doubt_of(place, zero, unit)
    doubt = None if u is None else doubt_from_one(result, reference_at=at, along=u, across=u, along_deg=along)
    words = (
        (
            f"Placed from {hole_text(place.hole)} at X {length_text(at[0], unit, signed=True)}, "
            f"Y {length_text(at[1], unit, signed=True)}; the pattern runs at {along:g} degrees."
        ),
        *doubt_words,
    )
    return PlacedWork(result, "one reference hole", place.hole, words, doubt)


def _from_centre(
    shape: PatternShape, place: Place, points: PatternPoints, unit: Unit, zero: ZeroDoubt | None
) -> PlacedWork:
    assert place.centre is not None
    centre, along = _xy(place.centre), direction_deg_of(place.along)
    pivot = (0.0, 0.0)
    if points.origin != "centre of the circle" and shape.circle is None and shape.arc is None:
        xs, ys = [p[0] for p in points.points], [p[1] for p in points.points]
        pivot = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    turn = along + 180.0 if place.mirror else along
    result = placed(points, Placement(turn, centre, place.mirror, pivot))
    u, doubt_words = _doubt_of(place, zero, unit)
    doubt = None if u is None else doubt_from_one(result, reference_at=centre, along=u, across=u, along_deg=along)
    words = (
        (
            f"Placed by its centre at X {length_text(centre[0], unit, signed=True)}, "
            f"Y {length_text(centre[1], unit, signed=True)}; turned {along:g} degrees."
        ),
        *doubt_words,
    )
    return PlacedWork(result, "centre", points.numbers[0], words, doubt)


def _from_measured(
    place: Place, measured: tuple[FoundHole, ...], points: PatternPoints, unit: Unit, hole_text: HoleText
) -> PlacedWork:
    halves = [half_width_of(m.found_by or place.found_by, m.within or place.within)[0] for m in measured]
    if len(measured) == 2:
        return _from_two(place, measured, points, halves, unit, hole_text)
    if any(m.weight is not None for m in measured):
        # A weight is a say: 1 / u^2; holes without one count once
        holes = [MeasuredHole(m.hole, _xy(m.at), 1.0 / math.sqrt(m.weight or 1.0)) for m in measured]
    elif all(h is not None for h in halves):
        holes = [
            MeasuredHole(m.hole, _xy(m.at), standard_doubt(h) if h else None)
            for m, h in zip(measured, halves, strict=True)
        ]
    else:
        holes = [MeasuredHole(m.hole, _xy(m.at)) for m in measured]
    fit = best_fit(points, holes, mirror=place.mirror)
    if isinstance(fit, NoFit):
        raise InputError(f"place.measured: {fit.words}")
    doubt = _fit_doubt(fit, measured)
    words = (
        (
            f"Best fit to {len(measured)} measured holes, turned {fit.fit.motion.turn_deg:+.4f} degrees; the worst, "
            f"{hole_text(fit.worst.hole)}, is {length_text(fit.worst.size, unit)} from where it was found "
            f"(root mean square {length_text(fit.rms, unit)})."
        ),
        *fit.words,
        *both_doubts(doubt, unit, hole_text),
    )
    return PlacedWork(
        fit.placed,
        "best fit",
        measured[0].hole,
        words,
        doubt,
        residuals=fit.residuals,
        findings=best_fit_findings(fit, about="the place found by best fit", unit=unit, hole_text=hole_text),
    )


def both_doubts(doubt: ReferenceDoubt | None, unit: Unit, hole_text: HoleText = own_number) -> tuple[str, ...]:
    """Return in words how far a pattern may sit off as one, and what its doubtful turn adds at the farthest hole."""
    if doubt is None:
        return ()
    far = doubt.farthest
    text = (
        f"The pattern as one: {length_text(max(doubt.together_along, doubt.together_across), unit)}; its turn adds "
        f"{length_text(far.turning, unit)} at {hole_text(far.number)}, the farthest (both standard doubts)."
    )
    return (text,)


def _fit_doubt(fit: BestFit, measured: tuple[FoundHole, ...]) -> ReferenceDoubt | None:
    if any(m.weight is not None for m in measured):
        return None  # weights say which hole counts more, not how surely any was found
    return doubt_from_fit(fit)


def _from_two(
    place: Place,
    measured: tuple[FoundHole, ...],
    points: PatternPoints,
    halves: list[float | None],
    unit: Unit,
    hole_text: HoleText,
) -> PlacedWork:
    a, b = measured
    fit = place_from_two(
        points, first=a.hole, first_at=_xy(a.at), second=b.hole, second_at=_xy(b.at), hold="split", mirror=place.mirror
    )
    doubt = None
    if halves[0] is not None and halves[1] is not None:
        doubt = doubt_from_two(
            fit.placed,
            first_at=_xy(a.at),
            second_at=_xy(b.at),
            first=standard_doubt(halves[0]),
            second=standard_doubt(halves[1]),
            hold="split",
        )
    pitch = "" if fit.per_pitch is None else f", {length_text(fit.per_pitch, unit, signed=True)} a pitch"
    words = [
        (
            f"Placed on the line through {hole_text(a.hole)} and {hole_text(b.hole)} as found; their middles "
            f"coincide. They were found {length_text(fit.measured, unit)} apart and are "
            f"{length_text(fit.drawn, unit)} apart as drawn: "
            f"{length_text(fit.difference, unit, signed=True)}{pitch}. The spacing is kept as drawn."
        ),
    ]
    words += both_doubts(doubt, unit, hole_text)
    both = None if doubt is None else math.hypot(standard_doubt(halves[0] or 0.0), standard_doubt(halves[1] or 0.0))
    return PlacedWork(
        fit.placed,
        "two holes",
        a.hole,
        tuple(words),
        doubt,
        misfit=fit.difference,
        residuals=fit.residuals,
        findings=(
            two_hole_finding(fit, about="the place found from two holes", doubt=both, unit=unit, hole_text=hole_text),
        ),
    )


def _moved(
    shape: PatternShape,
    place: Place,
    points: PatternPoints,
    others: Mapping[str, PlacedPattern],
    shifts: Mapping[str, Point],
    unit: Unit,
    zero: ZeroDoubt | None,
) -> PlacedWork:
    move = place.moved
    assert move is not None
    if move.start not in others:
        raise InputError(
            f'moved.from = "{move.start}": expected the name of a pattern or of old holes placed before it'
        )
    source = others[move.start]
    stands = _standing(shape, points, source, move.start, unit)
    standing = replace(points, points=stands.apply_all(points.points))
    shift: Point = (0.0, 0.0)
    origin = "job file"
    if move.shift is not None:
        shift = _xy(move.shift)
    elif move.by is not None:
        if move.by not in shifts:
            raise InputError(f'moved.by = "{move.by}": this chain names no shift; see what holecam error says of it')
        shift, origin = shifts[move.by], f'chain "{move.by}"'
    number = move.about_hole or source.pattern.numbers[0]
    is_made = number in points.numbers  # a turn may go about a hole that this pattern leaves out
    pivot = _xy(move.about) if move.about is not None else standing.at(number) if is_made else source.at(number)
    number = number if is_made else points.numbers[0]
    mirror = None
    if move.mirror is not None:
        mirror = MirrorLine.at_x(pivot[0]) if move.mirror == "x" else MirrorLine.at_y(pivot[1])
    if (move.about is not None or not is_made) and (move.turn_deg or mirror):
        before = mirror.placement() if mirror else Placement()
        turning = Placement(move.turn_deg, (pivot[0] + shift[0], pivot[1] + shift[1]), False, pivot)
        result = placed(standing, turning @ before, reference=number)
    else:
        result = move_old_pattern(standing, shift=shift, turn_deg=move.turn_deg, about=number, mirror=mirror)
    # Its own points and the whole way of them, so that what is moved from this pattern finds them as the job has them
    result = replace(result, pattern=points, part_from_pattern=result.part_from_pattern @ stands)
    u, doubt_words = _doubt_of(place, zero, unit)
    doubt = None if u is None else doubt_from_one(result, reference_at=result.at(number), along=u, across=u)
    x, y = (length_text(v, unit, signed=True) for v in shift)
    parts = [f"shifted by X {x}, Y {y} ({origin})"]
    if move.turn_deg:
        parts.append(f"turned {move.turn_deg:+g} degrees")
    if move.mirror:
        parts.append(f"mirrored in {move.mirror}")
    words = (f'The holes "{move.start}", {", ".join(parts)}.', *doubt_words)
    return PlacedWork(result, "moved", number, words, doubt)


def _standing(shape: PatternShape, points: PatternPoints, old: PlacedPattern, start: str, unit: Unit) -> Placement:
    """Return the motion of a pattern that stands where other holes stand: hole n lies where theirs has n.

    Only the pattern's own holes count, and its ``off_centre``.

    Raises
    ------
    InputError
        The other holes have no hole of a number, or are spaced otherwise than the pattern: which of the two spacings
        is meant, only the user knows.
    """
    way_out = f'Write like = "{start}" in place of its own points, and leave_out for holes that are not made.'
    missing = [n for n in points.numbers if n not in old.pattern.numbers]
    if missing:
        raise InputError(f'moved.from = "{start}": it has no hole {missing[0]} to move. {way_out}')
    theirs = dict(old.pattern.holes())
    ways = [(x - theirs[n][0], y - theirs[n][1]) for n, (x, y) in points.holes()]
    spread = [math.hypot(x - ways[0][0], y - ways[0][1]) for x, y in ways]
    worst = max(range(len(spread)), key=spread.__getitem__)
    if spread[worst] > SAME_SPACING:
        raise InputError(
            f'moved.from = "{start}": its holes are spaced otherwise; hole {points.numbers[worst]} would lie '
            f"{length_text(spread[worst], unit)} from where the pattern's own spacing puts it. {way_out}"
        )
    off: Point = (0.0, 0.0)
    if shape.off_centre is not None and math.hypot(*ways[0]) > SAME_SPACING:
        off = old.part_from_pattern.apply_vector(_xy(shape.off_centre))
    there, way = old.part_from_pattern, ways[0]
    return replace(
        there,
        pivot=(there.pivot[0] + way[0], there.pivot[1] + way[1]),
        shift=(there.shift[0] + off[0], there.shift[1] + off[1]),
    )


def mirror_line(pattern: Pattern) -> MirrorLine:
    """Return the line across which a pattern is mirrored once more."""
    copy = pattern.mirror_copy
    if copy is None:
        raise InputError(f'pattern "{pattern.name}": expected mirror_copy')
    at = float(copy.line_at)
    return MirrorLine.at_x(at) if copy.across == "x" else MirrorLine.at_y(at)


def mirror_copy(work: PlacedWork, pattern: Pattern, unit: Unit) -> PlacedWork:
    """Return the pattern once more on the same part, mirrored across the line that the job names."""
    line = mirror_line(pattern)
    upright = pattern.mirror_copy is not None and pattern.mirror_copy.across == "x"
    at = length_text(line.through[0 if upright else 1], unit, signed=True)
    old = work.pattern
    result = placed(old.pattern, line.placement() @ old.part_from_pattern, reference=old.reference)
    words = (f'Mirrored from "{pattern.name}" across the line {"X" if upright else "Y"} {at}.',)
    return replace(work, pattern=result, method="mirrored copy", words=words)
