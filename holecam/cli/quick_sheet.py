"""Quick coordinate sheets without a job file: what circle, line and grid share."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

import typer
from msgspec import Struct

from holecam.errors import InputError
from holecam.layout.patterns import PatternPoints
from holecam.layout.placing import MirrorLine, PlacedPattern, placed
from holecam.lengths import MM_PER_UNIT, Unit, counts, exact, length_text, parse_length, reading_text
from holecam.lengths.dials import GREATEST_LEAD, LEAST_LEAD, Dial, DialSetting, dial_setting
from holecam.lengths.parsing import unit_named
from holecam.shapes import Point, distance

USUAL_READOUT: dict[Unit, Fraction] = {"in": Fraction(5, 10_000) * MM_PER_UNIT["in"], "mm": Fraction(5, 1000)}
"""Steps of the usual readouts, exact mm: 0.0005 in and 0.005 mm."""

USUAL_MARK: dict[Unit, Fraction] = {"in": Fraction(1, 1000) * MM_PER_UNIT["in"], "mm": Fraction(2, 100)}
"""Travel of one mark of the usual dials, exact mm: 0.001 in and 0.02 mm; common practice."""

MOST_LINES = 10_000
"""Rows printed on the terminal; longer patterns go out as JSON."""

_FRACTION = re.compile(r"[+-]?\s*(?:\d+\s*[- ]\s*)?\d+\s*/\s*\d+|.*[\u00bc-\u00be\u2150-\u215e]")
_POINT = "a point such as 0.62,0.195 (X, comma, Y)"


class SheetOptions(Struct, frozen=True):
    """What the options of a sheet came to: unit, readout step (exact mm), dial, senses of approach."""

    unit: Unit
    resolution: Fraction
    dial: Dial | None
    senses: tuple[int, int]


class Lengths:
    """Reads the lengths of a command line in the unit that the user stated.

    Without ``--unit`` a bare number is millimetres. A bare fraction is then refused: whoever writes 3-1/2 means inches,
    and a guess would be wrong for somebody.
    """

    before_keys = "--"

    def __init__(self, unit: str | None) -> None:
        named = None if unit is None else unit_named(unit)
        if unit is not None and named is None:
            raise InputError(f'--unit "{unit}": expected in or mm', key="--unit", value=unit, expected="in or mm")
        self.stated = unit is not None
        self.unit: Unit = named or "mm"

    def length(self, text: str, key: str) -> Fraction:
        """Return a length in exact mm."""
        if not self.stated and _FRACTION.fullmatch(text.strip()):
            raise InputError(
                f'{key} = "{text}": a fraction without a unit; expected "{text} in", or --unit in for all bare numbers',
                key=key,
                value=text,
                expected=f"{text} in",
            )
        return parse_length(text, unit=self.unit, key=key)

    def positive(self, text: str, key: str) -> float:
        """Return a length above zero, mm."""
        value = self.length(text, key)
        if value <= 0:
            raise InputError(f'{key} = "{text}": expected a length above zero', key=key, value=text)
        return float(value)

    def point(self, text: str, key: str) -> Point:
        """Return a point "X,Y", mm."""
        parts = text.split(",")
        if len(parts) != 2 or not all(p.strip() for p in parts):
            hint = " Write decimals with a point." if len(parts) > 2 else ""
            raise InputError(f'{key} = "{text}": expected {_POINT}.{hint}', key=key, value=text, expected=_POINT)
        return (float(self.length(parts[0], f"{key} X")), float(self.length(parts[1], f"{key} Y")))


def sheet_options(
    lengths: Lengths, *, readout: str | None, dial_lead: str | None, dial_divisions: int | None, approach: str
) -> SheetOptions:
    """Return the options of a sheet from their texts.

    Raises
    ------
    InputError
        A readout step, a lead or an approach that cannot be.
    """
    resolution = USUAL_READOUT[lengths.unit]
    if readout is not None:
        resolution = lengths.length(readout, "--readout")
        if resolution <= 0:
            raise InputError(f'--readout "{readout}": expected the step of the readout, above zero', key="--readout")
    reading_text(0, resolution, lengths.unit)  # a step that no decimals can show is refused now
    return SheetOptions(lengths.unit, resolution, _dial(lengths, dial_lead, dial_divisions), _senses(approach))


def _dial(lengths: Lengths, lead_text: str | None, divisions: int | None) -> Dial | None:
    if lead_text is None:
        if divisions is not None:
            raise InputError("--dial-divisions: expected --dial-lead as well, the travel of one turn")
        return None
    lead = lengths.length(lead_text, "--dial-lead")
    if divisions is None:
        marks = lead / USUAL_MARK[lengths.unit]
        if marks <= 0 or marks.denominator != 1:
            usual = length_text(USUAL_MARK[lengths.unit], lengths.unit)
            raise InputError(
                f'--dial-lead "{lead_text}": with marks of {usual} a turn would have {float(marks):g}; expected '
                "--dial-divisions as well, the number of marks on the dial"
            )
        divisions = marks.numerator
    dial = Dial(lead, divisions)
    if not LEAST_LEAD <= lead <= GREATEST_LEAD:
        least, greatest = (length_text(size, lengths.unit) for size in (LEAST_LEAD, GREATEST_LEAD))
        expected = f"travel for one turn from {least} to {greatest}"
        hint = "" if lengths.unit == "in" else "; for inches write --unit in"
        raise InputError(f'--dial-lead "{lead_text}": expected {expected}{hint}', key="--dial-lead", value=lead_text)
    return dial


def _senses(text: str) -> tuple[int, int]:
    words = [w.strip().lower() for w in text.replace("\u2212", "-").split(",")]
    signs = {"+": 1, "-": -1}
    if len(words) != 2 or [w[1:] for w in words] != ["x", "y"] or any(w[:1] not in signs for w in words):
        expected = "+x,+y or another choice of signs, X first"
        raise InputError(f'--approach "{text}": expected {expected}', key="--approach", value=text, expected=expected)
    return (signs[words[0][0]], signs[words[1][0]])


def mirrored(pattern: PlacedPattern, lengths: Lengths, text: str | None) -> tuple[PlacedPattern, str]:
    """Return a placed pattern mirrored as ``--mirror`` asks (``x=1.5``), and how, in words; as it is without."""
    if text is None:
        return pattern, ""
    axis, equals, where = text.partition("=")
    axis = axis.strip().lower()
    if not equals or axis not in ("x", "y"):
        expected = "x=LENGTH or y=LENGTH, the line to mirror across"
        raise InputError(f'--mirror "{text}": expected {expected}', key="--mirror", value=text, expected=expected)
    at = float(lengths.length(where.strip(), "--mirror"))
    line = MirrorLine.at_x(at) if axis == "x" else MirrorLine.at_y(at)
    result = placed(pattern.pattern, line.placement() @ pattern.part_from_pattern)
    return result, f"MIRRORED across {axis.upper()} = {length_text(at, lengths.unit)}: the other hand"


class SheetRow(Struct, frozen=True):
    """One hole as it is read: counts of the readout's step, absolute and from the row before, and dial settings."""

    number: int
    at: Point
    x: int
    y: int
    step_x: int
    step_y: int
    dial_x: DialSetting | None
    dial_y: DialSetting | None
    past: str


