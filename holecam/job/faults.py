"""What pydantic and the cross-checks find, turned into sentences for the person who wrote the file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import islice
from typing import Any

from msgspec import Struct
from pydantic import BaseModel

from holecam.errors import Problem
from holecam.job.descriptions import descriptions
from holecam.job.positions import Path, Positions
from holecam.job.quantities import PROBLEM
from holecam.job.table_keys import (
    annotation_at,
    belongs_elsewhere,
    keys_of,
    meant_key,
    model_at,
    model_in,
    nearest,
    table_words,
)
from holecam.job.value_hints import OTHER_WORDS, list_words, number_hint, table_hint, too_many_hint

LONGEST_SHOWN = 60
"""Characters of a value that a message repeats."""

MOST_EXAMINED = 1000
"""Findings of the validation that are looked at; the rest is beyond what anybody would read."""

MOST_PROBLEMS = 100
"""Problems that one message lists; beyond it only their number is told."""

_UNIT_WORDS = {"inch": "in", "inches": "in", '"': "in", "ins": "in", "imperial": "in"} | {
    "millimetre": "mm",
    "millimeter": "mm",
    "millimetres": "mm",
    "millimeters": "mm",
    "metric": "mm",
}


class Fault(Struct, frozen=True):
    """Something wrong at a path of the file, before it is known on which line that stands."""

    path: Path
    expected: str
    hint: str = ""
    value: str = ""
    """What to show where the file itself has no text for it."""


def visible(text: str) -> str:
    """Return a text with hidden characters written out, so that nothing in a file can speak to the terminal."""
    return text if text.isprintable() else "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text)


def shown(text: str) -> str:
    """Return a value for a message: on one line, not too long, hidden characters made visible."""
    line = visible(" ".join(text.split()))
    return line if len(line) <= LONGEST_SHOWN else line[: LONGEST_SHOWN - 3] + "..."


def listed(words: Sequence[str]) -> str:
    """Return words in quotes with "or" before the last."""
    quoted = [f'"{w}"' for w in words]
    return quoted[0] if len(quoted) == 1 else ", ".join(quoted[:-1]) + f" or {quoted[-1]}"


def problems_of(faults: Iterable[Fault], *, data: Mapping[str, Any], file: str, places: Positions) -> list[Problem]:
    """Return the faults as problems with file, line, key in the user's words and value as written."""
    seen: set[tuple[int, str, str]] = set()
    found: list[Problem] = []
    for fault in faults:
        path = path_in_file(fault.path, data)
        key = key_in_words(path, data)
        line = places.line(path)
        value = places.written(path) or fault.value
        if value[:1] in "[{" and len(value) > LONGEST_SHOWN:
            value = ""  # a long table says less than its name
        problem = Problem(file, line, key, shown(value), visible(fault.expected), visible(fault.hint))
        mark = (line, key, fault.expected)
        if mark not in seen:
            seen.add(mark)
            found.append(problem)
    found.sort(key=lambda p: p.line)
    if len(found) > MOST_PROBLEMS:
        number = "Many" if len(found) >= MOST_EXAMINED else str(len(found) - MOST_PROBLEMS)
        last = found[MOST_PROBLEMS - 1].line
        rest = Problem(file, last, "", "", "a file without mistakes", f"{number} more are not listed.")
        return [*found[:MOST_PROBLEMS], rest]
    return found


def key_in_words(path: Path, data: Any) -> str:
    """Return a path as the user would say it: ``pattern "rail screws": line.pitch``, ``keep_out 2: circle``."""
    words: list[str] = []
    here: Any = data
    for step in path:
        here = _descend(here, step)
        if isinstance(step, str):
            words.append(shown(step))
            continue
        own = "is" if words[-1:] == ["layers"] else "name"
        name = here.get(own) if isinstance(here, Mapping) else None
        label = f'"{shown(name)}"' if isinstance(name, str) and name.strip() else str(step + 1)
        outer = words.pop() if words else ""
        words.append(f"{outer} {label}:" if isinstance(here, Mapping) else f"{outer}[{step + 1}]")
    return ".".join(words).replace(":.", ": ").removesuffix(":")


