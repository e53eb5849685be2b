"""Does every screw enter at once? The motion that makes the worst screw easiest, the play left, and the proof of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from holecam.errors import InputError
from holecam.layout.bolt_up_arrays import Bools, Floats, JointArrays, least_squares_start
from holecam.layout.bolt_up_certificate import BINDING, PROOF_GAP, Bounds, certify, lower_bound
from holecam.layout.bolt_up_motion import Freedom, Motion
from holecam.layout.bolt_up_play import JointHole, ScrewPlay, screw_play
from holecam.layout.bolt_up_solver import minimax
from holecam.shapes import Placement, Point

SAME_PLACE = 1e-9
"""mm. Pattern holes that all lie within this of one another have no direction: no turn is sought."""

JUST_ENTERS = 1e-9
"""Share of its play by which a screw may pass it and still count as entering: arithmetic noise, under a nanometre."""


class Joint(Struct, frozen=True):
    """One screw with its two holes.

    Parameters
    ----------
    number : int
        Number of the hole in the pattern.
    part_xy, mate_xy : Point
        Centre of the hole in the part (part frame) and in the mate (mate frame), mm; a slot's middle.
    part_hole, mate_hole : JointHole
    screw : float
        Largest diameter of the screw, mm.
    plate_thickness : float
        Thickness of the plate above a leaning thread, mm.
    """

    number: int
    part_xy: Point
    mate_xy: Point
    part_hole: JointHole
    mate_hole: JointHole
    screw: float
    plate_thickness: float = 0.0

    def __post_init__(self) -> None:
        if not all(math.isfinite(v) for v in (*self.part_xy, *self.mate_xy)):
            raise InputError(f"screw {self.number}: expected finite coordinates, got {self.part_xy} and {self.mate_xy}")

    @property
    def play(self) -> ScrewPlay:
        """How far the two holes may lie apart, with the sum behind it."""
        return screw_play(
            part=self.part_hole, mate=self.mate_hole, screw=self.screw, plate_thickness=self.plate_thickness
        )


class ScrewFit(Struct, frozen=True):
    """How one screw stands after the best motion.

    ``offset`` is the part's hole seen from the mate's hole (mate frame, mm); ``distance`` is what counts of it (past
    the slot's end, square to the slot), ``play`` what is allowed, ``ratio`` the one over the other, ``play_left`` the
    difference. ``weight`` is the multiplier of the proof: above zero only for screws that hold the pattern where it
    is.
    """

    number: int
    offset: Point
    distance: float
    play: float
    ratio: float
    play_left: float
    binding: bool
    weight: float


class Certificate(Struct, frozen=True):
    """Why no better motion exists.

    ``numbers`` and ``weights`` name the screws that hold the answer and their multipliers (sum 1). ``lower`` is a
    ratio that no allowed motion can beat, ``upper`` the ratio reached. ``proved``: the two agree within 1e-7 and the
    bound holds for every turn; otherwise the answer is the best found, and ``lower`` still holds when ``everywhere``
    is true.
    """

    numbers: tuple[int, ...]
    weights: tuple[float, ...]
    lower: float
    upper: float
    everywhere: bool
    proved: bool


class BoltUp(Struct, frozen=True):
    """Whether all screws enter, and how easily.

    ``placement`` carries the part frame into the mate frame. ``ratio`` is the worst screw's share of its play: at
    most 1 means that everything goes together. ``play_left`` is the least of the screws' remaining plays, mm, below
    zero where one does not enter. ``looks_mirrored``: it does not go together, but the pattern turned over would.
    """

    placement: Placement
    motion: Motion
    ratio: float
    play_left: float
    screws: tuple[ScrewFit, ...]
    certificate: Certificate
    looks_mirrored: bool = False

    @property
    def goes_together(self) -> bool:
        """Whether every screw enters at once."""
        return self.ratio <= 1.0 + JUST_ENTERS

    @property
    def binding(self) -> tuple[int, ...]:
        """Numbers of the screws that are as tight as the tightest."""
        return tuple(s.number for s in self.screws if s.binding)


class NoPlay(Struct, frozen=True):
    """Some screws do not enter their own holes at all, wherever the pattern lies.

    ``numbers`` and ``plays`` (mm, zero or less) of these screws.
    """

    numbers: tuple[int, ...]
    plays: tuple[float, ...]


class PreparedJoints(Struct, frozen=True, eq=False):
    """The joints as centred arrays in units of ``size``, with what leads back to millimetres."""

    arrays: JointArrays
    size: float
    part_centre: Floats
    mate_centre: Floats
    start: Placement
    exchanged: bool

    def placement(self, turn: float, shift: Floats) -> Placement:
        """Return mate frame from part frame for a turn (radians) and shifts of the centred problem."""
        bare = Placement(math.degrees(turn))
        mx, my = bare.apply_vector((float(self.part_centre[0]), float(self.part_centre[1])))
        moved = self.arrays.basis @ shift * self.size + self.mate_centre
        found = Placement(bare.turn_deg, (float(moved[0]) - mx, float(moved[1]) - my))
        return (found.inverse() if self.exchanged else found) @ self.start


def prepare(joints: Sequence[Joint], motion: Motion, *, plays: Sequence[ScrewPlay] | None = None) -> PreparedJoints:
    """Return the joints as centred, scaled arrays; ``plays`` replaces the joints' own where given."""
    all_plays = [j.play for j in joints] if plays is None else list(plays)
    part = np.array(motion.start.apply_all(j.part_xy for j in joints), dtype=np.float64)
    mate = np.array([j.mate_xy for j in joints], dtype=np.float64)
    half = np.array([p.slot_half_length for p in all_plays])
    in_part = np.array([p.slot_member == "part" for p in all_plays])
    axis = np.empty_like(part)
    for i, p in enumerate(all_plays):
        bare = Placement(p.slot_direction_deg).apply_vector((1.0, 0.0))
        axis[i] = motion.start.apply_vector(bare) if in_part[i] else bare
    rho = np.array([p.play for p in all_plays])
    return prepare_arrays(part, mate, rho, half, axis, in_part, motion)


def prepare_arrays(
    part: Floats, mate: Floats, rho: Floats, half: Floats, axis: Floats, in_part: Bools, motion: Motion
) -> PreparedJoints:
    """Return the same from arrays in mm; ``part`` and the axes of its slots already moved by ``motion.start``."""
    axis = np.where((half > 0.0)[:, None], axis, np.array([1.0, 0.0]))  # a round hole is the same in every direction
    turns = motion.turns
    if not turns:
        in_part = np.zeros_like(in_part)
    exchanged = must_exchange(half, in_part)
    if exchanged:  # seen from the part the slots stand still, which is what the proof needs
        part, mate, in_part = mate, part, np.zeros_like(in_part)
    if motion.freedom is Freedom.FREE:
        part_centre, mate_centre = part.mean(axis=0), mate.mean(axis=0)
    elif motion.freedom is Freedom.ABOUT:
        part_centre = mate_centre = np.array(motion.pivot)
    else:
        part_centre = mate_centre = mate.mean(axis=0)
    part, mate = part - part_centre, mate - mate_centre
    if turns and float(np.abs(part).max()) <= SAME_PLACE:
        turns = False
    size = float(max(np.abs(part).max(), np.abs(mate).max(), rho.max()))
    directions = motion.shift_directions
    basis = np.array(directions, dtype=np.float64).T if directions else np.zeros((2, 0))
    slotted = bool(half.any())
    arrays = JointArrays(part / size, mate / size, rho / size, half / size, axis, in_part, turns, basis, slotted)
    return PreparedJoints(arrays, size, part_centre, mate_centre, motion.start, exchanged)


def must_exchange(half: Floats, in_part: Bools) -> bool:
    """Return whether all slots are the part's: the problem is then solved as seen from the part."""
    return bool(in_part.any() and not (half[~in_part] > 0.0).any())


def solve(prepared: PreparedJoints) -> tuple[float, Floats, Bounds]:
    """Return turn, shifts and bounds; several starts are tried only when the first answer is not proved."""
    a = prepared.arrays
    turn, shift = least_squares_start(a, 1.0 / a.play**2)
    best_turn, best_shift = minimax(a, (turn, shift))
    bounds = certify(a, best_turn, best_shift)
    if bounds.upper - bounds.lower <= PROOF_GAP * max(1.0, bounds.upper) or not a.turns:
        return best_turn, best_shift, bounds
    for eighth in range(1, 8):
        other = minimax(a, _shifted_start(a, turn + eighth * math.pi / 4.0))
        found = certify(a, *other)
        if found.upper < bounds.upper or (found.upper == bounds.upper and found.lower > bounds.lower):
            best_turn, best_shift, bounds = other[0], other[1], found
    return best_turn, best_shift, bounds


def _shifted_start(a: JointArrays, turn: float) -> tuple[float, Floats]:
    """Return the least-squares shifts at a given turn."""
    c, s = math.cos(turn), math.sin(turn)
    spin = np.array([[c, s], [-s, c]])
    fixed = JointArrays(a.part @ spin, a.mate, a.play, a.half * 0.0, a.axis, a.in_part, False, a.basis, False)
    return turn, least_squares_start(fixed, 1.0 / a.play**2)[1]


def _offset(joint: Joint, play: ScrewPlay, placement: Placement) -> tuple[Point, float]:
    """Return the part's hole seen from the mate's, and what counts of it, mm."""
    x, y = placement.apply(joint.part_xy)
    dx, dy = x - joint.mate_xy[0], y - joint.mate_xy[1]
    if play.slot_member is None:
        return (dx, dy), math.hypot(dx, dy)
    ex, ey = Placement(play.slot_direction_deg).apply_vector((1.0, 0.0))
    if play.slot_member == "part":
        ex, ey = placement.apply_vector((ex, ey))
    along = ex * dx + ey * dy
    past = max(0.0, abs(along) - play.slot_half_length)
    return (dx, dy), math.hypot(past, ex * dy - ey * dx)


def bolt_up(joints: Sequence[Joint], *, motion: Motion | None = None) -> BoltUp | NoPlay:
    """Return the rigid motion that makes the worst screw easiest, with its evidence.

    It minimises ``max_i distance_i / play_i`` over the turns and shifts that ``motion`` allows (planar minimax
    registration); the holes correspond by their order. No mirror is ever made. Exact to well below 0.1 micron; the
    certificate says what proves it.

    Parameters
    ----------
    joints : sequence of Joint
    motion : Motion, optional
        What the part may still do; by default it lies loose and may turn and shift.

    Returns
    -------
    BoltUp or NoPlay
        ``NoPlay`` when a screw does not enter its own two holes even when they are concentric.

    Raises
    ------
    InputError
        No joint is given, or two carry one number.

    Examples
    --------
    Two M4 screws in 4.5 mm holes, the tapped holes 0.4 mm too far apart: each takes 0.2 of its 0.25 mm.

    >>> from holecam.layout.bolt_up_play import RoundHole, TappedHole
    >>> hole, thread = RoundHole(4.5), TappedHole()
    >>> answer = bolt_up([Joint(1, (0, 0), (0, 0), hole, thread, 4.0), Joint(2, (50, 0), (50.4, 0), hole, thread, 4.0)])
    >>> round(answer.ratio, 6), round(answer.play_left, 6), answer.binding, answer.certificate.proved
    (0.8, 0.05, (1, 2), True)
    """
    motion = Motion() if motion is None else motion
    if not joints:
        raise InputError("bolt-up: expected at least one screw")
    numbers = [j.number for j in joints]
    if len(set(numbers)) != len(numbers):
        twice = sorted({n for n in numbers if numbers.count(n) > 1})
        raise InputError(f"bolt-up: screw numbers {twice} are given twice; each screw needs its own")
    plays = [j.play for j in joints]
    stuck = [i for i, p in enumerate(plays) if not p.play > 0.0]
    if stuck:
        return NoPlay(tuple(numbers[i] for i in stuck), tuple(plays[i].play for i in stuck))
    prepared = prepare(joints, motion, plays=plays)
    turn, shift, bounds = solve(prepared)
    placement = prepared.placement(turn, shift)
    offsets = [_offset(j, p, placement) for j, p in zip(joints, plays, strict=True)]
    shares = [away / p.play for (_, away), p in zip(offsets, plays, strict=True)]
    ratio = max(shares)
    tight = ratio - BINDING * max(1.0, ratio)
    screws = tuple(
        ScrewFit(
            number=j.number,
            offset=offset,
            distance=away,
            play=p.play,
            ratio=share,
            play_left=p.play - away,
            binding=share >= tight and ratio > BINDING,
            weight=float(w),
        )
        for j, p, (offset, away), share, w in zip(joints, plays, offsets, shares, bounds.weights, strict=True)
    )
    held = [s for s in screws if s.weight > 0.0]
    lower = min(bounds.lower, ratio)
    certificate = Certificate(
        numbers=tuple(s.number for s in held),
        weights=tuple(s.weight for s in held),
        lower=lower,
        upper=ratio,
        everywhere=bounds.everywhere,
        proved=bounds.everywhere and ratio - lower <= PROOF_GAP * max(1.0, ratio),
    )
    mirrored = ratio > 1.0 and motion.freedom is Freedom.FREE and _fits_mirrored(joints, motion, plays)
    return BoltUp(placement, motion, ratio, min(s.play_left for s in screws), screws, certificate, mirrored)


def _fits_mirrored(joints: Sequence[Joint], motion: Motion, plays: Sequence[ScrewPlay]) -> bool:
    """Return whether the pattern would go together if it were turned over."""
    turned_over = replace(motion, start=replace(motion.start, mirror=not motion.start.mirror))
    prepared = prepare(joints, turned_over, plays=plays)
    a = prepared.arrays
    alike = np.full(len(joints), 1.0 / len(joints))
    if lower_bound(a, *least_squares_start(a, alike / a.play**2), alike) > 1.0:
        return False
    return solve(prepared)[2].upper <= 1.0


def least_ratio(
    joints: Sequence[Joint], *, motion: Motion | None = None, plays: Sequence[ScrewPlay] | None = None
) -> float:
    """Return only the worst screw's share of its play after the best motion; every play has to be above zero."""
    return solve(prepare(joints, Motion() if motion is None else motion, plays=plays))[2].upper
