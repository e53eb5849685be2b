"""Read a stack, a touch-off and answers from short texts, as a command line or a notebook has them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Protocol

from holecam.cuts.layer_estimates import Estimate, Term
from holecam.cuts.layer_readings import layer_from_readings, layer_from_wire
from holecam.cuts.layer_stack import BARE_SHEET, THICKEST_BOND, THINNEST_SHEET, HeightTouch, Layer, LayerStack, Wedge
from holecam.cuts.step_down_answers import Answer
from holecam.cuts.step_down_looks import bar_above
from holecam.errors import InputError
from holecam.lengths import length_text
from holecam.planning.layer_materials import STEP_DOWN_TAGS, layer_tags
from holecam.standards.bonding_layers import BondingLayer, bonding_layer
from holecam.standards.names import plain_words
from holecam.standards.touch_off import touch_off

CALLIPER_WITHIN = 0.03
"""mm. Thickness of flat metal by calliper, when nothing is said (common practice)."""

MICROMETER_WITHIN = 0.005
"""mm. A micrometer reading (common practice)."""

_LAYER = 'a layer such as "brass rail:3/16:0.001" (name, thickness, how surely plus or minus)'
_WIRE = re.compile(r"wire\s+(?P<length>.+?)\s+x\s+(?P<diameter>.+?)\s+over\s+(?P<long>.+?)\s+x\s+(?P<wide>.+)", re.I)
_TOUCH_ON = re.compile(r"(?P<method>.+?)\s+on\s+(?P<face>.+)", re.I)
_ANSWER = re.compile(r"(?P<still>still\s+)?(?P<layer>.+?)(?:\s+(?:metal|showing|shows|bare))*\s+at\s+(?P<z>\S.*)", re.I)


class Lengths(Protocol):
    """Reads the lengths in a text, and knows what is written before the names of inputs: ``--`` in commands."""

    @property
    def before_keys(self) -> str:
        """Put before the name of an input in messages."""

    def length(self, text: str, key: str) -> Fraction:
        """Return a length in exact mm."""


def read_stack(layers: Sequence[str], keep: Sequence[str], *, lengths: Lengths, sureness: float) -> LayerStack:
    """Return the stack from the texts of ``--layer`` and ``--keep``, top down."""
    if not layers:
        raise InputError(
            f"{lengths.before_keys}layer: expected at least one, {_LAYER}", key=f"{lengths.before_keys}layer"
        )
    if not keep:
        raise InputError(
            f'{lengths.before_keys}keep: expected the sheet that may never be touched, such as "copper hood:0.025"',
            key=f"{lengths.before_keys}keep",
        )
    read = [_layer(text, f"{lengths.before_keys}layer", lengths=lengths, sureness=sureness) for text in layers]
    read += [_layer(text, f"{lengths.before_keys}keep", lengths=lengths, sureness=sureness, keep=True) for text in keep]
    _refuse_slips(read, lengths)
    return LayerStack(tuple(read))


def _refuse_slips(layers: Sequence[Layer], lengths: Lengths) -> None:
    """Refuse a stack whose bonding layer stands above the bar, and thicknesses that no such layer has."""
    above = [layer for layer in layers if not layer.keep]
    keys = lengths.before_keys
    if bond_of(above[0].name) is not None and any(bond_of(layer.name) is None for layer in above[1:]):
        raise InputError(
            f'{keys}layer "{above[0].name}": expected the bar above what holds it; state the layers top down',
            key=f"{keys}layer",
        )
    for layer in layers:
        size, key = layer.thickness.value, f"{keys}{'keep' if layer.keep else 'layer'}"
        limit = ""
        if layer.keep and size < THINNEST_SHEET:
            limit = f"a sheet of at least {_both(THINNEST_SHEET)}"
        elif not layer.keep and bond_of(layer.name) is not None and size > THICKEST_BOND:
            limit = f"at most {_both(THICKEST_BOND)} of it"
        if limit:
            found = _both(size)
            raise InputError(
                f'{key} "{layer.name}": {found} thick; expected {limit}. Look at the unit', key=key, value=found
            )


def _both(size: float) -> str:
    return f"{length_text(size, 'mm')} ({length_text(size, 'in')})"


def bond_of(name: str) -> BondingLayer | None:
    """Return the bonding layer that a layer's name means, ``None`` for a bar or sheet."""
    try:
        return bonding_layer(name)
    except InputError:
        return None


def caution_tags(stack: LayerStack) -> set[str]:
    """Return the words by which the cautions that belong to a stack are found."""
    layers = (layer_tags(part.name, bond_of(part.name) if part.bond else None) for part in stack.layers)
    return set(STEP_DOWN_TAGS).union(*layers)


