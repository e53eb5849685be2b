"""Lines and arcs drawn by lot, for tests that compare exact distances with plain ones."""

from __future__ import annotations

import math

from hypothesis import strategies as st

from holecam.shapes import Arc, Segment

places = st.tuples(st.floats(-12, 12), st.floats(-12, 12))


def arc(center: tuple[float, float], radius: float, first: float, turn: float) -> Arc:
    """Return the arc that begins at an angle and turns by another, degrees, anticlockwise above nought."""
    a, b = math.radians(first), math.radians(first + turn)
    start = (center[0] + radius * math.cos(a), center[1] + radius * math.sin(a))
    end = (center[0] + radius * math.cos(b), center[1] + radius * math.sin(b))
    return Arc(start, end, center, ccw=turn > 0)


lines = st.builds(Segment, places, places).filter(lambda s: s.length > 0.2)
arcs = st.builds(
    arc, places, st.floats(0.5, 9), st.floats(-180, 180), st.one_of(st.floats(8, 350), st.floats(-350, -8))
)
curves = st.one_of(lines, arcs)