def _descend(here: Any, step: str | int) -> Any:
    if isinstance(here, Mapping):
        return here.get(step)
    if isinstance(here, (list, tuple)) and isinstance(step, int) and 0 <= step < len(here):
        return here[step]
    return None


def faults_of(errors: Iterable[Mapping[str, Any]], *, data: Mapping[str, Any], model: type[BaseModel]) -> list[Fault]:
    """Return what pydantic found, in plain words; a misspelt key is one fault, not an unknown and a missing one."""
    found = list(islice(errors, MOST_EXAMINED))
    faults: list[Fault] = []
    around = {tuple(error["loc"][:n]) for error in found for n in range(len(error["loc"]))}
    beside = Counter(tuple(error["loc"][:-1]) for error in found)
    supposed: set[Path] = set()  # keys that a misspelt one was meant to be
    for error in found:
        if error["type"] == "extra_forbidden":
            fault, meant = _unknown_key(error, data, model)
            faults.append(fault)
            if meant:
                supposed.add((*path_in_file(error["loc"], data)[:-1], meant))
    for error in found:
        kind, path = error["type"], path_in_file(error["loc"], data)
        if kind == "extra_forbidden":
            continue
        if kind == "too_short" and tuple(error["loc"]) in around:
            continue  # pydantic counts the good items only
        if kind == "missing" and isinstance(error["loc"][-1], int) and beside[tuple(error["loc"][:-1])] > 1:
            continue  # the other value of the pair is wrong already
        if kind == "missing":
            fault = _missing(error, path, data, model)
            if fault.path in supposed:
                continue
            faults.append(fault)
        else:
            faults.append(_wrong_value(error, path, data, model))
    return faults


def path_in_file(loc: Sequence[str | int], data: Any) -> Path:
    """Return a location as the file has it: without the keys that a short form leaves unsaid."""
    path: list[str | int] = []
    here: Any = data
    for number, step in enumerate(loc):
        if isinstance(here, Mapping) and (step in here or number == len(loc) - 1):
            path.append(step)
            here = here.get(step)
        elif isinstance(here, (list, tuple)) and isinstance(step, int):
            if step >= len(here):
                break
            path.append(step)
            here = here[step]
    return tuple(path)


def _unknown_key(error: Mapping[str, Any], data: Mapping[str, Any], model: type[BaseModel]) -> tuple[Fault, str]:
    loc = error["loc"]
    path = path_in_file(loc, data)
    word = str(loc[-1])
    table = model_at(loc[:-1], model)
    keys = keys_of(table) if table is not None else []
    meant = meant_key(word, keys)
    if word.strip().lower() == "radius" and meant in ("diameter", "circle"):
        hint = f"Give the diameter, twice the radius: {meant} = ..."
    elif meant:
        hint = f'Did you mean "{meant}"?'
    else:
        hint = belongs_elsewhere(word, loc, model) or f"Known keys: {', '.join(keys)}."
    return Fault(path, f"a key of {table_words(loc[:-1], model)}", f'"{shown(word)}" is none. {hint}'), meant


def _missing(error: Mapping[str, Any], path: Path, data: Mapping[str, Any], model: type[BaseModel]) -> Fault:
    loc = error["loc"]
    last = loc[-1]
    if isinstance(last, int):  # a pair with one value
        return Fault(path, f"{last + 1} values in brackets", "One is missing.")
    table = model_at(loc[:-1], model)
    field, text = None, ""
    if table is not None:
        field = next((f for n, f in table.model_fields.items() if (f.alias or n) == last), None)
        text = descriptions(table).get(str(last), "")
    said = f" ({text.rstrip('.')})" if text else ""
    if last == "part" and len(loc) == 1 and "chain" in data:
        said += "; holecam error reads a file of chains alone"
    shell = f"[{last}]" if len(loc) == 1 and field is not None and model_in(field.annotation) else f'"{last}"'
    return Fault(path, f"{shell} here, which is missing{said}")


