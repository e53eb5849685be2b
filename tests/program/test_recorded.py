"""Small programs read, written and checked just as they were when a person read every line of what is kept."""

from __future__ import annotations

from collections.abc import Iterable

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


def test_what_is_read() -> None:
    for name, (text, dialect) in READ.items():
        assert reading_text(text, dialect) == KEPT["read"][name], name


def test_what_is_read_with_the_switch_for_block_delete_on() -> None:
    text, dialect = READ[ODD]
    assert reading_text(text, dialect, skip_deletable=True) == KEPT["read"]["the same with the switch on"]


def test_why_lines_are_refused() -> None:
    for name, lines in GROUPS.items():
        assert refusals(lines) == KEPT["read"][name]


def test_what_is_written() -> None:
    for name, (make, dialect) in WRITTEN.items():
        assert write_program(make(), dialect) == KEPT["written"][name] + "\n", name


def test_what_is_planned() -> None:
    for name, (make, dialect) in PLANNED.items():
        assert planned_text(make(), dialect) == KEPT["planned"][name], name


def says(*names: str) -> None:
    for name in names:
        assert result_text(CHECKED[name]()) == KEPT["checked"][name], name


def test_what_the_check_says_of_programs_by_hand() -> None:
    says(*(name for name in CHECKED if "by hand" in name or "known" in name or "in inches, the" in name))
    says("an empty text", "nothing but an end")


def test_what_the_check_says_of_programs_as_written() -> None:
    says(*(name for name in CHECKED if name.endswith(("as written", "arcs in inches"))))


def test_what_the_check_says_of_holes() -> None:
    says(*(name for name in CHECKED if "hole" in name and "written" not in name), "drilled with the spot drill again")


@pytest.mark.parametrize("name", CHECKED)
def test_what_the_check_says(name: str) -> None:
    says(name)


def lie(names: Iterable[str]) -> None:
    for name in names:
        plan, program = PATHS[name]
        assert match_text(pieces(plan), pieces(program)) == KEPT["paths"][name], name


def test_how_lines_lie_on_planned_ones() -> None:
    lie(name for name in PATHS if not any(word in name for word in ("arc", "helix", "pass", "many")))


def test_how_arcs_lie_on_planned_ones() -> None:
    lie(name for name in PATHS if "arc" in name or "helix" in name)


def test_how_passes_and_long_paths_lie_on_planned_ones() -> None:
    lie(name for name in PATHS if "pass" in name or "many" in name)


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
