"""Shapes that a job lists or takes from drawings: tried once when the job is read, so that a mistake has its line."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from holecam.errors import InputError
from holecam.job.drawings import holes_in
from holecam.job.faults import Fault
from holecam.job.models import Job
from holecam.job.models_cut import ClearsPlate, Pocket
from holecam.job.models_part import KeepOut
from holecam.job.models_pattern import DrawnCircles
from holecam.job.models_shape import PathModel, RegionModel
from holecam.job.outlines import path_of, shape_of
from holecam.job.positions import Path


def drawing_faults(job: Job) -> list[Fault]:
    """Return every listed shape that makes no outline, and every drawing that cannot be used."""
    folder = job.source.folder
    faults: list[Fault] = []
    for path, table in _tables((), job):
        try:
            _try(table, folder)
        except InputError as error:
            faults.append(_fault(path, table, error))
    return faults


def _tables(path: Path, value: object) -> Iterator[tuple[Path, BaseModel]]:
    """Yield every table that states a shape, with its path in the file."""
    if isinstance(value, BaseModel):
        if isinstance(value, (RegionModel, PathModel, DrawnCircles, KeepOut, Pocket)):
            yield path, value
        for name, field in type(value).model_fields.items():
            yield from _tables((*path, field.alias or name), getattr(value, name))
    elif isinstance(value, tuple):
        for number, item in enumerate(value):
            if isinstance(item, (BaseModel, tuple)):
                yield from _tables((*path, number), item)


def _try(table: BaseModel, folder: str) -> None:
    if isinstance(table, (KeepOut, Pocket)):
        if table.region is not None:
            shape_of(table.region, folder=folder)
    elif isinstance(table, (ClearsPlate, RegionModel)):
        shape_of(table, folder=folder)
    elif isinstance(table, PathModel):
        path_of(table, folder=folder)
    elif isinstance(table, DrawnCircles):
        holes_in(table, folder=folder)


def _fault(path: Path, table: BaseModel, error: InputError) -> Fault:
    """Return the error as a fault at the key that it speaks of."""
    where, _, said = error.message.partition(": expected ")
    expected, mark, rest = said.partition(", found ")
    if not said:
        return Fault(path, "a shape that can be made", error.message)
    inner: Path = ()
    drawing = getattr(table, "drawing", None)
    if drawing is not None or isinstance(table, DrawnCircles):
        outer: Path = ("drawing",) if drawing is not None else ()
        inner = (*outer, error.key) if error.key in ("file", "layer", "drawing_unit", "diameter") else outer
    elif getattr(table, "points", None) is not None:
        inner = ("points",)
    place = f"{where}: " if where else ""
    if mark:
        return Fault((*path, *inner), expected, f"{place}found {rest}")
    first, dot, more = said.partition(". ")
    return Fault((*path, *inner), first.rstrip("."), f"{place}{more}" if dot else f"({where})")
