"""The body of a cutter: how high its surface lies above its tip, at each distance from its axis."""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from holecam.plan.motions import ToolKind, ToolUse
from holecam.program.moves import Floats

POINTED = (ToolKind.TWIST_DRILL, ToolKind.SPOT_DRILL, ToolKind.COUNTERSINK)


class Body(Struct, frozen=True):
    """A cutter that turns: flat, bull-nosed, ball-ended or pointed, with a straight flank above.

    ``radius`` mm; ``corner_radius`` mm, 0 for a sharp corner; ``cone`` is the rise per mm of the point, 0 for none.
    """

    radius: float
    corner_radius: float = 0.0
    cone: float = 0.0

    def rise(self, away: Floats) -> Floats:
        """Return the height of the surface above the tip at distances from the axis, mm; inf outside the body.

        Flat: 0. Corner radius rc: ``rc - sqrt(rc^2 - (away - (R - rc))^2)`` beyond R - rc. Point of angle a:
        ``away / tan(a / 2)``.

        >>> import numpy as np
        >>> Body(5.0, corner_radius=5.0).rise(np.array([0.0, 3.0, 5.1])).tolist()      # a ball of 10 mm
        [0.0, 1.0, inf]
        """
        height = self.cone * away
        if self.corner_radius:
            over = np.clip(away - (self.radius - self.corner_radius), 0.0, self.corner_radius)
            height = self.corner_radius - np.sqrt(self.corner_radius**2 - over**2)
        return np.where(away < self.radius, height, np.inf)

    def rise_at(self, away: float) -> float:
        """Return the same for one distance."""
        if not away < self.radius:
            return math.inf
        if self.corner_radius:
            over = min(max(away - (self.radius - self.corner_radius), 0.0), self.corner_radius)
            return self.corner_radius - math.sqrt(self.corner_radius**2 - over**2)
        return self.cone * away


def body_of(tool: ToolUse) -> Body:
    """Return the body of a tool; a tap, a reamer and a counterbore are taken as flat-ended, which errs safe."""
    cone = 0.0
    if tool.kind in POINTED and tool.point_angle_deg is not None and tool.point_angle_deg < 180:
        cone = 1.0 / math.tan(math.radians(tool.point_angle_deg) / 2)
    return Body(tool.diameter / 2, tool.corner_radius, cone)


def grown(body: Body, by: float) -> Body:
    """Return the body with a greater radius: a wish for more room to the side."""
    return Body(body.radius + by, min(body.corner_radius, body.radius + by), body.cone)


def deeper_by(cut: Body, following: Body) -> float:
    """Return how much deeper a cut must have gone for another body to come after it through air; inf if it never does.

    The greatest difference of both surfaces within the following body: exact for flat ends and points; with a corner
    radius looked for at 257 distances from the axis and rounded up by what it can change between two of them.

    >>> deeper_by(Body(3.0), Body(2.0)), deeper_by(Body(1.0), Body(2.0))        # a greater, and a smaller, end mill
    (0.0, inf)
    """
    if cut.radius < following.radius - SAME_SIZE:
        return math.inf
    if cut.corner_radius == 0 and (cut.cone == 0 or following.corner_radius == 0):
        return max(0.0, (cut.cone - following.cone) * min(cut.radius, following.radius))
    away = np.linspace(0.0, min(following.radius, cut.radius) * (1 - 1e-12), 257)
    ours, theirs = cut.rise(away), following.rise(away)
    worst = float((ours[1:] - theirs[:-1]).max())  # both surfaces rise outwards
    return max(0.0, worst) if cut != following else 0.0


SAME_SIZE = 1e-6
"""mm. Diameters that differ by less are one diameter: arithmetic noise."""

UNKNOWN_BODY = Body(1e-6)
"""A tool that nobody described is followed as a thin needle; the check says so."""
