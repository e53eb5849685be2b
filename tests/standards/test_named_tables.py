"""Tables that other floors read by name: every row is whole, has a source, and is found by each of its words."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

import holecam.standards
from holecam.errors import InputError
from holecam.standards.bonding_layers import (
    all_bonding_layers,
    bonding_layer,
    mean_gap_from_mass,
    mean_gap_from_wire,
)
from holecam.standards.instruments import all_instruments, instrument, resolution_uncertainty
from holecam.standards.materials import all_materials, material
from holecam.standards.names import find_by_name, plain_words
from holecam.standards.position_methods import all_position_methods, position_method
from holecam.standards.spacing_limits import (
    LEVELS,
    all_rules,
    all_spacing_terms,
    spacing_limit,
    spacing_terms,
)
from holecam.standards.touch_off import all_touch_offs, touch_off

TABLES = sorted((Path(holecam.standards.__file__).parent / "tables").glob("*.csv"))

FINDERS = {
    "material": (all_materials, material),
    "position method": (all_position_methods, position_method),
    "instrument": (all_instruments, instrument),
    "touch-off": (all_touch_offs, touch_off),
    "bonding layer": (all_bonding_layers, bonding_layer),
}

MEANT_AMBIGUOUS = {"steel"}
"""Words that several rows share on purpose, so that the tool asks which is meant."""


@pytest.mark.parametrize("path", TABLES, ids=lambda p: p.stem)
def test_every_row_is_whole_and_has_a_source(path: Path) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        header, *body = list(csv.reader(file))
    assert header[-1] == "source"
    assert len(header) == len(set(header))
    assert body, "the table is empty"
    for line, cells in enumerate(body, start=2):
        assert len(cells) == len(header), f"{path.name}:{line}"
        assert all(cell == cell.strip() for cell in cells), f"{path.name}:{line}: blanks around a cell"
        assert cells[-1], f"{path.name}:{line}: no source"
    assert len({tuple(cells) for cells in body}) == len(body), "a row stands there twice"


@pytest.mark.parametrize("what", FINDERS)
def test_every_word_finds_its_row(what: str) -> None:
    everything, find = FINDERS[what]
    entries = everything()
    assert len({plain_words(e.name) for e in entries}) == len(entries)
    for entry in entries:
        for word in (entry.name, *entry.aliases):
            if word in MEANT_AMBIGUOUS:
                continue
            assert find(word.upper()) is entry, word


@pytest.mark.parametrize("what", FINDERS)
def test_unknown_and_empty_names_are_refused_with_what_would_do(what: str) -> None:
    _, find = FINDERS[what]
    with pytest.raises(InputError, match=rf'{what} "unobtainium" is not known'):
        find("unobtainium")
    with pytest.raises(InputError, match="is not known"):
        find("")
    with pytest.raises(InputError, match="is not known"):
        find("x" * 5000)


def test_a_word_with_two_meanings_is_refused_and_not_chosen() -> None:
    with pytest.raises(
        InputError, match=r"can mean more than one thing\. Write one of: mild steel, free-cutting steel"
    ):
        material("steel")


def test_a_typo_gets_the_nearest_names() -> None:
    with pytest.raises(InputError, match="Did you mean brass"):
        find_by_name("brss", all_materials(), what="material")


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("brass", "brass"),
        ("free-cutting brass", "brass"),
        ("copper annealed", "copper"),
        ("Mild Steel", "mild steel"),
        ("aluminum", "aluminium"),
        ("aluminium", "aluminium"),
        ("stainless", "stainless steel"),
        ("cast iron", "cast iron"),
        ("beech", "beech"),
        ("maple", "maple"),
        ("hardwood", "hardwood"),
        ("plywood", "plywood"),
        ("nylon", "nylon"),
        ("plastic", "plastic"),
    ],
)
def test_materials_go_by_the_words_people_write(written: str, name: str) -> None:
    assert material(written).name == name


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("304 stainless", "stainless steel"),
        ("316 stainless steel", "stainless steel"),
        ("1018 steel", "mild steel"),
        ("6061-T6 aluminum", "aluminium"),
        ("C360 brass", "brass"),
        ("O1 tool steel", "tool steel"),
    ],
)
def test_a_grade_beside_its_metal_names_the_material(written: str, name: str) -> None:
    assert material(written).name == name


@pytest.mark.parametrize("written", ["C110 brass", "304 aluminium", "1018 stainless", "6061 soft aluminium"])
def test_a_grade_beside_another_metal_is_refused(written: str) -> None:
    with pytest.raises(InputError, match="is not known"):
        material(written)


def test_a_stated_temper_says_how_soft_a_metal_is_and_wood_has_none() -> None:
    assert material("copper").in_temper(None).soft
    assert material("copper").in_temper("soft").soft
    assert not material("copper").in_temper("hard").soft
    assert not material("copper").in_temper("half hard").soft
    assert material("mild steel").in_temper("soft").soft
    assert material("beech").in_temper("soft") == material("beech")


@pytest.mark.parametrize("rule", all_rules())
def test_spacing_levels_stand_in_order(rule: str) -> None:
    """Comfortable is not below caution, caution not below stop, for holes no thinner than the sheet is thick.

    (Where they are, a thickness or the fixed millimetre rules, and the stop is asked for first.)
    """
    classes = {t.material_class for t in all_spacing_terms() if t.rule == rule}
    for material_class in classes:
        for diameter, pitch, thickness in ((3.0, 0.5, 2.0), (6.35, 1.27, 1.5), (12.0, 1.75, 1.0)):
            values = [
                found.value
                for level in ("stop", "caution", "comfortable")
                if (
                    found := spacing_limit(
                        rule,
                        level,
                        material_class=material_class,
                        diameter=diameter,
                        pitch=pitch,
                        thickness=thickness,
                    )
                )
            ]
            assert values, (rule, material_class)
            assert values == sorted(values), (rule, material_class)


@pytest.mark.outside_check(
    subject="table spacing_limits",
    source="defaults for a hole in plate: 2 D, 1.5 D, 1 D; webs 1 mm and 0.25 D",
    closeness="exact",
    standing="common practice",
)
@pytest.mark.parametrize(
    ("rule", "level", "sizes", "value", "reason"),
    [
        # practice.md A1, the tool's default for a drilled or tapped hole in plate
        ("edge-distance", "comfortable", {"diameter": 4.0}, 8.0, "2 x diameter"),
        ("edge-distance", "caution", {"diameter": 4.0}, 6.0, "1.5 x diameter"),
        ("edge-distance", "stop", {"diameter": 4.0}, 4.0, "1 x diameter"),
        ("edge-metal", "stop", {"pitch": 0.7}, 0.7, "1 x pitch"),
        ("web", "stop", {"diameter": 3.0}, 1.0, "1 mm"),
        ("web", "stop", {"diameter": 6.0}, 1.5, "0.25 x diameter"),
        ("web", "caution", {"diameter": 3.0, "thickness": 5.0}, 5.0, "1 x thickness"),
        ("blind-floor", "caution", {"diameter": 3.0}, 1.5, "0.5 x diameter"),
        ("blind-floor", "caution", {"diameter": 1.0}, 1.0, "1 mm"),
    ],
)
def test_spacing_limit_takes_the_greatest_term(
    rule: str, level: str, sizes: dict[str, float], value: float, reason: str
) -> None:
    found = spacing_limit(rule, level, **sizes)
    assert found is not None
    assert found.value == pytest.approx(value, abs=1e-12)
    assert found.reason == reason
    assert found.source


@pytest.mark.outside_check(
    subject="table spacing_limits",
    source="public design handbook page: D/2 + 3 P, No. 4-40 gives 0.131 in",
    closeness="0.0005 in",
    standing="published",
)
def test_lowest_published_rule_for_a_tapped_hole_agrees_with_its_worked_value() -> None:
    """Public design handbook page: D/2 + 3 P from the centre, No. 4-40 gives 0.131 in."""
    three_pitches = spacing_limit("edge-metal", "reference", pitch=25.4 / 40)
    assert three_pitches is not None
    assert (0.112 * 25.4 / 2 + three_pitches.value) / 25.4 == pytest.approx(0.131, abs=0.0005)


def test_spacing_in_soft_sheet_replaces_the_general_rows() -> None:
    general = spacing_limit("web", "stop", diameter=3.0, thickness=0.6)
    sheet = spacing_limit("web", "stop", diameter=3.0, thickness=0.6, material_class="soft-sheet")
    assert general is not None
    assert sheet is not None
    assert (general.value, sheet.value) == (1.0, 0.6)


def test_spacing_without_the_size_it_needs_is_not_known() -> None:
    assert spacing_limit("edge-distance", "stop") is None


def test_spacing_refuses_what_it_does_not_know() -> None:
    with pytest.raises(InputError, match='spacing rule "egde-distance" is not known'):
        spacing_terms("egde-distance", "stop")
    with pytest.raises(InputError, match='level "halt": expected one of comfortable'):
        spacing_terms("web", "halt")
    for size in (math.nan, math.inf, -0.001):
        with pytest.raises(InputError, match=f"diameter {size} mm: expected a finite length"):
            spacing_limit("web", "stop", diameter=size)


@pytest.mark.parametrize("term", all_spacing_terms(), ids=lambda t: f"{t.rule}-{t.material_class}-{t.level}-{t.per}")
def test_spacing_rows_use_known_words(term: object) -> None:
    assert term.level in LEVELS  # type: ignore[attr-defined]
    assert term.per in ("diameter", "pitch", "thickness", "mm")  # type: ignore[attr-defined]


@pytest.mark.outside_check(
    subject="table instruments",
    source="UK SI 2016/1153 Schedule 1I: steel rules of class I, II, III; by eye common practice",
    closeness="exact",
    standing="published",
)
@pytest.mark.parametrize(
    ("name", "length", "from_end", "half_width"),
    [
        # UK SI 2016/1153 Schedule 1I: class I 0.1 + 0.1 L, II 0.3 + 0.2 L, III 0.6 + 0.4 L; L in metres, rounded up
        ("steel rule class I", 300.0, False, 0.2),
        ("steel rule class II", 300.0, False, 0.5),
        ("steel rule class II", 1500.0, False, 0.7),
        ("steel rule class III", 1000.0, True, 1.3),
        # common practice: by eye 1/64 in
        ("steel rule", 300.0, False, 0.4),
    ],
)
def test_instrument_half_widths(name: str, length: float, from_end: bool, half_width: float) -> None:
    assert instrument(name).half_width_at(length, from_end=from_end) == pytest.approx(half_width, abs=1e-12)


@pytest.mark.outside_check(
    subject=("step-down doubt", "table instruments", "table position_methods", "table touch_off"),
    source="standard deviation of a rectangle and of a digital step (GUM, JCGM 100:2008, 4.3.7, F.2.2.1)",
    closeness="5e-6 mm; the half-widths themselves are common practice",
    standing="mathematics",
)
def test_uncertainties_follow_the_guide() -> None:
    """GUM (JCGM 100:2008) 4.3.7: half-width over the root of 3; F.2.2.1: resolution 0.29 of a step."""
    assert instrument("calliper").standard_uncertainty() == pytest.approx(0.01732, abs=5e-6)
    assert resolution_uncertainty(1.0) == pytest.approx(0.29, abs=0.005)
    assert instrument("bevel protractor").standard_uncertainty_deg() * 60 == pytest.approx(5 / math.sqrt(3), abs=1e-9)
    assert position_method("edge finder").standard_uncertainty == pytest.approx(0.01 / math.sqrt(3))
    assert touch_off("paper").standard_uncertainty == pytest.approx(0.02 / math.sqrt(3))
    braze = bonding_layer("silver braze")
    assert braze.standard_uncertainty == pytest.approx(braze.half_width * 0.5773503, rel=1e-6)


def test_instruments_do_not_mix_lengths_and_angles() -> None:
    with pytest.raises(InputError, match="combination square protractor measures angles, not lengths"):
        instrument("protractor").half_width_at(10.0)
    with pytest.raises(InputError, match="steel rule measures lengths, not angles"):
        instrument("rule").standard_uncertainty_deg()
    for length in (-1.0, -1e-6, math.inf, math.nan):
        with pytest.raises(InputError, match=rf"length {length} mm: expected a finite length"):
            instrument("rule").half_width_at(length)


def test_best_is_never_worse_than_usual() -> None:
    for method in all_position_methods():
        assert 0 < method.best_half_width <= method.half_width
        assert method.use in ("drill", "find")


def test_touch_off_takes_a_stated_height_and_asks_for_one_it_needs() -> None:
    assert touch_off("paper").offset_with(None) == 0.09
    assert touch_off("paper").offset_with(0.1) == 0.1
    assert touch_off("setter block").offset_with(10.0) == 10.0
    with pytest.raises(InputError, match="touch-off with setter block: state its height"):
        touch_off("setter block").offset_with(None)
    assert touch_off("paper").offset_with(0.0) == 0.0
    for height in (math.nan, math.inf, -0.001):
        with pytest.raises(InputError, match=f"touch-off height {height} mm"):
            touch_off("paper").offset_with(height)


@pytest.mark.outside_check(
    subject="table bonding_layers",
    source="Leach 1939 chart, reproduced: brazed joints 0.001 to 0.005 in, best near 0.0015",
    closeness="0.0002 in",
    standing="published",
)
def test_layers_are_ordered_and_their_sources_agree_in_both_units() -> None:
    for layer in all_bonding_layers():
        assert layer.thin <= layer.usual <= layer.thick
    braze = bonding_layer("silver braze")
    # Leach 1939 as reproduced: 0.001 to 0.005 in, best near 0.0015 in
    assert braze.thin / 25.4 == pytest.approx(0.001, abs=5e-5)
    assert braze.thick / 25.4 == pytest.approx(0.005, abs=2e-4)
    assert braze.usual / 25.4 == pytest.approx(0.0015, abs=1e-4)


@pytest.mark.outside_check(
    subject="layer from the solder used",
    source="volume of the wire over the area",
    closeness="1e-6",
    standing="mathematics",
)
def test_layer_from_solder_used_by_wire_and_by_mass() -> None:
    wire = mean_gap_from_wire(wire_length=200.0, wire_diameter=1.0, joint_area=1500.0)
    assert wire == pytest.approx(200 * 0.785398 / 1500, rel=1e-6)
    mass = 200 * math.pi / 4 / 1000 * 8.4
    assert mean_gap_from_mass(mass_g=mass, density_g_cm3=8.4, joint_area=1500.0) == pytest.approx(wire, rel=1e-12)
    with pytest.raises(InputError, match=r"joint area 0\.0: expected a positive size"):
        mean_gap_from_wire(wire_length=1.0, wire_diameter=1.0, joint_area=0.0)
    with pytest.raises(InputError, match="mass nan: expected a positive size"):
        mean_gap_from_mass(mass_g=math.nan, density_g_cm3=8.4, joint_area=1.0)


def test_which_instruments_read_degrees() -> None:
    for one in all_instruments():
        assert one.measures_angles == (one.half_width_deg is not None) == (one.half_width is None)
    assert instrument("bevel protractor").measures_angles
    assert not instrument("calliper").measures_angles
