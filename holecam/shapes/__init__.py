"""Exact plane shapes as frozen values: segments, arcs, circles, closed outlines, and the motions that carry them."""

from holecam.shapes.angles import cos_sin_deg, direction_deg, half_turn_range
from holecam.shapes.curves import Arc, Circle, Curve, Point, Segment, distance
from holecam.shapes.outline import Outline, circle_outline, outline_through, rectangle, total_bounds
from holecam.shapes.placement import Placement

__all__ = [
    "Arc",
    "Circle",
    "Curve",
    "Outline",
    "Placement",
    "Point",
    "Segment",
    "circle_outline",
    "cos_sin_deg",
    "direction_deg",
    "distance",
    "half_turn_range",
    "outline_through",
    "rectangle",
    "total_bounds",
]
