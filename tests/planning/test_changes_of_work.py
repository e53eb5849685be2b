"""Every piece is set up with its own zero in words, and a piece that comes back is proved on a hole."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from msgspec.structs import replace

from holecam.job.reader import read_job
from holecam.plan.facts import Readout, Setup
from holecam.plan.work import Operation, OperationKind, Row
from holecam.planning.changes_of_work import SET_UP_AGAIN, datum_words, with_set_ups
from holecam.planning.plan_job import make_plan

EXAMPLES = Path(__file__).parents[2] / "examples"
PLAN = make_plan(read_job(EXAMPLES / "lantern-hood" / "job.toml"))
SQUARE = Setup(False, 0.0, (0.0, 0.0), "")
READOUT = Readout(Fraction(127, 10000), "in")


def work(number: int, body: str, kind: OperationKind = OperationKind.SLOT) -> Operation:
    return Operation(number, kind, "cut", ("Go.",), rows=(Row(1, None, "along X", (0, 0), (0, 0)),), body=body)


def test_datums_read_as_words() -> None:
    assert datum_words("", "left end") == "the left end"
    assert datum_words("", "The left end") == "The left end"
    assert datum_words("former", "") == 'the datum of "former"'
    assert datum_words("", "") == "the datum of the job"


def test_the_former_and_then_the_part_are_set_up_on_their_own_zero() -> None:
    slot = next(o for o in PLAN.operations if o.kind is OperationKind.SLOT)
    assert slot.body == "former"
    assert slot.instructions[0].startswith(
        'Set up "former". Find X 0 Y 0: the left end and front edge of the former. Come to each edge'
    )
    later = [o for o in PLAN.operations if o.body == "former" and o is not slot]
    assert later
    assert all("Find X 0 Y 0" not in " ".join(o.instructions) for o in later)
    back = next(o for o in PLAN.operations if o.kind is OperationKind.STEP_DOWN)
    assert back.instructions[0].startswith(
        "Set up the part again. Find X 0 Y 0: the left end and rear edge of the rail"
    )
    assert back.instructions[1].startswith(
        'Prove the zero on hole 1 of "rail screws": with a pointer in it X and Y must show X +0.8705'
    )


def test_the_programs_on_a_body_name_its_zero() -> None:
    zeros = {p.name: p.zero for p in PLAN.programs}
    assert zeros["07-slot-0.nc"] == "X0 Y0 is the left end and front edge of the former; Z0 is its face that is cut"


def test_a_skewed_part_that_comes_back_has_to_be_measured_again() -> None:
    works = [work(1, ""), work(2, "former"), work(3, "")]
    square = with_set_ups(works, {}, PLAN.holes, SQUARE, READOUT)
    skewed = with_set_ups(works, {}, PLAN.holes, replace(SQUARE, skewed=True), READOUT)
    assert SET_UP_AGAIN not in square[2].instructions
    assert SET_UP_AGAIN in skewed[2].instructions
    assert SET_UP_AGAIN not in skewed[0].instructions


def test_the_zero_of_a_skewed_part_is_kept_where_the_datum_does_not_read_zero() -> None:
    skewed = replace(SQUARE, skewed=True, shift=(2.54, -25.4))
    first, other = with_set_ups([work(1, ""), work(2, "former")], {"": "left end"}, (), skewed, READOUT)
    assert "set X and Y to zero" not in first.instructions[0]
    assert "Over the left end stands X +0.1000 in, Y -1.0000 in" in first.instructions[0]
    assert "set X and Y to zero" in other.instructions[0]  # the former has its own zero
    on_zero = replace(skewed, shift=(0.006, 0.0))  # under half a step of 0.0127 mm: the datum reads zero
    (same,) = with_set_ups([work(1, "")], {"": "left end"}, (), on_zero, READOUT)
    assert "set X and Y to zero" in same.instructions[0]


def test_bench_work_and_withheld_work_ask_for_no_zero() -> None:
    idle = Operation(1, OperationKind.SLOT, "withheld", ("Nothing.",), withheld="gouge", body="former")
    plug = work(2, "", OperationKind.PLUG)
    made = with_set_ups([idle, plug, work(3, "")], {}, (), SQUARE, READOUT)
    assert made[0].instructions == ("Nothing.",)
    assert made[1].instructions == ("Go.",)
    assert made[2].instructions[0].startswith("Set up the part. Find")
