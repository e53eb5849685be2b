"""Where a pattern goes when its wanted place is not allowed."""

from __future__ import annotations

import math
from typing import Any

import pytest

from holecam.job.models import job_from_dict
from holecam.plan.finding import Severity
from holecam.plan.plan import Plan
from holecam.planning.plan_job import make_plan

STEP = 0.01
"""mm. Readout of the jobs here."""


def plan(place: dict[str, Any], **more: Any) -> Plan:
    data: dict[str, Any] = {
        "title": "plate",
        "unit": "mm",
        "machine": {"readout": STEP},
        "tools": {"drills": ["metric"]},
        "part": {"material": "mild steel", "thickness": 6, "outline": {"rectangle": [200, 60]}},
        "old_holes": [{"name": "old", "points": [[52, 30]], "diameter": 6}],
        "pattern": [{"name": "row", "line": {"count": 3, "pitch": 40}, "drill": "6 mm", "place": place}],
    }
    data.update(more)
    return make_plan(job_from_dict(data))


def at(**more: Any) -> dict[str, Any]:
    return {"hole": 1, "at": [50, 30], **more}


def reference(result: Plan) -> tuple[float, float]:
    return result.holes[0].xy_part


def stops(result: Plan) -> list[str]:
    return [f.code for f in result.findings if f.severity is Severity.STOP]


NEEDED = 6 + 1.5
"""mm between centres of two 6 mm holes: the web may not be less than a quarter of the diameter (practice table A1)."""


def test_without_a_word_the_plan_stops_and_tells_the_nearest_place() -> None:
    result = plan(at())
    assert reference(result) == (50, 30)
    assert stops(result)
    assert all(h.withheld for h in result.holes)
    assert any('Say when_blocked = "nearest"' in w for w in result.places[0].words)


def test_the_nearest_place_is_nearest_and_allowed_after_rounding() -> None:
    result = plan(at(when_blocked="nearest"))
    x, y = reference(result)
    assert math.dist((x, y), (52, 30)) >= NEEDED
    assert math.dist((x, y), (50, 30)) <= NEEDED - 2 + 2 * STEP
    assert not stops(result)
    assert not any(h.withheld for h in result.holes)


@pytest.mark.parametrize(("free", "fixed"), [("x", 1), ("y", 0)])
def test_a_pattern_that_is_free_along_one_axis_moves_along_it_alone(free: str, fixed: int) -> None:
    result = plan(at(when_blocked="nearest", free=free))
    assert reference(result)[fixed] == (50, 30)[fixed]
    assert not stops(result)
    moved = abs(reference(result)[1 - fixed] - (50, 30)[1 - fixed])
    least = NEEDED - 2 if free == "x" else math.sqrt(NEEDED**2 - 2**2)
    assert least <= moved <= least + 3 * STEP


def test_a_slanted_free_direction_is_kept() -> None:
    result = plan(at(when_blocked="nearest", free_along=30))
    x, y = reference(result)
    assert math.degrees(math.atan2(y - 30, x - 50)) % 180 == pytest.approx(30, abs=1e-6)
    assert not stops(result)


def test_roomiest_has_more_room_than_nearest() -> None:
    near, room = plan(at(when_blocked="nearest")), plan(at(when_blocked="roomiest", furthest=20))
    assert near.places[0].margin is not None
    assert room.places[0].margin is not None
    assert room.places[0].margin > near.places[0].margin + 1
    assert not stops(room)


def test_too_short_a_reach_leaves_the_stop() -> None:
    result = plan(at(when_blocked="nearest", furthest=2))
    assert reference(result) == (50, 30)
    assert stops(result)
    assert any("No place within" in w for w in result.places[0].words)


def test_an_allowed_place_is_left_alone() -> None:
    result = plan({"hole": 1, "at": [30, 30], "when_blocked": "roomiest"})
    assert reference(result) == (30, 30)
    assert result.places[0].wanted_allowed
    assert result.places[0].margin is not None
    assert result.places[0].margin > 0


