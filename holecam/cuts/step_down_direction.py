"""Where the teeth drive the sheet: what is said about the direction of the strokes.

Spindle clockwise seen from above. With the metal on the left of the travel a tooth enters at the wall's side with no
chip and leaves toward the cleared side: it drives the sheet along the travel and off the bend. With the metal on the
right it bites in from the cleared side and drives the sheet into the bend.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from holecam.cuts.cut_choices import Direction
from holecam.cuts.stroke_values import Stroke


class DirectionNote(Struct, frozen=True):
    """A statement about where the cut pushes: a stable ``code``, whether it is good, and the words."""

    code: str
    good: bool
    words: str


def direction_notes(
    strokes: Sequence[Stroke], *, bends: Sequence[str], direction: Direction, clamped_toward_deg: float | None
) -> tuple[DirectionNote, ...]:
    """Return what the directions of the strokes do to the sheet.

    ``strokes`` are those of the last pass, ``bends`` the names of the bends beside the cut, the one that they run along
    first; ``clamped_toward_deg`` points from the free end of the piece toward where it is held.
    """
    notes: list[DirectionNote] = []
    if bends:
        notes.append(_toward_bend(direction))
        if len(bends) > 1:
            names = ", ".join(f'"{name}"' for name in bends[1:])
            notes.append(
                DirectionNote(
                    "strokes-end-at-bend",
                    False,
                    f'The strokes run along "{bends[0]}" and end a step-over before {names}; each of '
                    "those gets a last stroke of its own. The cutter is lifted there straight up, without a pause.",
                )
            )
    lifted = [s for s in strokes if s.ends_in_metal or s.starts_in_metal]
    if lifted:
        notes.append(
            DirectionNote(
                "strokes-end-in-corner",
                False,
                f"{len(lifted)} of {len(strokes)} strokes of the last pass start or end against metal that stays: stop "
                "the feed before the corner and lift straight up.",
            )
        )
    if clamped_toward_deg is not None and strokes:
        notes.append(_toward_clamp(clamped_toward_deg, strokes))
    return tuple(notes)


def _toward_bend(direction: Direction) -> DirectionNote:
    if direction is Direction.CONVENTIONAL:
        return DirectionNote(
            "pushes-off-bend",
            True,
            "Conventional milling with the wall on the left of the travel: the teeth drive the sheet along the travel "
            "and away from the bend. A straight or left-hand helix also presses it down; a right-hand one lifts it.",
        )
    return DirectionNote(
        "pushes-toward-bend",
        False,
        "Climb milling with the wall on the right of the travel: the teeth drive the sheet toward the bend and pull "
        "the table along. Mill conventionally over a thin sheet.",
    )


def _toward_clamp(toward_deg: float, strokes: Sequence[Stroke]) -> DirectionNote:
    turn = math.radians(toward_deg)
    longest = max(strokes, key=lambda s: sum(c.length for c in s.cut))
    (x0, y0), (x1, y1) = longest.cut[0].start, longest.cut[-1].end
    ahead = (x1 - x0) * math.cos(turn) + (y1 - y0) * math.sin(turn)
    if ahead >= 0:
        return DirectionNote(
            "runs-toward-clamp", True, "The strokes run from the free end toward where the piece is held."
        )
    return DirectionNote(
        "runs-from-clamp",
        False,
        "Beside this bend, conventional strokes run from where the piece is held toward its free end: the geometry "
        "does not allow both. Hold the free end down as well, outside the cut, before the first pass.",
    )
