"""Hear what the drawing library has to say about a damaged drawing, instead of letting it print on the terminal."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager

from holecam.job.faults import shown

LIBRARY = "ezdxf"
MOST_TOLD = 3
"""Different warnings of one drawing that are passed on; more say no more."""


class _Listener(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.told: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        words = shown(record.getMessage()).rstrip(".")
        if words not in self.told and len(self.told) < MOST_TOLD:
            self.told.append(words)


@contextmanager
def warnings_heard() -> Iterator[list[str]]:
    """Within this block the library's warnings end in the list that is yielded, and nowhere else."""
    logger, listener = logging.getLogger(LIBRARY), _Listener()
    before = logger.propagate
    logger.addHandler(listener)
    logger.propagate = False
    try:
        yield listener.told
    finally:
        logger.removeHandler(listener)
        logger.propagate = before
