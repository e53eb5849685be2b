"""Which cautions stand where: all of a job's on its sheet, those of its own work in the head of a program."""

from __future__ import annotations

from typing import Any

import pytest

from holecam.job.models import job_from_dict
from holecam.plan.plan import Plan
from holecam.planning.layer_materials import layer_material, layer_tags
from holecam.planning.plan_job import make_plan
from holecam.planning.step_down_words import bond_of
from holecam.standards.cautions import all_cautions

TEXT = {caution.code: caution.text for caution in all_cautions()}

EVERY_PROGRAM = {"eyes-and-hands", "starting-points", "first-run", "heavy-work"}


def plan(**more: Any) -> Plan:
    """Return the plan of an invented rail of brass over a hood of copper, with a former of wood."""
    data: dict[str, Any] = {
        "title": "rail and former",
        "unit": "mm",
        "machine": {"kind": "cnc", "spindle": {"slowest": 100, "fastest": 3000}},
        "tools": {"end_mills": [{"name": "cutter", "diameter": 6}]},
        "part": {"material": "brass", "thickness": 5, "outline": {"rectangle": [120, 40]}},
        "body": [
            {"name": "former", "material": "maple", "thickness": 30, "outline": {"rectangle": [120, 80]}},
            {"name": "base", "material": "cast iron", "thickness": 12, "outline": {"rectangle": [120, 80]}},
        ],
        "pattern": [
            {"name": "rail", "line": {"count": 2, "pitch": 40}, "place": {"hole": 1, "at": [20, 20]}, "drill": "3 mm"},
            {
                "name": "base",
                "in": "base",
                "line": {"count": 2, "pitch": 40},
                "place": {"hole": 1, "at": [20, 20]},
                "drill": "3.2 mm",
                "depth": {"to_shoulder": 6},
            },
        ],
        "slot": [
            {
                "name": "way",
                "in": "former",
                "from": [20, 40],
                "to": [90, 40],
                "width": 8,
                "depth": 4,
                "cutter": "cutter",
            }
        ],
        "step_down": [
            {
                "name": "end",
                "layers": [
                    {"is": "brass rail", "thick": 5, "within": 0.03},
                    {"is": "soft solder", "thick": 0.15, "within": 0.05},
                    {"is": "copper hood", "thick": 0.6, "keep": True},
                ],
                "touch": {"on": "brass rail", "with": "paper"},
                "region": {"points": [[100, 5], [112, 5], [112, 35], [100, 35]]},
                "cutter": "cutter",
            }
        ],
        **more,
    }
    return make_plan(job_from_dict(data))


def codes(texts: tuple[str, ...]) -> set[str]:
    return {code for code, text in TEXT.items() if text in texts}


def heads(made: Plan) -> dict[str, set[str]]:
    """Return the cautions in the head of every program beyond those that every program has, by its name."""
    found = {}
    for program in made.programs:
        own = codes(program.cautions)
        assert own >= EVERY_PROGRAM, program.name
        assert len(own) == len(program.cautions), "a text that no caution has"
        found[program.name] = own - EVERY_PROGRAM
    return found


def test_a_head_has_the_cautions_of_its_own_piece_and_work() -> None:
    found = heads(plan())
    (slot,) = [own for name, own in found.items() if "slot" in name]
    (step_down,) = [own for name, own in found.items() if "step-down" in name]
    drilled = [own for name, own in found.items() if "drill" in name]
    assert slot == {"wood-dust", "wood-blow-out"}
    assert step_down == {"copper-grabs", "brass-pulls-in", "thin-sheet", "inside-bend", "solder-fumes", "lead"}
    assert sorted(map(sorted, drilled)) == [["brass-pulls-in"], ["cast-iron-dust", "thin-bottom"]]


def test_the_sheet_has_the_cautions_of_every_head_and_those_of_the_bench() -> None:
    made = plan()
    on_sheet = {c.code for c in made.cautions}
    assert on_sheet >= EVERY_PROGRAM.union(*heads(made).values())
    assert {"hot-work", "zinc-fume"} <= on_sheet, "the bar was soldered on, and what is left is wiped off with a torch"


def test_the_sheet_that_may_never_be_touched_gives_its_caution_though_nothing_of_it_is_cut() -> None:
    assert "copper-grabs" in {c.code for c in plan().cautions}


def test_the_metal_at_a_pattern_counts_where_it_is_not_that_of_the_part() -> None:
    made = plan(
        pattern=[
            {
                "name": "patch",
                "line": {"count": 2, "pitch": 40},
                "place": {"hole": 1, "at": [20, 20]},
                "drill": "3 mm",
                "material": "copper",
                "thickness": 1,
            }
        ]
    )
    drilled = next(own for name, own in heads(made).items() if "drill" in name)
    assert drilled == {"copper-grabs", "thin-sheet"}
    assert "copper-grabs" in {c.code for c in made.cautions}


def test_service_stands_in_every_head() -> None:
    made = plan(part={"material": "brass", "thickness": 5, "outline": {"rectangle": [120, 40]}, "service": "food"})
    assert all("food-oxygen-vacuum" in own for own in heads(made).values())


@pytest.mark.parametrize(
    ("name", "stated", "metal"),
    [
        ("copper hood", None, "copper"),
        ("Hood, copper", None, "copper"),
        ("hood (copper)", None, "copper"),
        ("brass rail", "copper", "copper"),
        ("lower plate", None, None),
        ("plate 2", None, None),
    ],
)
def test_the_metal_of_a_layer_is_stated_or_seen_from_its_name(name: str, stated: str | None, metal: str | None) -> None:
    found = layer_material(name, stated)
    assert (found.name if found is not None else None) == metal


@pytest.mark.parametrize(
    ("name", "tags"),
    [
        ("soft solder", {"solder", "lead"}),
        ("lead-free solder", {"solder"}),
        ("silver braze", {"braze", "cadmium-braze"}),
        ("epoxy", {"adhesive"}),
        ("riveted joint", set()),
    ],
)
def test_a_bonding_layer_gives_the_tags_of_its_table(name: str, tags: set[str]) -> None:
    assert layer_tags(name, bond_of(name)) == tags
