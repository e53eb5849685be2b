"""The small faults that are put into a module, one at a time: a place in its text, and what stands there instead.

Left alone are texts (messages, names, docstrings), types, decorators, imports and assertions: a fault there changes no
figure. Whatever compiles to the same byte code is no fault either.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType

NOISE = 1e-3
"""Numbers below this are tolerances: a tenth less of one changes nothing that anybody means; they grow 100 fold."""

NOT_FIGURES = frozenset({"strict", "dtype", "copy", "write", "slots", "frozen", "kw_only", "eq", "encoding"})
"""Names of arguments whose value is no figure of the job."""

TWINS = {
    "min": "max",
    "minimum": "maximum",
    "argmin": "argmax",
    "nanmin": "nanmax",
    "sin": "cos",
    "radians": "degrees",
    "deg2rad": "rad2deg",
    "floor": "ceil",
    "any": "all",
    "fmin": "fmax",
}
SWAPPED = TWINS | {second: first for first, second in TWINS.items()}
MADE_PLAIN = frozenset({"abs", "fabs", "absolute"})

COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
RECKONED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.FloorDiv,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.MatMult: ast.Mult,
}


@dataclass(frozen=True, slots=True)
class Mutant:
    """One fault: where, of what kind, and the text before and after."""

    path: str
    line: int
    kind: str
    start: int
    end: int
    was: str
    becomes: str

    def put_into(self, source: bytes) -> bytes:
        """Return the module's text with the fault in it."""
        return source[: self.start] + self.becomes.encode() + source[self.end :]


def mutants_of(root: Path, path: str) -> list[Mutant]:
    """Return every fault for one module, in the order of its text."""
    source = (root / path).read_bytes()
    tree = ast.parse(source)
    begins = [0]
    for row in source.splitlines(keepends=True):
        begins.append(begins[-1] + len(row))
    found: list[Mutant] = []
    for node, kind, becomes in _within(tree, in_function=False):
        start = begins[node.lineno - 1] + node.col_offset
        end = begins[(node.end_lineno or node.lineno) - 1] + (node.end_col_offset or 0)
        found.append(Mutant(path, node.lineno, kind, start, end, ast.unparse(node), becomes))
    return sorted(set(found), key=lambda m: (m.start, m.end, m.kind, m.becomes))


def changes_the_code(source: bytes, fault: Mutant) -> bool:
    """Return whether the byte code with the fault differs from that without it."""
    return _told(compile(source, fault.path, "exec")) != _told(compile(fault.put_into(source), fault.path, "exec"))


def _told(code: object) -> object:
    """Return the byte code, the code inside it and the constants, without line numbers."""
    if not isinstance(code, CodeType):
        return type(code).__name__, repr(code)
    return code.co_code, code.co_names, code.co_varnames, tuple(_told(each) for each in code.co_consts)


def _within(node: ast.AST, *, in_function: bool) -> Iterator[tuple[ast.expr | ast.stmt, str, str]]:
    if isinstance(node, (ast.JoinedStr, ast.Import, ast.ImportFrom, ast.Assert)):
        return
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        return
    if isinstance(node, ast.expr):
        for kind, new in _expressions(node, in_function=in_function):
            yield node, kind, f"({ast.unparse(ast.fix_missing_locations(new))})"
    elif isinstance(node, ast.stmt):
        for kind, text in _statements(node):
            yield node, kind, text
        if isinstance(node, (ast.If, ast.While)) and not isinstance(node.test, (ast.Compare, ast.BoolOp, ast.UnaryOp)):
            yield node.test, "condition", f"(not ({ast.unparse(node.test)}))"
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params", "format_spec"):
            continue
        if isinstance(node, ast.ClassDef) and name in ("bases", "keywords"):
            continue  # what kind of value it is: frozen, compared or not
        inside = in_function or isinstance(node, (ast.FunctionDef, ast.Lambda))
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.keyword) and child.arg in NOT_FIGURES:
                continue
            if isinstance(child, ast.AST):
                yield from _within(child, in_function=inside)


