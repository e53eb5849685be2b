"""Values that have gone wrong in some program before: extreme numbers, signs, units, texts that try to be commands."""

from __future__ import annotations

import datetime
from typing import Any

from chooser import Chooser, pick

HOSTILE_TEXTS = [
    "", " ", "\x00", "\x07", "\u202e", "\u00bd", "\U0001f600", "\ud7ff", "a\nb", "\r", "x" * 81, "x" * 5000,
    "=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(1)", "\t=1",
    "<script>alert(1)</script>", "</td><img src=x onerror=alert(1)>", "&amp;&lt;", "{{7*7}}", "{% raw %}", "]]>",
    "(G0 Z-99)", ") G0 Z-99 (", ";G0 Z-99", "%", "O1234", "N10 G1",
    "../../escape", "/etc/passwd", "..", ".", "CON", "a/b", "a\\b", "~", "$HOME", "`id`", "-rf", ".hidden",
    "sheet", "sheet.html", "{name}", "%s%n", "[/x]", "[red]n", ":smile:", "\\P{\\H10;x}", "%%c", "\u2028",
    "\u0130", "\u00df", "\u212b", "\u03a9", "1\u20442", "\uff11",
]  # fmt: skip
"""Names and notes that could become a command, markup, a formula or a path."""

LENGTH_TEXTS = [
    "0", "-0", "1/2", "-1/4", "1/0", "0/1", "1-7/32", "1 7/32", "4.5 mm", "4,5 mm", "12 thou", '0.187"', "1e5", "1e400",
    "0.0000000001", "1e-400", "9" * 24, "9" * 25, "0." + "0" * 23 + "1", "1/999999999999", "999999999999/7", "nan",
    "inf", "-inf", "NaN mm", "0x10", "1_000", "+5", "--5", "5-", "5 5", "1/2/3", "\u00bd", "1\u00bd", "5 m", "5 mil",
    "5 ft", "5 cm", "5 micron", ".5", "5.", ".", "-", "through", "open", "all", "none", "auto", "+x", "-y",
]  # fmt: skip

ODD_NUMBERS: list[Any] = [
    0, -0.0, 1, -1, 2, 3, 1e-9, -1e-9, 1e-300, 5e-324, 1e300, -1e300, 1e16, 2**31, 2**53 + 1, 10**30, -(10**30), 1e5,
    1e4, 9999, 10_000, 10_001, 100_000, 1_000_000, 10**9, 0.1, 0.5, 1 / 3, 25.4, 1e3, float("nan"), float("inf"),
    float("-inf"), 90, 180, 360, -360, 359.999999, 89.9999999, 45,
]  # fmt: skip

ODD_THINGS: list[Any] = [
    True, False, [], {}, [[]], [{}], [[0, 0]], [[0, 0], [0, 0]], {"line": {}}, {"to": [0, 0]},
    [[1, 2], [3, 4], [5, 0]], [0, 0], [0, 0, 0], [1e300, -1e300], ["0", "0"], [None], [1] * 200,
    {"a": {"b": {"c": {}}}},
    datetime.date(2024, 1, 1), datetime.time(1, 2), datetime.datetime(2024, 1, 1, 1, 1),
    {"circle": 10}, {"rectangle": [10, 5]}, {"points": [[0, 0], [1, 1], [0, 1], [1, 0]]}, {"file": "drawing.dxf"},
    {"file": "/etc/passwd"}, {"file": "../drawing.dxf"}, {"thread": "M4"}, "M4", "6-32", "1/4 end mill", "brass",
]  # fmt: skip


def odd_value(chooser: Chooser) -> Any:
    """Return a value that nobody would write there."""
    kind = chooser.below(5)
    if kind == 0:
        return pick(chooser, ODD_NUMBERS)
    if kind == 1:
        return pick(chooser, HOSTILE_TEXTS)
    if kind == 2:
        return pick(chooser, LENGTH_TEXTS)
    if kind == 3:
        return pick(chooser, ODD_THINGS)
    return nested(pick(chooser, [1, 5, 30, 33, 200]))


def nested(depth: int) -> Any:
    """Return lists inside each other."""
    value: Any = 1
    for _ in range(depth):
        value = [value]
    return value


def near_value(chooser: Chooser, value: Any) -> Any:
    """Return a value like the one that stands there: a slip of point, sign or unit: the job often stays whole."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, (int, float)):
        by = pick(chooser, [0, -1, 0.001, 0.1, 0.5, 0.9, 0.999, 1.001, 1.1, 2, 3, 10, 25.4, 1 / 25.4, 1000])
        changed = value * by
        return round(changed) if isinstance(value, int) and by not in (0.001, 0.5) else changed
    if isinstance(value, str) and any(c.isdigit() for c in value):
        return pick(chooser, [f"-{value}", f"{value} mm", f"{value} in", f"0{value}", f"{value}0", f"1{value}",
                              f"0.0{value}", f"{value}9", value[1:], value.replace("/", "."),
                              value + "000"])  # fmt: skip
    if isinstance(value, str):
        return pick(chooser, [value.upper(), value + " ", value[:-1], pick(chooser, HOSTILE_TEXTS), value * 2])
    if isinstance(value, list) and value:
        return pick(chooser, [value[:-1], value[1:], [*value, value[-1]], value[::-1], value * 2, [value[0]] * 3])
    return odd_value(chooser)
