"""Figures that no such thing can have, and layers in an order that no stack has: slips of unit, point and comma.

Each is refused because nothing behind the reader would find it: a lost motion of ``[0,12]`` was meant as 0.12.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import chain

from holecam.cuts.layer_stack import THICKEST_BOND, THINNEST_SHEET
from holecam.errors import InputError
from holecam.job.faults import Fault
from holecam.job.models import Job
from holecam.job.models_step_down import Layer, StepDown, Touch
from holecam.job.positions import Path
from holecam.job.table_keys import nearest
from holecam.lengths import length_text
from holecam.lengths.dials import GREATEST_LEAD, LEAST_LEAD
from holecam.standards.bonding_layers import BondingLayer, all_bonding_layers, bonding_layer
from holecam.standards.touch_off import touch_off

MOST_BACKLASH = Fraction(2)
"""mm. A worn mill has 0.25 to 0.75 (practice table A4); more than this is a slip."""

THICKEST_TOUCH = Fraction(1)
"""mm. Paper, foil, ink and a lamp have less between cutter and face; a block or a feeler states its own height."""

SLIP = "Look at the unit and the point."


def slip_faults(job: Job) -> list[Fault]:
    """Return every figure that cannot be meant, and every stack whose layers stand in an order that cannot be."""
    return list(chain(_machine(job), *(_stack(n, s, job) for n, s in enumerate(job.step_downs))))


def _text(length: Fraction | float, job: Job) -> str:
    return length_text(length, job.unit)


def _machine(job: Job) -> Iterator[Fault]:
    for n, lost in enumerate(job.machine.backlash or ()):
        if lost > MOST_BACKLASH:
            expected = f"a lost motion of at most {_text(MOST_BACKLASH, job)}"
            hint = f"{_text(lost, job)} is a slip of unit or point; a pair is [X, Y], and decimals have a point."
            yield Fault(("machine", "backlash", n), expected, hint)
    dials = job.machine.dials
    for key in ("lead", "lead_y"):
        lead: Fraction | None = None if dials is None else getattr(dials, key)
        if lead is not None and not LEAST_LEAD <= lead <= GREATEST_LEAD:
            expected = f"travel for one turn from {_text(LEAST_LEAD, job)} to {_text(GREATEST_LEAD, job)}"
            yield Fault(("machine", "dials", key), expected, SLIP)


def _stack(number: int, wish: StepDown, job: Job) -> Iterator[Fault]:
    path: Path = ("step_down", number)
    kept = next(n for n, layer in enumerate(wish.layers) if layer.keep)
    bonds = [_bond(layer) for layer in wish.layers]
    if bonds[0] is not None and any(bond is None for bond in bonds[1:kept]):
        hint = f'"{wish.layers[0].name}" holds two pieces together. List the stack top down, the bar first.'
        yield Fault((*path, "layers", 0, "is"), "the bar above what holds it", hint)
    if any(bonds[kept + 1 :]) and not any(bonds[:kept]):
        below = next(n for n, bond in enumerate(bonds) if n > kept and bond is not None)
        hint = f'It stands below "{wish.layers[kept].name}". List the stack top down, the sheet below its solder.'
        yield Fault((*path, "layers", below, "is"), "the solder or glue between the bar and the sheet", hint)
    if kept >= 2 and bonds[kept - 1] is None and not _stated(wish.layers[kept - 1]):
        yield _not_known((*path, "layers", kept - 1, "is"), wish.layers[kept - 1])
    for n, (layer, bond) in enumerate(zip(wish.layers, bonds, strict=True)):
        if bond is not None and layer.thick is not None and layer.thick > THICKEST_BOND:
            expected = f"a layer of {bond.name} of at most {_text(THICKEST_BOND, job)}"
            yield Fault((*path, "layers", n, "thick"), expected, SLIP)
    sheet = wish.layers[kept].thick
    if sheet is not None and sheet < THINNEST_SHEET:
        expected = f"a sheet of at least {_text(THINNEST_SHEET, job)}"
        yield Fault((*path, "layers", kept, "thick"), expected, SLIP)
    for key, touch in (("touch", wish.touch), ("touch_far", wish.touch_far)):
        if touch is not None:
            yield from _touched((*path, key, "offset"), touch, job)


def _bond(layer: Layer) -> BondingLayer | None:
    """Return what kind of bond a layer is, None for a bar or a sheet."""
    if layer.bond is None and layer.keep:
        return None
    try:
        return bonding_layer(layer.bond or layer.name)
    except InputError:
        return None


def _stated(layer: Layer) -> bool:
    """Return whether a layer says how surely it is known, or what it is: then its name need not tell."""
    figures = layer.within is not None or layer.measured is not None or layer.solder is not None
    return figures or layer.material is not None


def _not_known(path: Path, layer: Layer) -> Fault:
    names = [name for bond in all_bonding_layers() for name in (bond.name, *bond.aliases)]
    meant = nearest(layer.name, names)
    hint = f'Did you mean "{meant}"? ' if meant else ""
    hint += 'Or say bond = "soft solder", or the metal with material, or how surely it is known with within.'
    expected = "what kind of layer lies between the bar and the sheet: its name is not known, so its usual doubt is not"
    return Fault(path, expected, hint)


def _touched(path: Path, touch: Touch, job: Job) -> Iterator[Fault]:
    usual = touch_off(touch.tool).offset
    if usual is not None and touch.offset is not None and touch.offset > THICKEST_TOUCH:
        yield Fault(path, f"at most {_text(THICKEST_TOUCH, job)} of {touch.tool} between cutter and face", SLIP)