_PLAIN = {
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing": "a whole number",
    "int_parsing_size": "a whole number of usual size",
    "float_type": "a number without quotes",
    "finite_number": "a finite number",
    "bool_type": "true or false, without quotes",
    "string_type": "text in quotes",
}


def _wrong_value(error: Mapping[str, Any], path: Path, data: Mapping[str, Any], model: type[BaseModel]) -> Fault:
    kind: str = error["type"]
    ctx: Mapping[str, Any] = error.get("ctx") or {}
    value = _as_text(error.get("input"))
    if kind == PROBLEM:
        return Fault((*path, *ctx.get("at", ())), ctx["expected"], ctx["hint"], value)
    if kind == "tuple_type":
        loc = error["loc"]
        expected, hint = list_words(annotation_at(loc, model), error.get("input"), _heading(loc), value)
        return Fault(path, expected, hint, value)
    if kind in _PLAIN:
        return Fault(path, _PLAIN[kind], _hint_for_type(kind, error.get("input")), value)
    if kind == "literal_error":
        return _wrong_word(error, path, ctx, value)
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        return Fault(path, _bound(kind, ctx), "", value)
    if kind in ("too_short", "too_long"):
        few = kind == "too_short"
        number = ctx.get("min_length" if few else "max_length")
        least = f"{'at least' if few else 'at most'} {number} values in brackets"
        more = "" if few else too_many_hint(error.get("input"), number)
        return Fault(path, least, f"It has {ctx['actual_length']}. {more}".rstrip())
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        loc = error["loc"]
        table = model_at(loc, model)
        keys = keys_of(table) if table is not None else []
        return Fault(
            path, "a table such as { key = value }", table_hint(keys, error.get("input"), _heading(loc)), value
        )
    return Fault(path, f"another value ({kind.replace('_', ' ')})", "", value)


def _heading(loc: Sequence[str | int]) -> str:
    return ".".join(step for step in loc if isinstance(step, str))


def _as_text(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    return str(value) if isinstance(value, (int, float)) and abs(value) < 1e30 else ""


def _hint_for_type(kind: str, value: Any) -> str:
    if kind.startswith(("int", "float")):
        return number_hint(value)
    if kind == "bool_type" and isinstance(value, str) and value.lower() in ("yes", "no", "true", "false"):
        return "Write " + ("true." if value.lower() in ("yes", "true") else "false.")
    return ""


def _wrong_word(error: Mapping[str, Any], path: Path, ctx: Mapping[str, Any], value: str) -> Fault:
    words = [w.strip("'") for w in str(ctx["expected"]).replace(" or ", ", ").split(", ")]
    given = error.get("input")
    hint = ""
    if isinstance(given, str):
        meant = _UNIT_WORDS.get(given.lower().strip(), "") if words == ["in", "mm"] else ""
        other = OTHER_WORDS.get(" ".join(given.lower().split()), "")
        meant = meant or (other if other in words else "") or nearest(given, words)
        hint = f'Did you mean "{meant}"?' if meant else ""
        sides = {w[1:] for w in words}
        if given.strip()[:1] not in ("+", "-") and all(w[:1] in ("+", "-") for w in words):
            hint = (
                "The sign is missing." if given.strip().lower() in sides else ""
            )  # to guess one would be to guess a side
    return Fault(path, listed(words), hint, value)


def _bound(kind: str, ctx: Mapping[str, Any]) -> str:
    key = {"greater_than": "gt", "greater_than_equal": "ge", "less_than": "lt", "less_than_equal": "le"}[kind]
    limit = f"{ctx[key]:g}" if isinstance(ctx[key], float) else str(ctx[key])
    words = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}[key]
    return f"a number {words} {limit}" if words in ("above", "below") else f"a number of {words} {limit}"
