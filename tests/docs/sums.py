"""Sums written out on a page: each line of a ``sums`` block is worked out again from the figures as they stand there.

A line is ``name = expression = value``, or ``name = value`` for what is given; a unit may follow, and a remark after
``#``. Angles are degrees. ``Phi`` is the share of a normal distribution that lies below.
"""

from __future__ import annotations

import ast
import math
import operator
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction

OPERATORS: dict[type, Callable[..., float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
}
FUNCTIONS: dict[str, Callable[..., float]] = {
    "sin": lambda deg: math.sin(math.radians(deg)),
    "cos": lambda deg: math.cos(math.radians(deg)),
    "tan": lambda deg: math.tan(math.radians(deg)),
    "sqrt": math.sqrt,
    "Phi": lambda k: math.erfc(-k / math.sqrt(2)) / 2,
    "up": math.ceil,
    "down": math.floor,
    "nearest": lambda x: math.floor(x + 0.5),
    "lower": min,
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of the page: its value as printed, with its digits."""

    value: float
    decimals: int
    expression: str

    @property
    def last_digit(self) -> float:
        """What one unit of the last printed digit is worth."""
        return 10.0**-self.decimals


def worked_out(expression: str, known: dict[str, Figure]) -> float:
    """Return the value of an expression of numbers, earlier figures, the four operations, ``^`` and a few functions."""

    def value(node: ast.expr) -> float:
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
            return node.value
        if isinstance(node, ast.Name):
            return math.pi if node.id == "pi" else known[node.id].value
        if isinstance(node, ast.BinOp) and type(node.op) in OPERATORS:
            return OPERATORS[type(node.op)](value(node.left), value(node.right))
        if isinstance(node, ast.UnaryOp) and type(node.op) in OPERATORS:
            return OPERATORS[type(node.op)](value(node.operand))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in FUNCTIONS:
            return FUNCTIONS[node.func.id](*map(value, node.args))
        raise ValueError(f"{expression}: {ast.unparse(node)} is no sum")

    return value(ast.parse(expression.replace("^", "**"), mode="eval").body)


def printed(text: str) -> tuple[float, int]:
    """Return a printed figure and its decimals; a unit may follow."""
    match = re.fullmatch(
        r"([-+]?\d+(?:\.(\d+))?)(?: (?:in|mm|mm/min|in/min|rpm|percent|turns|marks|in2))?", text.strip()
    )
    if match is None:
        raise ValueError(f"{text!r} is no figure")
    return float(match[1]), len(match[2] or "")


def read_sums(lines: Iterable[str]) -> dict[str, Figure]:
    """Return the figures of a page's sums by name; every sum is worked out again and has to give what is printed."""
    figures: dict[str, Figure] = {}
    for line in lines:
        text = line.partition("#")[0].strip()
        if not text:
            continue
        name, *between, last = (part.strip() for part in text.split(" = "))
        if len(between) > 1 or name in figures or not name.isidentifier():
            raise ValueError(f"{line}: expected name = expression = value, each name once")
        value, decimals = printed(last)
        if between:
            exact = worked_out(between[0], figures)
            # half away from zero, as a person rounds; the noise of floats is taken off first
            scaled = Fraction(repr(round(exact, decimals + 6))) * 10**decimals
            rounded = math.floor(abs(scaled) + Fraction(1, 2)) * (1 if scaled >= 0 else -1)
            if rounded != round(value * 10**decimals):
                raise ValueError(f"{line}: the sum gives {exact:.{decimals + 2}f}")
        figures[name] = Figure(value, decimals, between[0] if between else "")
    return figures
