"""What a step-down has to say about its heights: stack, touch-off, doubts, passes and answers."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

from holecam.cuts.layer_estimates import DoubtRule
from holecam.cuts.step_down_heights import StepDownHeights
from holecam.cuts.step_down_looks import LEAST_CHANCE
from holecam.cuts.step_down_passes import lowest_written
from holecam.lengths import MM_PER_INCH, Unit, exact, length_text
from holecam.lengths.chances import chance_text
from holecam.plan.finding import Finding, Severity

SURE_FLOOR = "design: hard floor = sheet less k times its doubt"
COMMON = "common practice"

FIRST_BITE_SHARE = 0.5
"""Ratio. When the top of the stack may stand this much of a roughing step higher than reckoned, it is said."""

Text = Callable[[float], str]


def height_findings(heights: StepDownHeights, *, name: str, unit: Unit, touch_presses: bool = False) -> list[Finding]:
    """Return the findings about heights, stack, touch-off and answers.

    ``name`` is the step-down's; ``touch_presses`` says that the method of touching off needs force, which dimples a
    thin sheet.
    """
    about = f'step-down "{name}"'

    def text(value: float) -> str:
        return length_text(value, unit)

    out = _stops(heights, about, name, text, unit)
    out += _stack(heights, about, name, text)
    out += _touch(heights, about, name, touch_presses=touch_presses)
    out += _passes(heights, about, name, text)
    return out


def _stops(heights: StepDownHeights, about: str, name: str, text: Text, unit: Unit) -> list[Finding]:
    out: list[Finding] = []
    doubt = _doubt_words(heights, text)
    if heights.sheet_answer is not None:
        out.append(
            Finding(
                "sheet-reached",
                Severity.STOP,
                about,
                f'"{heights.sheet_answer.layer}" shows at Z {text(heights.sheet_answer.z)}: nothing is left to mill.',
                heights.sheet_answer.z,
                None,
                source="answer",
                remedy="Stop here. Finish by hand.",
                operation=name,
            )
        )
        return out
    if heights.answers_chance < LEAST_CHANCE:
        out.append(
            Finding(
                "answers-unlikely",
                Severity.STOP,
                about,
                f"With the stack as stated, what was seen has a chance of {heights.answers_chance:.1e} only: something "
                "in the stack, the touch-off or the answers is wrong.",
                heights.answers_chance,
                LEAST_CHANCE,
                "1",
                COMMON,
                "Do not go on. Measure the stack again and touch off again.",
                operation=name,
            )
        )
        return out
    lowest = [p.count for p in heights.passes] or ([heights.floor_count] if heights.below_hard_floor else [])
    for count in lowest:
        z = lowest_written(count, heights.resolution)
        if z < exact(heights.hard_floor):
            out.append(
                Finding(
                    "below-hard-floor",
                    Severity.STOP,
                    about,
                    f"A pass would reach Z {text(float(z))}; the hard floor is Z {text(heights.hard_floor)} ({doubt}).",
                    float(z),
                    heights.hard_floor,
                    source=SURE_FLOOR,
                    remedy=f"Raise the floor by {text(_up(heights.hard_floor - float(z), unit))}, "
                    "or measure the stack again.",
                    operation=name,
                )
            )
            break
    if out:
        return out
    if heights.floor_count >= heights.start_count:
        if heights.request.answers:
            out.append(
                Finding(
                    "floor-reached",
                    Severity.NOTE,
                    about,
                    f"After what was seen, no pass below Z {text(heights.start)} is sure enough: the floor would be "
                    f"Z {text(heights.floor)}.",
                    heights.start,
                    heights.floor,
                    source=SURE_FLOOR,
                    remedy="Milling ends here. Take the rest off by hand, or measure again to know the sheet better.",
                    operation=name,
                )
            )
        else:
            out.append(
                Finding(
                    "nothing-to-cut",
                    Severity.STOP,
                    about,
                    f"The planned floor, Z {text(heights.floor)}, is not below the top of the stack, "
                    f"Z {text(heights.start)}: the sheet is not known well enough for a single pass.",
                    heights.floor,
                    heights.start,
                    source=SURE_FLOOR,
                    remedy="Measure the layers, or touch off on the bare sheet beside the bar.",
                    operation=name,
                )
            )
    return out


def _stack(heights: StepDownHeights, about: str, name: str, text: Text) -> list[Finding]:
    out: list[Finding] = []
    stack = heights.request.touched.stack
    doubt, depth = heights.faces.doubt(), stack.substrate_depth.value
    on_sheet = heights.request.touched.touched_index == stack.substrate_index
    better = (
        "Measure the sheet's place better: a finer touch, two places, an indicator over the sheet."
        if on_sheet
        else "Touch off on the bare sheet beside the bar first, with a touch that does not press, and plan after that."
    )
    if doubt >= depth:
        out.append(
            Finding(
                "spread-exceeds-stack",
                Severity.STOP,
                about,
                f"The sheet's height is doubtful by {text(doubt)} ({_sure_words(heights)}); the whole stack above it "
                f"is only {text(depth)}.",
                doubt,
                depth,
                source=SURE_FLOOR,
                remedy=better,
                operation=name,
            )
        )
        return out
    bond = stack.bond
    if bond is None:
        out.append(
            Finding(
                "no-layer",
                Severity.NOTE,
                about,
                f'Nothing lies between the bar and "{stack.substrate.name}": no layer will show before the sheet does.',
                source="stack as stated",
                remedy="Rely on the height alone; look for the first line of the sheet at every stop.",
                operation=name,
            )
        )
        return out
    thickness = bond.thickness.value
    if doubt > thickness:
        out.append(
            Finding(
                "spread-exceeds-layer",
                Severity.CAUTION,
                about,
                f"The sheet's height is doubtful by {text(doubt)} ({_sure_words(heights)}), more than the "
                f'{text(thickness)} of "{bond.name}": the layer may be passed before anybody sees it.',
                doubt,
                thickness,
                source=SURE_FLOOR,
                remedy=better,
                operation=name,
            )
        )
    window = heights.window
    if window is not None and not window.exists:
        here = max(0.0, heights.faces.showing(heights.floor) - heights.faces.contact(heights.floor))
        out.append(
            Finding(
                "floor-not-in-layer",
                Severity.CAUTION,
                about,
                f'No height lies surely inside "{bond.name}": sure to have reached it means Z {text(window.high)} or '
                f"lower, sure to miss the sheet Z {text(window.low)} or higher. The likeliest height, "
                f"Z {text(window.best_z)}, lies in it with {chance_text(window.best_chance)}; the planned floor, "
                f"Z {text(heights.floor)}, with {chance_text(here)}.",
                here,
                0.5,
                "1",
                COMMON,
                f"Go by the looks: each answer moves the floor. {better}",
                operation=name,
            )
        )
    worst = heights.faces.substrate.half_width
    if heights.request.rule is DoubtRule.ROOT_OF_SQUARES and worst < doubt:
        out.append(
            Finding(
                "worst-case-nearer",
                Severity.NOTE,
                about,
                f"All doubts at their limits add up to {text(worst)}, less than {heights.request.sureness:g} standard "
                f"doubts, {text(doubt)}.",
                worst,
                doubt,
                source="GUM, JCGM 100:2008, 4.3.7",
                remedy="If every limit is really sure, the worst case allows a lower floor.",
                operation=name,
            )
        )
    return out


def _touch(heights: StepDownHeights, about: str, name: str, *, touch_presses: bool) -> list[Finding]:
    out: list[Finding] = []
    touched = heights.request.touched
    if touch_presses and touched.touched_index == touched.stack.substrate_index:
        out.append(
            Finding(
                "touch-on-sheet",
                Severity.CAUTION,
                about,
                f'"{touched.touch.method}" on the thin sheet presses: it dimples by 0.05 to 0.2 mm and springs back, '
                "and "
                "the height is wrong by that.",
                source=COMMON,
                remedy="Touch without force (a continuity lamp), or touch a parallel beside it and carry the "
                "difference with an indicator.",
                operation=name,
            )
        )
    if touched.wedge.source == "not stated":
        out.append(
            Finding(
                "wedge-unknown",
                Severity.CAUTION,
                about,
                "One touch-off and no length of the bar: a tilt is not reckoned with. 0.05 mm in 100 mm is usual, and "
                "over 80 mm that is 0.04 mm, more than most other doubts.",
                source=COMMON,
                remedy="Touch off at the far end as well, or state the length of the bar.",
                operation=name,
            )
        )
    return out


def _passes(heights: StepDownHeights, about: str, name: str, text: Text) -> list[Finding]:
    out: list[Finding] = []
    rule, resolution = heights.request.passes, heights.resolution
    thin = [p for p in heights.passes if p.step < rule.least_chip]
    if thin:
        out.append(
            Finding(
                "below-least-chip",
                Severity.CAUTION,
                about,
                f"Pass {thin[0].number} takes {text(thin[0].step)}, less than the least chip of "
                f"{text(rule.least_chip)}: the edge rubs, heats the solder and lifts the sheet.",
                thin[0].step,
                rule.least_chip,
                source=COMMON,
                remedy="Take fewer, thicker last passes, with a sharp corner; or leave this one out.",
                operation=name,
            )
        )
    shown = [float(c * resolution) for c in rule.last_counts(resolution)]
    coarse = [(a, b) for a, b in zip(shown, rule.last_steps, strict=True) if a > b + 1e-9]
    if coarse and heights.passes:
        out.append(
            Finding(
                "readout-too-coarse",
                Severity.CAUTION,
                about,
                f"A last pass of {text(coarse[-1][1])} cannot be set: one step of the readout is "
                f"{text(coarse[-1][0])}.",
                coarse[-1][0],
                coarse[-1][1],
                source="readout",
                remedy="Set the last passes with an indicator on the quill, or accept the coarser step.",
                operation=name,
            )
        )
    top = heights.request.touched.faces[0]
    higher = top.doubt(heights.request.rule, heights.request.sureness)
    if heights.passes and not heights.request.answers and higher > FIRST_BITE_SHARE * rule.rough_step:
        out.append(
            Finding(
                "first-pass-deeper",
                Severity.CAUTION,
                about,
                f"The top of the bar may stand {text(higher)} higher than reckoned: the first pass may bite that much "
                "more.",
                higher,
                FIRST_BITE_SHARE * rule.rough_step,
                source=COMMON,
                remedy="Come down in small steps until the cutter just marks the bar, then begin.",
                operation=name,
            )
        )
    return out


def _up(length: float, unit: Unit) -> float:
    """Return a length rounded up to what is printed, so that following the advice is enough."""
    step = MM_PER_INCH / 10_000 if unit == "in" else Fraction(1, 1000)
    return float(math.ceil(exact(length) / step) * step)


def _sure_words(heights: StepDownHeights) -> str:
    if heights.request.rule is DoubtRule.WORST_CASE:
        return "all doubts at their limits"
    return f"{heights.request.sureness:g} standard doubts"


def _doubt_words(heights: StepDownHeights, text: Text) -> str:
    sheet = heights.faces.substrate
    if heights.request.answers:
        return "from the stack and what was seen"
    if heights.request.rule is DoubtRule.WORST_CASE:
        return f"sheet at Z {text(sheet.value)}, plus {text(sheet.half_width)} of doubt in all"
    return f"sheet at Z {text(sheet.value)}, plus {heights.request.sureness:g} x {text(sheet.standard)} of doubt"
