"""Names that tables of a job use for each other: every name leads somewhere, no two things share one.

These checks read the plain values of the file, not the models, so that they speak also when something else is wrong.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from typing import Any

from holecam.job.faults import Fault, shown
from holecam.job.positions import Path
from holecam.job.table_keys import nearest

ANY = "*"
"""Stands for every item of a list; a single value counts as a list of one."""

MOST_FAULTS = 200
"""Faults that are looked for; a hostile file could ask for millions."""

MOST_NAMES = 300
"""Names among which the nearest is sought, for the same reason."""

_ONCE: tuple[tuple[tuple[str, ...], str], ...] = (
    (("pattern", "old_holes"), "pattern and set of old holes"),
    (("slot", "pocket", "step_down"), "slot, pocket and step-down"),
    (("body",), "body"),
    (("keep_out",), "keep-out"),
    (("chain",), "chain"),
    (("marking_out",), "marking-out"),
)
"""Tables whose names may not meet, and what to call them."""

_HOLES = ("pattern", "old_holes")
_REFERENCES: tuple[tuple[Path, tuple[str, ...], str], ...] = (
    *(((table, ANY, "in"), ("body",), "[[body]]") for table in ("pattern", "old_holes", "keep_out", "slot", "pocket")),
    (("pattern", ANY, "like"), _HOLES, "pattern or set of old holes"),
    (("old_holes", ANY, "like"), _HOLES, "pattern or set of old holes"),
    (("mate", ANY, "holes", "like"), _HOLES, "pattern or set of old holes"),
    (("pattern", ANY, "place", "moved", "from"), _HOLES, "set of old holes or pattern"),
    (("pattern", ANY, "candidate", ANY, "place", "moved", "from"), _HOLES, "set of old holes or pattern"),
    (("old_holes", ANY, "place", "moved", "from"), _HOLES, "set of old holes or pattern"),
    (("pattern", ANY, "place", "moved", "by"), ("chain",), "[[chain]]"),
    (("pattern", ANY, "candidate", ANY, "place", "moved", "by"), ("chain",), "[[chain]]"),
    (("old_holes", ANY, "place", "moved", "by"), ("chain",), "[[chain]]"),
    (("pattern", ANY, "over"), ("step_down",), "[[step_down]]"),
    (("mate", ANY, "pattern"), ("pattern",), "[[pattern]]"),
    (("slot", ANY, "keep_from", ANY), ("keep_out",), "[[keep_out]]"),
    (("pocket", ANY, "keep_from", ANY), ("keep_out",), "[[keep_out]]"),
    (("slot", ANY, "ends", ANY, "stop_short"), ("keep_out",), "[[keep_out]]"),
    (("limit", ANY, "pattern"), ("pattern", "slot", "pocket", "step_down"), "pattern, slot, pocket or step-down"),
)
"""Where a name stands, in which tables it has to be, and what to call them."""


def plain(name: str) -> str:
    """Return a name as it is compared: capitals and blanks do not make two names of one."""
    return " ".join(name.casefold().split())


def reference_faults(data: Mapping[str, Any]) -> list[Fault]:
    """Return every name that is used twice or leads nowhere in the plain values of a job file."""
    return list(islice(_all_faults(data), MOST_FAULTS))


def spelled_out(data: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return the values with every name that leads somewhere written as it is where it leads.

    ``"Rail Screws"`` means the pattern ``"rail screws"``; whoever reads the job after this compares names as they are.
    The values that were given stay as they were.
    """
    changes: list[tuple[Path, str]] = []
    for where, tables, _ in _REFERENCES:
        names = {plain(name): name for table in tables for _, name in _names(data, table)}
        for path, value in _found(data, where):
            if isinstance(value, str) and names.get(plain(value), value) != value:
                changes.append((path, names[plain(value)]))
    if not changes:
        return data
    written = copy.deepcopy(dict(data))
    for path, name in changes:
        parent: Any = written
        for step in path[:-1]:
            parent = parent[step]
        if isinstance(parent, tuple):
            continue  # values of a program: nothing can be put into them, and the names are taken as they are
        parent[path[-1]] = name
    return written


def _all_faults(data: Mapping[str, Any]) -> Iterator[Fault]:
    for tables, what in _ONCE:
        yield from _twice(data, tables, what)
    for where, tables, what in _REFERENCES:
        names = {plain(name): name for table in tables for _, name in _names(data, table)}
        for path, value in _found(data, where):
            if isinstance(value, str) and value.strip() and plain(value) not in names:
                yield _unknown(path, value, list(names.values())[:MOST_NAMES], what)
    for path, value in _own_name_used(data):
        yield Fault(path, "the name of other holes", "It names itself.", f'"{value}"')


def _found(data: Any, where: Path, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Yield what stands at a place of the file, with its path."""
    if not where:
        yield path, data
    elif where[0] == ANY:
        if isinstance(data, (list, tuple)):
            for number, item in enumerate(data):
                yield from _found(item, where[1:], (*path, number))
        elif data is not None:
            yield from _found(data, where[1:], path)
    elif isinstance(data, Mapping) and where[0] in data:
        yield from _found(data[where[0]], where[1:], (*path, where[0]))


def _names(data: Mapping[str, Any], table: str) -> list[tuple[Path, str]]:
    """Return the names of one kind of table, copies of patterns included."""
    found = list(_found(data, (table, ANY, "name")))
    if table == "pattern":
        found += _found(data, (table, ANY, "mirror_copy", "name"))
    names = [(path, value) for path, value in found if isinstance(value, str) and value.strip()]
    if table == "old_holes":
        unnamed = [n for n, item in _items(data, table) if "name" not in item]
        names += [((table, n), "old holes") for n in unnamed]
    return sorted(names, key=lambda entry: (isinstance(entry[0][1], int) and entry[0][1], len(entry[0])))


def _items(data: Mapping[str, Any], table: str) -> list[tuple[int, Mapping[str, Any]]]:
    rows = data.get(table)
    if not isinstance(rows, (list, tuple)):
        return []
    return [(n, row) for n, row in enumerate(rows) if isinstance(row, Mapping)]


def _twice(data: Mapping[str, Any], tables: Sequence[str], what: str) -> Iterator[Fault]:
    first: dict[str, Path] = {}
    for table in tables:
        for path, name in _names(data, table):
            if plain(name) in first:
                other = first[plain(name)]
                hint = f'"{shown(name)}" is the name of {other[0]} {_number(other)} too.'
                yield Fault(path, f"a different name for each {what}", hint, f'"{name}"')
            else:
                first[plain(name)] = path


def _number(path: Path) -> int:
    return path[1] + 1 if len(path) > 1 and isinstance(path[1], int) else 1


def _unknown(path: Path, name: str, known: Sequence[str], what: str) -> Fault:
    meant = nearest(name, known)
    if meant:
        hint = f'Did you mean "{shown(meant)}"?'
    elif known:
        hint = "There is " + ", ".join(f'"{shown(n)}"' for n in known[:8]) + (" and others." if len(known) > 8 else ".")
    else:
        hint = "The job has none."
    return Fault(path, f"the name of a {what}", hint, f'"{name}"')


def _own_name_used(data: Mapping[str, Any]) -> Iterator[tuple[Path, str]]:
    """Yield names with which holes refer to themselves."""
    for table in _HOLES:
        for n, item in _items(data, table):
            own = item.get("name", "old holes")
            for key in (("like",), ("place", "moved", "from")):
                for path, value in _found(item, key, (table, n)):
                    if isinstance(value, str) and isinstance(own, str) and plain(value) == plain(own):
                        yield path, value
