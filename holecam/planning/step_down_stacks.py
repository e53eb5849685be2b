"""From the words of a step-down in the job to the stack, the touch-off and the request for its heights."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager

from holecam.cuts.layer_estimates import NOTHING, DoubtRule, Estimate, Term
from holecam.cuts.layer_readings import layer_from_mass, layer_from_readings, layer_from_wire
from holecam.cuts.layer_stack import HeightTouch, Layer, LayerStack, TouchedStack, Wedge
from holecam.cuts.step_down_answers import Answer
from holecam.cuts.step_down_floor import FloorAim
from holecam.cuts.step_down_heights import STOP_CHANCE, SURENESS, HeightsRequest
from holecam.cuts.step_down_looks import bar_above
from holecam.cuts.step_down_passes import LAST_STEPS, LEAST_CHIP, PassRule
from holecam.cuts.step_down_practice import ROUGH_STEP, Hold
from holecam.errors import FileContentError, InputError
from holecam.job.models import Job
from holecam.job.models_step_down import Layer as JobLayer
from holecam.job.models_step_down import SolderUsed, StepDown, Touch
from holecam.job.outlines import outline_of
from holecam.plan.facts import Readout
from holecam.shapes import Outline, Point, distance
from holecam.standards.bonding_layers import BondingLayer, bonding_layer
from holecam.standards.touch_off import touch_off

CALLIPER_WITHIN = 0.03
"""mm. Thickness of flat metal by calliper, when nothing is said (common practice)."""

MICROMETER_WITHIN = 0.005
"""mm. A micrometer reading (common practice)."""


@contextmanager
def in_step_down(name: str) -> Iterator[None]:
    """Put the step-down's name before the message of an error that its sizes cause."""
    try:
        yield
    except FileContentError:
        raise
    except InputError as error:
        raise InputError(
            f'step-down "{name}": {error.message}', key=error.key, value=error.value, expected=error.expected
        ) from None


def heights_request(job: Job, wish: StepDown, readout: Readout) -> HeightsRequest:
    """Return the request for the heights of a step-down.

    Raises
    ------
    InputError
        Sizes that make no stack, a touch-off that cannot be used, or answers about layers that are not there.
    """
    with in_step_down(wish.name):
        sureness = SURENESS if wish.k is None else float(wish.k)
        stack = LayerStack(_layers(wish, sureness))
        touch = _touch(wish.touch, stack)
        machine = wish.machine_within if wish.machine_within is not None else job.machine.spread
        region = None if wish.region is None else outline_of(wish.region, folder=job.source.folder)
        touched = TouchedStack(
            stack,
            touch,
            readout.resolution,
            None if machine is None else float(machine),
            _wedge(wish, touch, region),
            NOTHING if wish.high_spot is None else Estimate(float(wish.high_spot)),
        )
        hold = _hold(job, wish)
        return HeightsRequest(
            touched,
            PassRule(
                ROUGH_STEP[hold] if wish.rough_step is None else float(wish.rough_step),
                LAST_STEPS if wish.tail is None else tuple(float(s) for s in wish.tail),
                least_chip=LEAST_CHIP if wish.least_chip is None else float(wish.least_chip),
            ),
            rule=DoubtRule.WORST_CASE if wish.method == "worst" else DoubtRule.ROOT_OF_SQUARES,
            sureness=sureness,
            floor_margin=None if wish.floor_margin is None else float(wish.floor_margin),
            skin=0.0 if wish.skin is None else float(wish.skin),
            aim=FloorAim(wish.floor) if wish.floor is not None else FloorAim.INTO_LAYER,
            stop_chance=STOP_CHANCE if wish.contact_percent is None else wish.contact_percent / 100.0,
            asked_floor=None if wish.floor_z is None else float(wish.floor_z),
            answers=tuple(_answers(wish, stack)),
        )


def touch_presses(wish: StepDown) -> bool:
    """Return whether touching off this way presses on the work and dimples a thin sheet."""
    return not touch_off(wish.touch.tool).on_thin_sheet


def _hold(job: Job, wish: StepDown) -> Hold:
    if wish.held == "by the sheet":
        return Hold.BY_SHEET
    return Hold.FIRM if job.machine.rigidity == "stiff" else Hold.LIGHT


def _layers(wish: StepDown, sureness: float) -> tuple[Layer, ...]:
    """Return the layers, worked out from the bottom up: a measured one may include all below it."""
    below = NOTHING
    made: list[Layer] = []
    for layer in reversed(wish.layers):
        bond = _bond(layer)
        thickness = _thickness(layer, bond, below, sureness)
        looks = layer.colour or ("" if bond is None else bond.looks)
        made.append(Layer(layer.name, thickness, keep=layer.keep, bond=bond is not None, looks=looks))
        below = below + thickness
    return tuple(reversed(made))


def _bond(layer: JobLayer) -> BondingLayer | None:
    if layer.bond is not None:
        return bonding_layer(layer.bond)
    if layer.keep:
        return None
    try:
        return bonding_layer(layer.name)
    except InputError:
        return None


