"""Whatever is done to a job file, what comes out is a job or a list of problems, never anything else."""

from __future__ import annotations

import copy
import datetime
import tomllib
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from whole_job import WHOLE_JOB

from holecam.errors import FileContentError, InputError
from holecam.job.models import Job
from holecam.job.reader import check_data, parse_job
from holecam.job.schema import job_schema

DATA = tomllib.loads(WHOLE_JOB)
VALIDATOR = jsonschema.Draft202012Validator(job_schema())

ODD: st.SearchStrategy[Any] = st.one_of(
    st.sampled_from(
        [0, -1, 1, 10**30, 1e300, 1e-300, True, False, float("nan"), float("inf"), "", " ", "\x00", "\u202e"]
    ),
    st.sampled_from(
        ["1/2", "3/0", "-1/4", "1e5", "4,5", "12 thou", "all", "open", "through", "+x", "none", "5-40", "M4"]
    ),
    st.sampled_from([[], {}, [[]], [{}], [[0, 0]], {"line": {}}, {"to": [0, 0]}, [[1, 2], [3, 4], [5, 0]], "x" * 5000]),
    st.integers(-(10**6), 10**6),
    st.floats(allow_nan=True),
    st.text(max_size=12),
    st.just(datetime.date(2024, 1, 1)),
    st.just(datetime.time(1, 2)),
)


def _places(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path] if path else []
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in items:
        found += _places(value, (*path, key))
    return found


PLACES = _places(DATA)


def _parent(data: Any, path: tuple[Any, ...]) -> Any:
    for step in path[:-1]:
        data = data[step]
    return data


@st.composite
def mutated(draw: st.DrawFn) -> dict[str, Any]:
    """Return the whole job with up to three places changed, dropped, doubled or renamed."""
    data = copy.deepcopy(DATA)
    for _ in range(draw(st.integers(1, 3))):
        path = draw(st.sampled_from(PLACES))
        try:
            parent = _parent(data, path)
            parent[path[-1]]
        except (KeyError, IndexError, TypeError):
            continue
        if not isinstance(parent, (dict, list)):
            continue
        what = draw(st.sampled_from(["set", "set", "drop", "rename", "other"]))
        if what == "set":
            parent[path[-1]] = draw(ODD)
        elif what == "drop":
            del parent[path[-1]]
        elif what == "rename" and isinstance(parent, dict):
            parent[draw(st.text("abcdefghij_", min_size=1, max_size=6))] = parent.pop(path[-1])
        else:
            other = draw(st.sampled_from(PLACES))
            try:
                parent[path[-1]] = copy.deepcopy(_parent(DATA, other)[other[-1]])
            except (KeyError, IndexError, TypeError):
                continue
    return data


def _job_or_problems(data: dict[str, Any]) -> Job | None:
    try:
        return check_data(data, folder="/nowhere")
    except FileContentError as error:
        for problem in error.problems:
            assert problem.expected  # both outcomes are right here
            text = problem.text()
            assert text.startswith("job: ")
            assert text.isprintable()
            assert len(text) < 4000
        return None


@settings(max_examples=150)
@given(mutated())
def test_values_that_went_wrong(data: dict[str, Any]) -> None:
    job = _job_or_problems(data)
    if job is not None:
        # An editor must not underline what the reader takes
        jsonschema_errors = [e.message[:200] for e in VALIDATOR.iter_errors(_as_json(data))]
        assert jsonschema_errors == []


def _as_json(node: Any) -> Any:
    if isinstance(node, dict):
        return {k: _as_json(v) for k, v in node.items()}
    if isinstance(node, list):
        return [_as_json(v) for v in node]
    return node.isoformat() if isinstance(node, datetime.date) else node


@settings(max_examples=150)
@given(st.data())
def test_texts_that_went_wrong(data: st.DataObject) -> None:
    text = WHOLE_JOB
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(text) - 1))
        change = data.draw(st.sampled_from(["drop", "insert", "swap", "cut line", "double line"]))
        if change == "drop":
            text = text[:at] + text[at + data.draw(st.integers(1, 4)) :]
        elif change == "insert":
            text = text[:at] + data.draw(st.sampled_from(list("\"'[]{}=,.#\\-/ \n\t1aé\x07\u202e"))) + text[at:]
        elif change == "swap":
            text = text[:at] + text[at + 1 : at + 2] + text[at : at + 1] + text[at + 2 :]
        else:
            start, end = text.rfind("\n", 0, at) + 1, text.find("\n", at) + 1
            text = text[:start] + (text[start:end] * 2 if change == "double line" else "") + text[end:]
    try:
        parse_job(text, file="job.toml", folder="/nowhere")
    except InputError as error:
        assert str(error).startswith("job.toml")  # noqa: PT017
        lines = [p.line for p in getattr(error, "problems", ())]
        assert lines == sorted(lines)
        assert all(0 <= line <= text.count("\n") + 1 for line in lines)


@pytest.mark.slow
@settings(max_examples=1500)
@given(mutated())
def test_values_that_went_wrong_many_times(data: dict[str, Any]) -> None:
    _job_or_problems(data)