def _expressions(node: ast.expr, *, in_function: bool) -> Iterator[tuple[str, ast.expr]]:
    match node:
        case ast.Constant(value=bool() as value):
            yield "truth", ast.Constant(not value)
        case ast.Constant(value=int() as value):
            yield "number", ast.Constant(value + 1)
            yield "number", ast.Constant(value - 1)
        case ast.Constant(value=float() as value):
            yield "number", ast.Constant(value + 1.0)
            yield "number", ast.Constant(value * 100.0 if 0 < value < NOISE else value * 0.9 if value else -1.0)
        case ast.Compare():
            yield from _comparisons(node)
        case ast.BoolOp():
            yield "and/or", ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
            for i in range(len(node.values)):
                kept = node.values[:i] + node.values[i + 1 :]
                yield "clause dropped", kept[0] if len(kept) == 1 else ast.BoolOp(node.op, kept)
        case ast.BinOp(op=op) if type(op) in RECKONED and not _is_text(node):
            if in_function or not isinstance(op, ast.BitOr):
                yield "arithmetic", ast.BinOp(node.left, RECKONED[type(op)](), node.right)
        case ast.UnaryOp(op=ast.USub()):
            yield "sign", node.operand
        case ast.UnaryOp(op=ast.Not() | ast.Invert()):
            yield "negation", node.operand
        case ast.IfExp(test=test):
            yield "condition", ast.IfExp(ast.UnaryOp(ast.Not(), test), node.body, node.orelse)
        case ast.ListComp() | ast.GeneratorExp() | ast.SetComp() | ast.DictComp():
            for i, part in enumerate(node.generators):
                for j in range(len(part.ifs)):
                    new = copy.deepcopy(node)
                    del new.generators[i].ifs[j]
                    yield "clause dropped", new
        case ast.Call(func=func, args=args):
            name = func.id if isinstance(func, ast.Name) else func.attr if isinstance(func, ast.Attribute) else ""
            if name in MADE_PLAIN and len(args) == 1:
                yield "call dropped", args[0]
            elif name in SWAPPED:
                other = copy.deepcopy(func)
                if isinstance(other, ast.Name):
                    other.id = SWAPPED[name]
                elif isinstance(other, ast.Attribute):
                    other.attr = SWAPPED[name]
                yield "twin", ast.Call(other, args, node.keywords)


def _comparisons(node: ast.Compare) -> Iterator[tuple[str, ast.expr]]:
    for i, op in enumerate(node.ops):
        for other in COMPARED[type(op)]:
            ops = [*node.ops[:i], other(), *node.ops[i + 1 :]]
            yield "comparison", ast.Compare(node.left, ops, node.comparators)
    if len(node.ops) > 1:
        yield "clause dropped", ast.Compare(node.left, node.ops[:-1], node.comparators[:-1])
        yield "clause dropped", ast.Compare(node.comparators[0], node.ops[1:], node.comparators[1:])


def _is_text(node: ast.BinOp) -> bool:
    return any(
        isinstance(part, ast.JoinedStr) or (isinstance(part, ast.Constant) and isinstance(part.value, str))
        for part in ast.walk(node)
    )


def _statements(node: ast.stmt) -> Iterator[tuple[str, str]]:
    match node:
        case ast.Return(value=value) if value is not None and ast.unparse(value) != "None":
            yield "return", "return None"
        case ast.Expr(value=ast.Call()):
            yield "statement dropped", "pass"
        case ast.AugAssign(op=op):
            yield "statement dropped", "pass"
            if type(op) in RECKONED:
                yield "arithmetic", ast.unparse(ast.AugAssign(node.target, RECKONED[type(op)](), node.value))
        case ast.Raise():
            yield "statement dropped", "pass"
        case ast.Continue():
            yield "loop", "break"
        case ast.Break():
            yield "loop", "continue"
        case ast.Assign(targets=[ast.Subscript()]):
            yield "statement dropped", "pass"