def _thickness(layer: JobLayer, bond: BondingLayer | None, below: Estimate, sureness: float) -> Estimate:
    within = None if layer.within is None else float(layer.within)
    usual = CALLIPER_WITHIN if bond is None else bond.half_width
    if layer.measured is not None:
        readings = [float(m) for m in layer.measured]
        less = below if layer.measured_over == "this and all below" else NOTHING
        micrometer = MICROMETER_WITHIN if within is None else within
        if len(readings) > 1:
            return layer_from_readings(
                layer.name, readings, less=less, instrument_half_width=micrometer, sureness=sureness
            ).thickness
        return Estimate.of(readings[0], Term.within(f"{layer.name}: micrometer", micrometer)) - less
    if layer.solder is not None:
        return _from_solder(layer, layer.solder, bond, usual if within is None else within)
    half_width = usual if within is None else within
    if layer.thick is not None:
        return Estimate.of(float(layer.thick), Term.within(f"thickness of {layer.name}", half_width))
    if bond is None:
        raise InputError(
            f'layer "{layer.name}": expected thick, measured or solder; only bonding layers have a usual thickness',
            key=layer.name,
        )
    return Estimate.of(bond.usual, Term.within(f"thickness of {layer.name}", half_width))


def _from_solder(layer: JobLayer, used: SolderUsed, bond: BondingLayer | None, local_half_width: float) -> Estimate:
    """Return a layer's thickness from the wire that went into it, measured or weighed."""
    joint_area = float(used.joint[0] * used.joint[1])
    if used.wire_length is not None and used.wire_diameter is not None:
        return layer_from_wire(
            layer.name,
            wire_length=float(used.wire_length),
            wire_diameter=float(used.wire_diameter),
            joint_area=joint_area,
            local_half_width=local_half_width,
            lost_percent=used.lost_percent,
        )
    assert used.mass_g is not None
    if bond is None or bond.density_g_cm3 is None:
        raise InputError(
            f'layer "{layer.name}": expected bond = "soft solder" or another solder beside solder.mass_g; its density '
            "is needed to make a thickness of a mass",
            key=layer.name,
        )
    return layer_from_mass(
        layer.name,
        mass_g=used.mass_g,
        density_g_cm3=bond.density_g_cm3,
        joint_area=joint_area,
        local_half_width=local_half_width,
        lost_percent=used.lost_percent,
    )


def _touch(touch: Touch, stack: LayerStack) -> HeightTouch:
    row = touch_off(touch.tool)
    offset = row.offset_with(None if touch.offset is None else float(touch.offset))
    within = row.half_width if touch.within is None else float(touch.within)
    return HeightTouch(stack.layers[stack.index_of(touch.on)].name, row.name, offset, within)


def _wedge(wish: StepDown, touch: HeightTouch, region: Outline | None) -> Wedge:
    """Return the wedge: stated, from a second touch-off, or what to reckon with over the length of the cut."""
    if wish.wedge is not None:
        return Wedge.stated(float(wish.wedge))
    if wish.touch_far is not None:
        return _wedge_between(wish.touch, wish.touch_far, touch, region)
    if region is None:
        return Wedge()
    if wish.touch.at is not None:
        start = (float(wish.touch.at[0]), float(wish.touch.at[1]))
        return Wedge.unknown(max(distance(start, p) for p in _corners(region)))
    x0, y0, x1, y1 = region.bounds
    return Wedge.unknown(math.hypot(x1 - x0, y1 - y0))


def _wedge_between(near: Touch, far: Touch, touch: HeightTouch, region: Outline | None) -> Wedge:
    if far.on != near.on:
        raise InputError(
            f'touch_far on "{far.on}": expected the face of the first touch, "{near.on}": only then is the difference '
            "the wedge",
            key="touch_far",
        )
    if near.at is None or far.at is None or far.reads is None:
        raise InputError(
            "touch_far: expected at in both touches and what the readout shows at the far one (reads), "
            'such as touch_far = { on = "brass rail", with = "paper", at = ["2.5", 0], reads = "-0.0015" }',
            key="touch_far",
        )
    start, end = (float(near.at[0]), float(near.at[1])), (float(far.at[0]), float(far.at[1]))
    apart = distance(start, end)
    if not apart > 0:
        raise InputError("touch_far: expected another place than that of the first touch", key="touch_far")
    row = touch_off(far.tool)
    far_offset = row.offset_with(None if far.offset is None else float(far.offset))
    far_within = row.half_width if far.within is None else float(far.within)
    first = 0.0 if near.reads is None else float(near.reads)
    along = ((end[0] - start[0]) / apart, (end[1] - start[1]) / apart)
    ways = [0.0, apart] if region is None else [_way(p, start, along) for p in _corners(region)]
    return Wedge.from_second_touch(
        distance=apart,
        difference=(float(far.reads) - far_offset) - (first - touch.offset),
        cut_from=min(ways),
        cut_to=max(ways),
        half_width=max(touch.half_width, far_within),
    )


def _way(p: Point, start: Point, along: Point) -> float:
    return (p[0] - start[0]) * along[0] + (p[1] - start[1]) * along[1]


def _corners(region: Outline) -> list[Point]:
    """Return the corners of the region's box: no place of it lies farther out."""
    x0, y0, x1, y1 = region.bounds
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _answers(wish: StepDown, stack: LayerStack) -> Iterator[Answer]:
    for number, look in enumerate(wish.looks, start=1):
        z = -float(look.at_depth) if look.at_depth is not None else float(look.at_z or 0)
        if look.seen == "bar":
            yield Answer(bar_above(stack), z)
        elif look.seen == "sheet":
            yield Answer(stack.substrate.name, z)
        elif stack.bond is not None:
            yield Answer(stack.bond.name, z)
        else:
            raise InputError(
                f'look {number}: "layer" was seen, and the stack has no bonding layer between bar and sheet; '
                'add it to the layers, or write seen = "bar" or "sheet"',
                key="look",
            )