def test_a_small_turn_helps_where_no_shift_does() -> None:
    # The slot between two rows of old holes is tilted by 2 degrees: the row fits only when it is turned as well
    tilt = math.radians(2)
    old = []
    for k in range(-1, 9):
        x, y = 30 + 14 * k * math.cos(tilt), 30 + 14 * k * math.sin(tilt)
        for side in (-7.6, 7.6):
            old.append([round(x - side * math.sin(tilt), 4), round(y + side * math.cos(tilt), 4)])
    more = {
        "old_holes": [{"name": "old", "points": old, "diameter": 6}],
        "part": {"material": "mild steel", "thickness": 6},
        "pattern": [
            {
                "name": "row",
                "line": {"count": 4, "pitch": 28},
                "drill": "6 mm",
                "place": at(at=[30, 30], when_blocked="nearest", furthest=3, turn_free_deg=3),
            }
        ],
    }
    still = plan(
        {},
        **{**more, "pattern": [{**more["pattern"][0], "place": at(at=[30, 30], when_blocked="nearest", furthest=3)}]},
    )
    turned = plan({}, **more)
    assert stops(still)
    assert not stops(turned)
    assert 1.0 < turned.places[0].turn_deg < 3.0


def test_a_mirrored_copy_is_drilled_as_well() -> None:
    data = {"mirror_copy": {"across": "x", "line": 100, "name": "far row"}}
    pattern = {"name": "row", "line": {"count": 3, "pitch": 10}, "drill": "6 mm", "place": {"at": [30, 30]}, **data}
    result = plan({}, pattern=[pattern], old_holes=[])
    assert [h.xy_part[0] for h in result.holes] == pytest.approx([30, 40, 50, 170, 160, 150])
    assert {h.pattern for h in result.holes} == {"row", "far row"}


def test_a_limit_of_the_job_is_taken_with_its_reason() -> None:
    limit = [{"of": "web", "least": 0.5, "reason": "plugs are of the same bar, brazed"}]
    result = plan({"hole": 1, "at": [45.2, 30]}, limit=limit)
    assert not stops(result)
    assert stops(plan({"hole": 1, "at": [45.2, 30]}))


def test_the_roomiest_place_is_never_farther_than_allowed() -> None:
    # Nothing but two old holes beside the wanted place: all the room lies outward, in every corner of a square
    old = [{"name": "old", "points": [[52, 30], [48, 26]], "diameter": 6}]
    for furthest in (0.5, 4.0, 8.0):
        place = at(when_blocked="roomiest", furthest=furthest, at=[50.003, 28.004])
        result = plan(
            place, old_holes=old, pattern=[{"name": "one", "points": [[0, 0]], "drill": "3 mm", "place": place}]
        )
        x, y = reference(result)
        assert math.dist((x, y), (50.003, 28.004)) <= furthest + 1e-9


@pytest.mark.parametrize("names", [("A", "B"), ("B", "A")])
def test_what_a_job_sets_for_a_pattern_holds_whichever_pattern_comes_first(names: tuple[str, str]) -> None:
    spots = {"A": [50, 30], "B": [60, 30]}
    patterns = [{"name": n, "points": [spots[n]], "drill": "5 mm", "place": None} for n in names]
    bare = [{k: v for k, v in p.items() if v is not None} for p in patterns]
    limit = {"of": "web", "least": 8, "pattern": "A", "reason": "loaded"}
    result = plan(at(), old_holes=[], pattern=bare, limit=[limit])
    assert stops(result) == ["thin-web"]
    moved = [p | {"points": [[0, 0]], "place": {"at": spots[p["name"]], "when_blocked": "nearest"}} for p in bare]
    for only in names:  # and the place that is looked for keeps it too
        both = [m if m["name"] == only else p for m, p in zip(moved, bare, strict=True)]
        result = plan(at(), old_holes=[], pattern=both, limit=[limit])
        assert stops(result) == []
        (x0, y0), (x1, y1) = (h.xy_part for h in result.holes)
        assert 13 <= math.dist((x0, y0), (x1, y1)) <= 13 + 3 * STEP


def test_a_plug_of_cast_iron_in_cast_iron_is_the_same_metal() -> None:
    part = {"material": "cast iron", "thickness": 6, "outline": {"rectangle": [200, 60]}}
    old = [{"name": "old", "points": [[55, 30]], "diameter": 6, "plug": "cast iron pin, brazed"}]
    result = plan(at(), part=part, old_holes=old)
    assert stops(result) == []
    assert any("the same metal as the part" in f.message for f in result.findings)
