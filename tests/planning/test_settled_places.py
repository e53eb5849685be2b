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


MIRRORED: dict[str, Any] = {
    "part": {"material": "mild steel", "thickness": 6, "outline": {"rectangle": [100, 60]}},
    "old_holes": [{"name": "old", "points": [[20, 30], [90, 30]], "diameter": 5}],
}
"""Old holes beside the pattern's wanted place, and where its mirrored copy would go."""


def with_copy(across: str = "x", line: float = 50, **place: Any) -> dict[str, Any]:
    spot = {"at": [18, 30], "free": "x", "when_blocked": "nearest", **place}
    copy = {"across": across, "line": line, "name": "far"}
    return {"name": "near", "points": [[0, 0]], "drill": "5 mm", "place": spot, "mirror_copy": copy}


@pytest.mark.parametrize("when", ["nearest", "roomiest"])
def test_a_place_is_looked_for_at_which_the_mirrored_copy_keeps_its_limits_too(when: str) -> None:
    result = plan({}, **MIRRORED, pattern=[with_copy(when_blocked=when)])
    assert not stops(result)
    (x, _), (far, _) = (h.xy_part for h in result.holes)
    assert x + far == pytest.approx(100)
    assert abs(x - 20) >= 6.25
    assert abs(far - 90) >= 6.25  # toward the left the copy would meet the old hole at 90
    assert 'There the holes of "far" keep their limits too.' in result.places[0].words
    if when == "nearest":
        assert x == pytest.approx(26.26, abs=STEP)
    else:  # 20 mm from the old hole and as far from the mirror line as two holes would ask, halved
        assert x > 30


def test_a_copy_that_is_blocked_moves_the_pattern_as_well() -> None:
    old = [{"name": "old", "points": [[80, 30]], "diameter": 5}]
    result = plan({}, part=MIRRORED["part"], old_holes=old, pattern=[with_copy()])
    assert not stops(result)
    assert not result.places[0].wanted_allowed
    assert any('hole 2 (1 of "far") is 2.000 mm from old 1' in w for w in result.places[0].words)


def test_a_pattern_and_its_copy_keep_apart() -> None:
    spot = with_copy(at=[46, 30], furthest=20)
    result = plan(
        {}, part=MIRRORED["part"], old_holes=[{"name": "old", "points": [[44, 30]], "diameter": 5}], pattern=[spot]
    )
    assert not stops(result)
    (x, _), (far, _) = (h.xy_part for h in result.holes)
    assert abs(far - x) >= 5 + 1.25 - 1e-9
    assert x == pytest.approx(44 - 6.26, abs=STEP)  # at 50.26 it would meet its own copy


def test_a_copy_across_a_level_line_goes_the_other_way_along_y() -> None:
    old = [{"name": "old", "points": [[30, 12], [30, 55]], "diameter": 5}]
    result = plan({}, part=MIRRORED["part"], old_holes=old, pattern=[with_copy("y", 30, at=[30, 10], free="y")])
    assert not stops(result)
    (_, y), (_, far) = (h.xy_part for h in result.holes)
    assert y + far == pytest.approx(60)
    assert abs(y - 12) >= 6.25
    assert abs(far - 55) >= 6.25


def follower(**more: Any) -> dict[str, Any]:
    return {
        "name": "led",
        "points": [[0, 0]],
        "drill": "5 mm",
        "place": {"moved": {"from": "lead", "shift": [0, 10]}},
        **more,
    }


LEAD: dict[str, Any] = {"name": "lead", "points": [[0, 0]], "drill": "5 mm"}
CROWDED = [{"name": "old", "points": [[20, 30], [12, 40]], "diameter": 5}]


