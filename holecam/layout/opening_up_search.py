"""The search behind opening up: how much more play one screw needs, which drills or slots give it, proved each time.

Only a screw that holds the answer can help: with the multipliers of the bolt-up's certificate, the screws of weight
zero play no part in the lower bound, so opening one of them changes nothing. That leaves at most four candidates, and
for a pair four more once the first is open.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Collection, Sequence

from msgspec import Struct
from msgspec.structs import replace

from holecam.layout.bolt_up import JUST_ENTERS, BoltUp, Joint, NoPlay, bolt_up, least_ratio
from holecam.layout.bolt_up_motion import Motion
from holecam.layout.bolt_up_play import Member, RoundHole, ScrewPlay, SlottedHole
from holecam.shapes import Point

DrillSize = tuple[str, float]
"""Name as stamped on the drill, and its diameter in mm."""

DIRECTION_DECIMALS = 6
"""Decimals of a degree kept of a slot's direction: far below what can be marked, and no 360 for a hair below 0."""

GROWTH_STEP = 1e-6
"""mm. How finely the needed opening is found; it is rounded up from there, to a drill or to a slot step."""


MOST_GROWTH = 2.0
"""Diameters of a hole. It is opened by no more play than this, which makes a slot three diameters long: a hole that
would need more was measured or numbered wrongly, and no washer covers it (common practice)."""


GAINS_NOTHING = 0.01
"""Share of the play. Opening a hole farther that gains the worst screw less than this is metal for nothing."""


class DrilledOpen(Struct, frozen=True):
    """One hole opened with a drill: ``removed`` is the area that goes, mm2."""

    number: int
    member: Member
    before: float
    drill: str
    diameter: float
    removed: float


class SlottedOpen(Struct, frozen=True):
    """One hole drawn out into a slot, to one side.

    ``direction_deg`` is the way in which metal is taken, in the member's frame, seen from the old centre;
    ``longer_by`` how far. ``middle`` and ``length`` describe the finished slot; its width is the old diameter.
    ``removed`` is an area, mm2.
    """

    number: int
    member: Member
    width: float
    length: float
    direction_deg: float
    longer_by: float
    middle: Point
    removed: float


class Opening(Struct, frozen=True):
    """One way out: the holes to open, the metal removed (mm2 times thickness), and the bolt-up that proves it."""

    steps: tuple[DrilledOpen | SlottedOpen, ...]
    removed: float
    proof: BoltUp

    @property
    def numbers(self) -> tuple[int, ...]:
        """Numbers of the holes opened."""
        return tuple(step.number for step in self.steps)


class Search(Struct, frozen=True):
    """What every step of the search needs."""

    joints: tuple[Joint, ...]
    plays: tuple[ScrewPlay, ...]
    motion: Motion
    wanted: float
    drills: tuple[DrillSize, ...]
    openable: tuple[Member | None, ...]
    thickness: dict[Member, float]
    largest: float
    slot_step: float

    def diameter(self, i: int) -> float:
        """Return the present diameter of the hole that may be opened."""
        hole = self.joints[i].part_hole if self.openable[i] == "part" else self.joints[i].mate_hole
        return hole.diameter if isinstance(hole, RoundHole) else 0.0

    def most_growth(self, i: int) -> float:
        """Return by how much more play hole i may be opened, mm."""
        return MOST_GROWTH * self.diameter(i)

    def metal(self, i: int, area: float) -> float:
        """Return the volume behind an area of hole i, mm3."""
        member = self.openable[i]
        return area * (1.0 if member is None else self.thickness[member])

    def ratio(self, growth: dict[int, float], without: Collection[int] = ()) -> float:
        """Return the least worst ratio with some plays grown and some screws left out."""
        keep = [i for i in range(len(self.joints)) if i not in without]
        if not keep:
            return 0.0
        plays = [replace(self.plays[i], play=self.plays[i].play + growth.get(i, 0.0)) for i in keep]
        return least_ratio([self.joints[i] for i in keep], motion=self.motion, plays=plays)

    def fits(self, growth: dict[int, float], without: Collection[int] = ()) -> bool:
        return self.ratio(growth, without) <= self.wanted * (1.0 + JUST_ENTERS)

    def larger_drill(self, i: int, growth: float) -> DrillSize | None:
        """Return the smallest drill that gives hole i so much more play."""
        least = self.diameter(i) + 2.0 * (growth - 2.0 * GROWTH_STEP)  # the proof decides on a drill that just does it
        return next((d for d in self.drills if least <= d[1] <= self.largest), None)


