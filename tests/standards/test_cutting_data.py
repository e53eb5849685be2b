"""Speeds, feeds and depths to start from: published figures, the machine's range, and every material covered."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.standards.cautions import all_cautions, all_tags, cautions_for, material_tags
from holecam.standards.cutting_data import (
    STARTING_POINT,
    all_operations,
    chip_load,
    cutting_start,
    drill_feed,
    spindle_rpm,
    surface_speeds,
)
from holecam.standards.materials import Material, all_materials, material
from holecam.standards.milling_depths import milling_depths, wood_chip_factor
from holecam.standards.table import rows


@pytest.mark.outside_check(
    subject="spindle speed",
    source="the circumference: 1000 v / (pi D), and 12 v / (pi D) in inches, worked by hand in both units",
    closeness="1 turn a minute",
    standing="mathematics",
)
def test_spindle_formula_gives_the_published_value() -> None:
    """n = 1000 v/(pi D): 40 m/min, 6 mm: 2122 rpm; and the inch form 12 v/(pi D), 100 ft/min, 1/4 in: 1528 rpm."""
    assert round(spindle_rpm(surface_speed=40, diameter=6)) == 2122
    assert round(spindle_rpm(surface_speed=100 * 0.3048, diameter=6.35)) == 1528


@pytest.mark.outside_check(
    subject="table cutting_speeds",
    source="university table of machine-tool speeds (drilling); machine manual, high-speed steel (milling)",
    closeness="0.5 m/min",
    standing="published",
)
@pytest.mark.parametrize(
    ("what", "operation", "low", "high"),
    [
        # University table (drill) and machine manual (mill, sfm x 0.3048) for high-speed steel
        ("aluminium", "drill", 76, 76), ("aluminium", "mill", 250 * 0.3048, 500 * 0.3048), ("brass", "drill", 61, 61),
        ("brass", "mill", 150 * 0.3048, 450 * 0.3048), ("copper", "drill", 21, 21),
        ("copper", "mill", 100 * 0.3048, 200 * 0.3048), ("mild steel", "drill", 34, 34),
        ("mild steel", "mill", 70 * 0.3048, 120 * 0.3048), ("hardwood", "mill", 300 * 0.3048, 500 * 0.3048),
    ],
)  # fmt: skip
def test_surface_speeds_of_the_sources(what: str, operation: str, low: float, high: float) -> None:
    assert surface_speeds(material(what), operation)[:2] == pytest.approx((low, high), abs=0.5)


@pytest.mark.outside_check(
    subject="table chip_loads",
    source="router-bit chart for wood: 0.05, 0.13, 0.43 mm; metals common practice",
    closeness="exact",
    standing="published",
)
@pytest.mark.parametrize(
    ("what", "diameter", "chip"),
    [
        # Common practice at 3 and 6 mm; router-bit chart for wood: 1/8 in .05, 1/4 in .13, 1/2 in .43 mm
        ("aluminium", 3, 0.03), ("aluminium", 6, 0.06), ("brass", 3, 0.02), ("brass", 6, 0.05), ("copper", 6, 0.04),
        ("mild steel", 3, 0.01), ("mild steel", 6, 0.03), ("beech", 3.175, 0.05), ("beech", 6.35, 0.13),
        ("beech", 12.7, 0.43), ("aluminium", 4.5, 0.045), ("aluminium", 1.5, 0.015), ("aluminium", 30, 0.1),
    ],
)  # fmt: skip
def test_chip_loads(what: str, diameter: float, chip: float) -> None:
    assert chip_load(material(what), diameter)[0] == pytest.approx(chip, abs=1e-12)


@pytest.mark.parametrize("one", all_materials(), ids=lambda m: m.name)
def test_every_material_has_data_for_every_operation(one: Material) -> None:
    for kind in all_operations():
        start = cutting_start(one, kind.name, diameter=5.0, pitch=0.8, slowest_rpm=100, fastest_rpm=3000)
        assert 100 <= start.rpm <= 3000
        assert start.feed == pytest.approx(start.feed_per_turn * start.rpm)
        assert start.notes[0] == STARTING_POINT
        assert start.source
    depths = milling_depths(one, diameter=6.0)
    assert 0 < depths.slot <= depths.side
    assert 0 < depths.stepover <= 3.0
    assert depths.finish > 0


def test_rows_of_speed_tables_are_used() -> None:
    """A row under a name that no material has would never be found."""
    names = {m.name for m in all_materials()} | {m.family for m in all_materials()}
    for table, column in (("cutting_speeds", "material"), ("chip_loads", "family"), ("mill_depths", "family")):
        assert {row[column] for row in rows(table)} <= names
    for row in rows("material_strengths"):
        assert row["material"] in names


def test_tables_without_a_second_source_keep_their_order() -> None:
    """Chips grow with the cutter, no speed lies below half its mate, milling depth never exceeds the diameter."""
    for family in {row["family"] for row in rows("chip_loads")}:
        chips = [(float(r["diameter_mm"]), float(r["chip_mm"])) for r in rows("chip_loads") if r["family"] == family]
        assert len(chips) == 3
        for (d1, c1), (d2, c2) in pairwise(chips):
            assert d1 < d2
            assert c1 < c2 <= 4 * c1
    for row in rows("cutting_speeds"):
        low, high = float(row["low_m_min"]), float(row["high_m_min"])
        assert 9 <= low <= high <= 3.05 * low
        assert high <= 152
    for row in rows("mill_depths"):
        assert float(row["slot_depth_d"]) <= float(row["side_depth_d"]) <= 1
        assert 0.2 <= float(row["stepover_d"]) <= 0.5
    order = ["stainless steel", "mild steel", "brass", "aluminium"]
    speeds = [surface_speeds(material(what), "drill")[0] for what in order]
    assert speeds == sorted(speeds)


def test_range_of_the_machine_binds_and_is_said() -> None:
    fast = cutting_start(material("brass"), "drill", diameter=2.0, fastest_rpm=2800)
    assert (fast.rpm, fast.bound) == (2800, "fastest")
    assert fast.wanted_rpm == pytest.approx(61000 / (math.pi * 2))
    assert "the machine's fastest speed binds" in fast.notes[1]
    slow = cutting_start(material("stainless"), "ream", diameter=25.0, slowest_rpm=250)
    assert (slow.rpm, slow.bound) == (250, "slowest")
    assert "too fast for this tool" in slow.notes[2]
    free = cutting_start(material("brass"), "drill", diameter=10.0, slowest_rpm=100, fastest_rpm=2800)
    assert (free.rpm, free.bound) == (1941, "")
    assert free.notes == (STARTING_POINT,)


def test_wood_is_milled_at_the_highest_speed() -> None:
    start = cutting_start(material("beech"), "mill", diameter=6.35, fastest_rpm=2800)
    assert start.rpm == 2800
    assert "wood: few teeth at the machine's highest speed" in start.notes
    very_fast = cutting_start(material("beech"), "mill", diameter=6.35, fastest_rpm=24000)
    assert very_fast.rpm == 24000
    assert cutting_start(material("beech"), "drill", diameter=50.0, fastest_rpm=24000).rpm < 1000


@pytest.mark.outside_check(
    subject=("table operation_factors", "feed"),
    source="carbide twice as fast as high-speed steel; reaming at half the speed and twice the feed; feed by teeth",
    closeness="exact",
    standing="common practice",
)
def test_tool_material_and_operation_change_the_speed() -> None:
    hss, carbide = (
        cutting_start(material("mild steel"), "mill", diameter=6, tool_material=t) for t in ("HSS", "carbide")
    )
    assert carbide.surface_speed == pytest.approx(2 * hss.surface_speed)
    drill, ream = (cutting_start(material("mild steel"), o, diameter=6) for o in ("drill", "reamer"))
    assert ream.surface_speed == pytest.approx(drill.surface_speed / 2)
    assert ream.feed_per_turn == pytest.approx(2 * drill.feed_per_turn)
    tap = cutting_start(material("mild steel"), "tap", diameter=4, pitch=0.7)
    assert tap.feed_per_turn == 0.7
    four = cutting_start(material("mild steel"), "mill", diameter=6, teeth=4)
    assert four.feed_per_turn == pytest.approx(2 * hss.feed_per_turn)
    assert four.chip == hss.chip == pytest.approx(0.03)


@pytest.mark.outside_check(
    subject="feed",
    source="handbook definition: feed = turns a minute x teeth x chip of a tooth, by hand",
    closeness="1e-9",
    standing="mathematics",
)
def test_feed_by_hand() -> None:
    """Brass, 6 mm, two teeth, chip 0.05 mm, spindle held at 1500: 1500 x 2 x 0.05 = 150 mm a minute."""
    start = cutting_start(material("brass"), "mill", diameter=6, teeth=2, fastest_rpm=1500)
    assert (start.rpm, start.chip) == (1500, pytest.approx(0.05))
    assert start.feed == pytest.approx(150.0, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(
    what=st.sampled_from(all_materials()),
    operation=st.sampled_from(["drill", "mill", "spot", "countersink"]),
    diameter=st.floats(0.3, 30),
    slowest=st.floats(20, 500),
    span=st.floats(1, 50),
)
def test_speed_never_leaves_the_range_nor_passes_the_wanted_one(
    what: Material, operation: str, diameter: float, slowest: float, span: float
) -> None:
    fastest = slowest * span + 1
    start = cutting_start(what, operation, diameter=diameter, slowest_rpm=slowest, fastest_rpm=fastest)
    assert slowest - 1 <= start.rpm <= fastest
    if start.bound == "":
        assert start.wanted_rpm - 1 <= start.rpm <= start.wanted_rpm + 1e-9


@pytest.mark.outside_check(
    subject="table drill_feeds",
    source="handbook: .001 to .002 in a turn up to 1/8 in, to .007 to .015 up to 1 in",
    closeness="0.0002 in",
    standing="memory",
)
def test_drill_feed_table_runs_upward_without_a_gap() -> None:
    """Handbook, inches a turn: to 1/8 in .001 to .002, 1/4 .002 to .004, 1/2 .004 to .007, 1 in .007 to .015."""
    table = rows("drill_feeds")
    for before, after in pairwise(table):
        assert float(before["drill_to_mm"]) < float(after["drill_to_mm"])
        assert float(before["high_mm_rev"]) <= float(after["low_mm_rev"]) + 0.006
    for diameter_in, low, high in ((0.1, 0.001, 0.002), (0.25, 0.002, 0.004), (0.5, 0.004, 0.007), (1.0, 0.007, 0.015)):
        found = drill_feed(diameter_in * 25.4)
        assert (found[0] / 25.4, found[1] / 25.4) == pytest.approx((low, high), abs=0.0002)


@pytest.mark.outside_check(
    subject="table mill_depths",
    source="light mill: shares of the diameter",
    closeness="exact",
    standing="common practice",
)
@pytest.mark.parametrize(
    ("what", "side", "slot"),
    # Common practice, light mill: aluminium 0.5 D and 0.25 D, brass 0.5 and 0.3, copper 0.1, mild steel 0.25 and 0.1
    [("aluminium", 0.5, 0.25), ("brass", 0.5, 0.3), ("copper", 0.1, 0.1), ("mild steel", 0.25, 0.1), ("beech", 1, 1)],
)
def test_milling_depths(what: str, side: float, slot: float) -> None:
    depths = milling_depths(material(what), diameter=2.0)
    assert (depths.side, depths.slot) == pytest.approx((2 * side, 2 * slot))
    weak = milling_depths(material(what), diameter=2.0, set_up="weak")
    assert weak.slot == pytest.approx(depths.slot / 2)
    assert weak.stepover == depths.stepover
    # A heavy mill takes twice a light one's depth, up to the handbook's ceiling (common practice)
    rigid = milling_depths(material(what), diameter=2.0, set_up="rigid")
    for heavy, light in ((rigid.side, depths.side), (rigid.slot, depths.slot)):
        assert heavy == pytest.approx(min(2 * light, depths.ceiling or math.inf))


@pytest.mark.outside_check(
    subject="table mill_depths",
    source="university table: aluminium and brass 0.05 in, steels 0.03 in",
    closeness="0.0002 in",
    standing="published",
)
def test_handbook_ceiling_holds_for_large_cutters() -> None:
    """University table: high-speed steel mills, aluminium and brass 0.05 in deep, steels 0.03 in."""
    assert milling_depths(material("brass"), diameter=20, set_up="rigid").side == 1.27
    assert milling_depths(material("mild steel"), diameter=20).side == 0.76
    ceilings = {row["family"]: float(row["ceiling_mm"]) / 25.4 for row in rows("mill_depths") if row["ceiling_mm"]}
    assert (ceilings["brass"], ceilings["aluminium"], ceilings["steel"]) == pytest.approx(
        (0.05, 0.05, 0.03), abs=0.0002
    )


@pytest.mark.outside_check(
    subject="chips in wood",
    source="router-bit chart: 25 percent less at 2 D, half at 3 D",
    closeness="exact",
    standing="published",
)
def test_wood_chip_shrinks_with_depth() -> None:
    """Router-bit chart: 25 percent less at 2 D, half at 3 D."""
    assert [wood_chip_factor(depth=d, diameter=6) for d in (3, 6, 9, 12, 18)] == [1.0, 1.0, 0.75, 0.75, 0.5]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"operation": "broach"}, 'operation "broach" is not known'),
        ({"diameter": 0.0}, "diameter 0 mm: expected a positive number"),
        ({"diameter": float("nan")}, "diameter nan mm"),
        ({"diameter": float("inf")}, "diameter inf mm: expected a positive number"),
        ({"operation": "mill", "diameter": float("inf")}, "diameter inf mm"),
        ({"operation": "tap", "pitch": -0.7}, "pitch -0.7 mm: expected a positive number"),
        ({"slowest_rpm": -1.0}, "slowest spindle speed -1 rpm"),
        ({"tool_material": "diamond"}, 'tool material "diamond" is not known. Write HSS or carbide'),
        ({"operation": "tap"}, "tapping feeds by the pitch: state the thread"),
        ({"operation": "mill", "teeth": 0}, "teeth 0: expected 1 or more"),
        ({"slowest_rpm": 500.0, "fastest_rpm": 100.0}, "spindle: slowest 500 rpm is above fastest 100 rpm"),
        ({"fastest_rpm": 0.0}, "fastest spindle speed 0 rpm"),
    ],
)
def test_wrong_input_is_refused(change: dict[str, object], message: str) -> None:
    arguments: dict[str, object] = {"operation": "drill", "diameter": 3.0} | change
    operation = arguments.pop("operation")
    with pytest.raises(InputError, match=message):
        cutting_start(material("brass"), operation, **arguments)  # type: ignore[arg-type]


@pytest.mark.parametrize(("speed", "diameter"), [(0.0, 6.0), (-30.0, 6.0), (math.inf, 6.0), (30.0, 0.0), (30.0, -6.0)])
def test_a_spindle_speed_needs_a_speed_and_a_diameter(speed: float, diameter: float) -> None:
    with pytest.raises(InputError, match="expected a positive number"):
        spindle_rpm(surface_speed=speed, diameter=diameter)


def test_a_very_slow_spindle_turns_once_a_minute_and_no_faster_than_it_can() -> None:
    """Whole turns, rounded down; below one turn a minute there is nothing to set."""
    assert cutting_start(material("brass"), "drill", diameter=3, fastest_rpm=1.5).rpm == 1
    assert cutting_start(material("brass"), "drill", diameter=3, fastest_rpm=2.9).rpm == 2
    assert cutting_start(material("brass"), "drill", diameter=1e6).rpm == 1
    one = spindle_rpm(surface_speed=surface_speeds(material("brass"), "drill")[0], diameter=3)
    just = cutting_start(material("brass"), "drill", diameter=3, fastest_rpm=one)
    assert (just.rpm, just.bound) == (math.floor(one), "")


def test_only_a_mill_has_a_chip_for_each_tooth() -> None:
    for operation in ("drill", "spot", "ream", "countersink", "counterbore", "tap"):
        start = cutting_start(material("mild steel"), operation, diameter=4, pitch=0.7)
        assert start.chip == 0
        assert start.feed_per_turn > 0


def test_depths_refuse_wrong_input() -> None:
    for diameter in (math.nan, math.inf, 0.0, -6.0):
        with pytest.raises(InputError, match=f"cutter {diameter:g} mm: expected a positive diameter"):
            milling_depths(material("brass"), diameter=diameter)
    assert milling_depths(material("brass"), diameter=0.5).slot == pytest.approx(0.15)  # practice A8: 0.3 D
    with pytest.raises(InputError, match=r'set-up "wobbly" is not known\. Write weak, light, rigid'):
        milling_depths(material("brass"), diameter=6, set_up="wobbly")
    with pytest.raises(InputError, match="depth 0 mm: expected a positive length"):
        wood_chip_factor(depth=0, diameter=6)


def test_cautions_have_unique_codes_and_speak_in_whole_sentences() -> None:
    codes = [c.code for c in all_cautions()]
    assert len(set(codes)) == len(codes)
    for caution in all_cautions():
        assert caution.text.endswith(".")
        assert caution.tags
        assert caution.source


@pytest.mark.outside_check(
    subject="table cautions",
    source="the cautions that the work calls for, with the source on each row (IARC, HSE, NFPA 51B, NB-23)",
    closeness="every caution is there; the words are the project's",
    standing="common practice",
)
@pytest.mark.parametrize(
    ("tag", "must_say"),
    [
        # Design page section 8: every caution that it names
        ("copper", "copper grabs"), ("thin-sheet", "whole area"), ("always", "eye protection"), ("wood", "Wood dust"),
        ("wood", "vacuum"), ("solder", "fumes irritate"), ("braze", "cadmium"), ("hot-work", "Hot work"),
        ("first-run", "above the work"), ("first-run", "hand on the stop"), ("pressure", "local codes and licensed"),
        ("lifting", "approve"), ("lead", "wash hands"), ("brass", "Brass pulls"), ("plug", "Plug all old holes"),
    ],
)  # fmt: skip
def test_cautions_of_the_design_are_there(tag: str, must_say: str) -> None:
    assert any(must_say in caution.text for caution in cautions_for([tag]))


def test_general_cautions_always_come_and_only_pressure_and_lifting_stop() -> None:
    assert [c.code for c in cautions_for([])] == ["eyes-and-hands"]
    assert {c.code for c in all_cautions() if c.stops} == {"pressure-parts", "lifting-and-vehicles"}
    with pytest.raises(InputError, match='caution tag "coper" is not known'):
        cautions_for(["coper"])


def test_materials_and_layers_give_tags_that_exist() -> None:
    from holecam.standards.bonding_layers import all_bonding_layers

    for one in all_materials():
        assert set(material_tags(one, thickness=0.5)) <= all_tags()
    for layer in all_bonding_layers():
        assert set(layer.caution_tags) <= all_tags()
    assert material_tags(material("copper"), thickness=0.635) == ("copper", "thin-sheet")
    assert material_tags(material("copper"), thickness=3) == ("copper",)
    assert material_tags(material("beech"), thickness=1) == ("wood",)
    assert material_tags(material("MDF")) == ("wood", "fibreboard")


def test_a_drill_a_hair_above_a_row_takes_the_next_one() -> None:
    """A drill of exactly the row's size belongs to it, one a hundredth of a millimetre larger does not."""
    for here, above in pairwise(rows("drill_feeds")):
        size = float(here["drill_to_mm"])
        assert drill_feed(size)[:2] == (float(here["low_mm_rev"]), float(here["high_mm_rev"]))
        assert drill_feed(size + 0.01)[:2] == (float(above["low_mm_rev"]), float(above["high_mm_rev"]))
