"""Choose a tap drill from the drills that are owned: the candidates with their percentages, the choice and why."""

from bisect import bisect_left
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from holecam.errors import InputError
from holecam.standards.drill_oversize import drill_oversize
from holecam.standards.drills import SETS, USUAL_SETS, Drill, drills_by_size
from holecam.standards.minor_limits import ARITHMETIC_NOISE, MinorLimits, minor_limits, no_limits_reason
from holecam.standards.thread_percent import (
    FEWEST_THREADS,
    FLOOR_PERCENT,
    FORMED_FLOOR_PERCENT,
    TargetPercent,
    ceiling_percent,
    checked_length,
    target_percent,
)
from holecam.standards.threads import Thread, hole_for_percent, thread_percent

if TYPE_CHECKING:
    from holecam.standards.materials import Material

NEIGHBOURS = 3
"""Drills shown on each side of the choice."""

BELOW_THE_CORE = 0.9
"""Smaller drills than this share of the basic minor diameter are not even shown as neighbours."""

_Candidate = tuple[float, bool | None, Drill]
"""Percent of thread, inside the class limits or not (``None``: no limits), drill."""

FAR_FROM_TARGET = 10.0
"""Percentage points. Farther than this the choice is called a makeshift."""


class TapChoice(NamedTuple):
    """One candidate drill and what its hole does to the thread.

    ``within_class`` is ``None`` when no published limits are known, or do not bind (formed threads). The
    ``oversize_`` figures are for a hole larger by what a drill usually cuts over its size, ``worst_percent`` for the
    published most; 0 when no thread would be left.
    """

    drill: Drill
    percent: float
    within_class: bool | None
    oversize: float
    oversize_percent: float
    oversize_within_class: bool | None
    worst_percent: float


class TapAdvice(NamedTuple):
    """Candidates from small to large, the recommended one and the reason in words.

    ``engaged_threads`` is how many pitches the stated thickness or depth holds, ``None`` when none was stated.
    """

    thread: Thread
    target: TargetPercent
    formed: bool
    limits: MinorLimits | None
    limits_note: str
    choices: tuple[TapChoice, ...]
    recommended: TapChoice
    reason: str
    engaged_threads: float | None
    notes: tuple[str, ...]


def usual_sets(thread: Thread) -> tuple[str, ...]:
    """Return the drill sets taken when the user names none: inch sets for inch threads, metric for metric ones.

    BA threads, metric in size and at home in inch shops, get metric and number drills.
    """
    return ("number", "metric") if thread.series == "BA" else USUAL_SETS[thread.unit]


def choose_tap_drill(
    thread: Thread,
    *,
    drills: Sequence[Drill] | None = None,
    target: TargetPercent | None = None,
    material: "Material | None" = None,
    engagement: float | None = None,
    formed: bool = False,
) -> TapAdvice:
    """Return the tap drill to take for a thread, and its neighbours.

    The choice is the drill nearest to the target among those that keep the thread between 50 percent and the ceiling
    (83; Whitworth and BA 90; a stated target beyond that moves the bound) and the minor diameter inside the published
    limits. When no drill does both, the limits are given up, and a note says so. Two drills as near: the larger, which
    spares the tap.

    Parameters
    ----------
    drills : sequence of Drill or None
        The drills owned, from small to large; ``None`` takes :func:`usual_sets`, and all sets when none of those
        drills keeps the limits.
    target : TargetPercent or None
        ``None`` takes the table's, by material, engagement and kind of tap.
    engagement : float or None
        Thickness of the stock, or depth of full thread in a blind hole, mm.
    formed : bool
        The thread is rolled with a forming tap.

    Raises
    ------
    InputError
        No owned drill suits; the engagement is not positive; a forming tap for a form without published sizes.
    """
    aim = target or target_percent(thread, material=material, engagement=engagement, formed=formed)
    limits = minor_limits(thread)
    bounds = _bounds(thread, aim, formed=formed)
    owned = drills_by_size(usual_sets(thread)) if drills is None else drills
    found, usable, inside = _candidates(thread, owned, limits, bounds, formed=formed)
    wider = drills is None and not inside
    if wider:
        owned = drills_by_size(SETS)
        found, usable, inside = _candidates(thread, owned, limits, bounds, formed=formed)
    if not usable:
        raise _nothing_suits(thread, owned, bounds, formed=formed)
    chosen = min(inside or usable, key=lambda c: _distance(c, aim))
    nearest = min(usable, key=lambda c: _distance(c, aim))
    at = found.index(chosen)
    first = max(0, at - NEIGHBOURS)
    choices = tuple(_choice(thread, c, limits, formed=formed) for c in found[first : at + NEIGHBOURS + 1])
    best = choices[at - first]
    notes = _notes(thread, best, nearest, aim, limits, formed=formed)
    if wider:
        notes.insert(0, f"no drill of the {', '.join(usual_sets(thread))} sets suits: all sets were searched")
    if formed and material is not None and material.family in ("iron", "plastic", "wood"):
        notes.append(f"a forming tap needs metal that flows: take a cutting tap in {material.name}")
    if engagement is not None:
        notes.extend(engagement_notes(thread, material, engagement))
    return TapAdvice(
        thread=thread,
        target=aim,
        formed=formed,
        limits=limits,
        limits_note=_limits_note(thread, limits, formed=formed),
        choices=choices,
        recommended=best,
        reason=_reason(aim, limits, inside_found=bool(inside), formed=formed),
        engaged_threads=None if engagement is None else checked_length(engagement, "thickness") / thread.pitch,
        notes=tuple(notes),
    )


