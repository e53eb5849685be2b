"""Read the bytes of a file that the user named, or say why not."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from holecam.errors import InputError


def read_bytes(file: str, *, what: str, most: int) -> bytes:
    """Return the bytes of a file that the user named.

    Raises
    ------
    InputError
        There is no such file, it is a folder or a device, it is too large, or it may not be read.
    """
    if "\0" in file:
        raise InputError(f"{what}: expected a file name, got one with a zero character.", key=what)
    try:
        state = os.stat(file)
        if stat.S_ISDIR(state.st_mode):
            raise InputError(f"{file}: expected a {what}, found a folder.", key=what, value=file)
        if not stat.S_ISREG(state.st_mode):
            raise InputError(f"{file}: expected a {what}, found a device or pipe.", key=what, value=file)
        if state.st_size > most:
            size = f"{state.st_size / 1e6:.1f} MB"
            raise InputError(
                f"{file}: expected a {what} of at most {most / 1e6:g} MB, found {size}.", key=what, value=size
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
    found = get_close_matches(name, names[:2000], n=1, cutoff=0.75)
    return os.path.join(folder, found[0]) if found else ""
