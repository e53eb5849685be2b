"""How a height is found: what lies between cutter and work at the touch, and how surely that is known."""

from __future__ import annotations

import math
from functools import cache

from msgspec import Struct

from holecam.errors import InputError
from holecam.standards.names import find_by_name
from holecam.standards.rectangular_doubt import standard_doubt_within
from holecam.standards.table import optional, rows, words


class TouchOff(Struct, frozen=True):
    """A way to touch off in Z.

    ``offset`` is how far the cutter's tip stands above the face at the touch, in mm (slightly negative for ink, which
    the cutter wipes); ``None`` when it is the height of a block or feeler that the user states. ``on_thin_sheet`` says
    whether it may be used on thin soft sheet, which dimples under any force.
    """

    name: str
    aliases: tuple[str, ...]
    offset: float | None
    half_width: float
    on_thin_sheet: bool
    note: str
    source: str

    @property
    def standard_uncertainty(self) -> float:
        """Half-width over the root of three (GUM 4.3.7), mm."""
        return standard_doubt_within(self.half_width)

    def offset_with(self, height: float | None) -> float:
        """Return the offset in mm; a stated height (the paper's own thickness, the block) takes the table's place.

        Raises
        ------
        InputError
            The method needs a height and none is given, or the height is not finite or negative.
        """
        if height is not None:
            if not (math.isfinite(height) and height >= 0):
                raise InputError(f"touch-off height {height} mm: expected a finite length, zero or more", key="height")
            return height
        if self.offset is None:
            raise InputError(f"touch-off with {self.name}: state its height", key="height", value=self.name)
        return self.offset


@cache
def all_touch_offs() -> tuple[TouchOff, ...]:
    """Return the table in its order."""
    return tuple(
        TouchOff(
            name=row["name"],
            aliases=words(row["aliases"]),
            offset=optional(row["offset_mm"]),
            half_width=float(row["half_width_mm"]),
            on_thin_sheet=row["on_thin_sheet"] == "yes",
            note=row["note"],
            source=row["source"],
        )
        for row in rows("touch_off")
    )


def touch_off(text: str) -> TouchOff:
    """Return the touch-off that the text names.

    Raises
    ------
    InputError
        Unknown, with the nearest names.

    Examples
    --------
    >>> touch_off("paper").offset
    0.09
    """
    return find_by_name(text, all_touch_offs(), what="touch-off")