def _least_growth(fits_by: Callable[[float], float], wanted: float, enough: float, step: float = GROWTH_STEP) -> float:
    """Return the least growth (to a step, on the side that fits) of a ratio that falls as the growth rises."""
    low, high = 0.0, enough
    below, above = fits_by(low) - wanted, fits_by(high) - wanted
    if below <= 0.0:
        return 0.0
    for _ in range(60):
        if high - low <= step:
            break
        guess = low + (high - low) * below / (below - above) if above < 0.0 else (low + high) / 2.0
        guess = min(max(guess, low + 0.02 * (high - low)), high - 0.02 * (high - low))
        value = fits_by(guess) - wanted
        if value <= 0.0:
            high, above, below = guess, value, below / 2.0
        else:
            low, below, above = guess, value, above / 2.0
    return high


def _enough(work: Search, i: int, growth: dict[int, float], without: Collection[int]) -> float | None:
    """Return a growth of screw i that surely does it, or ``None`` if none that may be has it."""
    if not work.fits(growth, {*without, i}):
        return None
    reach, most = 1.0, work.most_growth(i)
    while reach < most:
        if work.fits({**growth, i: reach}, without):
            return reach
        reach *= 2.0
    return most if work.fits({**growth, i: most}, without) else None


def growth_of(
    work: Search,
    i: int,
    growth: dict[int, float] | None = None,
    without: Collection[int] = (),
    *,
    step: float = GROWTH_STEP,
) -> float | None:
    """Return how much more play screw i needs, the others grown or left out as told.

    ``None`` if no growth up to :data:`MOST_GROWTH` is enough.
    """
    others = growth or {}
    enough = _enough(work, i, others, without)
    if enough is None:
        return None
    return _least_growth(lambda g: work.ratio({**others, i: g}, without), work.wanted, enough, step)


def drilled_opening(work: Search, choice: dict[int, DrillSize]) -> Opening | None:
    """Return the opening with these drills, proved, or ``None`` if the proof fails."""
    joints = list(work.joints)
    steps: list[DrilledOpen] = []
    removed = 0.0
    for i, (name, diameter) in sorted(choice.items()):
        member: Member = work.openable[i] or "part"
        old = work.diameter(i)
        area = math.pi / 4.0 * (diameter**2 - old**2)
        steps.append(DrilledOpen(joints[i].number, member, old, name, diameter, area))
        removed += work.metal(i, area)
        joints[i] = _with_hole(work, i, RoundHole(diameter))
    return _proved(work, joints, steps, removed)


def drilled_by_growth(work: Search, growth: dict[int, float]) -> Opening | None:
    """Return the opening with the next drill for each growth; one size more where the proof says that it just fails."""
    choice = {i: work.larger_drill(i, g) for i, g in growth.items()}
    for _ in range(2):
        drills = {i: d for i, d in choice.items() if d is not None}
        if len(drills) < len(growth):
            return None
        found = drilled_opening(work, drills)
        if found is not None:
            return found
        choice = {i: next((e for e in work.drills if d[1] < e[1] <= work.largest), None) for i, d in drills.items()}
    return None


def eased(work: Search, opening: Opening | None, sensible: float) -> Opening | None:
    """Return an opening by drills with the same holes opened farther, so that the worst screw is not tight.

    The drills are the smallest, all holes opened by the same more, at which the worst screw uses no more than the
    share ``sensible`` of its play; or, where other screws hold it above that, as little as opening these holes gives.
    """
    if opening is None or opening.proof.ratio <= sensible:
        return opening
    drilled = [step for step in opening.steps if isinstance(step, DrilledOpen)]
    if len(drilled) < len(opening.steps):
        return opening
    places = {j.number: i for i, j in enumerate(work.joints)}
    grown = {places[s.number]: (s.diameter - s.before) / 2.0 for s in drilled}
    fitting = [size for _, size in work.drills if size <= work.largest]
    most = min(min(work.most_growth(i), (fitting[-1] - work.diameter(i)) / 2.0) - g for i, g in grown.items())

    def ratio(more: float) -> float:
        return work.ratio({i: g + more for i, g in grown.items()})

    if most <= 0.0:
        return opening
    target = max(sensible, ratio(most) + GAINS_NOTHING)
    if opening.proof.ratio <= target:
        return opening
    more = _least_growth(ratio, target, most)
    return drilled_by_growth(work, {i: g + more for i, g in grown.items()}) or opening


