"""Clearance holes, heads, counterbores and countersinks: each table against a formula or a second table."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from holecam.errors import InputError
from holecam.lengths import MM_PER_INCH
from holecam.standards.clearance_holes import FIT_WORDS, FITS, clearance_hole, clearance_holes
from holecam.standards.drill_names import parse_drill
from holecam.standards.drills import INCH_SETS, drills_by_size, nearest, owned_drills
from holecam.standards.screw_heads import (
    HEADS,
    SUNK_HEADS,
    counterbore,
    countersink,
    head_kind,
    head_kinds,
    screw_head,
)
from holecam.standards.screw_systems import exact_size
from holecam.standards.table import rows
from holecam.standards.thread_names import parse_thread
from holecam.standards.threads import Thread, all_threads

INCH_ROWS = [r for r in rows("clearance_holes") if r["unit"] == "in"]
METRIC_ROWS = [r for r in rows("clearance_holes") if r["unit"] == "mm"]


def _inch_allowance(diameter: Fraction, fit: str) -> Fraction:
    """ASME B18.2.8 is built on these allowances, in inches, by size; a second form of the table, from memory."""
    steps = {
        "close": ((0.115, 8), (0.45, 16), (0.9, 31.25), (2, 31.25)),
        "normal": ((0.115, 16), (0.45, 31.25), (0.9, 62.5), (2, 93.75)),
        "loose": ((0.115, 31.25), (0.45, 46.875), (0.7, 109.375), (2, 156.25)),
    }[fit]
    return next(Fraction(thou) / 1000 for largest, thou in steps if diameter <= largest)


@pytest.mark.outside_check(
    subject="table clearance_holes",
    source="ASME B18.2.8: its allowances by size, a second form of the table",
    closeness="the nearest drill, or 0.08 mm beside it",
    standing="memory",
)
@pytest.mark.parametrize("fit", FITS)
@pytest.mark.parametrize("row", INCH_ROWS, ids=lambda r: r["nominal"])
def test_inch_clearance_is_the_drill_nearest_to_size_plus_allowance(row: dict[str, str], fit: str) -> None:
    diameter = Fraction(row["diameter"])
    wanted = (diameter + _inch_allowance(diameter, fit)) * MM_PER_INCH
    listed = parse_drill(row[fit])
    if listed.set_name == "other":  # above 1 in: no drill of the sets
        assert listed.exact_diameter == wanted
        return
    near = nearest(wanted, drills_by_size(INCH_SETS))
    assert near is not None
    # Two drills may lie within half a thou of the wanted size; a digit typed wrongly lies farther
    assert abs(float(listed.exact_diameter - wanted)) <= abs(float(near.exact_diameter - wanted)) + 0.08


@pytest.mark.outside_check(
    subject="table clearance_holes",
    source="ISO 273: three reprints for M3 to M8; bd_warehouse for the others",
    closeness="exact",
    standing="published",
)
@pytest.mark.parametrize(
    ("nominal", "sizes"),
    [
        # ISO 273, three reprints agree on these rows
        ("M3", (3.2, 3.4, 3.6)), ("M4", (4.3, 4.5, 4.8)), ("M5", (5.3, 5.5, 5.8)), ("M6", (6.4, 6.6, 7.0)),
        ("M8", (8.4, 9.0, 10.0)),
        # As tabulated in an open library of CAD parts; it agrees on all sizes to M10 and from M20
        ("M1", (1.1, 1.2, 1.3)), ("M1.6", (1.7, 1.8, 2.0)), ("M2", (2.2, 2.4, 2.6)), ("M2.5", (2.7, 2.9, 3.1)),
        ("M3.5", (3.7, 3.9, 4.2)), ("M7", (7.4, 7.6, 8.0)), ("M10", (10.5, 11.0, 12.0)), ("M20", (21.0, 22.0, 24.0)),
        ("M22", (23.0, 24.0, 26.0)), ("M24", (25.0, 26.0, 28.0)),
    ],
)  # fmt: skip
def test_metric_clearance_agrees_with_reprints(nominal: str, sizes: tuple[float, ...]) -> None:
    holes = clearance_holes(parse_thread(nominal))
    assert (holes.close.diameter, holes.normal.diameter, holes.loose.diameter) == pytest.approx(sizes)


ISO_7091_HOLES = {12: 13.5, 14: 15.5, 16: 17.5, 20: 22.0, 24: 26.0}
"""Holes of washers, ISO 7091: the medium series of ISO 273. M14 from memory, the others in an open library."""


@pytest.mark.outside_check(
    subject="table clearance_holes",
    source="ISO 7091: holes of washers are the medium series (bd_warehouse; M14 from memory)",
    closeness="exact",
    standing="published",
)
@pytest.mark.parametrize("row", METRIC_ROWS, ids=lambda r: r["nominal"])
def test_metric_clearance_grows_with_size_and_fit(row: dict[str, str]) -> None:
    diameter = float(row["diameter"])
    sizes = [float(row[fit]) for fit in FITS]
    assert sizes == sorted(set(sizes))
    assert 0.04 * diameter <= sizes[0] - diameter <= max(0.15, 0.115 * diameter)
    assert sizes[2] - diameter <= 0.301 * diameter
    medium = ISO_7091_HOLES.get(int(diameter)) if diameter == int(diameter) else None
    if medium is not None:
        assert sizes[1] == medium


@pytest.mark.parametrize("table", [INCH_ROWS, METRIC_ROWS], ids=["in", "mm"])
def test_clearance_columns_grow_down_the_table(table: list[dict[str, str]]) -> None:
    diameters = [Fraction(r["diameter"]) for r in table]
    assert diameters == sorted(set(diameters))
    for fit in FITS:
        sizes = [parse_drill(r[fit] if r["unit"] == "in" else f"{r[fit]} mm").diameter for r in table]
        assert sizes == sorted(sizes)


@pytest.mark.parametrize("thread", all_threads(), ids=lambda t: t.name)
def test_every_thread_gets_three_holes_in_order(thread: Thread) -> None:
    holes = clearance_holes(thread)
    assert thread.major < holes.close.diameter < holes.normal.diameter < holes.loose.diameter
    for fit in FITS:
        hole = getattr(holes, fit)
        assert hole.drill.exact_diameter >= hole.wanted
        assert hole.source


def test_sizes_that_no_standard_lists_are_marked_common_practice() -> None:
    for name in ("2 BA", "1/4 BSW", "3/16 x 40 ME", "12-24", "9/16-12", "M9", "7 x 0.75 60 deg"):
        assert clearance_holes(parse_thread(name)).normal.source.startswith("common practice: allowance of"), name
    for name in ("6-32", "1/4-20", "M4", "M8x1"):
        assert not clearance_holes(parse_thread(name)).normal.source.startswith("common practice"), name


def test_a_whitworth_screw_takes_the_hole_of_its_unified_twin() -> None:
    assert (
        clearance_hole(parse_thread("1/4 BSW"), "close").diameter
        == clearance_hole(parse_thread("1/4-20"), "close").diameter
    )


def test_owned_drills_give_the_next_larger_never_a_smaller() -> None:
    owned = owned_drills(["fraction"])
    hole = clearance_hole(parse_thread("6-32"), "close", drills=owned)  # wants #23, 0.154 in
    assert hole.drill.name == "5/32 in"
    assert hole.drill.exact_diameter >= hole.wanted
    exact = clearance_hole(parse_thread("6-32"), "close", drills=owned_drills(["#23", "5/32"]))
    assert exact.drill.name == "#23"
    with pytest.raises(InputError, match=r"takes 4\.305 mm; no drill owned is as large, the largest is #30"):
        clearance_hole(parse_thread("6-32"), "normal", drills=owned_drills(["#30"]))
    with pytest.raises(InputError, match="none is owned"):
        clearance_hole(parse_thread("6-32"), "normal", drills=())


def test_fits_go_by_the_words_of_both_standards() -> None:
    thread = parse_thread("M4")
    for word, fit in FIT_WORDS.items():
        assert clearance_hole(thread, word.upper()).fit == fit
    with pytest.raises(InputError, match=r'fit "wobbly" is not known\. Write close, normal or loose'):
        clearance_hole(thread, "wobbly")


def test_above_the_largest_drill_the_hole_is_named_by_its_size() -> None:
    assert clearance_hole(parse_thread("1-8"), "loose").drill.name == "1-5/32 in"
    big = clearance_hole(parse_thread("1-1/8 x 7 tpi 60 deg"), "close")
    assert big.drill.exact_diameter >= big.wanted
    assert float(big.drill.exact_diameter - big.wanted) <= 25.4 / 64


HEAD_ROWS = rows("screw_heads")


@pytest.mark.outside_check(
    subject="table screw_heads",
    source="rules inside ASME B18.3, B18.6.3, ISO 4762, 10642, 7380-1, BS 57",
    closeness="0.01 mm to 0.002 in; hexagons and washers only a range",
    standing="memory",
)
@pytest.mark.parametrize("row", HEAD_ROWS, ids=lambda r: f"{r['nominal']}-{r['head']}")
def test_head_tables_follow_their_rules(row: dict[str, str]) -> None:
    thread = _thread_for(row)
    size = float(exact_size(row["size"]) * (MM_PER_INCH if row["unit"] == "in" else 1))
    D = thread.major
    height = float(exact_size(row["height"]) * (MM_PER_INCH if row["unit"] == "in" else 1)) if row["height"] else None
    key = row["system"], row["head"]
    if row["head"] == "socket":
        assert height == pytest.approx(D, abs=0.01)  # ASME B18.3, ISO 4762: k = d
        assert 1.49 * D <= size <= 2.0 * D
    if key == ("metric", "socket-flat"):
        # ISO 10642: theoretical diameter 2.24 d to M12; height = half of head less shank at 90 degrees
        if D <= 12:
            assert size == pytest.approx(2.24 * D, abs=1e-9)
        assert height == pytest.approx((size - D) / 2, abs=0.005)
    if key == ("unified", "socket-flat") and 3.5 < D < 10:
        assert size / 25.4 == pytest.approx(2 * D / 25.4 + 0.031, abs=0.002)  # ASME B18.3, No. 4 to 3/8
    if key == ("unified", "flat") and row["nominal"].startswith("#"):
        assert size / 25.4 == pytest.approx(2.045 * D / 25.4 - 0.0037, abs=0.002)  # ASME B18.6.3: a line in the size
    if key == ("unified", "pan") and row["nominal"].startswith("#"):
        assert size / 25.4 == pytest.approx(1.977 * D / 25.4 - 0.003, abs=0.002)
    if key == ("metric", "cheese"):
        assert 1.55 * D <= size <= 1.95 * D
    if key == ("metric", "pan"):
        assert 1.85 * D <= size <= 2.01 * D
    if key == ("metric", "button"):
        assert height == pytest.approx(0.55 * D, abs=1e-9)  # ISO 7380: k = 0.55 d
        assert size == pytest.approx(1.75 * D, abs=0.8)
    if key == ("ba", "hex"):
        assert size == pytest.approx(1.75 * D, abs=0.015)  # BS 57: 1.75 D
    if row["head"] == "hex":
        assert 1.4 * D <= size <= 2.01 * D
    if row["head"] == "washer":
        assert 1.75 * D <= size <= 2.95 * D


def _thread_for(row: dict[str, str]) -> Thread:
    wanted = {"unified": "unified", "metric": "metric", "ba": "ba", "whitworth": "whitworth"}[row["system"]]
    return next(t for t in all_threads() if t.nominal == row["nominal"] and t.form.name == wanted)


def test_heads_grow_with_the_screw() -> None:
    for system in {r["system"] for r in HEAD_ROWS}:
        for head in HEADS:
            table = [r for r in HEAD_ROWS if (r["system"], r["head"]) == (system, head)]
            sizes = [float(exact_size(r["size"])) for r in table]
            assert sizes == sorted(sizes, reverse=system == "ba")


@pytest.mark.outside_check(
    subject="table screw_heads",
    source="ASME B18.3 and B18.6.3 as tabulated in bd_warehouse",
    closeness="exact",
    standing="published",
)
@pytest.mark.parametrize(
    ("thread", "head", "inches"),
    [
        # ASME B18.3 and B18.6.3 as tabulated in an open library of CAD parts
        ("0-80", "socket", 0.096), ("6-32", "socket", 0.226), ("10-32", "socket", 0.312), ("1/4-20", "socket", 0.375),
        ("1/2-13", "socket", 0.750), ("1-8", "socket", 1.5), ("3-48", "pan", 0.193), ("6-32", "pan", 0.27),
        ("12-24", "pan", 0.425), ("3/8-16", "pan", 0.74),
    ],
)  # fmt: skip
def test_inch_heads_agree_with_a_second_table(thread: str, head: str, inches: float) -> None:
    assert screw_head(parse_thread(thread), head).diameter / 25.4 == pytest.approx(inches, abs=1e-6)


@pytest.mark.outside_check(
    subject="table screw_heads",
    source="ISO 4762, 7380-1, 1207, 4014, 7089 as tabulated in bd_warehouse",
    closeness="exact",
    standing="published",
)
@pytest.mark.parametrize(
    ("thread", "head", "diameter", "height"),
    [
        # ISO 4762, 7380-1, 1207, 4014, 7089 as tabulated in an open library of CAD parts
        ("M3", "socket", 5.68, 3.0), ("M6", "socket", 10.22, 6.0), ("M10", "socket", 16.27, 10.0),
        ("M4", "button", 7.6, 2.2), ("M3", "cheese", 5.5, 2.0), ("M5", "cheese", 8.5, 3.3), ("M8", "cheese", 13.0, 5.0),
        ("M4", "washer", 9.0, 0.8), ("M8", "washer", 16.0, 1.6), ("M5", "pan", 9.5, 3.7), ("M4", "flat", 9.4, 2.7),
    ],
)  # fmt: skip
def test_metric_heads_agree_with_a_second_table(thread: str, head: str, diameter: float, height: float) -> None:
    found = screw_head(parse_thread(thread), head)
    assert (found.diameter, found.height) == pytest.approx((diameter, height))


def test_a_hexagon_takes_room_across_its_corners() -> None:
    assert screw_head(parse_thread("M6"), "hex").diameter == pytest.approx(10 / math.cos(math.radians(30)))


@pytest.mark.outside_check(
    subject="table clearance_holes",
    source="ISO 7089: holes of washers are the fine series",
    closeness="exact",
    standing="published",
)
def test_washers_pass_over_close_holes() -> None:
    """ISO 7089 holes are the fine series of ISO 273: 3.2, 4.3, 5.3, 6.4, 8.4, 10.5, 13, 15, 17 mm (second table)."""
    for size, hole in ((3, 3.2), (4, 4.3), (5, 5.3), (6, 6.4), (8, 8.4), (10, 10.5), (12, 13), (14, 15), (16, 17)):
        assert clearance_hole(parse_thread(f"M{size}"), "close").diameter == pytest.approx(hole)


@pytest.mark.parametrize("thread", all_threads(), ids=lambda t: t.name)
def test_every_thread_has_every_head(thread: Thread) -> None:
    for name in HEADS:
        head = screw_head(thread, name)
        assert 1.4 * thread.major < head.diameter < 3.1 * thread.major
        assert head.source
        assert (head.angle_deg is not None) == (name in SUNK_HEADS)


@pytest.mark.outside_check(
    subject="table screw_head_rules",
    source="the listed heads of ASME and ISO: a rule that stands in for a row must not be smaller",
    closeness="2 percent",
    standing="published",
)
def test_heads_by_rule_are_never_smaller_than_the_listed_ones() -> None:
    """The rule stands in where a table is silent, for the spacing check: it has to err on the large side."""
    for row in HEAD_ROWS:
        kind = head_kind(row["head"])
        thread = _thread_for(row)
        across = kind.diameter_d * thread.major
        listed = float(exact_size(row["size"]) * (MM_PER_INCH if row["unit"] == "in" else 1))
        if thread.major >= 2.5 and row["head"] not in ("washer", "hex"):
            assert across >= listed * 0.98, (row["nominal"], row["head"])


def test_heads_go_by_the_words_people_use() -> None:
    assert head_kind("Socket Head Cap Screw").name == "socket"
    assert head_kind("countersunk head").name == "flat"
    assert head_kind("fillister").name == "cheese"
    assert {k.name for k in head_kinds()} == set(HEADS)
    with pytest.raises(InputError, match='screw head "torx" is not known'):
        head_kind("torx")


@pytest.mark.outside_check(
    subject="table counterbores",
    source="the heads of ASME B18.3 and ISO 4762: a counterbore is a little wider",
    closeness="0.2 mm to 0.9 or 1.75 mm wider",
    standing="published",
)
@pytest.mark.parametrize("row", rows("counterbores"), ids=lambda r: r["nominal"])
def test_counterbores_clear_the_head_by_a_little(row: dict[str, str]) -> None:
    """The counterbore (ASME B18.3 appendix, DIN 974-1) against the head table (ASME B18.3, ISO 4762)."""
    form = "unified" if row["system"] == "unified" else "metric"
    thread = next(t for t in all_threads() if t.nominal == row["nominal"] and t.form.name == form)
    bore, head = counterbore(thread), screw_head(thread, "socket")
    room = 0.9 if row["system"] == "metric" else 1.75
    assert 0.2 <= bore.diameter - head.diameter <= max(room, 0.27 * thread.major)
    assert bore.depth == head.height
    assert bore.source == row["source"]


def test_counterbore_without_a_row_is_by_rule_and_marked() -> None:
    bore = counterbore(parse_thread("2 BA"))
    assert bore.diameter == pytest.approx(1.9 * 4.7 + 0.5)
    assert bore.source.startswith("common practice")


@pytest.mark.outside_check(
    subject="countersink",
    source="the triangle of 90 and 82 degrees",
    closeness="1e-6",
    standing="mathematics",
)
def test_countersink_depth_follows_from_its_angle() -> None:
    """90 degrees: depth is half of head less hole; 82 degrees: divided by tan 41."""
    metric = countersink(parse_thread("M4"), hole=4.5, kind="socket-flat")
    assert (metric.angle_deg, metric.diameter) == pytest.approx((90, 8.96))
    assert metric.depth == pytest.approx((8.96 - 4.5) / 2)
    inch = countersink(parse_thread("1/4-20"), hole=7.0)
    assert inch.angle_deg == 82
    assert inch.depth == pytest.approx((0.507 * 25.4 - 7.0) / 2 / math.tan(math.radians(41)))
    with pytest.raises(InputError, match="a pan head has no countersink"):
        countersink(parse_thread("M4"), hole=4.5, kind="pan")
    with pytest.raises(InputError, match="expected a hole below the head of M4"):
        countersink(parse_thread("M4"), hole=20.0)


@pytest.mark.parametrize(
    ("thread", "hole", "size"),
    [
        # Close fit; the allowance of the nearest standard size is 1/32 in at 1 in and 1 mm at M24
        ("31/32 x 8 tpi 60 deg", "1 in", Fraction(254, 10)),
        ("1-31/32 x 8 tpi 60 deg", "2 in", Fraction(508, 10)),
        ("2-1/4 x 4 55 deg", "2-9/32 in", Fraction(73, 32) * Fraction(254, 10)),
        ("30 x 2 60 deg", "31 mm", Fraction(31)),
        ("30.3 x 2 60 deg", "31.5 mm", Fraction(63, 2)),
        ("30.5 x 2 60 deg", "31.5 mm", Fraction(63, 2)),
        ("30.6 x 2 60 deg", "32 mm", Fraction(32)),
    ],
)
def test_a_hole_above_the_largest_drill_is_bored_in_steps_and_never_below_its_size(
    thread: str, hole: str, size: Fraction
) -> None:
    found = clearance_hole(parse_thread(thread), "close")
    assert found.drill.name == hole
    assert found.drill.exact_diameter == size
    assert found.drill.exact_diameter >= found.wanted


def test_a_countersink_over_a_small_or_a_wrong_hole() -> None:
    """M1.6: a hole of 0.5 mm under its head is possible, none and one as wide as the head are not."""
    thread = parse_thread("M1.6")
    head = screw_head(thread, "flat").diameter
    assert countersink(thread, hole=0.5).depth == pytest.approx((head - 0.5) / 2)
    for hole in (0.0, -1.0, head):
        with pytest.raises(InputError, match=r"expected a hole below the head of M1\.6"):
            countersink(thread, hole=hole)
