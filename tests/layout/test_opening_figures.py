"""Opening up from the inside: growths, drills, slots and pairs by closed form on rows, whole answers as recorded."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace
from recorded_figures import plain_figures, same_as_recorded

from holecam.errors import InputError
from holecam.layout.bolt_up import BoltUp, Joint, bolt_up
from holecam.layout.bolt_up_motion import Freedom, Motion
from holecam.layout.bolt_up_play import Member, RoundHole, SlottedHole, TappedHole
from holecam.layout.opening_up import DrilledOpen, DrillSize, Opening, OpeningUp, SlottedOpen, _openable, open_up
from holecam.layout.opening_up_search import (
    Search,
    _enough,
    _least_growth,
    _wishes,
    _with_hole,
    all_drilled_opening,
    drilled_by_growth,
    drilled_opening,
    growth_of,
    holding,
    pair_by_drills,
    pair_by_slots,
    promising_pairs,
    slotted_opening,
)
from holecam.shapes import Placement, Point

FILE = "opening"
TENTHS: tuple[DrillSize, ...] = tuple((f"{d / 10:.1f} mm", d / 10) for d in range(40, 91))
HOLE, THREAD = RoundHole(4.5), TappedHole()


def row(*off: float, pitch: float = 60.0) -> list[Joint]:
    """Screws of 4 in a row, holes of 4.5 in the part, the threads ``off`` along the row."""
    return [
        Joint(k + 1, (pitch * k, 0.0), (pitch * k + x, 0.0), HOLE, THREAD, 4.0) for k, x in enumerate(off)
    ]  # fmt: skip


def ring(offsets: dict[int, Point]) -> list[Joint]:
    joints = []
    for k in range(6):
        x, y = 40 * math.cos(math.tau * k / 6), 40 * math.sin(math.tau * k / 6)
        dx, dy = offsets.get(k + 1, (0.0, 0.0))
        joints.append(Joint(k + 1, (x, y), (x + dx, y + dy), HOLE, THREAD, 4.0))
    return joints


def search(joints: list[Joint], *, motion: Motion | None = None, wanted: float = 1.0, largest: float = 9.0) -> Search:
    thickness: dict[Member, float] = {"part": 3.0, "mate": 8.0}
    openable = tuple(_openable(j, ("part", "mate")) for j in joints)
    return Search(
        tuple(joints),
        tuple(j.play for j in joints),
        motion or Motion(),
        wanted,
        TENTHS,
        openable,
        thickness,
        largest,
        0.1,
    )


def test_the_least_growth_of_a_falling_ratio() -> None:
    """1 / (1 + g) falls to 0.5 at 1; a straight line at its root; on the side that fits, to the step."""
    for step in (1e-3, 1e-6):
        found = _least_growth(lambda g: 1.0 / (1.0 + g), 0.5, 64.0, step)
        assert 0.0 <= found - 1.0 <= step
        assert 0.0 <= _least_growth(lambda g: 2.0 - 0.25 * g, 1.0, 100.0, step) - 4.0 <= step
        assert 0.0 <= _least_growth(lambda g: math.exp(-g), 0.3, 8.0, step) + math.log(0.3) <= step
    assert _least_growth(lambda g: 0.4 - g, 0.5, 9.0) == 0.0
    # where the ratio at the far end is only just enough
    assert _least_growth(lambda g: 2.0 if g < 3.0 else 1.0, 1.0, 8.0, 1e-6) == pytest.approx(3.0, abs=1e-6)
    asked: list[float] = []

    def ratio(g: float) -> float:
        asked.append(g)
        return 1.0 / (1.0 + g)

    _least_growth(ratio, 0.5, 64.0)
    assert asked[:2] == [0.0, 64.0]
    same_as_recorded("growths asked", asked, file=FILE, within=1e-6)
    assert len(asked) < 30


def test_growths_by_hand() -> None:
    """A row with the second thread 1.0 too far: 0.5 of play; one hole needs 0.5 more, beside 0.2 only 0.3."""
    work = search(row(0.0, 1.0))
    assert work.diameter(0) == 4.5
    assert work.metal(1, 2.0) == 6.0
    assert work.ratio({}) == pytest.approx(2.0)
    assert work.ratio({0: 0.5}) == pytest.approx(1.0 / 0.75 * 0.75, abs=1e-6) == pytest.approx(1.0)
    assert work.ratio({}, (0,)) < 1e-6
    assert work.ratio({}, (0, 1)) == 0.0
    assert not work.fits({})
    assert work.fits({0: 0.5})
    assert not work.fits({0: 0.4999})
    assert growth_of(work, 0) == pytest.approx(0.5, abs=2e-6)
    assert growth_of(work, 1, {0: 0.2}) == pytest.approx(0.3, abs=2e-6)
    assert growth_of(work, 1, without=(0,)) == pytest.approx(0.0, abs=2e-6)
    assert _enough(work, 0, {}, ()) == 1.0
    assert _enough(search(row(0.0, 5.0)), 0, {}, ()) == 8.0  # 4.5 needed: 1, 2, 4, 8
    # a hole of 4.5 takes 9 mm more play at most: a slot of 4.5 x 13.5
    assert work.most_growth(0) == 9.0
    assert _enough(search(row(0.0, 9.4)), 0, {}, ()) == 9.0  # 8.9 needed: 1, 2, 4, 8, 9
    assert growth_of(search(row(0.0, 9.4)), 0) == pytest.approx(8.9, abs=2e-6)
    assert growth_of(search(row(0.0, 9.6)), 0) is None
    # three in a row with the outer two 1.0 apart too far: opening the middle one helps nothing
    three = search(row(0.0, 0.5, 1.0))
    assert _enough(three, 1, {}, ()) is None
    assert growth_of(three, 1) is None


def test_the_next_drill() -> None:
    work = search(row(0.0, 1.0))
    assert work.larger_drill(0, 0.5) == ("5.5 mm", 5.5)
    assert work.larger_drill(0, 0.500001) == ("5.5 mm", 5.5)  # within the step of the search: the proof decides
    assert work.larger_drill(0, 0.50001) == ("5.6 mm", 5.6)
    assert work.larger_drill(0, 2.25) == ("9.0 mm", 9.0)
    assert work.larger_drill(0, 2.3) is None
    assert replace(work, largest=5.45).larger_drill(0, 0.5) is None
    assert replace(work, largest=5.5).larger_drill(0, 0.5) == ("5.5 mm", 5.5)


def test_drilled_openings_by_hand() -> None:
    work = search(row(0.0, 1.0))
    found = drilled_opening(work, {1: ("5.5 mm", 5.5)})
    assert found is not None
    area = math.pi / 4.0 * (5.5**2 - 4.5**2)
    assert found.steps == (DrilledOpen(2, "part", 4.5, "5.5 mm", 5.5, area),)
    assert found.removed == pytest.approx(3.0 * area)
    assert found.numbers == (2,)
    assert found.proof.ratio == pytest.approx(1.0)
    assert drilled_opening(work, {1: ("5.4 mm", 5.4)}) is None
    both = drilled_opening(work, {1: ("5.0 mm", 5.0), 0: ("5.0 mm", 5.0)})
    assert both is not None
    assert both.numbers == (1, 2)
    assert both.removed == pytest.approx(2 * 3.0 * math.pi / 4.0 * (25.0 - 4.5**2))
    grown = drilled_by_growth(work, {0: 0.25, 1: 0.25})
    assert grown is not None
    assert [s.diameter for s in grown.steps if isinstance(s, DrilledOpen)] == [5.0, 5.0]
    # drills go by their size, not by their names
    named = replace(work, drills=(("z", 5.4), ("y", 5.5), ("x", 5.6)))
    next_one = drilled_by_growth(named, {1: 0.45})
    assert next_one is not None
    assert [s.drill for s in next_one.steps if isinstance(s, DrilledOpen)] == ["y"]
    assert drilled_by_growth(named, {1: 0.6}) is None
    assert drilled_by_growth(replace(work, drills=(("z", 5.3), ("y", 5.4), ("x", 5.5))), {1: 0.4}) is None


def test_slotted_openings_by_hand() -> None:
    """Wanted 0.5 to the right in a hole of 4.5: length 5.0, its middle 0.25 on; 0.44 is rounded up to 0.5."""
    work = search(row(0.0, 1.0))
    found = slotted_opening(work, {1: 0.5})
    assert found is not None
    (slot,) = found.steps
    assert isinstance(slot, SlottedOpen)
    assert (slot.number, slot.member, slot.width) == (2, "part", 4.5)
    assert (slot.length, slot.longer_by, slot.direction_deg) == (pytest.approx(5.0), pytest.approx(0.5), 0.0)
    assert slot.middle == pytest.approx((60.25, 0.0))
    assert slot.removed == pytest.approx(2.25)
    assert found.removed == pytest.approx(6.75)
    left = slotted_opening(work, {0: 0.5})
    assert left is not None
    assert isinstance(left.steps[0], SlottedOpen)
    assert (left.steps[0].direction_deg, left.steps[0].middle) == (180.0, pytest.approx((-0.25, 0.0)))
    # a screw that stays within its play keeps its round hole: of 1.0 hole 1 takes 0.35 / 2.6, hole 2 the rest
    alone = slotted_opening(work, {0: 0.1, 1: 2.0})
    assert alone is not None
    assert [(s.number, s.longer_by) for s in alone.steps if isinstance(s, SlottedOpen)] == [(2, pytest.approx(0.7))]
    near = slotted_opening(search(row(0.0, 0.94)), {1: 0.44})
    assert near is not None
    assert near.steps[0].removed == pytest.approx(4.5 * 0.5)
    # told too little, it still reaches as far as the screw stands off once the hole is that large
    wishes = _wishes(work, {1: 0.5})
    assert wishes is not None
    assert wishes[1] == (pytest.approx(0.75), pytest.approx(0.0, abs=1e-9))


def test_holes_of_the_mate_are_opened_in_its_frame() -> None:
    turn = Placement(30.0, (5.0, 6.0))
    joints = [
        Joint(k + 1, (60.0 * k, 0.0), turn.apply((61.0 * k, 0.0)), TappedHole(), RoundHole(4.5), 4.0) for k in range(2)
    ]  # fmt: skip
    work = search(joints)
    assert [_openable(j, ("part", "mate")) for j in joints] == ["mate", "mate"]
    assert _openable(joints[0], ("part",)) is None
    assert _openable(row(0.0)[0], ("mate",)) is None
    assert _openable(row(0.0)[0], ("mate", "part")) == "part"
    assert work.metal(0, 1.0) == 8.0
    assert replace(work, openable=(None, "mate")).metal(0, 1.0) == 1.0
    opened = _with_hole(work, 1, RoundHole(5.0), (1.0, 2.0))
    assert (opened.mate_hole, opened.mate_xy, opened.part_xy) == (RoundHole(5.0), (1.0, 2.0), (60.0, 0.0))
    assert _with_hole(work, 1, RoundHole(5.0)).mate_xy == joints[1].mate_xy
    part = search(row(0.0, 1.0))
    assert _with_hole(part, 1, SlottedHole(4.5, 5.0)).part_hole == SlottedHole(4.5, 5.0)
    assert _with_hole(part, 1, RoundHole(5.0), (1.0, 2.0)).part_xy == (1.0, 2.0)
    assert search([replace(joints[0], mate_hole=SlottedHole(4.5, 6.0))]).diameter(0) == 0.0
    found = slotted_opening(work, {1: 0.5})
    assert found is not None
    assert isinstance(found.steps[0], SlottedOpen)
    assert found.steps[0].direction_deg == pytest.approx(210.0)
    assert found.steps[0].removed * 8.0 == pytest.approx(found.removed)


def test_pairs_of_drills_by_hand() -> None:
    """0.5 mm of radius to share: 4.6 and 5.4, 4.7 and 5.3 ... the least area where both are 5.0."""
    work = search(row(0.0, 1.0), largest=5.4)
    found = pair_by_drills(work, 0, 1)
    assert found is not None
    assert [s.diameter for s in found.steps if isinstance(s, DrilledOpen)] == [5.0, 5.0]
    assert pair_by_drills(search(row(0.0, 1.0), largest=4.9), 0, 1) is None
    # where only the two largest together do it, and where neither list goes far
    just = pair_by_drills(search(row(0.0, 1.0), largest=5.05), 0, 1)
    assert just is not None
    assert [s.diameter for s in just.steps if isinstance(s, DrilledOpen)] == [5.0, 5.0]
    one_size = pair_by_drills(replace(work, drills=(("only", 5.2),)), 0, 1)
    assert one_size is not None
    assert [s.diameter for s in one_size.steps if isinstance(s, DrilledOpen)] == [5.2, 5.2]
    assert pair_by_drills(replace(work, drills=()), 0, 1) is None
    assert pair_by_drills(replace(work, drills=(("as it is", 4.5),)), 0, 1) is None
    # only two sizes at hand: the pair that does it
    few = replace(work, drills=(("a", 4.8), ("b", 5.2), ("c", 5.3)))
    uneven = pair_by_drills(few, 0, 1)
    assert uneven is not None
    assert sorted(s.diameter for s in uneven.steps if isinstance(s, DrilledOpen)) == [4.8, 5.2]
    # thicker metal on one side counts: the mate's hole is opened less
    mixed = [row(0.0, 1.0)[0], Joint(2, (60.0, 0.0), (61.0, 0.0), TappedHole(), RoundHole(4.5), 4.0)]
    thick = pair_by_drills(search(mixed, largest=5.4), 0, 1)
    assert thick is not None
    best = min(
        (3.0 * (a * a - 4.5**2) + 8.0 * (b * b - 4.5**2), a, b)
        for a in (4.6, 4.7, 4.8, 4.9, 5.0, 5.1, 5.2, 5.3, 5.4)
        for b in (4.6, 4.7, 4.8, 4.9, 5.0, 5.1, 5.2, 5.3, 5.4)
        if a + b >= 10.0 - 1e-9
    )
    assert [s.diameter for s in thick.steps if isinstance(s, DrilledOpen)] == [best[1], best[2]]
    assert thick.removed == pytest.approx(math.pi / 4.0 * best[0])


def test_pairs_of_slots_share_what_is_missing() -> None:
    """On a row any split removes as much: 0.5 mm in all. Where one side is thicker it gets none of it."""
    found = pair_by_slots(search(row(0.0, 1.0)), 0, 1)
    assert found is not None
    assert sum(s.longer_by for s in found.steps if isinstance(s, SlottedOpen)) == pytest.approx(0.5, abs=0.11)
    same_as_recorded("pair of slots", found, file=FILE, within=1e-5)


def test_pairs_that_may_do_it() -> None:
    work = search(row(0.0, 1.0), largest=5.4)
    assert promising_pairs(work, [0, 1]) == [(0, 1)]
    assert promising_pairs(work, []) == []
    assert promising_pairs(replace(work, drills=(("only", 5.4),)), [0, 1]) == [(0, 1)]
    assert promising_pairs(replace(work, drills=()), [1]) == []  # alone the other one enters by itself
    assert promising_pairs(replace(work, openable=("part", None)), [0]) == []
    assert promising_pairs(search(row(0.0)), [0]) == []
    for name, offsets in (
        ("opposite", {1: (1.2, 0.3), 4: (-0.2, -1.3)}),
        ("neighbours", {2: (0.9, 0.0), 3: (-0.9, 0.4)}),
    ):
        joints = ring(offsets)
        answer = bolt_up(joints)
        assert isinstance(answer, BoltUp)
        candidates = holding(answer, joints, ["part"] * 6)
        assert candidates == [k for k, j in enumerate(joints) if j.number in answer.certificate.numbers]
        assert holding(answer, joints, [None] * 6) == []
        unproved = replace(answer, certificate=replace(answer.certificate, proved=False))
        assert holding(unproved, joints, ["part", None, "mate", None, None, "part"]) == [0, 2, 5]
        same_as_recorded(
            f"pairs that may do it: {name}", promising_pairs(search(joints, largest=6.0), candidates), file=FILE
        )


def test_all_holes_alike() -> None:
    found = all_drilled_opening(search(row(0.0, 1.0)))
    assert found is not None
    assert [s.diameter for s in found.steps if isinstance(s, DrilledOpen)] == [5.0, 5.0]
    assert all_drilled_opening(search(row(0.0, 1.0), largest=4.9)) is None
    assert all_drilled_opening(replace(search(row(0.0, 1.0)), openable=(None, None))) is None
    one = all_drilled_opening(replace(search(row(0.0, 1.0)), openable=(None, "part")))
    assert one is not None
    assert [(s.number, s.diameter) for s in one.steps if isinstance(s, DrilledOpen)] == [(2, 5.5)]
    far = all_drilled_opening(search(row(0.0, 6.0)))  # 2.75 more each: 10.0, beyond the list
    assert far is None


FEW: tuple[DrillSize, ...] = (("4.8 mm", 4.8), ("5.2 mm", 5.2), ("5.6 mm", 5.6), ("6.0 mm", 6.0))
ANSWERS: dict[str, tuple[list[Joint], dict[str, object]]] = {
    "one hole of a circle": (ring({4: (0.62, 0.1)}), {}),
    "slots alone": (row(0.0, 1.3), {"drills": (), "slot_step": 0.4}),
    "guided": (row(0.0, 0.4, 0.1), {"motion": Motion(Freedom.ALONG, direction_deg=90.0), "slot_step": 0.25}),
    "wanted 0.8": (row(0.0, 0.7, 0.1), {"wanted_ratio": 0.8, "part_thickness": 2.0, "mate_thickness": 5.0}),
    "a pair": (row(0.0, 1.0), {"drills": FEW, "largest": 5.4}),
    "a slot in the mate": (
        [Joint(1, (0.0, 0.0), (0.0, 0.0), HOLE, SlottedHole(4.5, 5.0, 90.0), 4.0), row(0.0, 1.2)[1]],
        {"drills": FEW},
    ),
    "goes together": (row(0.0, 0.4), {}),
}  # fmt: skip


def told(found: OpeningUp) -> object:
    def of(opening: Opening | None) -> object:
        return None if opening is None else [opening.steps, opening.removed, opening.proof.ratio]

    return plain_figures(
        [found.before.ratio, found.wanted_ratio, [of(o) for o in found.drilled], [of(o) for o in found.slotted],
         of(found.all_drilled), found.single, found.needed, of(found.best)]
    )  # fmt: skip


@pytest.mark.parametrize("name", ANSWERS)
def test_whole_answers_as_recorded(name: str) -> None:
    joints, how = ANSWERS[name]
    found = open_up(joints, **({"drills": TENTHS} | how))  # type: ignore[arg-type]
    for opening in (*found.drilled, *found.slotted):
        assert opening.proof.ratio <= found.wanted_ratio + 1e-8
    assert [o.removed for o in found.drilled] == sorted(o.removed for o in found.drilled)
    same_as_recorded(f"answer: {name}", told(found), file=FILE, within=1e-5)


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"wanted_ratio": 0.0}, r"wanted ratio 0\.0"), ({"wanted_ratio": 1.01}, r"wanted ratio 1\.01"),
        ({"drills": [("x", -1.0)]}, "finite and above zero"), ({"drills": [("x", math.inf)]}, "finite and above zero"),
        ({"slot_step": 0.0}, "finite and above zero"), ({"part_thickness": 0.0}, "finite and above zero"),
        ({"mate_thickness": math.inf}, "finite and above zero"),
    ],
)  # fmt: skip
def test_questions_that_cannot_be(how: dict[str, object], message: str) -> None:
    with pytest.raises(InputError, match=message):
        open_up(row(0.0, 1.0), **({"drills": TENTHS} | how))  # type: ignore[arg-type]
    assert not open_up(row(0.0, 0.5), drills=TENTHS, wanted_ratio=1.0).needed


def test_a_hole_that_is_far_off_gets_no_slot_and_no_drill() -> None:
    """37 mm is no hole to be opened but a hole that was measured or numbered wrongly."""
    far = open_up(row(0.0, 37.0), drills=TENTHS)
    assert (far.drilled, far.slotted, far.all_drilled, far.single) == ((), (), None, False)
    near = open_up(row(0.0, 2.0), drills=TENTHS)
    assert near.single
    assert near.slotted


def test_all_holes_are_opened_as_far_as_the_largest_drill_goes() -> None:
    """Threads 2.5 too far, 0.5 of play: each of two holes needs 1.0 more, 4.5 + 2.0 = 6.5; a largest of 6.4 fails."""
    assert all_drilled_opening(search(row(0.0, 2.5), largest=6.4)) is None
    found = all_drilled_opening(search(row(0.0, 2.5), largest=6.5))
    assert found is not None
    assert [step.diameter for step in found.steps if isinstance(step, DrilledOpen)] == [6.5, 6.5]
    assert all_drilled_opening(search(row(0.0, 2.5), largest=4.4)) is None