def slotted_opening(work: Search, growth: dict[int, float]) -> Opening | None:
    """Return the opening with slots that reach as far as these growths, rounded up to the slot step, proved."""
    grown = _wishes(work, growth)
    if grown is None:
        return None
    joints = list(work.joints)
    steps: list[SlottedOpen] = []
    removed = 0.0
    for i in sorted(growth):
        member: Member = work.openable[i] or "part"
        dx, dy = grown[i]
        size = math.hypot(dx, dy)
        short = size - work.wanted * work.plays[i].play
        if short <= 0.0:
            continue
        longer = math.ceil(short / work.slot_step - 2.0 * GROWTH_STEP / work.slot_step) * work.slot_step
        unit = (dx / size, dy / size)
        at = joints[i].part_xy if member == "part" else joints[i].mate_xy
        middle = (at[0] + unit[0] * longer / 2.0, at[1] + unit[1] * longer / 2.0)
        width = work.diameter(i)
        angle = round(math.degrees(math.atan2(unit[1], unit[0])), DIRECTION_DECIMALS) % 360.0
        slot = SlottedHole(width, width + longer, angle)
        joints[i] = _with_hole(work, i, slot, middle)
        area = width * longer
        steps.append(SlottedOpen(joints[i].number, member, width, width + longer, angle, longer, middle, area))
        removed += work.metal(i, area)
    return _proved(work, joints, steps, removed)


def _wishes(work: Search, growth: dict[int, float]) -> list[Point] | None:
    """Return where each screw wants to go, seen from the centre of its openable hole and in that member's frame."""
    joints = list(work.joints)
    for i, more in growth.items():
        joints[i] = _with_hole(work, i, RoundHole(work.diameter(i) + 2.0 * more))
    answer = bolt_up(joints, motion=work.motion)
    if isinstance(answer, NoPlay):
        return None
    back = answer.placement.inverse()
    wishes: list[Point] = []
    for fit, member in zip(answer.screws, work.openable, strict=True):
        dx, dy = fit.offset
        wishes.append(back.apply_vector((-dx, -dy)) if member == "part" else (dx, dy))
    return wishes


def _with_hole(work: Search, i: int, hole: RoundHole | SlottedHole, at: Point | None = None) -> Joint:
    """Return joint i with another hole, at another place if one is given, in the member that may be opened."""
    joint = work.joints[i]
    if work.openable[i] == "part":
        return replace(joint, part_hole=hole, part_xy=joint.part_xy if at is None else at)
    return replace(joint, mate_hole=hole, mate_xy=joint.mate_xy if at is None else at)


def _proved(
    work: Search, joints: Sequence[Joint], steps: Sequence[DrilledOpen | SlottedOpen], removed: float
) -> Opening | None:
    answer = bolt_up(joints, motion=work.motion)
    if isinstance(answer, NoPlay) or answer.ratio > work.wanted * (1.0 + JUST_ENTERS):
        return None
    return Opening(tuple(steps), removed, answer)


def holding(answer: BoltUp, joints: Sequence[Joint], openable: Sequence[Member | None]) -> list[int]:
    """Return the indices of screws that hold the answer and may be opened."""
    held = set(answer.certificate.numbers) if answer.certificate.proved else {j.number for j in joints}
    return [i for i, j in enumerate(joints) if j.number in held and openable[i] is not None]


