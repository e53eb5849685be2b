"""Small programs read, written and checked just as they were when a person read every line of what is kept."""

from __future__ import annotations

import pytest
from recorded_cases import (
    CHECKED,
    GROUPS,
    PLANNED,
    READ,
    RIGID,
    WRITTEN,
    kept,
    planned_text,
    reading_text,
    refusals,
    result_text,
    tapping_plan,
)
from recorded_paths import PATHS, match_text, pieces

from holecam.errors import InputError
from holecam.program import write_program

KEPT = {file: kept(file) for file in ("read", "written", "planned", "checked", "paths")}
ODD = "what some controls read otherwise"


@pytest.mark.parametrize("name", READ)
def test_what_is_read(name: str) -> None:
    text, dialect = READ[name]
    assert reading_text(text, dialect) == KEPT["read"][name]


def test_what_is_read_with_the_switch_for_block_delete_on() -> None:
    text, dialect = READ[ODD]
    assert reading_text(text, dialect, skip_deletable=True) == KEPT["read"]["the same with the switch on"]


@pytest.mark.parametrize("name", GROUPS)
def test_why_lines_are_refused(name: str) -> None:
    assert refusals(GROUPS[name]) == KEPT["read"][name]


@pytest.mark.parametrize("name", WRITTEN)
def test_what_is_written(name: str) -> None:
    make, dialect = WRITTEN[name]
    assert write_program(make(), dialect) == KEPT["written"][name] + "\n"


@pytest.mark.parametrize("name", PLANNED)
def test_what_is_planned(name: str) -> None:
    make, dialect = PLANNED[name]
    assert planned_text(make(), dialect) == KEPT["planned"][name]


@pytest.mark.parametrize("name", CHECKED)
def test_what_the_check_says(name: str) -> None:
    assert result_text(CHECKED[name]()) == KEPT["checked"][name]


@pytest.mark.parametrize("name", PATHS)
def test_how_cuts_lie_on_planned_ones(name: str) -> None:
    plan, program = PATHS[name]
    assert match_text(pieces(plan), pieces(program)) == KEPT["paths"][name]


def test_nothing_is_kept_without_a_case() -> None:
    assert KEPT["read"].keys() == {*READ, "the same with the switch on", *GROUPS}
    assert KEPT["written"].keys() == WRITTEN.keys()
    assert KEPT["planned"].keys() == PLANNED.keys()
    assert KEPT["checked"].keys() == CHECKED.keys()
    assert KEPT["paths"].keys() == PATHS.keys()


def test_a_machine_that_cannot_tap_is_not_told_to() -> None:
    assert RIGID.rigid_tapping
    with pytest.raises(InputError, match='program "tap": hole 1 is to be tapped by the machine, but the dialect says'):
        write_program(tapping_plan())