def _candidates(
    thread: Thread, owned: Sequence[Drill], limits: MinorLimits | None, bounds: tuple[float, float], *, formed: bool
) -> tuple[list[_Candidate], list[_Candidate], list[_Candidate]]:
    """Return all candidates, those inside the percentages, and of these the ones that no published limit refuses."""
    found: list[_Candidate] = []
    for drill in _distinct(owned, smallest=thread.basic_minor * BELOW_THE_CORE, largest=thread.major):
        within = None if limits is None or formed else limits.holds(drill.diameter)
        found.append((thread_percent(thread, drill.diameter, formed=formed), within, drill))
    usable = [c for c in found if bounds[0] <= c[0] <= bounds[1]]
    return found, usable, [c for c in usable if c[1] is not False]


def _distinct(owned: Sequence[Drill], *, smallest: float, largest: float) -> list[Drill]:
    """Return the drills from one diameter up to below another, mm, one of each size."""
    at = bisect_left(owned, smallest, key=_diameter), bisect_left(owned, largest, key=_diameter)
    distinct: list[Drill] = []
    for drill in owned[at[0] : at[1]]:
        if not distinct or distinct[-1].exact_diameter != drill.exact_diameter:
            distinct.append(drill)
    return distinct


def _diameter(drill: Drill) -> float:
    return drill.diameter


def _choice(thread: Thread, candidate: _Candidate, limits: MinorLimits | None, *, formed: bool) -> TapChoice:
    percent, within, drill = candidate
    over = drill_oversize(drill.diameter)
    usual = drill.diameter + over.usual
    return TapChoice(
        drill=drill,
        percent=percent,
        within_class=within,
        oversize=over.usual,
        oversize_percent=_percent_left(thread, usual, formed=formed),
        oversize_within_class=None if limits is None or formed else limits.holds(usual),
        worst_percent=_percent_left(thread, drill.diameter + over.most, formed=formed),
    )


def _percent_left(thread: Thread, hole: float, *, formed: bool) -> float:
    return thread_percent(thread, hole, formed=formed) if hole < thread.major else 0.0


def _distance(candidate: _Candidate, aim: TargetPercent) -> tuple[float, float]:
    return abs(candidate[0] - aim.percent), -candidate[2].diameter


def _bounds(thread: Thread, aim: TargetPercent, *, formed: bool) -> tuple[float, float]:
    floor, ceiling = FORMED_FLOOR_PERCENT if formed else FLOOR_PERCENT, ceiling_percent(thread, formed=formed)
    slack = 0.0 if floor <= aim.percent <= ceiling else 5.0  # a stated target beyond the bounds needs room around it
    return min(floor, aim.percent - slack), max(ceiling, aim.percent + slack)


def _nothing_suits(thread: Thread, owned: Sequence[Drill], bounds: tuple[float, float], *, formed: bool) -> InputError:
    floor, ceiling = bounds
    smallest = hole_for_percent(thread, min(ceiling, 100.0), formed=formed)
    largest = hole_for_percent(thread, floor, formed=formed)
    below = [d for d in owned if d.diameter < smallest]
    above = [d for d in owned if d.diameter > largest]
    nearest = " and ".join(d.name for d in (*below[-1:], *above[:1]))
    return InputError(
        f"{thread.name}: no drill owned suits; {ceiling:.0f} to {floor:.0f} percent of thread take a drill of "
        f"{smallest:.3f} to {largest:.3f} mm ({smallest / 25.4:.4f} to {largest / 25.4:.4f} in). "
        + (f"The nearest owned are {nearest}." if nearest else "None is owned."),
        key="drills owned",
    )