def pair_by_drills(work: Search, i: int, j: int) -> Opening | None:
    """Return the pair of drills with the least metal: as one hole grows the other may shrink, a staircase."""
    sizes_i, sizes_j = ([d for d in work.drills if work.diameter(k) < d[1] <= work.largest] for k in (i, j))

    def enters(d_i: DrillSize, d_j: DrillSize) -> bool:
        return work.fits({i: (d_i[1] - work.diameter(i)) / 2.0, j: (d_j[1] - work.diameter(j)) / 2.0})

    if not (sizes_i and sizes_j and enters(sizes_i[-1], sizes_j[-1])):
        return None
    # A larger hole never hinders: the least drill of each is found by halving
    sizes_i = sizes_i[bisect_left(sizes_i, True, key=lambda d: enters(d, sizes_j[-1])) :]
    sizes_j = sizes_j[: bisect_left(sizes_j, True, key=lambda d: enters(sizes_i[0], d)) + 1]
    area = {k: work.metal(k, math.pi / 4.0) for k in (i, j)}
    best: tuple[float, dict[int, DrillSize]] | None = None
    for d_i in sizes_i:
        cost_i = area[i] * (d_i[1] ** 2 - work.diameter(i) ** 2)
        if best is not None and cost_i >= best[0]:
            break
        while len(sizes_j) > 1 and enters(d_i, sizes_j[-2]):
            sizes_j.pop()
        cost = cost_i + area[j] * (sizes_j[-1][1] ** 2 - work.diameter(j) ** 2)
        if best is None or cost < best[0]:
            best = (cost, {i: d_i, j: sizes_j[-1]})
    return None if best is None else drilled_opening(work, best[1])


def pair_by_slots(work: Search, i: int, j: int) -> Opening | None:
    """Return the pair of slots with the least metal, by golden section over the reach of the first."""
    rough = work.slot_step / 20.0
    low, last = growth_of(work, i, without=(j,), step=rough), growth_of(work, j, without=(i,), step=rough)
    if low is None or last is None:
        return None
    high = growth_of(work, i, {j: last}, step=rough)
    if high is None:
        return None
    cost = {k: work.metal(k, work.diameter(k)) for k in (i, j)}

    def total(reach: float) -> float:
        other = growth_of(work, j, {i: reach}, step=rough)
        return math.inf if other is None else cost[i] * reach + cost[j] * other

    golden = (math.sqrt(5.0) - 1.0) / 2.0
    a, b = low, max(high, low)
    x, y = b - golden * (b - a), a + golden * (b - a)
    fx, fy = total(x), total(y)
    while b - a > work.slot_step / 2.0:
        if fx <= fy:
            b, y, fy = y, x, fx
            x = b - golden * (b - a)
            fx = total(x)
        else:
            a, x, fx = x, y, fy
            y = a + golden * (b - a)
            fy = total(y)
    reach = x if fx <= fy else y
    exact = growth_of(work, j, {i: reach})
    return None if exact is None else slotted_opening(work, {i: reach, j: exact})


def promising_pairs(work: Search, candidates: Sequence[int]) -> list[tuple[int, int]]:
    """Return the pairs that may do it: the second has to hold the answer once the first is open.

    The first is opened as far as the drills go, and, for the slots' sake, without limit.
    """
    pairs: set[tuple[int, int]] = set()
    for i in candidates:
        others = [k for k in range(len(work.joints)) if k != i]
        after: list[tuple[list[Joint], list[int]]] = [([work.joints[k] for k in others], others)] if others else []
        fitting = [d for _, d in work.drills if work.diameter(i) < d <= work.largest]
        if fitting:
            opened = list(work.joints)
            opened[i] = _with_hole(work, i, RoundHole(fitting[-1]))
            after.append((opened, list(range(len(opened)))))
        for joints, places in after:
            answer = bolt_up(joints, motion=work.motion)
            if isinstance(answer, NoPlay):
                continue
            for k in holding(answer, joints, [work.openable[p] for p in places]):
                j = places[k]
                if j != i and work.fits({}, (i, j)):
                    pairs.add((min(i, j), max(i, j)))
    return sorted(pairs)


def all_drilled_opening(work: Search) -> Opening | None:
    """Return every openable hole grown by one amount, each to the next drill."""
    may = [i for i, m in enumerate(work.openable) if m is not None]
    if not may:
        return None

    def ratio(growth: float) -> float:
        return work.ratio(dict.fromkeys(may, growth))

    # the smallest hole can grow most before it outgrows the largest drill
    fitting = [size for _, size in work.drills if size <= work.largest]
    most = max(((fitting[-1] - work.diameter(i)) / 2.0 for i in may), default=0.0) if fitting else 0.0
    if most <= 0.0 or ratio(most) > work.wanted * (1.0 + JUST_ENTERS):
        return None
    enough = min(1.0, most)
    while enough < most and ratio(enough) > work.wanted:
        enough = min(2.0 * enough, most)
    growth = _least_growth(ratio, work.wanted, enough)
    return drilled_by_growth(work, dict.fromkeys(may, growth))
