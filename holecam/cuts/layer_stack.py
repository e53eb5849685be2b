"""The stack under the cutter, top down, how its height was touched off, and where its faces lie on the readout."""

from __future__ import annotations

import math
from fractions import Fraction
from functools import cached_property

from msgspec import Struct

from holecam.cuts.layer_estimates import NOTHING, Estimate, Term
from holecam.errors import InputError
from holecam.lengths import counts

UNKNOWN_TILT = 0.0005
"""Ratio. Tilt to reckon with over the length of a bar when nobody touched off at its far end: 0.05 mm in 100 mm
(common practice)."""

COVERED_SPREADS = 3.0
"""Spreads within which the doubt of the higher end of a wedge covers the lower end as well."""

THICKEST_BOND = 5.0
"""mm. Solder is 0.05 to 0.3 thick, a bed of glue a few millimetres: more is a slip of the unit or the point."""

THINNEST_SHEET = 0.05
"""mm. A foil thinner than this is no sheet that anybody mills down to: a slip of the unit or the point."""

BARE_SHEET = "bare sheet"
"""Name for the protected sheet's own top face, beside the bar."""


class Layer(Struct, frozen=True):
    """One layer of the stack.

    Parameters
    ----------
    name : str
        In the user's words, unique in the stack.
    thickness : Estimate
        mm, above zero.
    keep : bool
        True for the sheet that may never be touched (the uppermost of them is the substrate).
    bond : bool
        True when it is what holds the piece to the sheet: solder, braze, adhesive.
    looks : str
        What the eye sees when it shows: ``grey``.
    """

    name: str
    thickness: Estimate
    keep: bool = False
    bond: bool = False
    looks: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise InputError("layer: expected a name, such as brass rail")
        if not self.thickness.value > 0:
            raise InputError(
                f'layer "{self.name}": thickness {self.thickness.value:g} mm: expected a length above zero',
                key=self.name,
            )

    @classmethod
    def of(cls, name: str, thickness: float, *, within: float, keep: bool = False, looks: str = "") -> Layer:
        """Return a layer whose thickness is surely within plus or minus ``within``, mm."""
        estimate = Estimate.of(thickness, Term.within(f"thickness of {name}", within))
        return cls(name, estimate, keep=keep, looks=looks)


class LayerStack(Struct, frozen=True):
    """Layers from the top down; the first one to keep is the substrate, all above it is to come off.

    Raises
    ------
    InputError
        Fewer than two layers, two of one name, no layer to keep, nothing above it, or a layer to take off under it.
    """

    layers: tuple[Layer, ...]

    def __post_init__(self) -> None:
        if len(self.layers) < 2:
            raise InputError(
                f"stack: expected at least two layers, a bar and the sheet under it, got {len(self.layers)}"
            )
        names = [layer.name.casefold().strip() for layer in self.layers]
        double = next((name for n, name in enumerate(names) if name in names[:n]), None)
        if double is not None:
            raise InputError(f'stack: two layers are called "{double}": give each a name of its own', key=double)
        kept = [n for n, layer in enumerate(self.layers) if layer.keep]
        if not kept:
            raise InputError("stack: no layer is marked to keep; mark the sheet that may never be touched")
        if kept[0] == 0:
            raise InputError(f'stack: nothing lies above "{self.layers[0].name}", which is to be kept: nothing to cut')

    @property
    def substrate_index(self) -> int:
        """Index of the sheet that may never be touched."""
        return next(n for n, layer in enumerate(self.layers) if layer.keep)

    @property
    def substrate(self) -> Layer:
        """The sheet that may never be touched."""
        return self.layers[self.substrate_index]

    @property
    def bond_index(self) -> int | None:
        """Index of the layer directly above the substrate, when a bar lies above that: the bonding layer."""
        above = self.substrate_index - 1
        return above if above >= 1 else None

    @property
    def bond(self) -> Layer | None:
        """The bonding layer; ``None`` when the bar lies on the sheet with nothing between."""
        return None if self.bond_index is None else self.layers[self.bond_index]

    @property
    def substrate_depth(self) -> Estimate:
        """Depth of the substrate under the top of the stack, mm, positive: the sum of the layers above it."""
        total = NOTHING
        for layer in self.layers[: self.substrate_index]:
            total = total + layer.thickness
        return total

    def index_of(self, name: str) -> int:
        """Return the index of a layer by its name; ``bare sheet`` means the substrate.

        Raises
        ------
        InputError
            No layer has it; the message lists those that there are.
        """
        wanted = name.casefold().strip()
        if wanted == BARE_SHEET:
            return self.substrate_index
        for n, layer in enumerate(self.layers):
            if layer.name.casefold().strip() == wanted:
                return n
        listed = ", ".join(f'"{layer.name}"' for layer in self.layers)
        raise InputError(
            f'face "{name}" is not in the stack: expected one of {listed}, or "{BARE_SHEET}"', key="face", value=name
        )


class HeightTouch(Struct, frozen=True):
    """How the height was touched off.

    Parameters
    ----------
    face : str
        Layer whose top face was touched, or ``bare sheet``.
    method : str
        With what, in the user's words.
    offset : float
        Height of the cutter's tip above the face at the touch, mm (ink: slightly negative).
    half_width : float
        The offset is surely within plus or minus this, mm.
    """

    face: str
    method: str = "touch"
    offset: float = 0.0
    half_width: float = 0.0

    def __post_init__(self) -> None:
        if not math.isfinite(self.offset):
            raise InputError(f"touch-off offset {self.offset} mm: expected a finite length", key="offset")
        Term.within("touch-off", self.half_width)  # refuses what is not a length


