"""Jobs built from good ones by changing keys, types, sizes, signs and units; all of them invented."""

from __future__ import annotations

import copy
import math
import re
import tomllib
from pathlib import Path
from typing import Any

from chooser import Chooser, pick
from odd_values import near_value, odd_value

PROJECT = Path(__file__).parents[2]


def base_texts() -> list[str]:
    """Return the texts of the good jobs: examples, starters, every job of the documents, and every table once."""
    files = [
        *sorted(PROJECT.glob("examples/*/job.toml")),
        *sorted((PROJECT / "holecam" / "job").glob("starter_*.toml")),
    ]
    texts = [f.read_text(encoding="utf-8") for f in files]
    for page in sorted(PROJECT.glob("docs/*.md")):
        blocks = re.findall(r"^```toml\n(.*?)^```", page.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL)
        texts += [b for b in blocks if re.search(r"^title\s*=", b, re.MULTILINE)]
    whole = (PROJECT / "tests" / "job" / "whole_job.py").read_text(encoding="utf-8")
    return [*texts, whole.split('"""\\\n', 1)[1].rsplit('"""', 1)[0]]


BASE_TEXTS = base_texts()
BASES: list[dict[str, Any]] = [tomllib.loads(text) for text in BASE_TEXTS]


def places(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the path of every value, tables and lists too."""
    found = [path] if path else []
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in items:
        found += places(value, (*path, key))
    return found


PLACES = [places(base) for base in BASES]


def value_at(data: Any, path: tuple[Any, ...]) -> Any:
    """Return what stands at a path."""
    for step in path:
        data = data[step]
    return data


def hostile_job(chooser: Chooser) -> dict[str, Any]:
    """Return a job with one to four places changed, dropped, doubled, renamed, or taken from another job."""
    number = chooser.below(len(BASES))
    data = copy.deepcopy(BASES[number])
    for _ in range(1 + chooser.below(4)):
        path = pick(chooser, PLACES[number])
        try:
            parent, old = value_at(data, path[:-1]), value_at(data, path)
        except (KeyError, IndexError, TypeError):
            continue  # an earlier change took the place away
        if isinstance(parent, (dict, list)):
            _change(chooser, parent, path[-1], old)
    return data


def _change(chooser: Chooser, parent: Any, key: Any, old: Any) -> None:
    what = chooser.below(10)
    if what < 5:
        parent[key] = near_value(chooser, old)
    elif what == 5:
        parent[key] = odd_value(chooser)
    elif what == 6:
        del parent[key]
    elif what == 7 and isinstance(parent, dict):
        parent[pick(chooser, ["x", "namee", "", "a.b", "\u00e9", "k" * 300, "__proto__", '"'])] = parent.pop(key)
    else:
        other = chooser.below(len(BASES))
        path = pick(chooser, PLACES[other])
        taken = copy.deepcopy(value_at(BASES[other], path))
        if isinstance(parent, dict) and what == 9 and isinstance(path[-1], str):
            parent[path[-1]] = taken
        else:
            parent[key] = taken


_PLAIN_KEY = re.compile(r"[A-Za-z0-9_-]+")


def toml_text(data: dict[str, Any]) -> str:
    """Return the job as TOML: one line a top key, everything below inline."""
    return "".join(f"{_key(k)} = {_value(v)}\n" for k, v in data.items())


def _key(key: Any) -> str:
    text = str(key)
    return text if _PLAIN_KEY.fullmatch(text) else _text(text)


def _text(text: str) -> str:
    out = []
    for char in text:
        if char in '"\\':
            out.append("\\" + char)
        elif ord(char) < 32 or ord(char) == 127:
            out.append(f"\\u{ord(char):04x}")
        else:
            out.append(char)
    return '"' + "".join(out) + '"'


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(value) if math.isfinite(value) else str(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    if value is None:
        return '"none"'
    return str(value.isoformat())
