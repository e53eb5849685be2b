"""Random machines, dialects and skewed set-ups for jobs that are cut, with what they promise."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shop_figures import INCH, ShopFigures, Turned


@dataclass(frozen=True)
class Dialect:
    """How programs are written; the words are those of ``[machine.program]``."""

    unit: str
    decimals: int
    cycles: str = "canned"
    arcs: str = "arcs"
    arc_centres: str = "incremental"
    comments: str = "parentheses"
    ending: str = "M30"
    line_numbers: int = 0

    @property
    def grid(self) -> float:
        """The least step of a written coordinate, mm."""
        return float((INCH if self.unit == "in" else 1.0) * 10.0**-self.decimals)


@dataclass(frozen=True)
class CncSetup:
    """What a machine and a set-up promise; lengths in mm."""

    unit: str
    readout: float
    safe_height: float
    speeds: tuple[float, float] | None
    steps: tuple[int, ...]
    fastest_feed: float | None
    dialect: Dialect
    skew: Turned
    text: tuple[str, ...]
    """The lines ``[machine]`` and ``[machine.program]``."""
    skew_text: tuple[str, ...]
    """The lines ``[setup.skew]``, none where the part lies square."""


def draw_setup(figures: ShopFigures) -> CncSetup:
    """Return a random set-up."""
    draw = figures.random
    lines = ["[machine]", 'kind = "cnc"']
    readout = figures.pick((0.0005 * INCH, 0.001 * INCH) if figures.unit == "in" else (0.005, 0.01, 0.001))
    lines.append(f"readout = {figures.text(readout)}")
    safe = INCH / 2 if figures.unit == "in" else 12.0
    if figures.chance(0.75):
        safe = figures.pick((12.0, 15.0, 8.0))
        lines.append(f"safe_height = {figures.text(safe)}")
    slowest, fastest = draw.choice((60, 100, 120, 300)), draw.choice((1200, 2800, 5000, 10000, 24000))
    speeds, steps = None, tuple[int, ...]()
    if figures.chance(0.8):
        speeds = (float(slowest), float(fastest))
        words = f"slowest = {slowest}, fastest = {fastest}"
        if figures.chance(0.3):
            between = {int(slowest * (fastest / slowest) ** (i / 5)) for i in range(1, 5)}
            steps = tuple(sorted({slowest, fastest} | between))
            words += f", steps = {list(steps)}"
        lines.append(f"spindle = {{ {words} }}")
    fastest_feed = None
    if figures.chance(0.4):
        fastest_feed = figures.pick((200.0, 500.0, 1000.0))
        lines.append(f"fastest_feed = {figures.text(fastest_feed)}")
    if figures.chance(0.3):
        lines.append(f'rigidity = "{draw.choice(("light", "ordinary", "stiff"))}"')
    if figures.chance(0.3):
        lines.append(f"backlash = {figures.text(figures.pick((0.0, 0.02, 0.1, 0.2)))}")
    if figures.chance(0.35):
        lines.append("rigid_tapping = true")
    if figures.chance(0.3):
        lines.append(f"runout = {figures.text(0.025)}")
    dialect = _draw_dialect(figures, lines)
    skew, skew_text = _draw_skew(figures)
    return CncSetup(
        figures.unit, readout, safe, speeds, steps, fastest_feed, dialect, skew, tuple(lines), tuple(skew_text)
    )


def _draw_dialect(figures: ShopFigures, lines: list[str]) -> Dialect:
    draw = figures.random
    told: dict[str, str] = {}
    choices: tuple[tuple[str, tuple[str, ...], float], ...] = (
        ("unit", ("in", "mm"), 0.4),
        ("cycles", ("canned", "long-hand"), 0.5),
        ("arcs", ("arcs", "lines"), 0.25),
        ("arc_centres", ("incremental", "absolute"), 0.4),
        ("comments", ("parentheses", "semicolon", "none"), 0.4),
        ("ending", ("M30", "M2", "M30 and percent signs", "M2 and percent signs"), 0.4),
        ("tool_change", ("change", "stop"), 0.5),
        ("programs", ("one per tool", "one with all"), 0.4),
        ("step_down_programs", ("one per pass", "one with stops"), 0.3),
    )
    for key, values, share in choices:
        if figures.chance(share):
            told[key] = draw.choice(values)
    numbers: dict[str, int] = {}
    if figures.chance(0.3):
        numbers["line_numbers"] = draw.choice((1, 5, 10))
    if figures.chance(0.3):
        numbers["program_number"] = draw.randint(1, 9999)
    unit = told.get("unit", figures.unit)
    decimals = 4 if unit == "in" else 3
    if figures.chance(0.25):
        decimals = numbers["decimals"] = draw.choice((3, 4, 5) if unit == "in" else (2, 3, 4))
    if told or numbers:
        lines.append("[machine.program]")
        lines += [f'{key} = "{value}"' for key, value in told.items()]
        lines += [f"{key} = {number}" for key, number in numbers.items()]
    kept = {k: v for k, v in told.items() if k in ("cycles", "arcs", "arc_centres", "comments", "ending")}
    return Dialect(unit=unit, decimals=decimals, line_numbers=numbers.get("line_numbers", 0), **kept)


def _draw_skew(figures: ShopFigures) -> tuple[Turned, list[str]]:
    """Touch two points of an edge: the part lies turned by the angle of their line, its origin where it was read."""
    if not figures.chance(0.4):
        return Turned(), []
    draw = figures.random
    angle = math.radians(draw.uniform(-3.0, 3.0))
    origin = (figures.between(-5.0, 5.0), figures.between(-5.0, 5.0))
    first = figures.exact_point((10.0, 1.0))
    along = draw.choice(("+x", "+x", "+y"))
    away = angle if along == "+x" else angle + math.pi / 2
    second = figures.exact_point((first[0] + 90.0 * math.cos(away), first[1] + 90.0 * math.sin(away)))
    angle = math.atan2(second[1] - first[1], second[0] - first[0]) - (0.0 if along == "+x" else math.pi / 2)
    lines = [
        "[setup.skew]",
        (
            f"edge = {{ first = {figures.pair(first)}, second = {figures.pair(second)}, "
            f'along = "{along}", origin_reads = {figures.pair(origin)} }}'
        ),
        'found_by = "edge finder"',
    ]
    return Turned(angle, origin), lines


@dataclass(frozen=True)
class EndMill:
    """A cutter of the job; lengths in mm."""

    name: str
    diameter: float
    flutes: int
    centre_cutting: bool
    material: str = ""
    corner_radius: float = 0.0

    @property
    def radius(self) -> float:
        """Half the diameter."""
        return self.diameter / 2.0


def tools_text(figures: ShopFigures, mills: tuple[EndMill, ...]) -> list[str]:
    """Return the lines ``[tools]``."""
    entries = []
    for mill in mills:
        entry = f'name = "{mill.name}", diameter = {figures.text(mill.diameter)}, flutes = {mill.flutes}'
        if not mill.centre_cutting:
            entry += ", centre_cutting = false"
        if mill.corner_radius:
            entry += f', kind = "bull-nose", corner_radius = {figures.text(mill.corner_radius)}'
        if mill.material:
            entry += f', material = "{mill.material}"'
        entries.append(f"{{ {entry} }}")
    return [
        "[tools]",
        'drills = ["number", "letter", "fraction", "metric"]',
        *([f"end_mills = [{', '.join(entries)}]"] if entries else []),
    ]


def part_text(figures: ShopFigures, *, material: str, thickness: float, size: tuple[float, float]) -> list[str]:
    """Return the lines ``[part]`` of a rectangular part with its corner at the origin."""
    return [
        "[part]",
        f'material = "{material}"',
        f"thickness = {figures.text(thickness)}",
        f"outline = {{ rectangle = {figures.pair(size)} }}",
    ]


def head_text(figures: ShopFigures, title: str) -> list[str]:
    """Return the first lines of a job."""
    return [f'title = "Invented: {title}"', f'unit = "{figures.unit}"', 'notes = ["Invented example."]']


@dataclass(frozen=True)
class Cutting:
    """What a job says of the cutting itself, ``None`` where it leaves it to the tool; lengths in mm."""

    step_depth: float | None = None
    chip: float | None = None


def draw_cutting(figures: ShopFigures) -> tuple[Cutting, list[str]]:
    """Return random wishes for a slot or pocket and their line."""
    words = []
    step_depth = chip = None
    if figures.chance(0.5):
        words.append(f'direction = "{figures.random.choice(("climb", "conventional"))}"')
    if figures.chance(0.3):
        step_depth = figures.pick((1.0, 1.5, 2.0))
        words.append(f"step_depth = {figures.text(step_depth)}")
    if figures.chance(0.2):
        words.append(f"finish = {figures.text(figures.pick((0.1, 0.2)))}")
    if figures.chance(0.2):
        chip = figures.pick((0.02, 0.03))
        words.append(f"chip = {figures.text(chip)}")
    return Cutting(step_depth, chip), [f"cutting = {{ {', '.join(words)} }}"] if words else []
