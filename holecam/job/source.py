"""Where a job came from, by what it is told from other jobs, and which files it rests on."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from msgspec import Struct
from pydantic import BaseModel

from holecam.errors import InputError
from holecam.job.files import read_bytes


class Source(Struct, frozen=True):
    """Where a job came from."""

    file: str = ""
    """Path as the user gave it; empty for a job that was built in Python."""
    folder: str = ""
    """Folder from which drawings are looked up; empty is the current one."""
    fingerprint: str = ""
    """SHA-256 of what the job says and of its drawings, hexadecimal. Remarks, the order of keys and the way a length is
    written do not count, so a job built in Python has the fingerprint of the file that says the same."""
    files: tuple[tuple[str, str], ...] = ()
    """Files that the job was read from, its own and its drawings, each with the SHA-256 of its bytes."""


def source_of(job: BaseModel, *, file: str = "", folder: str = "", raw: bytes | None = None) -> Source:
    """Return the source of a job that has been checked.

    Raises
    ------
    InputError
        A drawing has vanished since.
    """
    names = dict.fromkeys(drawing_files(job))
    drawings = {name: _digest(_read(os.path.join(folder, name))) for name in names}
    told = {"job": _plain(job.model_dump(exclude_defaults=True)), "drawings": drawings}
    fingerprint = _digest(json.dumps(told, sort_keys=True, ensure_ascii=True).encode())
    files = [(os.path.join(folder, name), digest) for name, digest in drawings.items()]
    if raw is not None:
        files.insert(0, (file, _digest(raw)))
    return Source(file, folder, fingerprint, tuple(files))


def refuse_changed_files(source: Source) -> None:
    """Refuse to go on with a job whose file or drawings are not any more what was read.

    Raises
    ------
    InputError
        A file was changed or has vanished.
    """
    for file, digest in source.files:
        try:
            same = _digest(_read(file)) == digest
        except InputError as error:
            raise InputError(f"{error.message} It was there when the planning began. Nothing was written.") from None
        if not same:
            raise InputError(
                f"{file}: it was changed while the job was being planned. Nothing was written; expected a file that "
                "stays as it is for so long. Run it again.",
                key="job",
                value=file,
            )


def drawing_files(value: object) -> Iterator[str]:
    """Yield the names of the drawings that a job, or a part of it, takes shapes from."""
    from holecam.job.models_shape import DrawingFile  # the models are made of what stands above

    if isinstance(value, DrawingFile):
        yield value.file
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from drawing_files(getattr(value, name))
    elif isinstance(value, (list, tuple)):
        for item in value:
            yield from drawing_files(item)


def _read(file: str) -> bytes:
    from holecam.job.drawings import LARGEST_DRAWING

    return read_bytes(file, what="file of the job", most=LARGEST_DRAWING)


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(inner) for inner in value]
    if isinstance(value, Fraction):
        return f"{value.numerator}/{value.denominator}"
    return value