class Wedge(Struct, frozen=True):
    """How much higher the sheet may stand at the highest place of the cut than where it was touched.

    ``rise`` is its best value with its doubt, mm; ``source`` says where it comes from.
    """

    rise: Estimate = NOTHING
    source: str = "not stated"

    @classmethod
    def from_second_touch(
        cls, *, distance: float, difference: float, cut_from: float, cut_to: float, half_width: float
    ) -> Wedge:
        """Return the wedge from a second touch-off at the other end of the bar.

        Parameters
        ----------
        distance : float
            From the first touch to the second, along the bar, mm, above zero.
        difference : float
            Height of the second place above the first, mm; negative when it lies lower.
        cut_from, cut_to : float
            The cut's extent along the bar, mm from the first touch toward the second.
        half_width : float
            Repeatability of one touch, plus or minus, mm.

        The highest place is at one end of the cut. What both touches share, the paper, cancels in the difference.
        """
        if not (math.isfinite(distance) and distance > 0):
            raise InputError(f"distance {distance} mm between two touch-offs: expected a length above zero")
        if not all(math.isfinite(v) for v in (difference, cut_from, cut_to)):
            raise InputError("wedge: expected finite lengths")
        slope = difference / distance
        # two independent touches: their difference is uncertain by the root of two of one
        standard, limit = math.sqrt(2.0 / 3.0) * half_width / distance, 2.0 * half_width / distance
        at, other = sorted((cut_from, cut_to), key=lambda place: -slope * place)
        # the other end may stand higher within its doubt: the doubt of this one is made to cover that, up to 3 spreads
        lower = slope * (at - other)
        term = Term(
            "wedge",
            max(standard * abs(at), standard * abs(other) - lower / COVERED_SPREADS),
            max(limit * abs(at), limit * abs(other) - lower),
        )
        return cls(Estimate.of(slope * at, term), "two touch-offs")

    @classmethod
    def unknown(cls, length: float) -> Wedge:
        """Return the doubt to reckon with over a bar of this length, mm, when only one place was touched."""
        if not (math.isfinite(length) and length >= 0):
            raise InputError(f"length of the bar {length} mm: expected a length of 0 or more")
        return cls(Estimate.of(0.0, Term.within("wedge", UNKNOWN_TILT * length)), "common practice, one touch-off")

    @classmethod
    def stated(cls, half_width: float) -> Wedge:
        """Return a wedge that is surely within plus or minus ``half_width`` over the cut, mm."""
        return cls(Estimate.of(0.0, Term.within("wedge", half_width)), "stated")


LEVEL = Wedge()
"""No wedge, known exactly."""


class TouchedStack(Struct, frozen=True, dict=True):
    """A stack with the readout set: where each face lies, as the readout shows it, at the sheet's highest place.

    Parameters
    ----------
    stack : LayerStack
    touch : HeightTouch
    resolution : Fraction
        One step of the readout, exact mm.
    machine_half_width : float or None
        A height that the machine goes to is within plus or minus this, mm; ``None`` takes one step of the readout
        (half a step at the touch and half at the pass).
    wedge : Wedge
    high_spot : Estimate
        How far the sheet's highest place stands above the sheet's mean, mm (a bulge, hammer marks). It lifts the
        substrate and not the bar. The highest place counts, not the mean.
    """

    stack: LayerStack
    touch: HeightTouch
    resolution: Fraction
    machine_half_width: float | None = None
    wedge: Wedge = LEVEL
    high_spot: Estimate = NOTHING

    def __post_init__(self) -> None:
        if not self.resolution > 0:
            raise InputError(f"readout step {float(self.resolution)} mm: expected a length above zero")
        if not self.high_spot.value >= 0:
            raise InputError(f"high spot of the sheet {self.high_spot.value} mm: expected 0 or more")
        self.stack.index_of(self.touch.face)  # a face that is not in the stack is refused here

    @property
    def set_count(self) -> int:
        """What the readout is set to while the touch just drags, in steps: the offset, rounded."""
        return counts(self.touch.offset, self.resolution)

    @property
    def touched_index(self) -> int:
        """Index of the layer whose top was touched."""
        return self.stack.index_of(self.touch.face)

    @property
    def substrate_z(self) -> Estimate:
        """Height of the substrate's top on the readout, at its highest place."""
        return self.faces[self.stack.substrate_index]

    @property
    def layer_top_z(self) -> Estimate:
        """Height on the readout at which the layer directly above the substrate begins to show."""
        index = self.stack.bond_index
        return self.faces[self.stack.substrate_index if index is None else index]

    @cached_property
    def faces(self) -> tuple[Estimate, ...]:
        """Height of the top of each layer on the readout, with doubts, in the order of the layers."""
        layers, touched = self.stack.layers, self.touched_index
        step = float(self.resolution)
        machine = step if self.machine_half_width is None else self.machine_half_width
        # the offset is rounded when it is keyed in; the rest of it is known, so it shifts the face and adds no doubt
        face = Estimate(
            float(self.set_count * self.resolution) - self.touch.offset,
            (
                (Term.within("touch-off", self.touch.half_width), 1.0),
                (Term.within("machine and readout", machine), 1.0),
            ),
        )
        face = face + self.wedge.rise
        tops: dict[int, Estimate] = {touched: face}
        for n in range(touched + 1, len(layers)):
            tops[n] = tops[n - 1] - layers[n - 1].thickness
        for n in range(touched - 1, -1, -1):
            tops[n] = tops[n + 1] + layers[n].thickness
        substrate = self.stack.substrate_index
        tops[substrate] = tops[substrate] + self.high_spot
        return tuple(tops[n] for n in range(len(layers)))
