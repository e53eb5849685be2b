"""A hole in a sentence: by its number on the sheet, and by that in its pattern where the two differ."""

from __future__ import annotations

from collections.abc import Callable, Sequence

HoleText = Callable[[int], str]
"""Gives the hole of a pattern, by its number in the pattern, in words."""


def hole_words(number: int, pattern: str = "", number_in_pattern: int = 0) -> str:
    """Return a hole in words; without a pattern, or its number in it, by the sheet's number alone.

    >>> hole_words(3, "rail screws", 3)
    'hole 3 of "rail screws"'
    >>> hole_words(9, "rail screws", 3)
    'hole 9 (3 of "rail screws")'
    """
    if not pattern:
        return f"hole {number}"
    if number_in_pattern in (0, number):
        return f'hole {number} of "{pattern}"'
    return f'hole {number} ({number_in_pattern} of "{pattern}")'


def own_number(number: int) -> str:
    """Return a hole in words by its number in its pattern alone, where no sheet numbers it."""
    return f"hole {number}"


def numbers_text(numbers: Sequence[int]) -> str:
    """Return hole numbers as a reader says them: ``3``, ``3 and 5``, ``1, 2 and 7``."""
    words = [str(n) for n in numbers]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


def screws_words(numbers: Sequence[int], in_pattern: dict[int, int]) -> str:
    """Return screws in words by their holes on the sheet, and by those of the pattern where the two differ.

    ``in_pattern`` gives the number in the pattern by the one on the sheet.

    >>> screws_words((7, 9), {7: 1, 9: 3})
    'screws 7 and 9 (1 and 3 of the pattern)'
    """
    text = f"screw{'s' if len(numbers) != 1 else ''} {numbers_text(numbers)}"
    own = [in_pattern.get(n, n) for n in numbers]
    return text if own == list(numbers) else f"{text} ({numbers_text(own)} of the pattern)"
