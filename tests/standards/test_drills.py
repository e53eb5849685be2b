"""Drill tables against a second table and their own steps; the neighbours against brute force; names as written."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.lengths import MM_PER_INCH
from holecam.standards.drill_names import parse_drill, parse_size
from holecam.standards.drills import (
    SETS,
    Drill,
    all_drills,
    drills_by_size,
    largest_at_most,
    nearest,
    next_larger,
    next_smaller,
    owned_drills,
    smallest_at_least,
)

REPLACEMENTS_MM = (
    "5.80 5.60 5.40 5.30 5.20 5.20 5.10 5.10 5.00 4.90 4.90 4.80 4.70 4.60 4.60 4.50 4.40 4.30 4.20 4.10 "
    "4.00 4.00 3.90 3.90 3.80 3.70 3.70 3.60 3.50 3.30 3.00 2.95 2.85 2.80 2.80 2.70 2.65 2.60 2.55 2.50 "
    "2.45 2.40 2.25 2.20 2.10 2.05 2.00 1.95 1.85 1.80 1.70 1.60 1.50 1.40 1.30 1.20 1.10 1.05 1.05 1.00 "
    "1.00 0.98 0.95 0.92 0.90 0.85 0.82 0.78 0.75 0.70 0.65 0.65 0.60 0.58 0.52 0.50 0.45 0.40 0.38 0.35"
)
"""BS 328: metric drills that replace number drills 1 to 80, from memory; a second table for the inch decimals."""

LETTER_REPLACEMENTS_MM = (
    "5.90 6.00 6.10 6.20 6.40 6.50 6.60 6.70 6.90 7.00 7.10 7.40 7.50 7.70 8.00 8.20 8.40 8.60 8.80 9.10 9.30 9.60 "
    "9.80 10.10 10.30 10.50"
)
"""BS 328: the same for letters A to Z, from memory."""

HALF_STEP = 0.06
"""mm. A replacement is the nearest metric drill of its time, steps of 0.1 mm and a rounding upward now and then."""


def of(set_name: str) -> tuple[Drill, ...]:
    return tuple(d for d in all_drills() if d.set_name == set_name)


def test_the_sets_are_whole() -> None:
    assert [d.name for d in of("number")] == [f"#{n}" for n in range(1, 98)]
    assert "".join(d.name for d in of("letter")) == "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert [d.size for d in of("fraction")] == [Fraction(n, 64) for n in range(1, 65)]
    assert len({d.name for d in all_drills()}) == len(all_drills())
    metric = [d.size for d in of("metric")]
    assert metric == sorted(set(metric))
    assert {Fraction(n, 20) for n in range(6, 61)} <= set(metric)
    assert {Fraction(n, 10) for n in range(30, 131)} <= set(metric)


def test_sizes_run_without_a_step_out_of_order() -> None:
    numbers = [d.size for d in of("number")]
    letters = [d.size for d in of("letter")]
    assert all(a > b for a, b in pairwise(numbers))
    assert all(a < b for a, b in pairwise(letters))
    assert letters[0] > numbers[0]
    # No step of a number drill exceeds 0.0085 in, no letter's 0.014 in: a digit typed wrongly makes a jump
    assert max(a - b for a, b in pairwise(numbers)) == Fraction("0.0085")
    assert max(b - a for a, b in pairwise(letters)) == Fraction("0.014")


@pytest.mark.outside_check(
    subject="table drills",
    source="BS 328: metric drills that replace the number and letter drills",
    closeness="0.06 mm",
    standing="memory",
)
@pytest.mark.parametrize(
    ("drill", "replacement"),
    [
        *zip(of("number")[:80], map(float, REPLACEMENTS_MM.split()), strict=True),
        *zip(of("letter"), map(float, LETTER_REPLACEMENTS_MM.split()), strict=True),
    ],
    ids=lambda v: v.name if isinstance(v, Drill) else str(v),
)
def test_inch_decimals_agree_with_the_metric_replacement_table(drill: Drill, replacement: float) -> None:
    assert drill.diameter == pytest.approx(replacement, abs=HALF_STEP)


@pytest.mark.outside_check(
    subject="table drills",
    source="ASME B94.11M: decimal equivalents of 16 drills",
    closeness="exact",
    standing="memory",
)
@pytest.mark.parametrize(
    ("name", "inches"),
    [
        # Decimal equivalents as in every handbook table (ASME B94.11M)
        ("#1", "0.228"), ("#7", "0.201"), ("#21", "0.159"), ("#29", "0.136"), ("#36", "0.1065"), ("#43", "0.089"),
        ("#50", "0.07"), ("#60", "0.04"), ("#80", "0.0135"), ("#97", "0.0059"), ("A", "0.234"), ("F", "0.257"),
        ("U", "0.368"), ("Z", "0.413"), ("27/64 in", "0.421875"), ("7/8 in", "0.875"),
    ],
)  # fmt: skip
def test_published_decimal_equivalents(name: str, inches: str) -> None:
    drill = next(d for d in all_drills() if d.name == name)
    assert drill.size == Fraction(inches)
    assert drill.exact_diameter == Fraction(inches) * MM_PER_INCH


def test_letter_e_and_a_quarter_inch_are_one_size() -> None:
    assert parse_drill("E").size == parse_drill("1/4").size


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("#29", "#29"), ("# 29", "#29"), ("No. 29", "#29"), ("no29", "#29"), ("No 29", "#29"), ("nr 29", "#29"),
        ("number 29", "#29"), ("n29", "#29"), ("29#", "#29"), ("#029", "#29"), ("F", "F"), ("f", "F"),
        ("letter F", "F"), ("ltr F", "F"), ("size F", "F"), ("7/32", "7/32 in"), ("7/32 in", "7/32 in"),
        ('7/32"', "7/32 in"), ("14/64", "7/32 in"), ("1/1", "1 in"), ("5.5 mm", "5.5 mm"), ("5.5mm", "5.5 mm"),
        ("5 mm", "5.0 mm"), ("5.0 mm", "5.0 mm"), ("0.136 in", "#29"), ('.136"', "#29"), ("136 thou", "#29"),
        ("0.25 in", "1/4 in"), ("1-1/32", "1-1/32 in"), ("1 1/32", "1-1/32 in"), ("3.33 mm", "3.33 mm"),
        ("½", "1/2 in"), ("1¼", "1-1/4 in"),
    ],
)  # fmt: skip
def test_names_as_people_write_them(text: str, name: str) -> None:
    assert parse_drill(text).name == name


@pytest.mark.parametrize("drill", all_drills(), ids=lambda d: d.name)
def test_every_name_and_label_reads_back(drill: Drill) -> None:
    assert parse_drill(drill.name) == drill
    assert parse_drill(drill.label) == drill
    assert parse_size(drill.name) == drill.exact_diameter


def test_a_decimal_takes_the_stated_unit() -> None:
    assert parse_drill("0.136", unit="in").name == "#29"
    assert parse_drill("5.5", unit="mm").name == "5.5 mm"
    assert parse_drill("7/32", unit="mm").name == "7/32 in"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("0", r'number drill or a size\. Write "0 mm"\.'),
        ("1", r'Write "#1" or "1 mm"\.'),
        ("97", r'Write "#97" or "97 mm"\.'),
        ("98", r'Write "98 mm"\.'),
        ("x" * 40, 'drill = "x{40}": expected a drill'),
        ("x" * 41, r'drill = "x{40}\.\.\.": expected a drill'),
        ("29", r'A bare whole number can mean a number drill or a size\. Write "#29" or "29 mm"'),
        ("98", r'Write "98 mm"'),
        ("#98", "Number drills run from #1 to #97"),
        ("#0", "Number drills run from #1 to #97"),
        ("5,5 mm", r'Write "5\.5 mm"'),
        ("5.5", "A bare number has no unit here"),
        ("AA", "expected a drill such as #29, F, 7/32 or 5.5 mm"),
        ("", "expected a drill such as"),
        ("-3 mm", "larger than nothing"),
        ("0 mm", "larger than nothing"),
        ("136 mm", "It would be 136 mm across"),
        ("0.01 mm", "It would be 0.01 mm across"),
        ("7/0", "zero"),
        ("nan", "expected a drill such as"),
        ("F" * 3000, "expected a drill such as"),
    ],
)
def test_what_is_not_a_drill_is_refused_with_a_way_out(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_drill(text)


def test_owned_drills_mix_sets_and_single_drills() -> None:
    owned = owned_drills(["letter", "#29", "5.5 mm", "7/32", "#29"])
    assert len(owned) == 26 + 3
    assert [d.diameter for d in owned] == sorted(d.diameter for d in owned)
    assert len(owned_drills(["inch"])) == 97 + 26 + 64
    assert owned_drills(["all"]) == drills_by_size(SETS)
    assert len(owned_drills(["Letters"])) == 26


def test_owned_drills_refuse_an_empty_list_and_an_unknown_entry() -> None:
    with pytest.raises(InputError, match="drills owned: the list is empty"):
        owned_drills([])
    with pytest.raises(InputError, match='drill = "leters": expected a drill such as'):
        owned_drills(["leters"])
    with pytest.raises(InputError, match='drill set "wire" is not known'):
        drills_by_size(("wire",))


@settings(max_examples=200, deadline=None)
@given(
    size=st.fractions(min_value=0, max_value=30, max_denominator=6400),
    sets=st.sets(st.sampled_from(SETS), min_size=1).map(lambda s: tuple(sorted(s))),
)
def test_neighbours_agree_with_brute_force(size: Fraction, sets: tuple[str, ...]) -> None:
    drills = drills_by_size(sets)
    below = [d.exact_diameter for d in drills if d.exact_diameter < size]
    above = [d.exact_diameter for d in drills if d.exact_diameter > size]
    smaller, larger, near = next_smaller(size, drills), next_larger(size, drills), nearest(size, drills)
    assert (smaller.exact_diameter if smaller else None) == (max(below) if below else None)
    assert (larger.exact_diameter if larger else None) == (min(above) if above else None)
    assert near is not None
    assert abs(near.exact_diameter - size) == min(abs(d.exact_diameter - size) for d in drills)
    at_least, at_most = smallest_at_least(size, drills), largest_at_most(size, drills)
    if at_least is not None:
        assert at_least.exact_diameter == min(d.exact_diameter for d in drills if d.exact_diameter >= size)
    if at_most is not None:
        assert at_most.exact_diameter == max(d.exact_diameter for d in drills if d.exact_diameter <= size)


@pytest.mark.parametrize("drill", all_drills()[::7], ids=lambda d: d.name)
def test_a_drill_is_its_own_nearest_and_lies_between_its_neighbours(drill: Drill) -> None:
    drills = drills_by_size(SETS)
    near = nearest(drill.exact_diameter, drills)
    assert near is not None
    assert near.exact_diameter == drill.exact_diameter
    smaller, larger = next_smaller(drill.exact_diameter, drills), next_larger(drill.exact_diameter, drills)
    assert smaller is None or smaller.exact_diameter < drill.exact_diameter
    assert larger is None or larger.exact_diameter > drill.exact_diameter


def test_a_tie_goes_to_the_smaller_drill_and_no_drill_means_none() -> None:
    pair = owned_drills(["3.0 mm", "4.0 mm"])
    near = nearest(Fraction(7, 2), pair)
    assert near is not None
    assert near.name == "3.0 mm"
    assert nearest(Fraction(1), ()) is None
    assert next_smaller(Fraction(3), pair) is None
    assert next_larger(Fraction(4), pair) is None


def test_of_two_drills_of_one_size_the_first_is_named_and_never_a_smaller_one() -> None:
    """Letter E is 1/4 in: both come up for a quarter inch, from above and from below; letter D is 0.246 in."""
    owned = drills_by_size(("number", "letter", "fraction"))
    quarter = Fraction(254, 40)
    for drill in (smallest_at_least(quarter, owned), largest_at_most(quarter, owned), nearest(quarter, owned)):
        assert drill is not None
        assert (drill.name, drill.exact_diameter) == ("E", quarter)