def _layer(text: str, key: str, *, lengths: Lengths, sureness: float, keep: bool = False) -> Layer:
    parts = [part.strip() for part in text.split(":")]
    if not parts[0] or len(parts) > 3 or any(not part for part in parts[1:]):
        raise InputError(f'{key} "{text}": expected {_LAYER}', key=key, value=text, expected=_LAYER)
    name = parts[0]
    bond = None if keep else bond_of(name)
    within = None if len(parts) < 3 else _length(parts[2], lengths, f"{key} {name}: within")
    if within is not None and within < 0:
        raise InputError(f'{key} "{text}": within {parts[2]}: expected 0 or more', key=key, value=text)
    looks = "" if bond is None else bond.looks
    if len(parts) == 1:
        if bond is None:
            raise InputError(f'{key} "{text}": expected its thickness as well, {_LAYER}', key=key, value=text)
        term = Term.within(f"thickness of {name}", bond.half_width)
        return Layer(name, Estimate.of(bond.usual, term), keep=keep, bond=True, looks=looks)
    thickness = _thickness(name, parts[1], within, bond, lengths=lengths, key=key, sureness=sureness)
    return Layer(name, thickness, keep=keep, bond=bond is not None, looks=looks)


def _thickness(
    name: str,
    text: str,
    within: float | None,
    bond: BondingLayer | None,
    *,
    lengths: Lengths,
    key: str,
    sureness: float,
) -> Estimate:
    usual = CALLIPER_WITHIN if bond is None else bond.half_width
    wire = _WIRE.fullmatch(text)
    if wire is not None:
        sizes = {k: _length(v, lengths, f"{key} {name}: {k}") for k, v in wire.groupdict().items()}
        return layer_from_wire(
            name,
            wire_length=sizes["length"],
            wire_diameter=sizes["diameter"],
            joint_area=sizes["long"] * sizes["wide"],
            local_half_width=usual if within is None else within,
        )
    if "," in text:
        readings = [_length(part.strip(), lengths, f"{key} {name}") for part in text.split(",") if part.strip()]
        mic = MICROMETER_WITHIN if within is None else within
        return layer_from_readings(name, readings, instrument_half_width=mic, sureness=sureness).thickness
    half_width = usual if within is None else within
    return Estimate.of(_length(text, lengths, f"{key} {name}"), Term.within(f"thickness of {name}", half_width))


def read_touch(text: str, stack: LayerStack, *, offset: float | None, within: float | None) -> tuple[HeightTouch, bool]:
    """Return the touch-off from "paper" or "paper on brass rail", and whether the method presses on the work."""
    match = _TOUCH_ON.fullmatch(text.strip())
    method = text.strip() if match is None else match["method"].strip()
    face = stack.layers[0].name if match is None else match["face"].strip()
    row = touch_off(method)
    touch = HeightTouch(
        stack.layers[_face(face, stack)].name,
        row.name,
        row.offset_with(offset),
        row.half_width if within is None else within,
    )
    return touch, not row.on_thin_sheet


def _face(text: str, stack: LayerStack) -> int:
    if text.casefold() in (BARE_SHEET, "sheet"):
        return stack.substrate_index
    return _find(text, stack, "touched face")


def _find(text: str, stack: LayerStack, what: str) -> int:
    """Return the layer that a text names: its name, or words that only its name has."""
    wanted = plain_words(text)
    names = [plain_words(layer.name) for layer in stack.layers]
    exact = [n for n, name in enumerate(names) if name == wanted]
    close = exact or [n for n, name in enumerate(names) if wanted and wanted <= name]
    if len(close) == 1:
        return close[0]
    listed = ", ".join(f'"{layer.name}"' for layer in stack.layers)
    raise InputError(
        f'{what} "{text}": expected one layer of the stack, {listed}', key=what, value=text, expected=listed
    )


def read_answer(text: str, stack: LayerStack, *, lengths: Lengths) -> Answer:
    """Return an answer from "still bar at -0.180", "layer showing at -0.187" or "copper hood at -0.192".

    ``bar`` is the metal over the bonding layer, ``layer`` the bonding layer, ``sheet`` what is to be kept; any name of
    the stack will do.
    """
    expected = 'an answer such as "still bar at -0.180" or "layer showing at -0.187"'
    key = f"{lengths.before_keys}answer"
    match = _ANSWER.fullmatch(text.strip())
    if match is None:
        raise InputError(f'{key} "{text}": expected {expected}', key=key, value=text, expected=expected)
    word = match["layer"].strip()
    low = word.casefold()
    if low in ("bar", "metal"):
        name = bar_above(stack)
    elif low in ("layer", "bond", "bonding layer") and stack.bond is not None:
        name = stack.bond.name
    elif low == "sheet":
        name = stack.substrate.name
    else:
        name = stack.layers[_find(word, stack, key)].name
    return Answer(name, _length(match["z"], lengths, key))


def read_wedge(second: str | None, length: float | None, *, lengths: Lengths, touch: HeightTouch) -> Wedge:
    """Return the wedge from ``--second`` "distance:difference", or from the bar's length alone."""
    if second is not None:
        key = f"{lengths.before_keys}second"
        parts = second.split(":")
        if len(parts) != 2:
            expected = 'distance and difference of height, such as "2.5:-0.0015"'
            raise InputError(f'{key} "{second}": expected {expected}', key=key, value=second)
        distance, difference = (_length(p.strip(), lengths, key) for p in parts)
        end = distance if length is None else length
        return Wedge.from_second_touch(
            distance=distance, difference=difference, cut_from=0.0, cut_to=end, half_width=touch.half_width
        )
    return Wedge() if length is None else Wedge.unknown(length)


def _length(text: str, lengths: Lengths, key: str) -> float:
    return float(lengths.length(text, key))
