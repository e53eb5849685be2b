"""What was seen under the cutter, as limits on where the faces of the stack lie."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from holecam.cuts.layer_stack import TouchedStack
from holecam.errors import InputError


class Answer(Struct, frozen=True):
    """What was seen at a height: ``layer`` is the deepest layer that lies bare anywhere in the cut at ``z``, mm.

    "Still bar at z" names the bar, and is true only when nothing else shows anywhere; "layer showing at z" names the
    bonding layer, even if it shows in one spot only.
    """

    layer: str
    z: float

    def __post_init__(self) -> None:
        if not math.isfinite(self.z):
            raise InputError(f'answer "{self.layer}": height {self.z} mm: expected a finite number', key="answer")


class Bounds(Struct, frozen=True):
    """Between which heights a face lies, mm: ``low <= face < high``."""

    low: float = -math.inf
    high: float = math.inf

    def narrowed(self, *, low: float = -math.inf, high: float = math.inf) -> Bounds:
        """Return the bounds cut further."""
        return Bounds(max(self.low, low), min(self.high, high))

    @property
    def is_open(self) -> bool:
        """Whether nothing is known."""
        return math.isinf(self.low) and math.isinf(self.high)


ANYWHERE = Bounds()
"""Nothing is known."""


def sheet_seen(touched: TouchedStack, answers: Sequence[Answer]) -> Answer | None:
    """Return the first answer that says that the sheet, or something under it, lies bare; ``None`` if none does."""
    for answer in answers:
        if touched.stack.index_of(answer.layer) >= touched.stack.substrate_index:
            return answer
    return None


def face_bounds(touched: TouchedStack, answers: Sequence[Answer]) -> tuple[Bounds, ...]:
    """Return between which heights the top of each layer lies after the answers, from the first to the substrate.

    All at the sheet's highest place. The layer that lies bare reaches to the height of the look or above, and so does
    every layer over it; everything under it lies below.

    Raises
    ------
    InputError
        A layer that is not in the stack, the sheet itself seen bare, or answers that contradict each other.
    """
    bare = sheet_seen(touched, answers)
    if bare is not None:
        raise InputError(
            f'"{bare.layer}" bare at {bare.z:.4f} mm: nothing is left to mill over it. Stop and finish by hand',
            key="answer",
            value=bare.layer,
        )
    substrate = touched.stack.substrate_index
    bounds = [ANYWHERE] * (substrate + 1)
    for answer in answers:
        seen = touched.stack.index_of(answer.layer)
        for n in range(1, substrate + 1):
            bounds[n] = bounds[n].narrowed(low=answer.z) if n <= seen else bounds[n].narrowed(high=answer.z)
    for bound in bounds:
        if bound.low >= bound.high:
            said = "; ".join(f'"{a.layer}" at {a.z:.4f} mm' for a in answers)
            raise InputError(f"answers contradict each other: {said}. Look again and correct them", key="answer")
    return tuple(bounds)
