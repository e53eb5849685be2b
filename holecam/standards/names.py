"""Find a row by the name that a person wrote: case, order of the words and punctuation do not matter.

A name that fits two rows is refused with both, an unknown one with the nearest names.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import Protocol, TypeVar

from holecam.errors import InputError

LONGEST_NAME = 60
"""Longer texts are shown cut off in messages; no name of the trade needs more."""


class Named(Protocol):
    """Anything with a name and further words for the same thing."""

    @property
    def name(self) -> str:
        """The word that the tool prints."""

    @property
    def aliases(self) -> tuple[str, ...]:
        """Other words that people write."""


T = TypeVar("T", bound=Named)


@lru_cache(maxsize=4096)
def plain_words(text: str) -> frozenset[str]:
    """Return the words of a name, lower case, without punctuation and without their order.

    >>> plain_words("Brass, free-cutting") == plain_words("free cutting brass")
    True
    """
    return frozenset(re.findall(r"[a-z0-9.]+", text.lower().replace("'", "")))


def find_by_name(text: str, entries: Iterable[T], *, what: str) -> T:
    """Return the one entry that the text names.

    Raises
    ------
    InputError
        No entry, or more than one, goes by this name; the message lists what would be accepted.
    """
    known = tuple(entries)
    wanted = plain_words(text)
    found = [e for e in known if wanted and any(plain_words(n) == wanted for n in (e.name, *e.aliases))]
    exact = [e for e in found if plain_words(e.name) == wanted]
    if len(exact) == 1:
        return exact[0]
    if len(found) == 1:
        return found[0]
    if not found:  # "edgefinder": blanks and hyphens make no other thing
        found = [e for e in known if _squeezed(text) in {_squeezed(n) for n in (e.name, *e.aliases)} - {""}]
        if len(found) == 1:
            return found[0]
    shown = text if len(text) <= LONGEST_NAME else text[:LONGEST_NAME] + "..."
    if found:
        choices = ", ".join(e.name for e in found)
        raise InputError(
            f'{what} "{shown}" can mean more than one thing. Write one of: {choices}.',
            key=what,
            value=shown,
            expected=choices,
        )
    near = _one_of_each(nearest_names(text, [n for e in known for n in (e.name, *e.aliases)], most=10), known)[:3]
    listed = ", ".join(e.name for e in known)
    hint = f"Did you mean {' or '.join(near)}?" if near else f"Known: {listed}."
    raise InputError(f'{what} "{shown}" is not known. {hint}', key=what, value=shown, expected=listed)


def _squeezed(text: str) -> str:
    return re.sub(r"[^a-z0-9.]", "", text.lower())


def _one_of_each(names: list[str], entries: tuple[T, ...]) -> list[str]:
    """Return one name for each thing, its own where that is among them: two words for one thing are no choice."""
    kept: dict[str, str] = {}
    for name in names:
        owner = next(e.name for e in entries if name in (e.name, *e.aliases))
        kept.setdefault(owner, owner if owner in names else name)
    return list(kept.values())


def nearest_names(text: str, names: Iterable[str], *, most: int = 3) -> list[str]:
    """Return the few names most like the text, best first; none when nothing is close."""
    from difflib import get_close_matches  # only needed once something has gone wrong

    by_plain = {" ".join(n.lower().split()): n for n in names}
    plain = " ".join(text[:LONGEST_NAME].lower().split())
    return [by_plain[m] for m in get_close_matches(plain, by_plain, n=most, cutoff=0.6)]