def _limits_note(thread: Thread, limits: MinorLimits | None, *, formed: bool) -> str:
    if limits is None:
        return no_limits_reason(thread)
    if formed:
        return "limits of the minor diameter bind the finished thread, not the hole that a forming tap starts from"
    return f"minor diameter {limits.class_name}: {limits.smallest:.3f} to {limits.largest:.3f} mm ({limits.source})"


def _reason(aim: TargetPercent, limits: MinorLimits | None, *, inside_found: bool, formed: bool) -> str:
    text = f"nearest to {aim.percent:.0f} % among the drills owned"
    if limits is None or formed:
        return text
    if inside_found:
        return f"{text} that keep the minor diameter inside class {limits.class_name}"
    return f"{text}; none of them keeps the minor diameter inside class {limits.class_name}"


def _notes(
    thread: Thread,
    best: TapChoice,
    nearest: _Candidate,
    aim: TargetPercent,
    limits: MinorLimits | None,
    *,
    formed: bool,
) -> list[str]:
    """Return what a careful reader of the choice should know; ``nearest`` is nearest whatever the limits say."""
    notes = []
    if nearest[2] is not best.drill and limits is not None:
        notes.append(
            f"{nearest[2].name} would be nearer with {nearest[0]:.0f} %, but lies outside class {limits.class_name}"
        )
    elif abs(best.percent - aim.percent) > FAR_FROM_TARGET:
        notes.append(f"no drill owned is near {aim.percent:.0f} %: this one gives {best.percent:.0f} %")
    if best.within_class is False and limits is not None:
        over = best.drill.diameter - limits.largest
        amount = f"{_both(over)} above" if over > 0 else f"{_both(limits.smallest - best.drill.diameter)} below"
        notes.append(f"the hole is {amount} the limits of class {limits.class_name}: a plug gauge would refuse it")
    if aim.percent > ceiling_percent(thread, formed=formed):
        notes.append("so much thread adds hardly any strength and breaks taps")
    if best.oversize_percent < FLOOR_PERCENT <= aim.percent:
        notes.append(f"cutting over its size as drills usually do, it leaves {best.oversize_percent:.0f} % of thread")
    return notes


def _both(length: float) -> str:
    return f"{length:.3g} mm ({length / 25.4:.3g} in)"


def stated_drill_notes(
    thread: Thread,
    hole: float,
    *,
    material: "Material | None" = None,
    engagement: float | None = None,
    formed: bool = False,
) -> tuple[str, ...]:
    """Return what a careful reader should know of a tap drill that a user states instead of having it chosen.

    Parameters
    ----------
    hole : float
        Its diameter, mm.
    engagement : float or None
        As for :func:`choose_tap_drill`.

    Raises
    ------
    InputError
        The hole leaves no thread, the engagement is not positive, or a forming tap for a form without published sizes.
    """
    percent = thread_percent(thread, hole, formed=formed)
    floor, ceiling = FORMED_FLOOR_PERCENT if formed else FLOOR_PERCENT, ceiling_percent(thread, formed=formed)
    notes = []
    # half a percent: what the whole percents of the message cannot tell apart
    if percent > ceiling + 0.5:
        notes.append(f"the stated drill gives {percent:.0f} % of thread; above {ceiling:.0f} % it only breaks taps")
    elif percent < floor - 0.5:
        notes.append(f"the stated drill gives {percent:.0f} % of thread; below {floor:.0f} % it may strip")
    if engagement is not None:
        notes.extend(engagement_notes(thread, material, checked_length(engagement, "thickness")))
    return tuple(notes)


def engagement_notes(thread: Thread, material: "Material | None", engagement: float) -> list[str]:
    """Return what there is to say of a length of thread, mm: too few turns, or less than the material usually takes."""
    notes = []
    threads = engagement / thread.pitch
    if threads < FEWEST_THREADS - ARITHMETIC_NOISE:
        notes.append(
            f"only {threads:.1f} threads in {_both(engagement)}; fewer than {FEWEST_THREADS:.0f} do not hold: "
            "a finer pitch, a bush, a backing bar or a nut"
        )
    if material is not None:
        from holecam.standards.thread_engagement import usual_engagement

        usual = usual_engagement(thread, material)
        if engagement < usual.length - ARITHMETIC_NOISE:
            notes.append(
                f"{_both(engagement)} of thread is {engagement / thread.major:.2g} D; in {material.name} "
                f"{usual.diameters:g} D, {_both(usual.length)}, is usual ({usual.source})"
            )
    return notes