def sheet_rows(pattern: PlacedPattern, options: SheetOptions) -> list[SheetRow]:
    """Return the rows in the order of the numbers; the steps add up to the last absolute reading exactly."""
    past = _come_from_past(pattern, options) if options.dial else [""] * len(pattern.points)
    rows: list[SheetRow] = []
    before_x = before_y = 0
    for (number, at), sides in zip(pattern.holes(), past, strict=True):
        x, y = counts(at[0], options.resolution), counts(at[1], options.resolution)
        dials = [dial_setting(v, options.dial) if options.dial else None for v in at]
        rows.append(SheetRow(number, at, x, y, x - before_x, y - before_y, dials[0], dials[1], sides))
        before_x, before_y = x, y
    return rows


def _come_from_past(pattern: PlacedPattern, options: SheetOptions) -> list[str]:
    """Return for each hole the axes that have to be passed and met again, in the order of the numbers."""
    from holecam.layout.one_sided import approaches  # only sheets with dials pay for it

    order = range(len(pattern.points))
    ways = approaches(pattern.points, order, senses=options.senses, back_off=_back_off(options))
    return ["".join(name for name, by in (("X", way.overshoot.x), ("Y", way.overshoot.y)) if by != 0.0) for way in ways]


def _back_off(options: SheetOptions) -> float:
    from holecam.layout.one_sided import back_off_distance

    return back_off_distance(lead=float(options.dial.lead) if options.dial else None)


class SheetCheck(Struct, frozen=True):
    """A distance between two holes to measure with a calliper, centre to centre, mm."""

    words: str
    holes: tuple[int, int]
    distance: float


def sheet_checks(pattern: PlacedPattern) -> list[SheetCheck]:
    """Return distances that prove a sheet independently of the readout: neighbours, first to last, the widest pair."""
    holes = list(pattern.holes())
    if len(holes) < 2:
        return []
    pairs = [("neighbours", holes[0], holes[1]), ("first to last", holes[0], holes[-1])]
    far = max(holes, key=lambda h: distance(holes[0][1], h[1]))
    pairs.append(("farthest from the first", holes[0], far))
    seen: set[int] = set()
    checks = []
    for words, a, b in pairs:
        if b[0] not in seen:
            seen.add(b[0])
            checks.append(SheetCheck(words, (a[0], b[0]), distance(a[1], b[1])))
    return checks


def print_sheet(
    title: str, notes: Sequence[str], pattern: PlacedPattern, options: SheetOptions, *, as_json: bool
) -> None:
    """Print a sheet to standard output, as a table or as JSON."""
    if not as_json and len(pattern.points) > MOST_LINES:
        raise InputError(f"{len(pattern.points)} holes: expected at most {MOST_LINES} for a printed sheet; use --json")
    rows, checks = sheet_rows(pattern, options), sheet_checks(pattern)
    if as_json:
        import json

        typer.echo(json.dumps(_json(title, notes, pattern.pattern, rows, checks, options), indent=2))
        return
    typer.echo(
        "\n".join([title, *notes, *_head(options), "", *_table(rows, options), "", *_foot(rows, checks, options)])
    )


