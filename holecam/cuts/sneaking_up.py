"""Sneaking up on a size: the stages, what to measure after each, and how the next offset follows from it."""

from __future__ import annotations

from msgspec import Struct

from holecam.cuts.cut_choices import SneakWish
from holecam.errors import InputError


class Stage(Struct, frozen=True):
    """A stage and what it leaves on each wall, mm; stage 0 is the undersize cut, the last one leaves nothing."""

    number: int
    side_allowance: float
    last: bool


def stages(wish: SneakWish) -> tuple[Stage, ...]:
    """Return the undersize cut and the clean-up passes, which take equal amounts off each wall."""
    side = wish.undersize / 2
    return tuple(Stage(k, side * (wish.steps - k) / wish.steps, k == wish.steps) for k in range(wish.steps + 1))


def check_undersize(what: str, undersize: float, narrowest: float, diameter: float) -> None:
    """Refuse an undersize cut that the cutter does not enter.

    Raises
    ------
    InputError
        The undersize leaves less room than the cutter needs.
    """
    if narrowest - undersize < diameter - 1e-9:
        raise InputError(
            f"{what}: undersize {undersize:.3f} mm leaves {narrowest - undersize:.3f} mm, the cutter has "
            f"{diameter:.3f} mm. Start at most {max(narrowest - diameter, 0.0):.3f} mm undersize, or take a smaller "
            "cutter.",
            key="undersize",
        )


def measure_words(what: str, size: float, allowance: float, thing: str) -> str:
    """Return what to measure at the stop after a stage."""
    tried = f"; then try {thing} in it" if thing else ""
    if allowance > 0:
        return (
            f"Measure the width of {what} at both ends and in the middle with a calliper: {size:.3f} mm is meant"
            f"{tried}. Stop here when it fits."
        )
    return f"Measure the width of {what} at both ends and in the middle: {size:.3f} mm is wanted{tried}."


def rule_words(target: float) -> str:
    """Return the rule for the next offset in words."""
    return f"next side offset = ({target:.3f} - measured) / 2 on each side, mm; a negative result: it is wide enough"
