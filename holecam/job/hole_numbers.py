"""Hole numbers, sides of outlines and chains of moves that only the whole job can judge."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from holecam.job.faults import Fault
from holecam.job.models import Job
from holecam.job.models_hole import OldHoles, Pattern
from holecam.job.models_pattern import PatternShape
from holecam.job.models_place import Place
from holecam.job.models_shape import RegionModel
from holecam.job.positions import Path
from holecam.job.references import plain

Sets = dict[str, Pattern | OldHoles]


def hole_number_faults(job: Job) -> list[Fault]:
    """Return every hole number that its pattern does not have, and every chain of patterns that bites its tail."""
    return list(chain(_patterns(job), _old_holes(job), _mates(job), _stops(job)))


def _sets(job: Job) -> Sets:
    found: Sets = {plain(old.name): old for old in job.old_holes}
    found.update({plain(pattern.name): pattern for pattern in job.patterns})
    return found


def hole_count(shape: PatternShape, job: Job) -> int | None:
    """Return how many holes a pattern numbers, following ``like``; None where a drawing or a line decides."""
    sets = _sets(job)
    for _ in range(len(sets) + 1):
        if shape.like is None:
            return shape.known_count
        if plain(shape.like) not in sets:
            return None
        shape = sets[plain(shape.like)]
    return None


def _goes_round(name: str, following: dict[str, str]) -> bool:
    """Return whether following names from one leads back to it."""
    here = following.get(plain(name))
    for _ in range(len(following) + 1):
        if here is None:
            return False
        if here == plain(name):
            return True
        here = following.get(here)
    return False


def _likes(job: Job) -> dict[str, str]:
    return {name: plain(s.like) for name, s in _sets(job).items() if s.like is not None}


def _moves(job: Job) -> dict[str, str]:
    found = {}
    for name, holes in _sets(job).items():
        if holes.place is not None and holes.place.moved is not None:
            found[name] = plain(holes.place.moved.start)
    return found


def _shape(path: Path, shape: PatternShape, job: Job, body: str | None) -> Iterator[Fault]:
    if shape.like is not None:
        count = hole_count(shape, job)
        if count is not None and any(n > count for n in shape.leave_out):
            yield Fault((*path, "leave_out"), f"hole numbers from 1 to {count}", f'"{shape.like}" has no others.')
    if shape.along is not None and shape.along.edge is not None:
        yield from _edge((*path, "along", "edge"), shape.along.edge, job, body)


def _edge(path: Path, numbers: tuple[int, ...], job: Job, body: str | None) -> Iterator[Fault]:
    bodies = {plain(b.name): b for b in job.bodies}
    owner = job.part if body is None else bodies.get(plain(body))
    if owner is None:
        return
    if owner.outline is None:
        yield Fault(path, "a body with an outline", "Add outline = { ... } to it, or give a path.")
        return
    sides = _sides(owner.outline)
    if sides is not None and any(n > sides for n in numbers):
        yield Fault(path, f"numbers of sides from 1 to {sides}", "They are counted in the order of the outline.")


def _sides(region: RegionModel) -> int | None:
    if region.rectangle is not None:
        return 4
    if region.circle is not None:
        return 1
    return len(region.points) if region.points is not None else None


def _round(path: Path, holes: Pattern | OldHoles, job: Job) -> Iterator[Fault]:
    if holes.like is not None and plain(holes.like) != plain(holes.name) and _goes_round(holes.name, _likes(job)):
        yield Fault((*path, "like"), "a pattern with points of its own", "These names lead round in a circle.")
    moved = holes.place.moved if holes.place is not None else None
    if moved is not None and plain(moved.start) != plain(holes.name) and _goes_round(holes.name, _moves(job)):
        yield Fault((*path, "place", "moved", "from"), "holes that stay put", "These moves lead round in a circle.")


def _place(path: Path, place: Place | None, count: int | None) -> Iterator[Fault]:
    if place is None or count is None:
        return
    if place.at is not None and place.hole > count:
        yield Fault((*path, "hole"), f"a hole number from 1 to {count}", f"There is no hole {place.hole}.")
    for n, found in enumerate(place.measured or ()):
        if found.hole > count:
            here: Path = (*path, "measured", n, "hole")
            yield Fault(here, f"a hole number from 1 to {count}", f"There is no hole {found.hole}.")
    about = place.moved.about_hole if place.moved is not None else None
    if about is not None and about > count:
        where: Path = (*path, "moved", "about_hole")
        yield Fault(where, f"a hole number from 1 to {count}", f"There is no hole {about}.")


def _moved(path: Path, shape: PatternShape, place: Place | None, job: Job) -> Iterator[Fault]:
    """Yield a move of holes that the other set does not have: hole n goes where its hole n goes."""
    moved = None if place is None else place.moved
    other = None if moved is None else _sets(job).get(plain(moved.start))
    count, theirs = hole_count(shape, job), None if other is None else hole_count(other, job)
    if moved is not None and count is not None and theirs is not None and shape.like is None:
        left_out = set(shape.leave_out)
        missing = [n for n in range(theirs + 1, count + 1) if n not in left_out]
        if missing:
            hint = (
                f'Write like = "{moved.start}" in place of its own points, and leave_out for holes that are not made.'
            )
            expected = f"holes that are there to be moved, 1 to {theirs}: there is no hole {missing[0]}"
            yield Fault((*path, "moved", "from"), expected, hint)


def _one_place(path: Path, shape: PatternShape) -> Iterator[Fault]:
    """Yield a listed point that stands twice: one was copied and not changed."""
    seen: dict[object, int] = {}
    left_out = set(shape.leave_out)
    for n, point in enumerate(shape.points or ()):
        if point in seen and not {n + 1, seen[point] + 1} & left_out:
            yield Fault((*path, "points", n), "every hole once", f"Hole {seen[point] + 1} lies in the same place.")
        seen.setdefault(point, n)


def _patterns(job: Job) -> Iterator[Fault]:
    for n, pattern in enumerate(job.patterns):
        path: Path = ("pattern", n)
        count = hole_count(pattern, job)
        yield from _shape(path, pattern, job, pattern.body)
        yield from _round(path, pattern, job)
        yield from _place((*path, "place"), pattern.place, count)
        for m, candidate in enumerate(pattern.candidates):
            yield from _place((*path, "candidate", m, "place"), candidate.place, count)
        yield from _moved((*path, "place"), pattern, pattern.place, job)
        yield from _one_place(path, pattern)
        if count is not None and any(number > count for number in pattern.only):
            yield Fault((*path, "only"), f"hole numbers from 1 to {count}")


def _old_holes(job: Job) -> Iterator[Fault]:
    for n, old in enumerate(job.old_holes):
        path: Path = ("old_holes", n)
        yield from _shape(path, old, job, old.body)
        yield from _round(path, old, job)
        yield from _place((*path, "place"), old.place, hole_count(old, job))
        yield from _one_place(path, old)


def _mates(job: Job) -> Iterator[Fault]:
    patterns = {plain(p.name): p for p in job.patterns}
    for n, mate in enumerate(job.mates):
        path: Path = ("mate", n)
        count = hole_count(mate.holes, job)
        yield from _shape((*path, "holes"), mate.holes, job, None)
        yield from _place((*path, "holes", "place"), mate.holes.place, count)
        pattern = patterns.get(plain(mate.pattern))
        screws = hole_count(pattern, job) if pattern is not None else None
        if pattern is not None and pattern.thread is not None and mate.holes.thread is not None:
            hint = f'"{pattern.name}" is tapped too: such a screw would hold the pieces apart.'
            yield Fault((*path, "holes", "thread"), "a thread in one of the two pieces, clearance in the other", hint)
        if pattern is not None and screws is not None and count is not None and screws > count:
            expected = f'a hole for each of the {screws} screws of "{pattern.name}"'
            yield Fault((*path, "holes"), expected, f"It has {count}; they are numbered as the screws are.")
        numbers = [m.hole for m in mate.measured]
        for m, measured in enumerate(mate.measured):
            here: Path = (*path, "measured", m, "hole")
            if count is not None and measured.hole > count:
                yield Fault(here, f"a hole number from 1 to {count}", f"There is no hole {measured.hole}.")
            if measured.hole in numbers[:m]:
                yield Fault(here, "each hole once", f"Hole {measured.hole} is there twice.")


def _stops(job: Job) -> Iterator[Fault]:
    """Yield keep-outs and cutters that a cut names and that are not there for it."""
    keep_outs = {plain(k.name): k for k in job.keep_outs}
    for n, slot in enumerate(job.slots):
        for m, end in enumerate(slot.ends):
            keep_out = keep_outs.get(plain(end.stop_short or ""))
            if keep_out is not None and plain(keep_out.body or "") != plain(slot.body or ""):
                where: Path = ("slot", n, "ends", m, "stop_short")
                owner = f'"{keep_out.body}"' if keep_out.body else "the part"
                yield Fault(where, "a keep-out on the same body", f"It lies on {owner}.", f'"{end.stop_short}"')
    for path, name in _cutters(job):
        names = [c.name for c in job.tools.end_mills]
        if plain(name) not in {plain(k) for k in names}:
            there = "There is " + ", ".join(f'"{k}"' for k in names[:8]) + "." if names else ""
            hint = there or f'List it under [tools]: end_mills = [{{ name = "{name}", diameter = "..." }}].'
            yield Fault(path, "the name of a cutter under [tools] end_mills", hint, f'"{name}"')


def _cutters(job: Job) -> Iterator[tuple[Path, str]]:
    for n, slot in enumerate(job.slots):
        yield from ((("slot", n, "cutter", m), name) for m, name in enumerate(slot.cutters))
    for n, pocket in enumerate(job.pockets):
        yield from ((("pocket", n, "cutter", m), name) for m, name in enumerate(pocket.cutters))
        if pocket.second_cutter is not None:
            yield ("pocket", n, "second_cutter"), pocket.second_cutter
    for n, step_down in enumerate(job.step_downs):
        if step_down.cutter is not None:
            yield ("step_down", n, "cutter"), step_down.cutter
