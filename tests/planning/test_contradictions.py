"""What a job says that cannot all be meant is told, with what is right beside it left alone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ezdxf
import pytest
from test_planning_regressions import OLD, codes, plan
from test_step_down_plans import job_data, planned

from holecam.job.models import job_from_dict
from holecam.plan.finding import Finding, Severity
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan


def told(result: Plan, code: str) -> Finding:
    (found,) = [f for f in result.findings if f.code == code]
    return found


def test_an_old_hole_beyond_the_edge_is_told_and_one_that_breaks_the_edge_is_not() -> None:
    swapped = plan(old_holes=[OLD | {"place": {"hole": 1, "at": [-60, 40]}}])  # Y first
    finding = told(swapped, "old-hole-off-part")
    assert finding.severity is Severity.CAUTION
    assert "3 of 3 lie beyond the edge" in finding.message
    assert finding.measured == pytest.approx((60**2 + 40**2) ** 0.5)  # the corner of the plate is the nearest place
    assert "old-hole-off-part" not in codes(plan(old_holes=[OLD]))
    broken_out = {"name": "notch", "points": [[50, 2]], "diameter": 5}  # 2 mm beyond, 2.5 mm of radius
    assert "old-hole-off-part" not in codes(plan(old_holes=[broken_out]))


def mate(count: int, **more: Any) -> dict[str, Any]:
    return {"name": "base", "pattern": "row", "holes": {"line": {"count": count, "pitch": 20}, "diameter": 5.5, **more}}


def test_a_mate_with_more_holes_than_there_are_screws_is_told() -> None:
    finding = told(plan(mate=[mate(5)]), "mate-holes-over")
    assert finding.message == '"base" has 5 holes, and "row" 3: 4 and 5 of the mate meet no screw.'
    assert finding.severity is Severity.CAUTION
    assert "mate-holes-over" not in codes(plan(mate=[mate(3)]))
    assert "mate-holes-over" not in codes(plan(mate=[mate(5, leave_out=[4, 5])]))
    assert "4 to 30 of the mate" in told(plan(mate=[mate(30)]), "mate-holes-over").message


def test_circles_of_several_sizes_in_one_pattern_are_told(tmp_path: Path) -> None:
    """The edge of a round plate on the same layer was drilled as a hole in its middle, and nothing was said."""
    document = ezdxf.new("R2010", units=4)
    for centre, radius in (((60, -50), 2.5), ((140, -50), 2.5), ((100, -50), 45.0)):
        document.modelspace().add_circle(centre, radius)
    document.saveas(tmp_path / "plate.dxf")

    def drawn(**more: Any) -> Plan:
        pattern = {"name": "drawn", "drawing": {"file": "plate.dxf", **more}, "thread": "M5"}
        part = {"material": "aluminium", "thickness": 8, "outline": {"rectangle": [200, 100], "at": [0, -100]}}
        data = {"title": "plate", "unit": "mm", "part": part, "pattern": [pattern]}
        return make_plan(job_from_dict(data, folder=str(tmp_path)))

    message = told(drawn(), "drawn-circles-differ").message
    assert "2 of 5.000 mm, 1 of 90.000 mm, and a hole is made at each of them" in message
    assert "drawn-circles-differ" not in codes(drawn(diameter=5))


def test_a_drill_that_no_set_has_is_told() -> None:
    assert "2.53" in told(plan({"drill": "2.53 mm"}), "no-such-drill").message
    for there in ("2.5 mm", "#30", "F"):
        assert "no-such-drill" not in codes(plan({"drill": there}))
    assert "no-such-drill" not in codes(plan({"drill": "2.53 mm"}, tools={"drills": ["metric", "2.53 mm"]}))


def test_a_step_down_beside_the_part_stops() -> None:
    away = {"rectangle": [10, 11], "at": [0, 100]}
    result = planned(step_down={"region": away, "bend": None, "open_sides": [1, 2, 3, 4]})
    finding = told(result, "region-off-part")
    assert finding.severity is Severity.STOP
    assert result.programs == ()
    assert "region-off-part" not in codes(planned())


def test_a_bar_of_two_thicknesses_is_told() -> None:
    part = job_data()["part"]
    assert part["thickness"] == pytest.approx(1.2)
    assert "bar-thickness" not in codes(planned())
    for other, is_told in ((1.25, False), (0.6, False), (1.95, False), (3.0, True), (1.0, True)):
        result = planned(part=part | {"thickness": other})
        assert ("bar-thickness" in codes(result)) is is_told, other
    assert (
        "is 1.200 mm thick in the stack, and the part 3.000 mm"
        in told(planned(part=part | {"thickness": 3.0}), "bar-thickness").message
    )


def test_a_look_above_the_bar_is_told() -> None:
    high = planned(step_down={"look": [{"at_z": 5.5, "seen": "bar"}]})
    assert "Z 5.500 mm" in told(high, "look-above-bar").message
    assert "look-above-bar" not in codes(planned(step_down={"look": [{"at_z": -0.3, "seen": "bar"}]}))


def test_a_floor_that_is_hardly_sure_is_told() -> None:
    assert told(planned(step_down={"k": 0.3}), "few-doubts").severity is Severity.CAUTION
    assert "few-doubts" not in codes(planned(step_down={"k": 2.5}))


MEASURED_ROW = {"line": {"count": 4, "pitch": 25}, "thread": "M3"}


@pytest.mark.parametrize(
    ("second", "at", "severity"),
    [
        (4, [105.1, -30], Severity.CAUTION),
        (3, [105, -30], Severity.STOP),  # the hole is number 4: 75 apart, and not 50
        (4, [93, -30], Severity.STOP),  # nearer to hole 3 than to hole 4
    ],
)
def test_a_hole_measured_under_the_number_of_another_stops(second: int, at: list[float], severity: Severity) -> None:
    measured = [{"hole": 1, "at": [30, -30], "within": 0.02}, {"hole": second, "at": at, "within": 0.02}]
    result = plan(MEASURED_ROW | {"place": {"measured": measured}})
    assert told(result, "two-hole-misfit").severity is severity
    assert bool(result.programs) is (severity is Severity.CAUTION)


def test_a_best_fit_with_a_wrong_number_stops_even_where_the_part_has_no_edge() -> None:
    part = {"material": "aluminium", "thickness": 5}
    circle = {"line": None, "circle": {"count": 6, "diameter": 70}, "drill": "4 mm"}
    found = [(1, [35.04, 0.10]), (2, [17.44, 30.38]), (4, [-35.01, -0.12])]

    def fitted(numbers: tuple[int, ...]) -> Plan:
        measured = [{"hole": n, "at": at, "within": 0.03} for n, (_, at) in zip(numbers, found, strict=True)]
        return plan(circle | {"place": {"measured": measured}}, part=part)

    assert "best-fit-wrong-hole" not in codes(fitted((1, 2, 4)))
    wrong = fitted((1, 3, 4))
    assert told(wrong, "best-fit-wrong-hole").severity is Severity.STOP
    assert wrong.programs == ()


def test_picks_with_y_first_are_told() -> None:
    edge = {"first": [10, 0.42], "second": [110, 1.29]}
    assert "large-skew" not in codes(plan(setup={"skew": {"edge": edge}}))
    swapped = {key: at[::-1] for key, at in edge.items()}
    assert "turned by 89.50 degrees" in told(plan(setup={"skew": {"edge": swapped}}), "large-skew").message


@pytest.mark.parametrize(
    ("reads", "severity"), [([110, 40.01], None), ([110.2, 40], Severity.CAUTION), ([110, 90], Severity.STOP)]
)
def test_picked_holes_that_do_not_agree_are_told(reads: list[float], severity: Severity | None) -> None:
    """Their misfit stood in the words of the set-up alone, however large it was."""
    holes = [{"part": [10, 10], "reads": [10, 10]}, {"part": [110, 40], "reads": reads}]
    result = plan(setup={"skew": {"holes": holes, "within": 0.02}})
    found = [f for f in result.findings if f.code == "skew-misfit"]
    assert [f.severity for f in found] == ([] if severity is None else [severity])
    assert bool(result.programs) is (severity is not Severity.STOP)


POCKET = {"name": "tray", "rectangle": [30, 20], "depth": 3}
SLOT = {"name": "way", "width": 6, "depth": 3, "from": [20, -50], "to": [90, -50]}
MILL = {"drills": ["metric"], "end_mills": [{"name": "mill", "diameter": 6}]}


@pytest.mark.parametrize(
    ("table", "cut", "off"),
    [
        ("pocket", POCKET | {"at": [50, -60]}, False),
        ("pocket", POCKET | {"at": [-60, 50]}, True),
        ("pocket", POCKET | {"at": [190, -60]}, False),  # half beyond the edge: the thin wall is told
        ("slot", SLOT, False),
        ("slot", SLOT | {"from": [-50, 20], "to": [-50, 90]}, True),
        ("slot", SLOT | {"from": [-20, -50], "to": [90, -50], "ends": ["open", "blind"]}, False),
    ],
)
def test_a_cut_beside_its_body_is_withheld(table: str, cut: dict[str, Any], off: bool) -> None:
    """A pocket 90 mm beside the plate was planned, proved and written as a program without a word."""
    result = plan(tools=MILL, **{table: [cut]})
    assert ("cut-off-part" in codes(result, Severity.STOP)) is off
    stopped = any(f.severity is Severity.STOP and f.operation == cut["name"] for f in result.findings)
    assert any(table in program.name for program in result.programs) is not stopped
