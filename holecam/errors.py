"""Errors that a user can cause, with the place, the value, what was expected and a way out."""

from collections.abc import Iterable
from typing import NamedTuple


class HolecamError(Exception):
    """Root of every error that this package raises on purpose. The command line prints it and exits 2."""


class InputError(HolecamError, ValueError):
    """A value from outside is wrong.

    Parameters
    ----------
    message : str
        One sentence or two: what was found, what was expected, what to write instead.
    key, value, expected : str, optional
        The same facts for programs: which input, its text as the user gave it, what would be accepted.
    """

    def __init__(self, message: str, *, key: str = "", value: str = "", expected: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.key = key
        self.value = value
        self.expected = expected


class OutputError(HolecamError):
    """A file could not be written; nothing of the user's was replaced."""


class Problem(NamedTuple):
    """One thing wrong with a file: its place, its value, what was expected and a hint.

    ``line`` counts from 1; 0 means that the file as a whole is meant. A named tuple, because every command imports
    this module, and the library of structs would cost each of them a tenth of its start; annotations stay values here
    for the same reason.
    """

    file: str
    line: int
    key: str
    value: str
    expected: str
    hint: str = ""

    def text(self) -> str:
        """Return the problem in one line, as the user reads it."""
        place = f"{self.file}:{self.line}" if self.line else self.file
        found = f"{self.key} = {self.value}" if self.key and self.value else self.key or self.value
        sentence = f"{place}: {found}: expected {self.expected}" if found else f"{place}: expected {self.expected}"
        sentence = sentence.rstrip(".") + "."
        return f"{sentence} {self.hint}" if self.hint else sentence


class FileContentError(InputError):
    """A file has one or more problems; all of them are reported at once, in the order of their lines."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems, key=lambda p: (p.file, p.line)))
        super().__init__("\n".join(p.text() for p in self.problems))


def mistake_words(error: Exception) -> str:
    """Return what to say of an error that nobody expected."""
    return (
        f"holecam made a mistake of its own ({type(error).__name__}: {error}). No figure of this run may be used. "
        "Please report it with the job file; set HOLECAM_TRACEBACK=1 to see where it happened."
    )
