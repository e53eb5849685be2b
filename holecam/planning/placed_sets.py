"""All patterns and old holes of a job in the part frame, whatever order they refer to each other in."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from holecam.errors import InputError
from holecam.job.models import Job
from holecam.job.models_hole import OldHoles, Pattern
from holecam.layout.patterns import PatternPoints
from holecam.layout.placing import PlacedPattern
from holecam.plan.hole_words import HoleText, hole_words, own_number
from holecam.planning.placed_patterns import PlacedWork, mirror_copy, place_pattern, zero_doubt_of
from holecam.planning.points import Known, pattern_points
from holecam.shapes import Placement, Point


class PlacedSets(Struct, frozen=True):
    """Every set by name: its points in its own frame, and its place.

    ``works`` holds patterns (mirrored copies included, under their own names) in the order of the job, ``old`` the old
    holes. ``pattern_of`` names the pattern of the job that a work came from. ``whole`` has the patterns of the job with
    the holes too that are not drilled this time (``only``): others may be placed from them.
    """

    works: Mapping[str, PlacedWork]
    old: Mapping[str, PlacedWork]
    points: Mapping[str, PatternPoints]
    pattern_of: Mapping[str, str]
    whole: Mapping[str, PlacedWork]

    def hole_text(self, name: str) -> HoleText:
        """Return the words for a hole of a pattern by its number in it: the number on the sheet, and both."""
        return _hole_text(name, _sheet_numbers({n: w.pattern.pattern.numbers for n, w in self.works.items()}))


def _sheet_numbers(numbers: Mapping[str, tuple[int, ...]]) -> dict[tuple[str, int], int]:
    """Return what each hole is numbered on the sheet: all works counted through from 1, in the order of the job."""
    every = [(name, n) for name, own in numbers.items() for n in own]
    return {hole: k for k, hole in enumerate(every, start=1)}


def _hole_text(name: str, on_sheet: Mapping[tuple[str, int], int]) -> HoleText:
    def text(number: int) -> str:
        found = on_sheet.get((name, number))
        if found is None:
            return f'hole {number} of "{name}", which is not drilled,'
        return hole_words(found, name, number)

    return text


class _Resolver(Struct):
    job: Job
    shifts: Mapping[str, Point]
    moved: Mapping[str, PlacedWork]
    points: dict[str, PatternPoints] = field(default_factory=dict)
    works: dict[str, PlacedWork] = field(default_factory=dict)
    busy: list[str] = field(default_factory=list)
    on_sheet: dict[tuple[str, int], int] = field(default_factory=dict)

    def number_holes(self) -> None:
        """Number the holes as the sheet does, before any is placed."""
        numbers: dict[str, tuple[int, ...]] = {}
        for pattern in self.job.patterns:
            own = self.points_of(pattern.name).numbers
            made = tuple(n for n in own if not pattern.only or n in pattern.only)
            numbers[pattern.name] = made
            if pattern.mirror_copy is not None:
                numbers[copy_name(pattern)] = made
        self.on_sheet.update(_sheet_numbers(numbers))

    def find(self, name: str) -> Pattern | OldHoles:
        sets: tuple[Pattern | OldHoles, ...] = (*self.job.patterns, *self.job.old_holes)
        for candidate in sets:
            if candidate.name == name:
                return candidate
        raise InputError(f'"{name}": expected the name of a pattern or of old holes')

    def points_of(self, name: str) -> PatternPoints:
        if name not in self.points:
            shape = self.find(name)
            with _busy(self.busy, name):
                if shape.like is not None:
                    self.points_of(shape.like)
                self.points[name] = pattern_points(self.job, shape, Known(self.points, {}), body=shape.body)
        return self.points[name]

    def work_of(self, name: str) -> PlacedWork:
        if name in self.moved:
            return self.moved[name]
        if name not in self.works:
            shape = self.find(name)
            points = self.points_of(name)
            others: dict[str, PlacedPattern] = {}
            if shape.place is not None and shape.place.moved is not None:
                with _busy(self.busy, name):
                    start = shape.place.moved.start
                    others[start] = self.work_of(start).pattern
            try:
                work = place_pattern(
                    shape,
                    shape.place,
                    points,
                    others,
                    self.shifts,
                    self.job.unit,
                    zero_doubt_of(self.job),
                    hole_text=_hole_text(name, self.on_sheet) if isinstance(shape, Pattern) else own_number,
                )
            except InputError as error:
                about = "pattern" if isinstance(shape, Pattern) else "old holes"
                raise InputError(f'{about} "{name}": {error.message}', key=error.key, value=error.value) from error
            self.works[name] = work
        return self.works[name]


class _busy:  # noqa: N801  (a context manager used like a function)
    """Refuse sets that refer to each other in a circle."""

    def __init__(self, names: list[str], name: str) -> None:
        self.names, self.name = names, name

    def __enter__(self) -> None:
        if self.name in self.names:
            raise InputError(f'"{self.name}": its place depends on itself; give one of these sets a place of its own')
        self.names.append(self.name)

    def __exit__(self, *_: object) -> None:
        self.names.remove(self.name)


def place_all(
    job: Job, shifts: Mapping[str, Point], *, hand: Placement, moved: Mapping[str, PlacedWork] | None = None
) -> PlacedSets:
    """Return every pattern and every set of old holes in the part frame.

    Parameters
    ----------
    job : Job
    shifts : mapping
        Shifts that measured chains call for, by the chain's name.
    hand : Placement
        Mirror motion for the other hand of a pair; the plain motion for the part as given.
    moved : mapping, optional
        Patterns whose place was changed because the wanted one is not allowed, in the frame of the part as given.

    Raises
    ------
    InputError
        Sets that refer to each other in a circle, or a place that cannot be worked out.
    """
    resolver = _Resolver(job, shifts, moved or {})
    resolver.number_holes()
    works: dict[str, PlacedWork] = {}
    whole: dict[str, PlacedWork] = {}
    pattern_of: dict[str, str] = {}
    for pattern in job.patterns:
        work = whole[pattern.name] = resolver.work_of(pattern.name)
        if pattern.only:
            left_out = [n for n in work.pattern.pattern.numbers if n not in pattern.only]
            work = _without(work, left_out)
        works[pattern.name] = work
        pattern_of[pattern.name] = pattern.name
        if pattern.mirror_copy is not None:
            name = copy_name(pattern)
            works[name] = mirror_copy(work, pattern, job.unit)
            pattern_of[name] = pattern.name
    old = {holes.name: resolver.work_of(holes.name) for holes in job.old_holes}
    return PlacedSets(
        works={n: _in_hand(w, hand) for n, w in works.items()},
        old={n: _in_hand(w, hand) for n, w in old.items()},
        points=dict(resolver.points),
        pattern_of=pattern_of,
        whole={n: _in_hand(w, hand) for n, w in whole.items()},
    )


def copy_name(pattern: Pattern) -> str:
    """Return the name of a pattern's mirrored copy."""
    stated = None if pattern.mirror_copy is None else pattern.mirror_copy.name
    return stated or f"{pattern.name} mirrored"


def _without(work: PlacedWork, numbers: list[int]) -> PlacedWork:
    if not numbers:
        return work
    kept = work.pattern.pattern.without(numbers)
    points = tuple(work.pattern.at(n) for n in kept.numbers)
    reference = work.reference_hole if work.reference_hole in kept.numbers else kept.numbers[0]
    placed = replace(work.pattern, pattern=kept, points=points, reference=None)
    return replace(work, pattern=placed, reference_hole=reference)


def _in_hand(work: PlacedWork, hand: Placement) -> PlacedWork:
    if not hand.mirror:
        return work
    old = work.pattern
    mirrored = replace(
        old, part_from_pattern=hand @ old.part_from_pattern, points=tuple(hand.apply(p) for p in old.points)
    )
    words = ("Mirror image of the part as given: one coordinate has the other sign, the hole numbers stay.",)
    return replace(work, pattern=mirrored, words=words)
