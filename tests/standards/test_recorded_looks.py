"""The look-ups answer just as they did when a person read every line of what is kept."""

from __future__ import annotations

from recorded_looks import KEPT, kept, text_of


def holds(file: str) -> None:
    assert text_of(KEPT[file]()).split("\n") == kept(file).split("\n")


def test_how_names_of_threads_are_read() -> None:
    holds("threads")


def test_how_names_of_drills_are_read() -> None:
    holds("drills")


def test_what_belongs_to_a_screw() -> None:
    holds("sizes")


def test_which_tap_drill_is_chosen() -> None:
    holds("taps")


def test_where_cutting_starts() -> None:
    holds("cutting")
