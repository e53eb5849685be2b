"""Slots and pockets from the job to operations and programs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from holecam.errors import InputError
from holecam.job.models import job_from_dict
from holecam.job.reader import read_job
from holecam.output.text_sheet import text_sheet
from holecam.plan.finding import Severity
from holecam.plan.plan import Plan
from holecam.plan.work import OperationKind
from holecam.planning.plan_job import make_plan, make_plans
from holecam.program.checking import check_program
from holecam.program.writer import write_program

EXAMPLES = Path(__file__).parents[2] / "examples"


def plan(kind: str = "cnc", **more: Any) -> Plan:
    return make_plan(job(kind, **more))


def job(kind: str = "cnc", **more: Any) -> Any:
    data: dict[str, Any] = {
        "title": "block",
        "unit": "mm",
        "machine": {"kind": kind, "readout": 0.01, "safe_height": 10},
        "tools": {"drills": ["metric"], "end_mills": [{"name": "6 mill", "diameter": 6, "flute_length": 20}]},
        "part": {"material": "beech", "thickness": 40, "outline": {"rectangle": [100, 60]}},
    }
    return job_from_dict({**data, **more})


SLOT = {"name": "groove", "width": 10, "depth": 5, "from": [20, 30], "to": [70, 30]}


def test_every_cut_of_the_lantern_hood_passes_its_check() -> None:
    hood = make_plan(read_job(EXAMPLES / "lantern-hood" / "job.toml"))
    assert {c.kind for c in hood.cuts} == {"slot", "pocket"}
    assert all(0.5 < c.reachable_share <= 1 + 1e-9 for c in hood.cuts)
    cut_programs = [p for p in hood.programs if "slot" in p.name or "pocket" in p.name]
    assert len(cut_programs) == 6
    for program in cut_programs:
        assert check_program(write_program(program, hood.dialect), program, hood.dialect).passed


def test_size_and_depth_are_the_stated_sums() -> None:
    # 7/16 + 2 x 0.010 + 2 x 0.015 = 0.4875 in; 3/16 + 0.010 + 0.015 = 0.2125 in
    hood = make_plan(read_job(EXAMPLES / "lantern-hood" / "job.toml"))
    slot = hood.cuts[0]
    assert slot.width == pytest.approx(0.4875 * 25.4)
    assert slot.depth == pytest.approx(0.2125 * 25.4)
    assert [s.total for s in slot.sums] == pytest.approx([slot.width, slot.depth])
    assert all(sum(t.length * t.times for t in s.terms) == pytest.approx(s.total) for s in slot.sums)


def test_a_program_that_goes_deeper_than_the_slot_fails_its_check() -> None:
    made = plan(slot=[SLOT])
    (program,) = made.programs
    text = write_program(program, made.dialect)
    deepest = min(
        float(word[1:]) for line in text.splitlines() if line.startswith("G") for word in line.split() if word[0] == "Z"
    )
    assert deepest == pytest.approx(-5.0)
    damaged = text.replace(f"Z{deepest:.3f}", f"Z{deepest - 0.1:.3f}")
    result = check_program(damaged, program, made.dialect)
    assert not result.passed
    assert "below-hard-floor" in {f.code for f in result.findings}


def test_a_hand_driven_mill_gets_rows_and_no_program() -> None:
    made = plan("manual", slot=[SLOT])
    assert made.programs == ()
    (operation,) = [o for o in made.operations if o.kind is OperationKind.SLOT]
    assert operation.rows
    for row in operation.rows:
        assert row.to_part is not None
        assert row.xy_part[0] == row.to_part[0] or row.xy_part[1] == row.to_part[1]
        assert row.z is not None
        assert row.z >= -5.0


def test_sneaking_up_gives_a_stop_and_a_program_for_each_stage() -> None:
    made = plan(slot=[{**SLOT, "sneak": {"undersize": 0.6, "steps": 2}}])
    assert len(made.programs) == 3
    sizes = [o.stops[0].expected for o in made.operations]
    assert sizes == pytest.approx([9.4, 9.7, 10.0])
    for operation in made.operations:
        (setting,) = operation.stops[0].settings
        assert (setting.kind, setting.factor, setting.target) == ("side offset", 0.5, pytest.approx(10.0))


def test_the_other_hand_is_cut_mirrored_and_proved_anew() -> None:
    both = make_plans(job(slot=[SLOT], other_hand={"hand": "right", "flip": "x"}))
    for made in both:
        for program in made.programs:
            assert check_program(write_program(program, made.dialect), program, made.dialect).passed
    xs = [list(made.cuts[0].walls[0].bounds[::2]) for made in both]
    assert xs[1] == pytest.approx([-xs[0][1], -xs[0][0]])


def test_a_skewed_part_is_cut_where_it_lies() -> None:
    skew = {"edge": {"first": [0, 0], "second": [100, 5], "origin_reads": [10, 20]}}
    made = plan(slot=[SLOT], setup={"skew": skew})
    (program,) = made.programs
    assert check_program(write_program(program, made.dialect), program, made.dialect).passed
    assert program.limits.stock is not None
    assert program.limits.stock.outline.bounds[0] < 10  # turned about its origin at 10, 20


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"width": 4}, "narrow"),
        ({"depth": 60}, "depth|stock|through"),
        ({"cutting": {"step_over": 9}}, "step"),
    ],
)
def test_a_slot_that_cannot_be_cut_is_named_with_a_way_out(change: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=f"(?i)groove.*({words})|({words}).*groove"):
        plan(slot=[{**SLOT, **change}])


def test_a_thin_wall_is_a_finding() -> None:
    made = plan(slot=[{**SLOT, "from": [20, 6.5], "to": [70, 6.5]}])
    assert "thin-wall" in {f.code for f in made.findings}
    assert not any(f.severity is Severity.STOP for f in made.findings)


def test_a_skewed_part_is_not_cut_by_two_handwheels() -> None:
    """2 mm over 100 mm: "along X" at one Y would leave the slot by 1 mm over its 50 mm."""
    skew = {"edge": {"first": [0, 0], "second": [100, 2]}}
    for cut in ({"slot": [SLOT]}, {"pocket": [{k: v for k, v in POCKET.items() if k != "second_cutter"}]}):
        made = plan("manual", setup={"skew": skew}, **cut)
        assert [f.code for f in made.findings if f.severity is Severity.STOP] == ["skewed-by-hand"]
        milled = [o for o in made.operations if o.kind in (OperationKind.SLOT, OperationKind.POCKET)]
        assert len(milled) == 1
        assert milled[0].rows == ()
        assert milled[0].withheld
        assert plan("cnc", setup={"skew": skew}, **cut).programs  # a program follows any line
    straight = {"edge": {"first": [0, 0], "second": [100, 0.001]}}  # half a micron over the slot: along X on any dial
    made = plan("manual", slot=[SLOT], setup={"skew": straight})
    assert not [f for f in made.findings if f.severity is Severity.STOP]
    assert all(o.rows for o in made.operations if o.kind is OperationKind.SLOT)
    # another piece has a zero of its own and lies square
    body = {"name": "former", "material": "beech", "thickness": 40, "outline": {"rectangle": [100, 60]}}
    made = plan("manual", slot=[{**SLOT, "in": "former"}], body=[body], setup={"skew": skew})
    assert all(o.rows for o in made.operations if o.kind is OperationKind.SLOT)


POCKET = {
    "name": "recess",
    "rectangle": [40, 20],
    "at": [20, 20],
    "depth": 2,
    "cutter": "6 mill",
    "second_cutter": "3 mill",
}
TOOLS = {"drills": ["metric"], "end_mills": [{"name": "6 mill", "diameter": 6}, {"name": "3 mill", "diameter": 3}]}


def test_the_second_cutter_has_rows_for_two_handwheels() -> None:
    made = plan("manual", pocket=[POCKET], tools=TOOLS)
    first, second = [o for o in made.operations if o.kind is OperationKind.POCKET]
    assert first.rows
    assert second.rows
    assert made.programs == ()
    places = [p for r in second.rows for p in (r.xy_part, r.to_part) if p is not None]
    # the corners of the pocket less the cutter's radius of 1.5 mm, and nothing beyond
    assert {(21.5, 21.5), (58.5, 21.5), (21.5, 38.5), (58.5, 38.5)} <= {(round(x, 6), round(y, 6)) for x, y in places}
    assert all(21.5 - 1e-6 <= x <= 58.5 + 1e-6 and 21.5 - 1e-6 <= y <= 38.5 + 1e-6 for x, y in places)
    assert min(r.z for r in second.rows if r.z is not None) == pytest.approx(-2.0)


def test_a_pocket_that_is_to_be_cut_by_hand_has_no_program_for_its_second_cutter_either() -> None:
    made = plan("cnc", pocket=[{**POCKET, "cutting": {"by_hand": True}}], tools=TOOLS)
    assert made.programs == ()
    assert all(o.rows for o in made.operations if o.kind is OperationKind.POCKET)


def test_a_corner_that_two_handwheels_cannot_follow_says_so_for_the_second_cutter() -> None:
    made = plan("manual", pocket=[{**POCKET, "corner_radius": 2}], tools=TOOLS)
    second = [o for o in made.operations if o.kind is OperationKind.POCKET][-1]
    assert second.rows == ()
    assert any("Two handwheels cannot follow it" in line for line in second.instructions)


def test_the_sheet_says_how_far_a_slot_reaches() -> None:
    """Ends 20 and 70 are where its full width ends: the round of a 6 mm cutter reaches 3 mm farther."""
    made = plan("manual", slot=[{**SLOT, "ends": ["blind", "blind"]}])
    assert made.cuts[0].box == pytest.approx((17, 25, 73, 35))
    sheet = " ".join(text_sheet(made).split())
    assert "It reaches from X +17.000 to +73.000 and from Y +25.000 to +35.000 mm" in sheet
    assert "56.000 mm by 10.000 mm" in sheet
