"""A cut as it lies on the table: the part may be skewed, other bodies lie on their own datum."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from holecam.output.plan_picture import table_motion
from holecam.plan.cut_view import CutterPass, CutView, Gauge, KeptCurve, LeftPatch
from holecam.plan.plan import Plan
from holecam.shapes import Curve, Outline, Placement


def view_as_set_up(plan: Plan, view: CutView) -> CutView:
    """Return a view with every place as the readout shows it."""
    motion = table_motion(plan)
    if not view.on_part or motion == Placement():
        return view
    return replace(
        view,
        wanted=_outlines(view.wanted, motion),
        islands=_outlines(view.islands, motion),
        cleared=_outlines(view.cleared, motion),
        body=None if view.body is None else motion.apply_outline(view.body),
        openings=_outlines(view.openings, motion),
        kept=tuple(_kept(k, motion) for k in view.kept),
        passes=tuple(_pass(p, motion) for p in view.passes),
        overcuts=tuple(replace(o, corner=motion.apply(o.corner), center=motion.apply(o.center)) for o in view.overcuts),
        boards=tuple(replace(b, outline=motion.apply_outline(b.outline)) for b in view.boards),
        wall=_gauge(view.wall, motion),
        holes=tuple(replace(h, at=motion.apply(h.at)) for h in view.holes),
    )


def _outlines(outlines: Iterable[Outline], motion: Placement) -> tuple[Outline, ...]:
    return tuple(motion.apply_outline(o) for o in outlines)


def _curves(curves: Iterable[Curve], motion: Placement) -> tuple[Curve, ...]:
    return tuple(motion.apply_curve(c) for c in curves)


def _gauge(gauge: Gauge | None, motion: Placement) -> Gauge | None:
    if gauge is None:
        return None
    return replace(gauge, start=motion.apply(gauge.start), end=motion.apply(gauge.end))


def _kept(kept: KeptCurve, motion: Placement) -> KeptCurve:
    return replace(
        kept,
        curves=_curves(kept.curves, motion),
        margin_lines=tuple(_curves(line, motion) for line in kept.margin_lines),
        kept=_gauge(kept.kept, motion),
    )


def _patch(patch: LeftPatch, motion: Placement) -> LeftPatch:
    border, holes = motion.apply_outline(patch.border), _outlines(patch.holes, motion)
    return replace(patch, border=border, holes=holes, at=motion.apply(patch.at))


def _pass(work: CutterPass, motion: Placement) -> CutterPass:
    return replace(
        work,
        lines=tuple(replace(line, curves=_curves(line.curves, motion)) for line in work.lines),
        spots=tuple(replace(s, at=motion.apply(s.at)) for s in work.spots),
        left=tuple(_patch(p, motion) for p in work.left),
    )
