"""The position index against a second parser and against texts whose lines are known."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from whole_job import WHOLE_JOB

from holecam.job.positions import positions


def _paths(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    found = [path] if path else []
    if isinstance(value, dict):
        for key, inner in value.items():
            found += _paths(inner, (*path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            found += _paths(inner, (*path, number))
    return found


def test_every_key_and_item_of_the_whole_job_has_a_place_and_its_text() -> None:
    data = tomllib.loads(WHOLE_JOB)
    found = positions(WHOLE_JOB)
    rows = WHOLE_JOB.split("\n")
    assert set(_paths(data)) <= set(found.places)
    for path in _paths(data):
        place = found.places[path]
        assert 1 <= place.line <= len(rows)
        if isinstance(path[-1], str) and place.written:
            assert path[-1] in rows[place.line - 1]
        if place.written and not place.written.startswith("{"):
            value: Any = data
            for step in path:
                value = value[step]
            assert tomllib.loads(f"x = {place.written}")["x"] == value


@pytest.mark.outside_check(
    subject="job file",
    source="spanned-toml: line of every key",
    closeness="exact",
    standing="library",
)
def test_agrees_with_a_second_parser() -> None:
    """spanned-toml (a general-purpose parser that keeps places) for every key that it gives a place for."""
    spanned_toml = pytest.importorskip("spanned_toml")
    found = positions(WHOLE_JOB)
    seen = 0

    def walk(node: Any, path: tuple[str | int, ...]) -> None:
        nonlocal seen
        inner = node.inner() if hasattr(node, "inner") else node
        if isinstance(inner, dict):
            for key, value in inner.items():
                name = str(key.inner()) if hasattr(key, "inner") else str(key)
                span = key.span() if hasattr(key, "span") else None
                if span is not None and span.start > 0 and "[" not in WHOLE_JOB[span.start - 2 : span.start]:
                    line = WHOLE_JOB[: span.start].count("\n") + 1
                    assert found.line((*path, name)) == line, (path, name)
                    seen += 1
                walk(value, (*path, name))
        elif isinstance(inner, list):
            for number, value in enumerate(inner):
                walk(value, (*path, number))

    walk(spanned_toml.loads(WHOLE_JOB), ())
    assert seen > 150


@pytest.mark.parametrize(
    ("text", "path", "line", "written"),
    [
        ("a = 1\nb = 2\n", ("b",), 2, "2"),
        ("# note\n\n[t]\na = 1 # more\n", ("t", "a"), 4, "1"),
        ("[[t]]\na = 1\n[[t]]\na = 2\n", ("t", 1, "a"), 4, "2"),
        ("[[t]]\n[[t.u]]\na = 1\n[[t]]\n[[t.u]]\n[[t.u]]\na = 2\n", ("t", 1, "u", 1, "a"), 7, "2"),
        ("[[t]]\n[t.u]\na = 1\n", ("t", 0, "u", "a"), 3, "1"),
        ("a = [\n  1,\n  # no\n  [2,\n   3],\n]\n", ("a", 1, 1), 5, "3"),
        ("a.b.c = 1\na.b.d = 2\n", ("a", "b", "d"), 2, "2"),
        ("a = { b = { c = [1, { d = 5 }] } }\n", ("a", "b", "c", 1, "d"), 1, "5"),
        ('"a \\"b\\".c" = 1\n', ('a "b".c',), 1, "1"),
        ("'a.b' = 1\n", ("a.b",), 1, "1"),
        ('a = """\nx = 1\n"""\nb = 2\n', ("b",), 4, "2"),
        ("a = '''\n]\n'''\nb = 2\n", ("b",), 4, "2"),
        ('a = "x # y ] } ="\nb = [ "#", "]" ]\n', ("b", 1), 2, '"]"'),
        ('a = """"quoted""""\nb = 2\n', ("b",), 2, "2"),
        ("a = 1\r\nb = 2\r\n", ("b",), 2, "2"),
        ("a = 2024-01-01 12:00:00\nb = 3", ("a",), 1, "2024-01-01 12:00:00"),
    ],
)
def test_forms_of_toml(text: str, path: tuple[str | int, ...], line: int, written: str) -> None:
    tomllib.loads(text)
    place = positions(text).places[path]
    assert (place.line, place.written) == (line, written)


def test_a_thing_without_a_place_takes_that_of_what_is_around_it() -> None:
    found = positions("[t]\na = { b = 1 }\n")
    assert found.line(("t", "a", "missing", 3)) == 2
    assert found.line(("t", "missing")) == 1
    assert found.line(("missing",)) == 0
    assert found.written(("t", "missing")) == ""


KEYS = st.text("abcxyz_-", min_size=1, max_size=4)
SCALARS = st.one_of(st.integers(-99, 99).map(str), st.sampled_from(['"a b"', "'#'", "true", "1.5", '"]}"', '"\\"="']))


@st.composite
def documents(draw: st.DrawFn) -> tuple[str, dict[tuple[str | int, ...], int]]:
    """Return a text made line by line, and the line of each key as it was written."""
    rows: list[str] = []
    lines: dict[tuple[str | int, ...], int] = {}
    top = draw(st.lists(KEYS, unique=True, max_size=4))
    used: set[str] = set(top)
    for key in top:
        rows.extend(draw(st.lists(st.sampled_from(["", "# x = [", "   "]), max_size=2)))
        rows.append(f"{key} = {draw(SCALARS)}")
        lines[(key,)] = len(rows)
    for table in draw(st.lists(KEYS, unique=True, max_size=3)):
        if table in used:
            continue
        count = draw(st.integers(0, 3))
        for number in range(max(1, count)):
            rows.append(f"[[{table}]]" if count else f"[ {table} ]  # {{")
            outer: tuple[str | int, ...] = (table, number) if count else (table,)
            lines[outer] = len(rows)
            for key in draw(st.lists(KEYS, unique=True, max_size=3)):
                items = draw(st.lists(SCALARS, min_size=1, max_size=3))
                rows.append(f"{key} = [")
                lines[(*outer, key)] = len(rows)
                for n, item in enumerate(items):
                    rows.append(f"  {item},")
                    lines[(*outer, key, n)] = len(rows)
                rows.append("]")
    return "\n".join(rows), lines


@given(documents())
def test_lines_of_made_up_documents(made: tuple[str, dict[tuple[str | int, ...], int]]) -> None:
    text, lines = made
    tomllib.loads(text)
    found = positions(text)
    for path, line in lines.items():
        assert found.line(path) == line, (path, text)


@given(st.text(st.characters(codec="utf-8"), max_size=60))
def test_any_text_is_scanned_without_an_error(text: str) -> None:
    assert positions(text).line(("x",)) >= 0
