"""Small pockets whose whole plan is recorded, move by move, and how a plan is told as text. Invented shapes.

The records lie in ``recorded/``, one file for each pocket, lengths to a micron. To renew them after a change that is
meant: ``python tests/cuts/recorded_pockets.py``, then read every line of the difference.

Pockets are chosen so that nothing in them is equally good by symmetry. Where one is opened in bites, the last digits of
its middle lines decide how far a circle moves on: another version of the library that makes the triangles may move some
of them. The records are the same with Python 3.11 to 3.13, numpy 2.4 and 2.5, and without vector instructions.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from msgspec.structs import replace

from holecam.cuts.cut_choices import (
    ChainDrillWish,
    Corners,
    Direction,
    Entry,
    EntryHole,
    KeepAway,
    SneakWish,
    Strategy,
)
from holecam.cuts.cutters import MillingCutter
from holecam.cuts.path_values import CutPath
from holecam.cuts.pocket import plan_pocket
from holecam.cuts.pocket_values import PocketPlan, PocketRequest, ReliefShape, ReliefWish
from holecam.cuts.proof_values import CutProof
from holecam.shapes import Arc, Circle, Curve, Outline, Segment, circle_outline, outline_through, rectangle

RECORDS = Path(__file__).parent / "recorded"
SIX = MillingCutter("6 mm end mill", 6.0, centre_cutting=True)
THREE = MillingCutter("3 mm end mill", 3.0)


def asked(outline: Outline, **more: object) -> PocketRequest:
    """Return a pocket 2 mm deep for a 6 mm cutter, in one level unless told otherwise."""
    plain = PocketRequest("patch", outline, 2.0, SIX, step_depth=9.0)
    return replace(plain, **more)  # type: ignore[arg-type]


ELL = outline_through([(0, 0), (24, 0), (24, 11), (11, 11), (11, 22), (0, 22)])
SLANTED = outline_through([(0, 0), (26, 0), (8, 19)])
BOTTLE = outline_through(
    [(0, 0), (14, 0), (14, 4), (20, 4), (20, 1), (34, 1), (34, 14), (20, 14), (20, 10.5), (14, 10.5), (14, 13), (0, 13)]
)
HAIR = outline_through(
    [(0, 0), (15, 0), (15, 4), (21, 4), (21, 0), (37, 0), (37, 13), (21, 13), (21, 10.2), (15, 10.2), (15, 14), (0, 14)]
)
BENT_SIDE = Outline(
    (
        Segment((0.0, 0.0), (30.0, 0.0)),
        Arc((30.0, 0.0), (30.0, 16.0), (30.0, 8.0), True),
        Segment((30.0, 16.0), (18.0, 16.0)),
        Arc((18.0, 16.0), (10.0, 16.0), (14.0, 16.0), False),
        Segment((10.0, 16.0), (0.0, 16.0)),
        Segment((0.0, 16.0), (0.0, 0.0)),
    )
)
CHAMBERS = outline_through(
    [
        (0, 0),
        (16, 0),
        (16, 5),
        (22, 5),
        (22, 0),
        (29.05, 0),
        (29.05, 12),
        (22, 12),
        (22, 5.5),
        (16, 5.5),
        (16, 14),
        (0, 14),
    ]
)
AS_WIDE = outline_through(
    [(0, 0), (14, 0), (14, 4), (22, 4), (22, 0), (37, 0), (36, 14), (22, 15), (22, 10), (14, 10), (14, 15), (1, 16)]
)
POST = circle_outline(Circle((14.0, 11.0), 3.0))

POCKETS: dict[str, PocketRequest] = {
    "box in loops": asked(rectangle(0, 0, 24, 18), step_depth=1.2, entry_at=(10.0, 9.3)),
    "bottle in loops": asked(BOTTLE, direction=Direction.CLIMB, entry=Entry.RAMP, finish=0.25),
    "bent sides and a post in loops": asked(
        BENT_SIDE, islands=(circle_outline(Circle((24.0, 9.0), 1.5)),), island_names=("post",), step_over=1.9
    ),
    "wide steps": asked(rectangle(0, 0, 40, 26), step_over=5.0, entry=Entry.PLUNGE, entry_at=(20.0, 13.0)),
    "detours into corners": asked(rectangle(0, 0, 30, 24.5), step_over=5.6, entry=Entry.PLUNGE, entry_at=(9.0, 12.0)),
    "rows round an island": asked(
        rectangle(0, 0, 40, 26),
        islands=(rectangle(15, 9, 22, 15),),
        strategy=Strategy.TO_AND_FRO,
        row_angle_deg=20.0,
        finish=0.2,
    ),
    "rows from a hole": asked(
        ELL, strategy=Strategy.TO_AND_FRO, direction=Direction.CLIMB, entry_hole=EntryHole((5.0, 5.0), 6.5)
    ),
    "bites in a slanted corner": asked(SLANTED, corners=Corners.NIBBLE, finish=0.3),
    "bites round an elbow": asked(ELL, corners=Corners.NIBBLE, direction=Direction.CLIMB, entry=Entry.RAMP),
    "bites round a post": asked(
        rectangle(0, 0, 26, 24), islands=(POST,), corners=Corners.NIBBLE, entry_hole=EntryHole((6.0, 16.5), 8.0)
    ),
    "bites on both sides of a hair": asked(HAIR, corners=Corners.NIBBLE, entry=Entry.DRILLED_HOLE, finish=0.15),
    "bites beside a chamber hardly wider than the cutter": asked(CHAMBERS, corners=Corners.NIBBLE, finish=0.15),
    "rows upright with a helix": asked(
        BENT_SIDE,
        strategy=Strategy.TO_AND_FRO,
        corners=Corners.NIBBLE,
        row_angle_deg=90.0,
        entry=Entry.HELIX,
        second_cutter=THREE,
    ),
    "rows in a channel": asked(
        rectangle(0, 0, 30, 24),
        islands=(rectangle(7.5, 7.5, 22.5, 16.5),),
        strategy=Strategy.TO_AND_FRO,
        step_over=5.0,
        direction=Direction.CLIMB,
        entry=Entry.DRILLED_HOLE,
        corners=Corners.AS_THEY_COME,
    ),
    "a neck as wide as the cutter": asked(AS_WIDE, step_over=2.0),
    "beside a kept line": asked(
        rectangle(0, 0, 40, 20),
        keep_away=(KeepAway("scribed line", (Segment((22, -3), (22, 11)),), 1.5),),
        second_cutter=THREE,
    ),
    "rest and overcut corners": asked(
        outline_through([(0, 0), (30, 0), (30, 20), (17, 20), (15, 26), (13, 20), (0, 20)]),
        second_cutter=THREE,
        relief=ReliefWish(corners=(2, 3)),
        entry_at=(13.0, 9.6),
        body=rectangle(-4, -5, 36, 34),
        stock_thickness=6.0,
    ),
    "sneaking up with overcuts": asked(
        rectangle(0, 0, 30, 20),
        sneak=SneakWish(0.5, 2),
        relief=ReliefWish(ReliefShape.ALONG_LONGER),
        chain=ChainDrillWish(4.0, 0.5, 0.5),
        entry_at=(12.0, 10.4),
    ),
}


def curve_told(curve: Curve) -> str:
    """Return a curve as text: where it ends, and the centre and sense of an arc."""
    text = f"to {curve.end[0]:.3f} {curve.end[1]:.3f}"
    if isinstance(curve, Arc):
        text += f" about {curve.center[0]:.3f} {curve.center[1]:.3f} {'left' if curve.ccw else 'right'}"
    return text


def outline_told(outline: Outline) -> str:
    """Return an outline as text."""
    start = outline.curves[0].start
    return f"from {start[0]:.3f} {start[1]:.3f} " + ", ".join(curve_told(c) for c in outline.curves)


def path_told(path: CutPath) -> Iterator[str]:
    """Yield a path move by move."""
    yield f"path {path.name}, cutter {path.cutter_diameter:.3f}, clearance {path.clearance_z:.3f}"
    for level in path.levels:
        yield f"level {level.z:.3f} under {level.z_above:.3f}"
        for m in level.moves:
            where = f"at {m.at[0]:.3f} {m.at[1]:.3f}" if m.curve is None else curve_told(m.curve)
            bite = "" if m.engagement_deg is None else f" bite {m.engagement_deg:.2f}"
            heights = f"z {m.z_end:.3f}" if m.z_start == m.z_end else f"z {m.z_start:.3f} to {m.z_end:.3f}"
            yield f"{m.kind.value} {where} {heights} feed {m.feed_factor:.4f}{bite}"


def proof_told(proof: CutProof) -> Iterator[str]:
    """Yield a proof line by line."""
    yield f"levels {' '.join(f'{z:.3f}' for z in proof.levels)}, proved {proof.proved}"
    yield f"nearest wall {proof.nearest_wall:.4f}, wanted {proof.wanted_area:.4f}, reachable {proof.reachable_area:.4f}"
    for gouge in proof.gouges:
        yield f"gouge {gouge.depth:.4f} at {gouge.at[0]:.3f} {gouge.at[1]:.3f} into {gouge.into}"
    for name, patches in (("stays", proof.leftovers), ("uncut", proof.uncut)):
        for p in patches:
            yield f"{name} {p.area:.4f} at {p.at[0]:.3f} {p.at[1]:.3f}, {p.reason}: {outline_told(p.border)}"
            yield from (f"hole in it: {outline_told(h)}" for h in p.holes)
    if proof.peak is not None:
        peak = proof.peak
        width = "not measured" if peak.width_there is None else f"{peak.width_there:.3f}"
        yield (
            f"peak {peak.engagement_deg:.2f} at {peak.at[0]:.2f} {peak.at[1]:.2f} of {peak.straight_deg:.3f}, "
            f"wide {width}"
        )


def told(plan: PocketPlan) -> list[str]:
    """Return all that a plan says, as lines."""
    lines = [f"step-over {plan.step_over:.3f}, step-down {plan.step_depth:.3f}"]
    lines += path_told(plan.path)
    lines += proof_told(plan.proof)
    lines += [f"reached: {outline_told(o)}" for o in plan.reached]
    walls = plan.walls
    if walls.wall_at is not None and walls.wall_from is not None:
        lines.append(
            f"thinnest wall {walls.thinnest_wall:.4f} at {walls.wall_at[0]:.3f} {walls.wall_at[1]:.3f} "
            f"from {walls.wall_from[0]:.3f} {walls.wall_from[1]:.3f}, bottom {walls.bottom:.4f}"
        )
    lines += [
        f"kept {n} {d:.4f} at {p[0]:.3f} {p[1]:.3f} from {q[0]:.3f} {q[1]:.3f}"
        for (n, d, p), q in zip(walls.to_kept, walls.kept_from, strict=True)
    ]
    hand = plan.by_hand
    lines.append(f"by hand {hand.followable}, turn {hand.turn_work_deg:.3f} {hand.why}")
    lines += [
        f"row {r.number} z {r.z:.3f} {r.axis} at {r.fixed:.3f} from {r.start:.3f} to {r.end:.3f} "
        f"off {r.side_offset:.3f} {r.direction} {r.cuts} {r.note}"
        for r in hand.rows
    ]
    lines += [
        f"overcut of {r.corner[0]:.3f} {r.corner[1]:.3f} to {r.center[0]:.3f} {r.center[1]:.3f}, "
        f"radius {r.radius:.3f}, bite {r.bite:.4f}"
        for r in plan.reliefs
    ]
    if plan.rest_path is not None and plan.rest_proof is not None:
        lines += path_told(plan.rest_path)
        lines += proof_told(plan.rest_proof)
    for stage in plan.sneak:
        lines.append(
            f"stage {stage.number}, size {stage.size:.3f}, left a side {stage.side_allowance:.4f}: "
            f"{stage.measure} {stage.next_rule}"
        )
        lines += path_told(stage.path)
        lines.append(f"rows by hand {len(stage.by_hand.rows)}")
    if plan.chain_drilling is not None:
        lines += [f"hole of the chain {p[0]:.3f} {p[1]:.3f}" for p in plan.chain_drilling.centres]
    lines += [f"note: {n}" for n in plan.notes]
    lines += [f"entry hole {h.diameter:.3f} at {h.at[0]:.3f} {h.at[1]:.3f}" for h in plan.entry_holes]
    return lines


def plan_told(name: str) -> list[str]:
    """Return the plan of one of the pockets as lines."""
    return told(plan_pocket(POCKETS[name]))


def record_of(name: str) -> Path:
    """Return the file of one pocket."""
    return RECORDS / f"pocket-{name.replace(' ', '-')}.txt"


if __name__ == "__main__":
    RECORDS.mkdir(exist_ok=True)
    for pocket in POCKETS:
        record_of(pocket).write_text("\n".join(plan_told(pocket)) + "\n", encoding="utf-8")
