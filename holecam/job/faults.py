"""What pydantic and the cross-checks find, turned into sentences for the person who wrote the file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from difflib import get_close_matches
from itertools import islice
from types import UnionType
from typing import Any, Union, get_args, get_origin

from msgspec import Struct
from pydantic import BaseModel

from holecam.errors import Problem
from holecam.job.descriptions import descriptions
from holecam.job.positions import Path, Positions
from holecam.job.quantities import PROBLEM

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


def nearest(word: str, words: Iterable[str]) -> str:
    """Return the word most like the given one, or nothing."""
    plain = {w.lower().replace("-", "_").replace(" ", "_"): w for w in words}
    found = get_close_matches(word.lower().replace("-", "_").replace(" ", "_")[:80], plain, n=1, cutoff=0.6)
    return plain[found[0]] if found else ""


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


def model_at(loc: Sequence[str | int], model: type[BaseModel]) -> type[BaseModel] | None:
    """Return the table that a location leads into, or None for a plain value."""
    here: type[BaseModel] | None = model
    for step in loc:
        if isinstance(step, int):
            continue
        if here is None:
            return None
        field = next((f for n, f in here.model_fields.items() if (f.alias or n) == step), None)
        if field is None:
            return None
        here = _model_in(field.annotation)
    return here


def keys_of(model: type[BaseModel]) -> list[str]:
    """Return the keys of a table as the file writes them."""
    return [f.alias or n for n, f in model.model_fields.items()]


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) in (Union, UnionType, tuple) or get_args(annotation):
        for part in get_args(annotation):
            found = _model_in(part)
            if found is not None:
                return found
    return None


def _table_words(loc: Sequence[str | int], model: type[BaseModel]) -> str:
    names = [s for s in loc if isinstance(s, str)]
    if not names:
        return "the top of the file"
    if len(names) == 1:
        many = len(loc) > 1 and isinstance(loc[1], int)
        return f"[[{names[0]}]]" if many else f"[{names[0]}]"
    return ".".join(names)


def _unknown_key(error: Mapping[str, Any], data: Mapping[str, Any], model: type[BaseModel]) -> tuple[Fault, str]:
    loc = error["loc"]
    path = path_in_file(loc, data)
    word = str(loc[-1])
    table = model_at(loc[:-1], model)
    keys = keys_of(table) if table is not None else []
    meant = nearest(word, keys)
    if meant:
        hint = f'Did you mean "{meant}"?'
    else:
        hint = _belongs_elsewhere(word, loc, model) or f"Known keys: {', '.join(keys)}."
    return Fault(path, f"a key of {_table_words(loc[:-1], model)}", f'"{shown(word)}" is none. {hint}'), meant


def _belongs_elsewhere(word: str, loc: Sequence[str | int], model: type[BaseModel]) -> str:
    """Return a hint when the key is known in another table: often a line that stands below the wrong header."""
    if len(loc) > 1 and word in keys_of(model):
        return f'"{word}" belongs at the top of the file, above the first [table].'
    for name, field in model.model_fields.items():
        table = _model_in(field.annotation)
        if table is not None and word in keys_of(table) and (field.alias or name) != loc[0]:
            many = get_origin(field.annotation) is tuple
            outer = field.alias or name
            return f'"{word}" belongs under {f"[[{outer}]]" if many else f"[{outer}]"}.'
    return ""


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
    shell = f"[{last}]" if len(loc) == 1 and field is not None and _model_in(field.annotation) else f'"{last}"'
    return Fault(path, f"{shell} here, which is missing{said}")


_PLAIN = {
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing": "a whole number",
    "int_parsing_size": "a whole number of usual size",
    "float_type": "a number without quotes",
    "finite_number": "a finite number",
    "bool_type": "true or false, without quotes",
    "tuple_type": "a list in square brackets",
    "string_type": "text in quotes",
}


def _wrong_value(error: Mapping[str, Any], path: Path, data: Mapping[str, Any], model: type[BaseModel]) -> Fault:
    kind: str = error["type"]
    ctx: Mapping[str, Any] = error.get("ctx") or {}
    value = _as_text(error.get("input"))
    if kind == PROBLEM:
        return Fault((*path, *ctx.get("at", ())), ctx["expected"], ctx["hint"], value)
    if kind in _PLAIN:
        return Fault(path, _PLAIN[kind], _hint_for_type(kind, error.get("input")), value)
    if kind == "literal_error":
        return _wrong_word(error, path, ctx, value)
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        return Fault(path, _bound(kind, ctx), "", value)
    if kind in ("too_short", "too_long"):
        few = kind == "too_short"
        number = ctx.get("min_length" if few else "max_length")
        return Fault(
            path, f"{'at least' if few else 'at most'} {number} values in brackets", f"It has {ctx['actual_length']}."
        )
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        table = model_at(error["loc"], model)
        keys = ", ".join(keys_of(table)) if table is not None else ""
        return Fault(path, "a table such as { key = value }", f"Known keys: {keys}." if keys else "", value)
    return Fault(path, f"another value ({kind.replace('_', ' ')})", "", value)


def _as_text(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    return str(value) if isinstance(value, (int, float)) and abs(value) < 1e30 else ""


def _hint_for_type(kind: str, value: Any) -> str:
    if kind.startswith(("int", "float")) and isinstance(value, str):
        return "Take the quotes off." if value.strip().lstrip("+-").replace(".", "", 1).isdigit() else ""
    if kind == "bool_type" and isinstance(value, str) and value.lower() in ("yes", "no", "true", "false"):
        return "Write " + ("true." if value.lower() in ("yes", "true") else "false.")
    return ""


def _wrong_word(error: Mapping[str, Any], path: Path, ctx: Mapping[str, Any], value: str) -> Fault:
    words = [w.strip("'") for w in str(ctx["expected"]).replace(" or ", ", ").split(", ")]
    given = error.get("input")
    hint = ""
    if isinstance(given, str):
        meant = _UNIT_WORDS.get(given.lower().strip(), "") if words == ["in", "mm"] else ""
        meant = meant or nearest(given, words)
        hint = f'Did you mean "{meant}"?' if meant else ""
        if given.strip()[:1] not in ("+", "-") and all(w[:1] in ("+", "-") for w in words):
            hint = "The sign is missing."  # to guess one would be to guess a side
    return Fault(path, listed(words), hint, value)


def _bound(kind: str, ctx: Mapping[str, Any]) -> str:
    key = {"greater_than": "gt", "greater_than_equal": "ge", "less_than": "lt", "less_than_equal": "le"}[kind]
    limit = f"{ctx[key]:g}" if isinstance(ctx[key], float) else str(ctx[key])
    words = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}[key]
    return f"a number {words} {limit}" if words in ("above", "below") else f"a number of {words} {limit}"