@pytest.mark.parametrize("first", ["lead", "led"])
def test_a_place_is_looked_for_that_suits_patterns_placed_from_this_one(first: str) -> None:
    lead = LEAD | {"place": {"at": [18, 30], "free": "x", "when_blocked": "nearest"}}
    both = [lead, follower()] if first == "lead" else [follower(), lead]
    result = plan({}, part=MIRRORED["part"], old_holes=CROWDED, pattern=both)
    assert not stops(result)
    at_lead, at_led = ({h.pattern: h.xy_part for h in result.holes}[n] for n in ("lead", "led"))
    assert at_lead == pytest.approx((26.26, 30), abs=STEP)  # to the left "led" would meet the old hole at 12, 40
    assert at_led == pytest.approx((at_lead[0], 40))
    told = {p.pattern: p for p in result.places}
    assert 'There the holes of "led" keep their limits too.' in told["lead"].words
    assert told["led"].chosen == pytest.approx(at_led)  # told of where it really lies, in whichever order


def test_where_no_place_suits_both_the_pattern_takes_its_own_and_it_is_told() -> None:
    lead = LEAD | {"place": {"at": [18, 30], "free": "x", "when_blocked": "nearest", "furthest": 6}}
    result = plan({}, part=MIRRORED["part"], old_holes=CROWDED, pattern=[lead, follower()])
    assert result.holes[0].xy_part == pytest.approx((13.74, 30), abs=STEP)
    words = next(p for p in result.places if p.pattern == "lead").words
    assert 'No place within reach suits the holes of "led", placed from it, as well.' in words
    assert [f.holes for f in result.findings if f.severity is Severity.STOP] == [(2,)]


def test_the_roomiest_place_along_a_free_direction_is_the_one_with_the_most_room() -> None:
    # Between the old holes at 52 and 92 the middle keeps most, whatever `furthest` cuts off
    old = [{"name": "old", "points": [[52, 30], [92, 30], [44, 30], [20, 30]], "diameter": 6}]
    one = {"name": "one", "points": [[0, 0]], "drill": "6 mm"}
    for furthest in (24, 30):
        place = at(when_blocked="roomiest", free="x", furthest=furthest)
        result = plan({}, old_holes=old, pattern=[one | {"place": place}])
        assert reference(result) == pytest.approx((72, 30), abs=2 * STEP)


def test_the_nearest_place_beyond_reach_is_told() -> None:
    words = plan(at(when_blocked="nearest", furthest=2)).places[0].words
    (none,) = [w for w in words if "No place within" in w]
    assert none.startswith("No place within 2.000 mm of it is allowed; the nearest that is lies 5.500 mm away")
    along = plan(at(when_blocked="nearest", furthest=2, free="y")).places[0].words
    assert any(
        "the nearest that is lies 7.228 mm away, the reference at about X +50.000 mm, Y +37.228 mm" in w for w in along
    )
    bar = {"material": "mild steel", "thickness": 6, "outline": {"rectangle": [200, 60]}}
    many = [
        {
            "name": "old",
            "grid": {"columns": 12, "rows": 4, "pitch": [15, 15]},
            "place": {"centre": [100, 30]},
            "diameter": 12,
        }
    ]
    nowhere = plan(at(when_blocked="nearest"), part=bar, old_holes=many).places[0].words
    assert "No place within 25.400 mm of it is allowed, nor one farther out." in nowhere


def test_sentences_give_both_numbers_of_a_hole_where_they_differ() -> None:
    first = {"name": "first", "line": {"count": 2, "pitch": 40}, "drill": "6 mm", "place": {"at": [20, 30]}}
    second = {"name": "second", "line": {"count": 3, "pitch": 20}, "drill": "6 mm", "place": {"at": [96, 30]}}
    holes = {"like": "second", "thread": "M5", "place": {"at": [96, 30]}}
    mate = {"name": "base", "pattern": "second", "holes": holes, "located": "fixed"}
    old = [{"name": "old", "points": [[120, 30]], "diameter": 6}]
    blocked = plan({}, pattern=[first, second], old_holes=old)
    told = [w for p in blocked.places for w in p.words]
    assert any(w.startswith('Placed from hole 1 of "first" at') for w in told)
    assert any(w.startswith('Placed from hole 3 (1 of "second") at') for w in told)
    assert any('hole 4 (2 of "second") is 4.000 mm from old 1' in w for w in told)
    assert any('Held at hole 1 of "first" it could turn' in w for w in told)
    assert 'hole 4 (2 of "second")' in {f.about for f in blocked.findings}
    second = second | {"drill": "5.2 mm"}
    free = plan({}, pattern=[first, second], old_holes=[], mate=[mate])
    checks = [c.words for c in free.checks]
    assert 'hole 1 to hole 2 of "first", centre to centre' in checks
    assert 'hole 3 to hole 5 (1 to 3 of "second"), centre to centre' in checks
    assert any("screw" in f.message and "of the pattern)" in f.message for f in free.findings)


