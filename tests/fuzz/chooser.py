"""Choices read from bytes, so that a coverage-guided search steers what is built from them.

The same bytes give the same choices; where they end, the first of every list is chosen.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeVar

T = TypeVar("T")


class Chooser(Protocol):
    """What a builder of hostile input asks for."""

    def below(self, count: int) -> int:
        """Return a whole number from 0 to ``count - 1``."""
        ...


class BytesChooser:
    """Choices from bytes, two for each."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.place = 0

    def below(self, count: int) -> int:
        """Return a whole number from 0 to ``count - 1``."""
        if self.place >= len(self.data):
            return 0
        taken = self.data[self.place : self.place + 2]
        self.place += 2
        return int.from_bytes(taken, "little") % count

    def rest(self) -> bytes:
        """Return the bytes that no choice has used."""
        return self.data[self.place :]


def pick(chooser: Chooser, items: Sequence[T]) -> T:
    """Return one of several."""
    return items[chooser.below(len(items))]
