"""Names that tables of a job use for each other: every name leads somewhere, no two things share one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain

from holecam.job.faults import Fault, nearest
from holecam.job.models import ChainFile, Job
from holecam.job.models_hole import OldHoles, Pattern
from holecam.job.models_pattern import PatternShape
from holecam.job.models_place import Place
from holecam.job.models_shape import RegionModel
from holecam.job.positions import Path


def reference_faults(job: Job | ChainFile) -> list[Fault]:
    """Return every name that is used twice or leads nowhere, and every hole number that its pattern does not have."""
    if isinstance(job, ChainFile):
        return list(_twice(_named("chain", job.chains), "chain"))
    return list(
        chain(
            _names_once(job),
            _patterns(job),
            _old_holes(job),
            _mates(job),
            _keep_outs(job),
            _cuts(job),
            _step_downs(job),
            _limits(job),
        )
    )


Named = list[tuple[Path, str]]


def _plain(name: str) -> str:
    """Return a name as it is compared: capitals and blanks do not make two names of one."""
    return " ".join(name.casefold().split())


def _named(table: str, things: Iterable[object]) -> Named:
    return [((table, n, "name"), str(getattr(thing, "name"))) for n, thing in enumerate(things)]  # noqa: B009


def _twice(names: Named, what: str) -> Iterator[Fault]:
    first: dict[str, Path] = {}
    for path, name in names:
        if _plain(name) in first:
            where = first[_plain(name)]
            said = f"{where[0]} {int(where[1]) + 1}" if len(where) > 1 else ""
            yield Fault(path, f"a different name for each {what}", f'"{name}" names {said} too.', f'"{name}"')
        else:
            first[_plain(name)] = path


def _names_once(job: Job) -> Iterator[Fault]:
    copies: Named = [
        (("pattern", n, "mirror_copy", "name"), p.mirror_copy.name)
        for n, p in enumerate(job.patterns)
        if p.mirror_copy is not None and p.mirror_copy.name
    ]
    holes = [*_named("pattern", job.patterns), *copies, *_named("old_holes", job.old_holes)]
    yield from _twice(holes, "pattern and set of old holes")
    cuts = [
        *_named("slot", job.slots),
        *_named("pocket", job.pockets),
        *_named("step_down", job.step_downs),
    ]
    yield from _twice(cuts, "slot, pocket and step-down")
    yield from _twice(_named("body", job.bodies), "body")
    yield from _twice(_named("keep_out", job.keep_outs), "keep-out")
    yield from _twice(_named("chain", job.chains), "chain")
    yield from _twice(_named("marking_out", job.marking_out), "marking-out")


def _unknown(path: Path, name: str, known: Iterable[str], what: str, *, none: str = "") -> Iterator[Fault]:
    """Yield a fault when the name is not among the known ones."""
    names = list(known)
    if _plain(name) in {_plain(k) for k in names}:
        return
    meant = nearest(name, names)
    if meant:
        hint = f'Did you mean "{meant}"?'
    elif names:
        hint = "There is " + ", ".join(f'"{n}"' for n in names[:8]) + (" and others." if len(names) > 8 else ".")
    else:
        hint = none or "The job has none."
    yield Fault(path, f"the name of a {what}", hint, f'"{name}"')


def _body(path: Path, name: str | None, job: Job) -> Iterator[Fault]:
    if name is not None:
        none = "The job has no [[body]]; without in the part is meant."
        yield from _unknown((*path, "in"), name, [b.name for b in job.bodies], "[[body]]", none=none)


def _shape_names(job: Job) -> dict[str, PatternShape]:
    return {_plain(s.name): s for s in _sets(job)}


def _sets(job: Job) -> tuple[Pattern | OldHoles, ...]:
    return (*job.patterns, *job.old_holes)


def hole_count(shape: PatternShape, job: Job) -> int | None:
    """Return how many holes a pattern numbers, following ``like``; None where a drawing or a line decides."""
    shapes = _shape_names(job)
    seen: list[PatternShape] = []
    while shape.like is not None:
        if any(s is shape for s in seen) or _plain(shape.like) not in shapes:
            return None
        seen.append(shape)
        shape = shapes[_plain(shape.like)]
    return shape.known_count


def _shape(path: Path, shape: PatternShape, own_name: str, job: Job, body: str | None) -> Iterator[Fault]:
    """Yield what is wrong with the points of a pattern: its model, its edge, its numbers."""
    names = [s.name for s in _sets(job)]
    if shape.like is not None:
        if own_name and _plain(shape.like) == _plain(own_name):
            yield Fault((*path, "like"), "the name of another pattern", "It names itself.", f'"{shape.like}"')
        else:
            yield from _unknown((*path, "like"), shape.like, names, "pattern or set of old holes")
            if _goes_round(shape, job):
                yield Fault((*path, "like"), "a pattern with points of its own", "These lead round in a circle.")
            count = hole_count(shape, job)
            if count is not None and any(n > count for n in shape.leave_out):
                yield Fault((*path, "leave_out"), f"hole numbers from 1 to {count}")
    if shape.along is not None and shape.along.edge is not None:
        yield from _edge((*path, "along", "edge"), shape.along.edge, job, body)


def _goes_round(shape: PatternShape, job: Job) -> bool:
    shapes = _shape_names(job)
    seen: list[PatternShape] = []
    while shape.like is not None and _plain(shape.like) in shapes:
        if any(s is shape for s in seen):
            return True
        seen.append(shape)
        shape = shapes[_plain(shape.like)]
    return False


def _edge(path: Path, numbers: tuple[int, ...], job: Job, body: str | None) -> Iterator[Fault]:
    bodies = {_plain(b.name): b for b in job.bodies}
    owner = job.part if body is None else bodies.get(_plain(body))
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


def _place(path: Path, place: Place | None, count: int | None, own_name: str, job: Job) -> Iterator[Fault]:
    if place is None:
        return
    if count is not None:
        if place.at is not None and place.hole > count:
            yield Fault((*path, "hole"), f"a hole number from 1 to {count}", f"There is no hole {place.hole}.")
        for n, found in enumerate(place.measured or ()):
            if found.hole > count:
                yield Fault(
                    (*path, "measured", n, "hole"),
                    f"a hole number from 1 to {count}",
                    f"There is no hole {found.hole}.",
                )
    moved = place.moved
    if moved is None:
        return
    names = [s.name for s in _sets(job)]
    if own_name and _plain(moved.start) == _plain(own_name):
        yield Fault(
            (*path, "moved", "from"), "the name of other holes", "They cannot move from themselves.", f'"{moved.start}"'
        )
    else:
        yield from _unknown((*path, "moved", "from"), moved.start, names, "set of old holes or pattern")
    if moved.by is not None:
        none = "The job has no [[chain]]."
        yield from _unknown((*path, "moved", "by"), moved.by, [c.name for c in job.chains], "[[chain]]", none=none)


def _moves_round(name: str, job: Job) -> bool:
    """Return whether following the moves from a pattern leads back to it."""
    places = {_plain(s.name): s.place for s in _sets(job)}
    start = here = _plain(name)
    for _ in range(len(places) + 1):
        place = places.get(here)
        if place is None or place.moved is None:
            return False
        here = _plain(place.moved.start)
        if here == start:
            return True
    return False


def _patterns(job: Job) -> Iterator[Fault]:
    for n, pattern in enumerate(job.patterns):
        path: Path = ("pattern", n)
        yield from _body(path, pattern.body, job)
        yield from _shape(path, pattern, pattern.name, job, pattern.body)
        count = hole_count(pattern, job)
        yield from _place((*path, "place"), pattern.place, count, pattern.name, job)
        moved = pattern.place.moved if pattern.place is not None else None
        if moved is not None and _plain(moved.start) != _plain(pattern.name) and _moves_round(pattern.name, job):
            where: Path = (*path, "place", "moved", "from")
            yield Fault(where, "holes that stay put", "These moves lead round in a circle.")
        for m, candidate in enumerate(pattern.candidates):
            yield from _place((*path, "candidate", m, "place"), candidate.place, count, pattern.name, job)
        if count is not None and any(number > count for number in pattern.only):
            yield Fault((*path, "only"), f"hole numbers from 1 to {count}")
        if pattern.over is not None:
            names = [s.name for s in job.step_downs]
            yield from _unknown((*path, "over"), pattern.over, names, "[[step_down]]")


def _old_holes(job: Job) -> Iterator[Fault]:
    for n, old in enumerate(job.old_holes):
        path: Path = ("old_holes", n)
        yield from _body(path, old.body, job)
        yield from _shape(path, old, old.name, job, old.body)
        yield from _place((*path, "place"), old.place, hole_count(old, job), old.name, job)


def _mates(job: Job) -> Iterator[Fault]:
    patterns = {_plain(p.name): p for p in job.patterns}
    for n, mate in enumerate(job.mates):
        path: Path = ("mate", n)
        yield from _unknown((*path, "pattern"), mate.pattern, [p.name for p in job.patterns], "[[pattern]]")
        yield from _shape((*path, "holes"), mate.holes, "", job, None)
        count = hole_count(mate.holes, job)
        yield from _place((*path, "holes", "place"), mate.holes.place, count, "", job)
        pattern = patterns.get(_plain(mate.pattern))
        screws = hole_count(pattern, job) if pattern is not None else None
        if pattern is not None and screws is not None and count is not None and screws > count:
            yield Fault(
                (*path, "holes"),
                f'a hole for each of the {screws} screws of "{pattern.name}"',
                f"It has {count}; holes of a mate are numbered as the screws are.",
            )
        numbers = [m.hole for m in mate.measured]
        for m, measured in enumerate(mate.measured):
            here: Path = (*path, "measured", m, "hole")
            if count is not None and measured.hole > count:
                yield Fault(here, f"a hole number from 1 to {count}", f"There is no hole {measured.hole}.")
            if measured.hole in numbers[:m]:
                yield Fault(here, "each hole once", f"Hole {measured.hole} is there twice.")


def _keep_outs(job: Job) -> Iterator[Fault]:
    for n, keep_out in enumerate(job.keep_outs):
        yield from _body(("keep_out", n), keep_out.body, job)


def _cutter(path: Path, name: str, job: Job) -> Iterator[Fault]:
    none = 'List it: [tools] end_mills = ["1/4"].'
    yield from _unknown(path, name, [m.name for m in job.tools.end_mills], "cutter under [tools] end_mills", none=none)


def _cuts(job: Job) -> Iterator[Fault]:
    for table, cuts in (("slot", job.slots), ("pocket", job.pockets)):
        for n, cut in enumerate(cuts):
            path: Path = (table, n)
            yield from _body(path, cut.body, job)
            for m, name in enumerate(cut.cutters):
                yield from _cutter((*path, "cutter", m) if len(cut.cutters) > 1 else (*path, "cutter"), name, job)
            near = [k.name for k in job.keep_outs]
            for name in cut.keep_from:
                yield from _unknown((*path, "keep_from"), name, near, "[[keep_out]]")
    for n, slot in enumerate(job.slots):
        same_body = [k.name for k in job.keep_outs if _plain(k.body or "") == _plain(slot.body or "")]
        for m, end in enumerate(slot.ends):
            if end.stop_short is not None:
                where: Path = ("slot", n, "ends", m, "stop_short")
                yield from _unknown(where, end.stop_short, same_body, "[[keep_out]] on the same body")
    for n, pocket in enumerate(job.pockets):
        if pocket.second_cutter is not None:
            yield from _cutter(("pocket", n, "second_cutter"), pocket.second_cutter, job)


def _step_downs(job: Job) -> Iterator[Fault]:
    for n, step_down in enumerate(job.step_downs):
        if step_down.cutter is not None:
            yield from _cutter(("step_down", n, "cutter"), step_down.cutter, job)


def _limits(job: Job) -> Iterator[Fault]:
    names = [p.name for p in job.patterns] + [c.name for c in (*job.slots, *job.pockets)]
    names += [s.name for s in job.step_downs]
    for n, limit in enumerate(job.limits):
        if limit.pattern is not None:
            yield from _unknown(("limit", n, "pattern"), limit.pattern, names, "pattern, slot, pocket or step-down")
