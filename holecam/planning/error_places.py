"""Where in the job file the thing stands that an error of planning speaks of.

What is found wrong while a job is read has its line already. What only the planning finds names a pattern or a cut; the
file and the line of that name are put before it here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

from holecam.errors import InputError
from holecam.job.positions import positions
from holecam.job.source import Source

TABLES = {
    "pattern": "pattern",
    "slot": "slot",
    "pocket": "pocket",
    "step-down": "step_down",
    "mate": "mate",
    "chain": "chain",
    "marking out": "marking_out",
    "old holes": "old_holes",
}
"""What messages call a thing, and its table in the job file."""

_NAMED = re.compile(rf'\b({"|".join(TABLES)}) "([^"]*)"')


@contextmanager
def errors_placed(source: Source) -> Iterator[None]:
    """Let an :class:`InputError` out with the file, and where it names a thing of the job the line, in front."""
    try:
        yield
    except InputError as error:
        if type(error) is not InputError or not source.file or error.message.startswith(source.file):
            raise
        line = _line_of(error.message, source)
        place = f"{source.file}:{line}" if line else source.file
        raise InputError(
            f"{place}: {error.message}", key=error.key, value=error.value, expected=error.expected
        ) from error


@contextmanager
def errors_named(about: str) -> Iterator[None]:
    """Let an :class:`InputError` out with what it speaks of in front, where its message names no thing of the job.

    >>> with errors_named('pocket "tray"'):
    ...     raise InputError('cutter "six" may not plunge')
    Traceback (most recent call last):
    holecam.errors.InputError: pocket "tray": cutter "six" may not plunge
    """
    try:
        yield
    except InputError as error:
        if type(error) is not InputError or _NAMED.search(error.message):
            raise
        message = f"{about}: {error.message}"
        raise InputError(message, key=error.key, value=error.value, expected=error.expected) from error


def _line_of(message: str, source: Source) -> int:
    """Return the line of the first thing that a message names, 0 where it names none or the file is another by now."""
    named = _NAMED.search(message)
    if named is None:
        return 0
    try:
        raw = Path(source.file).read_bytes()
        text = raw.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return 0
    if sha256(raw).hexdigest() not in {digest for _, digest in source.files}:
        return 0
    found = positions(text)
    table, name = TABLES[named[1]], named[2]
    for path, place in found.places.items():
        if len(path) == 3 and path[0] == table and path[2] == "name" and place.written[1:-1] == name:
            return found.line(path[:2])
    return 0
