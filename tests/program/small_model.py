"""A small, slow, independent model of a mill: what a program would do, as points in space.

It knows only the words that the project's writer uses, shares no code with the package, and judges by sampling: where
does the tool cut, with which tool, speed and feed, how much metal does it meet there, where does it go by rapid, what
had been done when it stopped. Two programs that leave the same traces do the same work.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

import numpy as np
from scipy.spatial import cKDTree

SPACING = 0.25
"""mm between samples of a cut, unless told otherwise."""

CELL = 0.02
"""mm. Places in plan nearer than this are one place."""


class BrokenError(Exception):
    """The program is not one that this model, or a control, would run."""


@dataclass
class Trace:
    """What a program does: samples of cuts, rapids, stops, end.

    A sample is x, y, z, tool, rpm, feed, metal met since the chips were cleared, metal met.
    """

    cuts: list[tuple[float, ...]] = field(default_factory=list)
    low_rapids: int = 0
    rapids_into_metal: int = 0
    stops: list[tuple[str, frozenset[tuple[int, int, int, int]], bool]] = field(default_factory=list)
    halts_in_metal: int = 0
    ended: bool = False
    visited: list[tuple[float, float, float, float]] = field(default_factory=list)
    heights: list[float] = field(default_factory=list)


class Mill:
    """Runs a program word by word."""

    def __init__(self, safe: float, top: float, drills: set[int], spacing: float = SPACING) -> None:
        self.safe, self.top, self.drills, self.spacing = safe, top, drills, spacing
        self.trace = Trace()
        self.at: list[float | None] = [None, None, None]
        self.scale: float | None = None
        self.absolute: bool | None = None
        self.mode = ""
        self.feed = 0.0
        self.rpm = 0.0
        self.on = False
        self.tool = 0
        self.next_tool = 0
        self.depth: dict[tuple[int, int], float] = {}
        self.since_out = 0.0
        self.sticky: dict[str, float] = {}
        self.length_known = True
        self.unclear = False
        self.sequence_top = 0.0

    def run(self, text: str) -> Trace:
        for line in text.split("\n"):
            code = re.sub(r"\(.*\)", "", line).strip()
            if not code or code == "%":
                continue
            if self.trace.ended:
                raise BrokenError("text after the end")
            self.line(code)
        if not self.trace.ended:
            raise BrokenError("no end")
        return self.trace

    def line(self, code: str) -> None:
        words = [(w[0], w[1:]) for w in code.split()]
        letters = [w for w, _ in words if w not in "GM"]
        if len(set(letters)) != len(letters):
            raise BrokenError("a word twice")
        g = [v for w, v in words if w == "G"]
        m = [v for w, v in words if w == "M"]
        for group in (
            {"0", "1", "2", "3", "80", "81", "83"},
            {"20", "21"},
            {"90", "91"},
            {"98", "99"},
            {"17"},
            {"40"},
            {"49"},
            {"54"},
            {"94"},
        ):
            if sum(v in group for v in g) > 1:
                raise BrokenError("two of a group")
        for group in ({"3", "5"}, {"0", "1", "30"}, {"6"}):
            if sum(v in group for v in m) > 1:
                raise BrokenError("two of a group")
        v = {w: float(x) for w, x in words if w not in "GM"}
        if "F" in v:
            if self.scale is None:
                raise BrokenError("feed before units")
            self.feed = v["F"] * self.scale
        if "S" in v:
            self.rpm = v["S"]
        if "T" in v:
            self.next_tool = int(v["T"])
        if "6" in m:
            if not self.next_tool:
                raise BrokenError("no tool")
            self.length_known = not self.tool  # the first tool was set before the program began
            self.tool, self.on, self.at = self.next_tool, False, [None, None, None]
        if "3" in m:
            self.on = True
        if "5" in m:
            self.on = False
        if "20" in g or "21" in g:
            self.scale = 25.4 if "20" in g else 1.0
        if "90" in g or "91" in g:
            self.absolute = "90" in g
        self.motion(g, v)
        z = self.at[2]
        if {"0", "1", "30"} & set(m) and self.trace.cuts and z is not None and z < self.top - 0.01:
            self.trace.halts_in_metal += 1
        if "0" in m or "1" in m:
            done = frozenset(
                (round(c[0] / 0.2), round(c[1] / 0.2), round(c[2] / 0.2), int(c[3])) for c in self.trace.cuts
            )
            self.length_known = self.length_known or "0" in m
            self.trace.stops.append(("M0" if "0" in m else "M1", done, self.on))
        if "30" in m:
            self.trace.ended = True

    def motion(self, g: list[str], v: dict[str, float]) -> None:
        axes = [a for a in "XYZ" if a in v]
        new = [x for x in g if x in ("0", "1", "2", "3", "80", "81", "83")]
        used = set("FST")
        if new == ["80"]:
            if axes:
                raise BrokenError("axes beside G80")
            self.mode, self.sticky = "", {}
        elif new and not axes:
            raise BrokenError("motion without axes")
        elif new:
            if new[0] != self.mode:
                self.sticky = {}
            self.mode = new[0]
        elif axes and not self.mode:
            raise BrokenError("axes without motion")
        if axes:
            if not self.length_known:
                raise BrokenError("a move with a tool whose length is not set")
            if self.scale is None or self.absolute is not True:
                raise BrokenError("units or distance mode not stated, or not absolute")
            used |= set("XYZ")
            if self.mode in ("0", "1"):
                self.straight(v)
            elif self.mode in ("2", "3"):
                used |= set("IJ")
                self.arc(v)
            else:
                used |= set("RQ") if self.mode == "83" else set("R")
                self.cycle(v)
        if set(v) - used:
            raise BrokenError("a word without a use")

    def target(self, v: dict[str, float]) -> list[float | None]:
        scale = self.scale or 1.0
        return [v[a] * scale if a in v else self.at[k] for k, a in enumerate("XYZ")]

    def straight(self, v: dict[str, float]) -> None:
        end = self.target(v)
        if self.mode == "0":
            self.rapid(end)
            return
        if self.feed <= 0:
            raise BrokenError("a feed move without a feed")
        if None in self.at or None in end:
            raise BrokenError("a cut from nowhere")
        a, b = np.array(self.at, float), np.array(end, float)
        n = max(2, math.ceil(float(np.linalg.norm(b - a)) / self.spacing) + 1)
        self.cut(a + np.linspace(0, 1, n)[:, None] * (b - a))
        self.at = end

    def arc(self, v: dict[str, float]) -> None:
        end = self.target(v)
        if None in self.at or None in end or not ("I" in v or "J" in v) or not ("X" in v or "Y" in v):
            raise BrokenError("an arc without its words")
        scale = self.scale or 1.0
        (x0, y0, z0), (x1, y1, z1) = self.at, end
        cx, cy = x0 + v.get("I", 0) * scale, y0 + v.get("J", 0) * scale
        r0, r1 = math.hypot(x0 - cx, y0 - cy), math.hypot(x1 - cx, y1 - cy)
        if r0 < 1e-9 or abs(r0 - r1) > (0.0002 * 25.4 if scale > 1 else 0.002) + 1e-9:
            raise BrokenError("radii differ")
        t0 = math.atan2(y0 - cy, x0 - cx)
        turn = (math.atan2(y1 - cy, x1 - cx) - t0) % (2 * math.pi)
        if math.hypot(x1 - x0, y1 - y0) < 1e-9:
            turn = 2 * math.pi if self.mode == "3" else 0.0
        if self.mode == "2":
            turn -= 2 * math.pi
        share = np.linspace(0, 1, max(3, math.ceil(abs(turn) * r0 / self.spacing) + 1))
        t = t0 + share * turn
        self.cut(np.column_stack((cx + r0 * np.cos(t), cy + r0 * np.sin(t), z0 + share * (z1 - z0))))
        self.at = end

    def cycle(self, v: dict[str, float]) -> None:
        scale = self.scale or 1.0
        for w in "ZRQ":
            if w in v:
                self.sticky[w] = v[w] * scale
        if "first" not in self.sticky:
            self.sticky["first"], self.unclear = 1.0, False
            self.sequence_top = self.at[2] or 0.0
        if "Z" not in self.sticky or "R" not in self.sticky or (self.mode == "83" and self.sticky.get("Q", 0) <= 0):
            raise BrokenError("a cycle without its words")
        bottom, top = self.sticky["Z"], self.sticky["R"]
        high = self.at[2]
        if high is None or top < bottom:
            raise BrokenError("a cycle from nowhere")
        if high < top:
            self.unclear = True  # before the line or before the first hole? Controls return to different heights
        elif self.unclear and high > self.sequence_top:
            raise BrokenError("a return height that controls read differently")
        if high < top:
            self.rapid([self.at[0], self.at[1], top])
        x, y, _ = self.target(v)
        if x is None or y is None:
            raise BrokenError("a cycle from nowhere")
        self.rapid([x, y, self.at[2]])
        self.rapid([x, y, top])
        reached = top
        while reached > bottom:
            nearer = bottom if self.mode == "81" else max(bottom, reached - self.sticky["Q"])
            n = max(2, math.ceil((reached - nearer) / self.spacing) + 1)
            self.cut(np.column_stack((np.full(n, x), np.full(n, y), np.linspace(reached, nearer, n))))
            self.rapid([x, y, top])
            reached = nearer
        self.rapid([x, y, max(high, top)])

    def rapid(self, end: list[float | None]) -> None:
        z0, z1 = self.at[2], end[2]
        sideways = any(e is not None and e != a for e, a in zip(end[:2], self.at[:2], strict=True))
        if z1 is None or (sideways and z0 is None):
            raise BrokenError("a rapid at an unknown height")
        lowest = min(z for z in (z0, z1) if z is not None)
        if sideways and lowest < self.safe - 0.01:
            self.trace.low_rapids += 1
        if None in end[:2] and z1 < self.safe - 0.01:
            raise BrokenError("down at an unknown place")
        if None not in end and z1 < self.top - 0.01 and (sideways or z0 is None or z1 < z0):
            cell = (round(end[0] / CELL), round(end[1] / CELL))
            if z1 < self.depth.get(cell, self.top) - 0.01:
                self.trace.rapids_into_metal += 1
        if z1 >= self.top:
            self.since_out = 0.0
        start, self.at = self.at, end
        if None not in end:
            steps = np.linspace(0, 1, 1 if None in start else max(2, math.ceil(math.dist(start, end)) + 1))
            a, b = np.array(end if None in start else start, float), np.array(end, float)
            self.trace.visited += [(*(a + s * (b - a)).tolist(), self.tool) for s in steps]
        elif z1 is not None:
            self.trace.heights.append(z1)

    def cut(self, points: np.ndarray) -> None:
        for x, y, z in points.tolist():
            self.trace.visited.append((x, y, z, self.tool))
            if z >= self.top - 0.005:
                self.since_out = 0.0
                continue
            if not self.on or self.rpm <= 0 or self.feed <= 0:
                raise BrokenError("a cut without spindle or feed")
            cell = (round(x / CELL), round(y / CELL))
            metal = self.depth.get(cell, self.top) - z
            if self.tool in self.drills:
                self.since_out = self.since_out + max(0.0, metal)
                self.trace.cuts.append((x, y, z, self.tool, self.rpm, self.feed, self.since_out, metal))
            else:
                self.trace.cuts.append((x, y, z, self.tool, self.rpm, self.feed, metal, metal))
            if metal > 0:
                self.depth[cell] = z


@dataclass
class Limits:
    """What the model knows of limits: boxes only."""

    travel: dict[str, tuple[float, float]] = field(default_factory=dict)
    lengths: dict[str, float] = field(default_factory=dict)
    floors: list[tuple[tuple[float, float, float, float] | None, float]] = field(default_factory=list)
    walls: list[tuple[tuple[float, float, float, float], float]] = field(default_factory=list)
    tools: dict[int, tuple[float, float]] = field(default_factory=dict)  # radius, rise a mm from the axis
    flutes: dict[int, float] = field(default_factory=dict)
    speeds: tuple[float, float] = (0.0, 1e9)


def broken_limit(trace: Trace, limits: Limits) -> str:
    """Return which limit a program breaks, or an empty text."""
    points = np.array(trace.visited).reshape(-1, 4)
    for k, axis in enumerate("xyz"):
        values = points[:, k]
        if axis == "z":
            values = np.concatenate((values, trace.heights))
        if axis in limits.travel and (values.min() < limits.travel[axis][0] or values.max() > limits.travel[axis][1]):
            return f"travel of {axis}"
        if axis in limits.lengths and np.ptp(values) > limits.lengths[axis]:
            return f"travel of {axis}"
    for box, height in [*limits.floors, *limits.walls]:
        for tool, (radius, slope) in limits.tools.items():
            mine = points[points[:, 3] == tool]
            away = np.zeros(len(mine))
            if box is not None:
                x0, y0, x1, y1 = box
                away = np.hypot(
                    np.maximum(np.maximum(x0 - mine[:, 0], mine[:, 0] - x1), 0),
                    np.maximum(np.maximum(y0 - mine[:, 1], mine[:, 1] - y1), 0),
                )
            if ((away < radius - 0.003) & (mine[:, 2] + slope * away < height - 0.001)).any():
                return f"under {height}"
    cuts = np.array(trace.cuts).reshape(-1, 8)
    for tool, flute in limits.flutes.items():
        if (cuts[cuts[:, 3] == tool][:, 2] < -flute).any():
            return "deeper than the flutes"
    if len(cuts) and (cuts[:, 4].min() < limits.speeds[0] or cuts[:, 4].max() > limits.speeds[1]):
        return "speed"
    return ""


def same_work(planned: Trace, damaged: Trace, spacing: float = SPACING) -> str:
    """Return an empty text if the damaged program does the same work, or what is different."""
    if damaged.low_rapids > planned.low_rapids:
        return "a low rapid"
    if damaged.rapids_into_metal > planned.rapids_into_metal:
        return "a rapid into metal"
    if damaged.halts_in_metal > planned.halts_in_metal:
        return "it stands still in the metal"
    a, b = np.array(planned.cuts), np.array(damaged.cuts).reshape(-1, 8)
    if not len(b):
        return "nothing is cut"
    # Tools apart: the same place cut by another tool is other work
    far = np.array([0, 0, 0, 1000.0])
    keys_a = np.column_stack((a[:, :3], a[:, 3])) * np.where(far > 0, far, 1)
    keys_b = np.column_stack((b[:, :3], b[:, 3])) * np.where(far > 0, far, 1)
    off, near = cKDTree(keys_a).query(keys_b)
    if ((off > spacing) & (b[:, 7] > 0.005)).any():
        return "a cut that is not planned"
    if ((cKDTree(keys_b).query(keys_a)[0] > spacing) & (a[:, 7] > 0.005)).any():
        return "a planned cut is missing"
    if (np.abs(b[:, 4] - a[near, 4]) > 1).any():
        return "another speed"
    # Feeds may change at corners: any planned sample near by will do
    tree = cKDTree(keys_a)
    for k in np.flatnonzero(np.abs(b[:, 5] / a[near, 5] - 1) > 0.02):
        around = tree.query_ball_point(keys_b[k], 1.5 * spacing)
        if not (np.abs(a[around, 5] / b[k, 5] - 1) <= 0.02).any():
            return "another feed"
    if b[:, 6].max() > a[:, 6].max() + 0.05:
        return "more metal at once"
    if [s[0] for s in planned.stops] != [s[0] for s in damaged.stops]:
        return "other stops"
    for (_, done_a, on_a), (_, done_b, on_b) in zip(planned.stops, damaged.stops, strict=True):
        if len(done_a ^ done_b) > 0.02 * len(done_a) + 2:
            return "a stop at another time"
        if on_b and not on_a:
            return "the spindle turns at a stop"
    return ""
