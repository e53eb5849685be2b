"""An interpreter of RS-274 that shares nothing with the package: program text in, moves in millimetres out.

It follows the words of ISO 6983-1 and of the published RS274/NGC interpreter report (Kramer, Proctor, Messina, NIST,
2000): modal words, arcs by I and J in the XY plane, canned cycles 81, 83 and 84 with the retract of G98. Only the words
that the documents of the project promise (``docs/programs.md``) are taken; each other one is a complaint.

Not covered: cutter compensation, other planes, other work offsets than G54, incremental distances, subprograms.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

Place = tuple[float, float, float]
Line = list[Place]

UNKNOWN = math.nan
"""A coordinate that no move has named yet."""

_WORD = re.compile(r"([A-Z])\s*([+-]?(?:\d+\.?\d*|\.\d+))")
_PLAIN_BLOCK = re.compile(r"([A-Z][+-]?(\d+\.?\d*|\.\d+)( |$))+")
_G_WORDS = frozenset(("0", "1", "2", "3", "17", "20", "21", "40", "49", "54", "80", "81", "83", "84", "90", "94", "98"))
_M_WORDS = frozenset((0, 1, 2, 3, 5, 6, 30))
_MOTIONS = ("0", "1", "2", "3", "80", "81", "83", "84")
_CHIP_BREAK_CLEARANCE = 0.25
"""How far above the last depth a rapid of G83 stops, mm: controls differ; only that it stays above the cut matters."""

RADII_AGREE_MM = 0.002
RADII_AGREE_IN = 0.0002
"""The two radii of an arc may differ by this (RS274/NGC report, section 3.5.3)."""


@dataclass(frozen=True)
class Move:
    """One straight or circular move; ``kind`` is rapid, feed, arc, tap or tap-up."""

    line: int
    kind: str
    start: Place
    end: Place
    feed: float
    speed: float
    turning: bool
    tool: int
    centre: tuple[float, float] = (UNKNOWN, UNKNOWN)
    counter_clockwise: bool = False

    @property
    def lowest(self) -> float:
        """The lower of the two heights, that of the end alone where the start is unknown."""
        return self.end[2] if math.isnan(self.start[2]) else min(self.start[2], self.end[2])

    @property
    def known(self) -> bool:
        """Whether all coordinates of both ends are known."""
        return not any(map(math.isnan, (*self.start, *self.end)))

    @property
    def cuts(self) -> bool:
        """Whether it is fed along a line or an arc."""
        return self.kind in ("feed", "arc")

    def points(self, chord: float) -> Line:
        """Return the move as a polyline whose chords leave an arc by at most ``chord`` mm."""
        return _arc_points(self, chord) if self.kind == "arc" else [self.start, self.end]

    def __str__(self) -> str:
        ends = " to ".join("({:.4f}, {:.4f}, {:.4f})".format(*p) for p in (self.start, self.end))
        return f"line {self.line}: {self.kind} {ends}"


@dataclass(frozen=True)
class Halt:
    """An M0, M1, M2, M6 or M30, with the height and the spindle at that time."""

    line: int
    word: str
    z: float
    turning: bool


@dataclass(frozen=True)
class Cycle:
    """A canned cycle at one place."""

    line: int
    word: str
    bottom: float


@dataclass
class Reading:
    """All that a program says."""

    moves: list[Move] = field(default_factory=list)
    halts: list[Halt] = field(default_factory=list)
    cycles: list[Cycle] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)
    unit: int = 0
    turning_at_end: bool = False


def interpret(text: str, *, arc_centres: str = "incremental", comments: str = "parentheses") -> Reading:
    """Return the moves of a program, in mm, and what is wrong with its words.

    ``arc_centres`` is ``incremental`` or ``absolute``; ``comments`` is ``parentheses``, ``semicolon`` or ``none``.
    """
    return _Interpreter(arc_centres, comments).run(text)


class _Interpreter:
    def __init__(self, arc_centres: str, comments: str) -> None:
        self.arc_centres, self.comments = arc_centres, comments
        self.out = Reading()
        self.at: Place = (UNKNOWN, UNKNOWN, UNKNOWN)
        self.scale = 1.0
        self.absolute = self.plane_told = self.turning = self.ended = False
        self.motion = ""
        self.feed = self.speed = 0.0
        self.tool = 0
        self.cycle_words: dict[str, float] = {}
        self.line = 0

    def run(self, text: str) -> Reading:
        for self.line, raw in enumerate(text.split("\n"), 1):
            line = raw.rstrip("\r")
            if not line.isascii() or not (line.isprintable() or not line):
                self._wrong("a character that is not printable ASCII", line)
            if line.strip() in ("", "%"):
                continue
            if self.ended:
                self._wrong("text after the end", line)
                continue
            block = self._without_comment(line).strip()
            if block and not re.fullmatch(r"O\d+", block):
                self._block(block)
        if not self.ended:
            self._wrong("no end", "")
        self.out.turning_at_end = self.turning
        return self.out

    def _wrong(self, what: str, line: str) -> None:
        self.out.complaints.append(f"line {self.line}: {what}: {line}")

    def _without_comment(self, line: str) -> str:
        if self.comments == "semicolon" and ";" in line:
            body = line.split(";", 1)[0]
            if "(" in body or ")" in body:
                self._wrong("a parenthesis where comments take a semicolon", line)
            return body
        body, inside = "", False
        for letter in line:
            if letter == "(":
                if inside:
                    self._wrong("a parenthesis in a comment", line)
                inside = True
            elif letter == ")":
                if not inside:
                    self._wrong("a stray parenthesis", line)
                inside = False
            elif not inside:
                body += letter
        if inside:
            self._wrong("a comment that does not end", line)
        if self.comments == "none" and body != line:
            self._wrong("a comment where none is wanted", line)
        return body

    def _block(self, block: str) -> None:
        if not _PLAIN_BLOCK.fullmatch(block):
            self._wrong("not plain words with one space between", block)
        if _WORD.sub("", block).strip():
            self._wrong("something that is no word", block)
        g_words: list[str] = []
        m_words: list[int] = []
        words: dict[str, float] = {}
        for letter, number in _WORD.findall(block):
            if letter == "G":
                g_words.append(number)
            elif letter == "M":
                m_words.append(int(float(number)))
            elif letter in words:
                self._wrong("a word twice", block)
            else:
                words[letter] = float(number)
        if not _G_WORDS.issuperset(g_words) or not _M_WORDS.issuperset(m_words):
            self._wrong("a G or M word that is not promised", block)
        self._modes(g_words)
        words.pop("N", None)
        if "T" in words:
            self.tool = int(words.pop("T"))
        if "F" in words:
            self.feed = words.pop("F") * self.scale
        if "S" in words:
            self.speed = words.pop("S")
        if 3 in m_words:
            self.turning = True
        if 5 in m_words:
            self.turning = False
        for word in m_words:
            if word in (0, 1, 2, 6, 30):
                self.out.halts.append(Halt(self.line, f"M{word}", self.at[2], self.turning))
        self._motion(g_words, words, block)
        self.ended = 2 in m_words or 30 in m_words

    def _modes(self, g_words: list[str]) -> None:
        for word, scale in (("20", 25.4), ("21", 1.0)):
            if word in g_words:
                self.out.unit, self.scale = int(word), scale
        self.absolute |= "90" in g_words
        self.plane_told |= "17" in g_words

    def _motion(self, g_words: list[str], words: dict[str, float], block: str) -> None:
        told = [word for word in g_words if word in _MOTIONS]
        axes = [letter for letter in "XYZ" if letter in words]
        if len(told) > 1:
            self._wrong("two motions", block)
        if told:
            self.motion = told[0]
            if self.motion in ("0", "1", "2", "3") and not axes:
                self._wrong("a motion word without an axis word", block)
            if self.motion == "80":
                self.cycle_words = {}
        if not axes:
            if words:
                self._wrong("words without use", block)
            return
        if not self.out.unit or not self.absolute:
            self._wrong("a motion before unit and distance mode are told", block)
        if self.motion in ("81", "83", "84"):
            self._cycle(words, block)
        elif self.motion in ("0", "1"):
            self._add("rapid" if self.motion == "0" else "feed", self._target(words))
            if set(words) - set("XYZ"):
                self._wrong("words without use", block)
        elif self.motion in ("2", "3"):
            self._arc(words, block)
        else:
            self._wrong("axis words without a motion", block)

    def _target(self, words: dict[str, float]) -> Place:
        x, y, z = (words[a] * self.scale if a in words else self.at[i] for i, a in enumerate("XYZ"))
        return (x, y, z)

    def _add(self, kind: str, end: Place, centre: tuple[float, float] = (UNKNOWN, UNKNOWN), ccw: bool = False) -> None:
        self.out.moves.append(
            Move(self.line, kind, self.at, end, self.feed, self.speed, self.turning, self.tool, centre, ccw)
        )
        self.at = end

    def _arc(self, words: dict[str, float], block: str) -> None:
        end = self._target(words)
        i, j = words.get("I", 0.0) * self.scale, words.get("J", 0.0) * self.scale
        centre = (i, j) if self.arc_centres == "absolute" else (self.at[0] + i, self.at[1] + j)
        if not {"I", "J"} & set(words) or (self.arc_centres == "absolute" and not {"I", "J"} <= set(words)):
            self._wrong("an arc without its centre", block)
        if not self.plane_told:
            self._wrong("an arc before its plane is told", block)
        off = abs(math.dist(self.at[:2], centre) - math.dist(end[:2], centre))
        allowed = RADII_AGREE_IN * 25.4 if self.out.unit == 20 else RADII_AGREE_MM
        if not off <= allowed + 1e-9:
            self._wrong(f"the radii of an arc differ by {off:.4f} mm", block)
        self._add("arc", end, centre, self.motion == "3")

    def _cycle(self, words: dict[str, float], block: str) -> None:
        """Expand a cycle as the report does: across at the height it starts from, down to R, drill, back (G98)."""
        self.cycle_words |= {a: words[a] * self.scale for a in "ZRQ" if a in words}
        start = self.at[2]
        if math.isnan(start) or not {"Z", "R"} <= set(self.cycle_words):
            self._wrong("a cycle whose heights are not known", block)
            return
        retract, bottom = self.cycle_words["R"], self.cycle_words["Z"]
        x, y, _ = self._target({a: words[a] for a in "XY" if a in words})
        if retract > start:
            self._add("rapid", (self.at[0], self.at[1], retract))
        self._add("rapid", (x, y, self.at[2]))
        if self.at[2] != retract:
            self._add("rapid", (x, y, retract))
        if self.motion == "83":
            self._pecks(x, y, retract, bottom, block)
        else:
            self._add("feed" if self.motion == "81" else "tap", (x, y, bottom))
        self.out.cycles.append(Cycle(self.line, f"G{self.motion}", bottom))
        self._add("rapid" if self.motion != "84" else "tap-up", (x, y, max(start, retract)))

    def _pecks(self, x: float, y: float, retract: float, bottom: float, block: str) -> None:
        peck = self.cycle_words.get("Q", 0.0)
        if peck <= 0.0:
            self._wrong("a peck of nothing", block)
            return
        depth = retract
        while depth > bottom + 1e-9:
            following = max(bottom, depth - peck)
            if depth < retract:
                self._add("rapid", (x, y, min(retract, depth + _CHIP_BREAK_CLEARANCE)))
            self._add("feed", (x, y, following))
            if following > bottom:
                self._add("rapid", (x, y, retract))
            depth = following


def _arc_points(move: Move, chord: float) -> Line:
    (ax, ay, az), (bx, by, bz) = move.start, move.end
    cx, cy = move.centre
    first, last = math.hypot(ax - cx, ay - cy), math.hypot(bx - cx, by - cy)
    begin = math.atan2(ay - cy, ax - cx)
    sweep = (math.atan2(by - cy, bx - cx) - begin) % math.tau
    if not move.counter_clockwise:
        sweep -= math.tau
        sweep = -math.tau if sweep > -1e-9 else sweep
    elif sweep < 1e-9:
        sweep = math.tau
    step = max(2.0 * math.acos(1.0 - chord / first), 1e-3) if first > chord else 1.0
    count = max(2, math.ceil(abs(sweep) / step))
    inner: Line = []
    for k in range(1, count):
        share = k / count
        radius, angle = first + (last - first) * share, begin + sweep * share
        inner.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle), az + (bz - az) * share))
    return [move.start, *inner, move.end]
