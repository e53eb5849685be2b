"""Names that the tables of the trade have to know: materials, threads, drills, instruments, ways to find a place."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from holecam.errors import InputError
from holecam.job.faults import Fault
from holecam.job.models import ChainFile, Job
from holecam.job.models_error import Chain
from holecam.job.models_hole import HoleWork
from holecam.job.models_place import Place
from holecam.job.positions import Path
from holecam.standards.bonding_layers import bonding_layer
from holecam.standards.instruments import instrument
from holecam.standards.materials import material
from holecam.standards.names import nearest_names
from holecam.standards.position_methods import position_method
from holecam.standards.spacing_limits import all_rules
from holecam.standards.touch_off import touch_off


def trade_name_faults(job: Job | ChainFile) -> list[Fault]:
    """Return every name that no table knows, with the nearest known ones."""
    faults = [f for n, c in enumerate(job.chains) for f in _chain(("chain", n), c)]
    if isinstance(job, Job):
        for found in (_bodies(job), _holes(job), _mates(job), _setup(job), _step_downs(job), _tools(job), _limits(job)):
            faults.extend(found)
    return faults


def _ask(path: Path, name: str | None, table: Callable[[str], object], what: str) -> Iterator[Fault]:
    """Yield a fault when a table refuses the name."""
    if name is None:
        return
    try:
        table(name)
    except InputError as error:
        _, _, hint = error.message.partition(" is not known. ")
        if not hint:
            _, _, hint = error.message.partition(" can mean more than one thing. ")
        yield Fault(path, what, hint or _sentence(error.message), f'"{name}"')


def _sentence(message: str) -> str:
    return message if message.endswith((".", "?")) else message + "."


def _bodies(job: Job) -> Iterator[Fault]:
    yield from _ask(("part", "material"), job.part.material, material, "a known material")
    for n, body in enumerate(job.bodies):
        yield from _ask(("body", n, "material"), body.material, material, "a known material")


def _place(path: Path, place: Place | None) -> Iterator[Fault]:
    if place is None:
        return
    what = "a known way to find a place"
    yield from _ask((*path, "found_by"), place.found_by, position_method, what)
    for n, found in enumerate(place.measured or ()):
        yield from _ask((*path, "measured", n, "found_by"), found.found_by, position_method, what)


def _work(path: Path, work: HoleWork) -> Iterator[Fault]:
    yield from _ask((*path, "material"), work.material, material, "a known material")


def _holes(job: Job) -> Iterator[Fault]:
    for n, pattern in enumerate(job.patterns):
        path: Path = ("pattern", n)
        yield from _work(path, pattern)
        yield from _place((*path, "place"), pattern.place)
        for m, candidate in enumerate(pattern.candidates):
            yield from _place((*path, "candidate", m, "place"), candidate.place)
        yield from _ask((*path, "drilled_by"), pattern.drilled_by, position_method, "a known way to locate a drill")
    for n, old in enumerate(job.old_holes):
        yield from _place(("old_holes", n, "place"), old.place)


def _mates(job: Job) -> Iterator[Fault]:
    for n, mate in enumerate(job.mates):
        yield from _place(("mate", n, "holes", "place"), mate.holes.place)


def _setup(job: Job) -> Iterator[Fault]:
    what = "a known way to find a place"
    yield from _ask(("setup", "zero_found_by"), job.setup.zero_found_by, position_method, what)
    if job.setup.skew is not None:
        yield from _ask(("setup", "skew", "found_by"), job.setup.skew.found_by, position_method, what)


def _step_downs(job: Job) -> Iterator[Fault]:
    for n, step_down in enumerate(job.step_downs):
        path: Path = ("step_down", n)
        for key, touch in (("touch", step_down.touch), ("touch_far", step_down.touch_far)):
            if touch is not None and touch.within is None:
                yield from _ask((*path, key, "with"), touch.tool, touch_off, "a known way to touch off, or within")
        for m, layer in enumerate(step_down.layers):
            yield from _ask((*path, "layers", m, "bond"), layer.bond, bonding_layer, "a known bonding layer")
            yield from _ask((*path, "layers", m, "material"), layer.material, material, "a known material")


def _tools(job: Job) -> Iterator[Fault]:
    return iter(())


def _limits(job: Job) -> Iterator[Fault]:
    for n, limit in enumerate(job.limits):
        if limit.of not in LIMITS:
            near = nearest_names(limit.of, LIMITS)
            hint = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(LIMITS)}."
            yield Fault(("limit", n, "of"), "a known limit", hint, f'"{limit.of}"')


LIMITS = (*all_rules(), "play")
"""What [[limit]] may speak of: the rules of the spacing table, and the play left at bolt-up."""


def _chain(path: Path, chain: Chain) -> Iterator[Fault]:
    what = "a known instrument, or within"
    for n, section in enumerate(chain.sections):
        if section.within is None:
            yield from _ask((*path, "section", n, "with"), section.instrument, instrument, what)
    for n, reading in enumerate(chain.readings):
        if reading.within is None:
            yield from _ask((*path, "reading", n, "with"), reading.instrument, instrument, what)