def test_a_hole_to_be_opened_is_named_by_both_numbers() -> None:
    first = {"name": "first", "line": {"count": 2, "pitch": 40}, "drill": "6 mm", "place": {"at": [20, 30]}}
    second = {"name": "second", "line": {"count": 3, "pitch": 20}, "clearance_for": "M5", "place": {"at": [96, 30]}}
    holes = {"like": "second", "thread": "M5"}
    mate = {"name": "base", "pattern": "second", "holes": holes, "measured": [{"hole": 2, "off": [0, 1.5]}]}
    result = plan({}, pattern=[first, second], old_holes=[], mate=[mate])
    (wrong,) = [f for f in result.findings if f.code == "does-not-bolt-up"]
    assert wrong.remedy.startswith('Open hole 4 (2 of "second") in the part from')
    swapped = [first, second | {"clearance_for": None, "thread": "M5"}]
    swapped = [{k: v for k, v in p.items() if v is not None} for p in swapped]
    other = mate | {"holes": {"like": "second", "clearance_for": "M5"}}
    result = plan({}, pattern=swapped, old_holes=[], mate=[other])
    (wrong,) = [f for f in result.findings if f.code == "does-not-bolt-up"]
    assert wrong.remedy.startswith('Open hole 2 of "base" (under screw 4) from')


@pytest.mark.parametrize("turn_deg", [0, 35])
def test_patterns_placed_one_from_the_other_as_often_as_you_like(turn_deg: float) -> None:
    def turned(x: float, y: float, by: float) -> tuple[float, float]:
        c, s = math.cos(math.radians(by)), math.sin(math.radians(by))
        return (c * x - s * y, s * x + c * y)

    first = {"name": "p0", "points": [[0, 0], [13, 2], [25, -4]], "place": {"at": [60, 20], "along": turn_deg}}
    second = {"name": "p1", "like": "p0", "place": {"moved": {"from": "p0", "shift": [5, 9], "turn_deg": 20}}}
    third = {
        "name": "p2",
        "like": "p1",
        "place": {"moved": {"from": "p1", "shift": [7, 8], "mirror": "x", "about_hole": 2}},
    }
    patterns = [p | {"drill": "1 mm"} for p in (third, first, second)]
    result = plan({}, old_holes=[], part={"material": "mild steel", "thickness": 6}, pattern=patterns)
    got = {(h.pattern, h.number_in_pattern): h.xy_part for h in result.holes}
    for n, point in enumerate([(0, 0), (13, 2), (25, -4)], start=1):
        x, y = turned(*point, turn_deg + 20)
        assert got[("p1", n)] == pytest.approx((65 + x, 29 + y))
    pivot = got[("p1", 2)]
    for n in (1, 2, 3):  # mirrored about its hole 2, then shifted
        x, y = got[("p1", n)]
        assert got[("p2", n)] == pytest.approx((2 * pivot[0] - x + 7, y + 8))


def test_a_pattern_that_is_drilled_in_part_is_moved_whole() -> None:
    lead = LEAD | {"points": [[0, 0], [20, 0]], "only": [1]}
    lead |= {"place": {"at": [18, 30], "free": "x", "when_blocked": "nearest"}}
    led = follower(points=[[0, 0], [20, 0]]) | {"place": {"moved": {"from": "lead", "shift": [0, 15]}}}
    old = [{"name": "old", "points": [[20, 30]], "diameter": 5}]
    result = plan({}, part=MIRRORED["part"], old_holes=old, pattern=[lead, led])
    assert not stops(result)
    x, y = result.holes[0].xy_part
    assert x != 18
    assert [h.xy_part for h in result.holes[1:]] == [pytest.approx((x, y + 15)), pytest.approx((x + 20, y + 15))]
