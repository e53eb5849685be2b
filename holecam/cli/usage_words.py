"""What is said of a command line that cannot be understood: in plain words, with the nearest command or a way out."""

from __future__ import annotations

import re
from collections.abc import Sequence

import typer

from holecam.cli.commands import COMMANDS

_KINDS = {"int": "a whole number", "float": "a number", "bool": "true or false"}
_OTHER_OPTIONS = {
    "--radius": "Give the diameter, twice the radius, with --diameter.",
    "--spacing": "The distance from hole to hole is --pitch.",
    "--output": "The folder is named with --out.",
}
"""Options that people try, and what there is in their place; only for commands that have it."""


def usage_words(error: Exception, words: Sequence[str]) -> str:
    """Return the message for an error of the command line; ``words`` are those after the program's name."""
    context: typer.Context | None = getattr(error, "ctx", None)
    told = _told(str(error.format_message()), error, words)  # type: ignore[attr-defined]  # of typer's vendored class
    if context is None:
        return f"Error: {told}"
    return f"{context.get_usage()}\nTry '{context.command_path} --help' for help.\n\nError: {told}"


def _told(message: str, error: Exception, words: Sequence[str]) -> str:
    kind = re.sub(
        r"('[^']*') is not a valid (int|float|bool)(eger range)?",
        lambda found: f"{found[1]}: expected {_KINDS[found[2]]}",
        message,
    )
    if kind != message:
        number = re.search(r"'\s*([+-]?\d+(?:[.,]\d+)?)\s*[^\d']*'", kind.split(": ", 1)[-1])
        return f"{kind.rstrip('.')}. " + (f"Write {number[1].replace(',', '.')}." if number else "")
    unknown = re.match(r"No such command '(.*)'", message)
    if unknown:
        return f"{message.rstrip('.')}. {_command_hint(unknown[1])}"
    if "unexpected extra argument" in message:
        extra = message.partition("(s) ")[2].strip("()")
        return f"Too much on the line: {extra}. {_extra_hint(error, words)}".rstrip()
    option = getattr(error, "option_name", "")
    if message.startswith("No such option"):
        return f"No such option: {option}. {_option_hint(str(option), error, words)}".rstrip()
    return message


def _command_hint(word: str) -> str:
    from difflib import get_close_matches  # only needed once something has gone wrong

    if word.lower().endswith(".toml"):
        return f"To plan a job: holecam plan {word}"
    if word.lower() == "help":
        return "Write holecam --help."
    near = get_close_matches(word.lower(), COMMANDS, n=1)
    return f'Did you mean "{near[0]}"?' if near else f"There are {', '.join(COMMANDS)}."


def _extra_hint(error: Exception, words: Sequence[str]) -> str:
    """Return advice on words too many: a name of two words needs quotes, a point no blank."""
    extra = re.search(r"\(s\) \((.*)\)$", str(error))
    rest = extra[1].split() if extra else []
    before = [n for n in range(1, len(words)) if rest and list(words[n : n + len(rest)]) == rest]
    if not before or words[before[0] - 1].startswith("-"):
        return ""
    whole = " ".join([words[before[0] - 1], *rest])
    if re.fullmatch(r"[-+\d./]+( [-+\d./]+)+", whole) and before[0] >= 2 and words[before[0] - 2].startswith("--"):
        return f"A point is written with a comma and no blank: {','.join(whole.split())}"
    return f'Words that belong together stand in quotes: "{whole}"' if before[0] >= 2 else ""


def _option_hint(option: str, error: Exception, words: Sequence[str]) -> str:
    from difflib import get_close_matches  # only needed once something has gone wrong

    context: typer.Context | None = getattr(error, "ctx", None)
    names = [] if context is None else [n for p in context.command.params for n in getattr(p, "opts", ())]
    hint = _OTHER_OPTIONS.get(option, "")
    named = re.findall(r"--[a-z-]+", hint)
    if hint and all(name in names for name in named):
        return hint
    single = [w for w in words if re.match(r"-[a-z]{2}", w) and f"-{w}" in names]
    if single and not option.startswith("--"):
        return f"Write -{single[0]} with two dashes."
    long = [name for name in names if name.startswith("--")] + ["--help"]
    near = [n for n in long if n.startswith(option)] or get_close_matches(option, long, n=1, cutoff=0.8)
    return f"Did you mean {near[0]}?" if near else f"There are {', '.join(long)}."