def _head(options: SheetOptions) -> list[str]:
    name = "inches" if options.unit == "in" else "millimetres"
    return [
        f"All lengths in {name}; readout step {_step(options)}; each coordinate rounded once, ties away from zero.",
        "X plus to the right, Y plus away from you, angles anticlockwise from +X; zero where you set it.",
    ]


def _step(options: SheetOptions) -> str:
    return f"{reading_text(1, options.resolution, options.unit, signed=False)} {options.unit}"


def _table(rows: Sequence[SheetRow], options: SheetOptions) -> list[str]:
    heads = ["hole", "X", "Y", "step X", "step Y"]
    lines = [[str(r.number), *(_reading(v, options) for v in (r.x, r.y, r.step_x, r.step_y))] for r in rows]
    first, last = rows[0], rows[-1]
    back = [f"back to {first.number}", *(_reading(v, options) for v in (first.x, first.y))]
    back += [_reading(first.x - last.x, options), _reading(first.y - last.y, options)]
    if options.dial is not None:
        heads += ["X turns + marks", "dial", "Y turns + marks", "dial", "come from past"]
        for line, row in zip(lines, rows, strict=True):
            for setting in (row.dial_x, row.dial_y):
                line += _dial_cells(setting)
            line.append(row.past)
        for setting in (first.dial_x, first.dial_y):
            back += _dial_cells(setting)
        reach = zip("XY", (first.x - last.x, first.y - last.y), options.senses, strict=True)
        back.append("".join(name for name, way, sense in reach if way * sense < 0))
    if len(rows) > 1:
        lines.append(back)
    widths = [max(len(h), *(len(line[k]) for line in lines if k < len(line))) for k, h in enumerate(heads)]
    return [
        "  ".join(cell.rjust(w) for cell, w in zip(line, widths, strict=False)).rstrip() for line in [heads, *lines]
    ]


def _dial_cells(setting: DialSetting | None) -> list[str]:
    if setting is None:
        return ["", ""]
    back = "back " if setting.negative else ""  # a minus would read as if it held for the turns alone
    return [f"{back}{setting.turns} + {setting.marks}", str(setting.shows)]


def _reading(count: int, options: SheetOptions) -> str:
    return reading_text(count, options.resolution, options.unit)


def _foot(rows: Sequence[SheetRow], checks: Sequence[SheetCheck], options: SheetOptions) -> list[str]:
    lines = [
        f"Check with a calliper, centre to centre: hole {c.holes[0]} to hole {c.holes[1]} "
        f"{length_text(c.distance, options.unit)} ({c.words})."
        for c in checks
    ]
    if len(rows) > 1:
        lines.append("The last row proves that nothing moved: the readout must agree within two steps.")
    if options.dial is not None:
        past = length_text(_back_off(options), options.unit)
        sides = ", ".join(f"{'+' if s > 0 else '-'}{name}" for s, name in zip(options.senses, "XY", strict=True))
        lines.append(
            f"Dials: zero them coming in {sides}. A turn is {length_text(options.dial.lead, options.unit)}, a mark "
            f'{length_text(options.dial.mark, options.unit)}. Where an axis stands under "come from past", go '
            f"{past} past the position and come back in {sides}, at least twice the backlash."
        )
    return lines


def _json(
    title: str,
    notes: Sequence[str],
    pattern: PatternPoints,
    rows: Sequence[SheetRow],
    checks: Sequence[SheetCheck],
    options: SheetOptions,
) -> dict[str, object]:
    def mm(count: int) -> float:
        return float(count * options.resolution)

    def dial(setting: DialSetting | None) -> dict[str, object] | None:
        if setting is None:
            return None
        return {
            "negative": setting.negative,
            "turns": setting.turns,
            "marks": setting.marks,
            "shows": setting.shows,
        }

    holes: list[dict[str, object]] = []
    for row, place in zip(rows, pattern.places or [""] * len(rows), strict=True):
        hole: dict[str, object] = {
            "number": row.number,
            "x_mm": float(exact(row.at[0])),
            "y_mm": float(exact(row.at[1])),
            "x_reading_mm": mm(row.x),
            "y_reading_mm": mm(row.y),
            "step_x_mm": mm(row.step_x),
            "step_y_mm": mm(row.step_y),
        }
        if place:
            hole["place"] = place
        if options.dial is not None:
            hole |= {"dial_x": dial(row.dial_x), "dial_y": dial(row.dial_y), "come_from_past": row.past}
        holes.append(hole)
    return {
        "title": title,
        "notes": list(notes),
        "pattern": pattern.kind,
        "unit": options.unit,
        "readout_step_mm": float(options.resolution),
        "holes": holes,
        "checks": [
            {"from": c.holes[0], "to": c.holes[1], "distance_mm": float(exact(c.distance)), "words": c.words}
            for c in checks
        ],
    }
