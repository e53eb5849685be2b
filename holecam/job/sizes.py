"""Sizes of one table held against those of another: a cut deeper than the stock, a hole that leaves nothing."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import chain

from holecam.job.faults import Fault
from holecam.job.models import Job
from holecam.job.models_cut import Pocket, Slot
from holecam.job.positions import Path
from holecam.lengths import length_text

COARSEST_READOUT = Fraction(1)
"""mm. A readout or a runout coarser than this is a slip of unit; the coarsest sold resolves 0.01 mm."""


def size_faults(job: Job) -> list[Fault]:
    """Return every size that contradicts another one in the file."""
    return list(chain(_machine(job), _holes(job), _cuts(job)))


def _text(length: Fraction, job: Job) -> str:
    return length_text(length, job.unit)


def _machine(job: Job) -> Iterator[Fault]:
    for key in ("readout", "runout", "spread"):
        size: Fraction | None = getattr(job.machine, key)
        if size is not None and size > COARSEST_READOUT:
            hint = f"{_text(size, job)} is a slip of unit or point."
            yield Fault(("machine", key), f"at most {_text(COARSEST_READOUT, job)}", hint)


def _thickness(body: str | None, job: Job) -> Fraction | None:
    if body is None:
        return job.part.thickness
    plain = {" ".join(b.name.casefold().split()): b.thickness for b in job.bodies}
    return plain.get(" ".join(body.casefold().split()))


def _holes(job: Job) -> Iterator[Fault]:
    for n, pattern in enumerate(job.patterns):
        thickness = pattern.thickness or _thickness(pattern.body, job)
        if thickness is None:
            continue
        path: Path = ("pattern", n)
        depth = pattern.depth
        if depth is not None:
            for key in ("full_thread", "to_shoulder", "to_tip"):
                size: Fraction | None = getattr(depth, key)
                if size is not None and size >= thickness:
                    hint = 'Write depth = "through", or correct the thickness.'
                    yield Fault((*path, "depth", key), f"less than the thickness, {_text(thickness, job)}", hint)
            if depth.leave_bottom is not None and depth.leave_bottom >= thickness:
                hint = "As written there is no hole."
                yield Fault((*path, "depth", "leave_bottom"), f"less than the thickness, {_text(thickness, job)}", hint)
        recess = pattern.counterbore
        if recess is not None and recess.depth is not None and recess.depth >= thickness:
            hint = "The head would fall through."
            yield Fault((*path, "counterbore", "depth"), f"less than the thickness, {_text(thickness, job)}", hint)


def _cuts(job: Job) -> Iterator[Fault]:
    cuts: list[tuple[str, int, Slot | Pocket]] = [("slot", n, s) for n, s in enumerate(job.slots)]
    cuts += [("pocket", n, p) for n, p in enumerate(job.pockets)]
    for table, n, cut in cuts:
        thickness = _thickness(cut.body, job)
        if thickness is None:
            continue
        path: Path = (table, n)
        if cut.depth is not None and cut.depth >= thickness and not cut.through:
            hint = "Write through = true to cut right through, or correct the depth."
            yield Fault((*path, "depth"), f"less than the thickness, {_text(thickness, job)}", hint)
        if cut.clears is not None and cut.clears.height >= thickness and not cut.through:
            hint = "Write through = true to cut right through, or correct the height."
            yield Fault((*path, "clears", "height"), f"less than the thickness, {_text(thickness, job)}", hint)
        width = cut.width if isinstance(cut, Slot) else None
        if width is not None and cut.sneak is not None and cut.sneak.undersize >= width:
            yield Fault((*path, "sneak", "undersize"), f"less than the width, {_text(width, job)}")
