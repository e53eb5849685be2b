"""Several places of one pattern, side by side."""

from __future__ import annotations

from msgspec import Struct

from holecam.shapes import Point


class CandidateReport(Struct, frozen=True):
    """One place of a pattern and what the checks say of it.

    ``reference_at`` is where the reference hole comes to lie, part frame, mm. ``margin`` is the least surplus over all
    limits that stop, ``None`` without limits; ``least_web`` the least metal between two holes; ``play_left`` the least
    play of a screw at bolt-up, ``None`` without a mate.
    """

    name: str
    reference_at: Point
    turn_deg: float
    stops: int
    cautions: int
    margin: float | None
    least_web: float | None
    goes_together: bool | None
    play_left: float | None
    plugs_met: tuple[str, ...]

    @property
    def rank(self) -> tuple[int, int, int, int, float]:
        """What the rule compares, the best first."""
        together = 0 if self.goes_together is not False else 1
        margin = -self.margin if self.margin is not None else float("-inf")
        return (self.stops, together, len(self.plugs_met), self.cautions, margin)


class Comparison(Struct, frozen=True):
    """The places of one pattern, in the order of the job, and the name of the best.

    ``reference_hole`` counts within the pattern; ``reference_words`` has both its numbers.
    """

    pattern: str
    reference_hole: int
    candidates: tuple[CandidateReport, ...]
    best: str
    rule: str
    reference_words: str = ""
