"""Read a job file, or plain values, into a :class:`~holecam.job.models.Job`; name everything that is wrong at once."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from holecam.errors import FileContentError, Problem
from holecam.job.faults import faults_of, problems_of
from holecam.job.files import read_bytes
from holecam.job.hole_numbers import hole_number_faults
from holecam.job.models import ChainFile, Job
from holecam.job.positions import Positions, positions
from holecam.job.quantities import bare_numbers_in, drawings_in
from holecam.job.references import reference_faults, spelled_out
from holecam.job.sizes import size_faults
from holecam.job.slips import slip_faults
from holecam.job.source import Source, source_of
from holecam.job.syntax import parse_toml

LARGEST_FILE = 2_000_000
"""Bytes. An outline of 20 000 listed points takes a third of it; a larger file is not a job."""

M = TypeVar("M", bound=BaseModel)


def read_job(path: str | os.PathLike[str]) -> Job:
    """Return the job that a file holds, checked.

    Raises
    ------
    FileContentError
        The file has problems; all of them are listed with line, key, value, expectation and hint.
    InputError
        There is no such file, or it cannot be read.
    """
    file = os.fspath(path)
    raw = read_bytes(file, what="job file", most=LARGEST_FILE)
    return parse_job(_decoded(raw, file), file=file, raw=raw)


def parse_job(text: str, *, file: str = "job", folder: str | None = None, raw: bytes | None = None) -> Job:
    """Return the job in a text; ``folder`` is where drawings are, by default the folder of ``file``."""
    data = parse_toml(text, file=file)
    where = os.path.dirname(file) if folder is None else folder
    job = _checked_job(data, text=text, file=file, folder=where)
    return job.with_source(source_of(job, file=file, folder=where, raw=raw))


def check_data(data: Mapping[str, Any], *, folder: str = "", file: str = "job") -> Job:
    """Return the job in plain values, as a TOML reader or a program would give them; problems have no lines."""
    job = _checked_job(data, text="", file=file, folder=folder)
    return job.with_source(source_of(job, folder=folder))


def read_chains(path: str | os.PathLike[str]) -> ChainFile:
    """Return the chains of sizes of a job file, or of a file that holds nothing else.

    Raises
    ------
    FileContentError, InputError
        As :func:`read_job`; a file without a ``[[chain]]`` is refused too.
    """
    file = os.fspath(path)
    raw = read_bytes(file, what="job file", most=LARGEST_FILE)
    text = _decoded(raw, file)
    data = parse_toml(text, file=file)
    if "part" in data:
        job = parse_job(text, file=file, raw=raw)
        if not job.chains:
            raise FileContentError([Problem(file, 0, "", "", "a [[chain]] with sections and readings")])
        return ChainFile(title=job.title, unit=job.unit, chain=job.chains, machine=job.machine)
    return _validated(ChainFile, data, file=file, text=text, folder=os.path.dirname(file))


def _checked_job(data: Mapping[str, Any], *, text: str, file: str, folder: str) -> Job:
    job = _validated(Job, data, file=file, text=text, folder=folder).with_source(Source(file, folder))
    faults = [*hole_number_faults(job), *size_faults(job), *slip_faults(job)]
    if faults:
        raise FileContentError(problems_of(faults, data=data, file=file, places=_places(text)))
    return job


def _places(text: str) -> Positions:
    return positions(text) if text else Positions()


def _validated(model: type[M], data: Mapping[str, Any], *, file: str, text: str, folder: str) -> M:
    unit = data.get("unit")
    faults = reference_faults(data)
    # With no unit of its own the file has one fault, not one at every number
    with bare_numbers_in("in" if unit == "in" else "mm"), drawings_in(folder):
        try:
            made = model.model_validate(dict(spelled_out(data)))
        except ValidationError as error:
            found = [dict(f) for f in error.errors(include_url=False)]
            faults.extend(faults_of(found, data=data, model=model))
        except RecursionError:
            raise FileContentError([Problem(file, 0, "", "", "values that do not contain themselves")]) from None
        else:
            if not faults:
                return made
    raise FileContentError(problems_of(faults, data=data, file=file, places=_places(text)))


def _decoded(raw: bytes, file: str) -> str:
    """Return the text of a file; it has to be UTF-8, with or without the mark that some editors put in front."""
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff") or (b"\0" in raw[:200] and raw[:2] != b"PK"):
        hint = "The file is UTF-16 or the like; save it as UTF-8 in the editor."
        raise FileContentError([Problem(file, 1, "", "", "a text in UTF-8", hint)])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        hint = f"Byte 0x{raw[error.start]:02X} is not; save the file as UTF-8 in the editor."
        raise FileContentError([Problem(file, line, "", "", "a text in UTF-8", hint)]) from None
    return text if "\n" in text else text.replace("\r", "\n")  # a few old editors end lines with a return alone


__all__ = ["check_data", "parse_job", "read_chains", "read_job"]
