"""Read the bytes of a file that the user named, or say why not."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import NamedTuple

from holecam.errors import InputError


class FileState(NamedTuple):
    """What changes when a file is written or another one is put in its place."""

    modified_ns: int
    size: int
    number: int
    """Of the file on its disk: editors that save by renaming a new file change it."""


_NOTED: ContextVar[dict[str, FileState | None] | None] = ContextVar("noted reads", default=None)


def file_state(file: str) -> FileState | None:
    """Return the present state of a file; ``None`` when there is none that could be read."""
    try:
        state = os.stat(file)
    except (OSError, ValueError):
        return None
    return FileState(state.st_mtime_ns, state.st_size, state.st_ino)


@contextmanager
def noting_reads() -> Iterator[dict[str, FileState | None]]:
    """Within this block note every file that the user named and that is read, with its state before it was opened.

    A file that is missing is noted too, with ``None``. Of a file that is read twice the first state counts, so that a
    change between the two is seen as a change.
    """
    noted: dict[str, FileState | None] = {}
    token = _NOTED.set(noted)
    try:
        yield noted
    finally:
        _NOTED.reset(token)


def read_bytes(file: str, *, what: str, most: int, hint: str = "") -> bytes:
    """Return the bytes of a file that the user named; ``hint`` says what to do with one that is too large.

    Raises
    ------
    InputError
        There is no such file, it is a folder or a device, it is too large, or it may not be read.
    """
    if "\0" in file:
        raise InputError(f"{what}: expected a file name, got one with a zero character.", key=what)
    noted = _NOTED.get()
    if noted is not None:
        noted.setdefault(file, file_state(file))
    try:
        state = os.stat(file)
        if stat.S_ISDIR(state.st_mode):
            raise InputError(f"{file}: expected a {what}, found a folder.", key=what, value=file)
        if not stat.S_ISREG(state.st_mode):
            raise InputError(f"{file}: expected a {what}, found a device or pipe.", key=what, value=file)
        if state.st_size > most:
            size = f"{state.st_size / 1e6:.1f} MB"
            raise InputError(
                f"{file}: expected a {what} of at most {most / 1e6:g} MB, found {size}. {hint}".rstrip(),
                key=what,
                value=size,
            )
        with Path(file).open("rb") as stream:
            raw = stream.read(most + 1)
    except FileNotFoundError:
        near = _similar_file(file)
        hint = f' Did you mean "{near}"?' if near else ""
        raise InputError(f"{file}: expected a {what}, found no such file.{hint}", key=what, value=file) from None
    except OSError as error:
        reason = error.strerror or "the name cannot be used"
        raise InputError(f"{file}: expected a {what} that can be read: {reason}.", key=what, value=file) from None
    if len(raw) > most:
        raise InputError(f"{file}: expected a {what} of at most {most / 1e6:g} MB; it grew.", key=what, value=file)
    return raw


def _similar_file(file: str) -> str:
    from difflib import get_close_matches

    folder, name = os.path.split(file)
    try:
        names = os.listdir(folder or ".")
    except OSError:
        return ""
    plain = name.casefold()
    same = [n for n in names[:2000] if n.casefold() == plain or os.path.splitext(n.casefold())[0] == plain]
    found = same[:1] or get_close_matches(name, names[:2000], n=1, cutoff=0.75)
    return os.path.join(folder, found[0]) if found else ""
