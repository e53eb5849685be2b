"""Choose the tests for a mutant from the measured maps: those that run the changed line, the fastest first."""

from __future__ import annotations

import ast
import json
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from mutants import Mutant


class Maps:
    """What the maps of all test folders say together."""

    def __init__(self, files: Iterable[Path], root: Path, *, new: Sequence[str] = ()) -> None:
        self.root = root
        # Tests that no map knows yet go first, where their file names the module or no module of the package at all
        self.new = {name: (root / name.partition("::")[0]).read_text(encoding="utf-8") for name in new}
        self.seconds: dict[str, float] = {}
        self.lines: dict[str, dict[int, set[str]]] = defaultdict(lambda: defaultdict(set))
        for file in files:
            told = json.loads(file.read_text(encoding="utf-8"))
            tests: list[str] = told["tests"]
            self.seconds.update(zip(tests, told["seconds"], strict=True))
            for path, rows in told["lines"].items():
                for line, by in rows.items():
                    self.lines[path][int(line)].update(tests[i] for i in by)
        self.texts = {str(p.relative_to(root)): p.read_text(encoding="utf-8") for p in root.glob("holecam/**/*.py")}
        self.tests_of_file: dict[str, list[str]] = defaultdict(list)
        for test in self.seconds:
            self.tests_of_file[test.partition("::")[0]].append(test)
        names = [name for name in self.tests_of_file if (root / name).exists()]
        self.test_texts = {name: (root / name).read_text(encoding="utf-8") for name in names}
        self.shared = {name for name, text in self.test_texts.items() if re.search(r'scope="|^@cache$', text, re.M)}

    def tests_for(self, fault: Mutant) -> list[str]:
        """Return the tests that can notice a fault: one of each test function first, within that the fastest first."""
        found = self._reaching(fault)
        # A fixture or a cached plan that several tests share is measured with the first of them alone
        for name in {test.partition("::")[0] for test in found} & self.shared:
            found.update(self.tests_of_file[name])
        ordered = sorted(found, key=lambda test: (self.seconds[test], test))
        seen: dict[str, int] = defaultdict(int)
        turn: dict[str, int] = {}
        for test in ordered:
            plain = test.partition("[")[0]
            turn[test] = seen[plain]
            seen[plain] += 1
        module = fault.path.removesuffix(".py").replace("/", ".")
        package = module.rpartition(".")[0]
        news = [name for name, text in self.new.items() if module in text or f"{package}." not in text]
        known = [test for test in ordered if test.partition("::")[0] not in news and test.partition("[")[0] not in news]
        return [*news, *sorted(known, key=lambda test: (turn[test] > 0, self.seconds[test], test))]

    def _reaching(self, fault: Mutant) -> set[str]:
        tree = ast.parse(self.texts[fault.path])
        lines = self.lines[fault.path]
        function = _function_around(tree, fault.line)
        if function is not None:
            if fault.line < function.body[0].lineno:
                return set[str]().union(*(lines[n] for n in range(function.body[0].lineno, _last(function) + 1)))
            first, last = _statement_around(function, fault.line)
            return set[str]().union(*(lines[n] for n in range(first, last + 1)))
        names = _names_bound(tree, fault.line)
        if not names:
            return set[str]().union(*lines.values())
        word = re.compile(rf"\b(?:{'|'.join(map(re.escape, sorted(names)))})\b")
        found: set[str] = set()
        for path, text in self.texts.items():
            if word.search(text):
                for number, row in enumerate(text.splitlines(), 1):
                    if word.search(row):
                        found |= self.lines[path][number]
        for name, text in self.test_texts.items():
            if word.search(text):
                found.update(self.tests_of_file[name])
        return found or set[str]().union(*lines.values())


def _last(node: ast.stmt) -> int:
    return node.end_lineno or node.lineno


def _holders(tree: ast.AST, line: int) -> Iterator[ast.stmt]:
    for node in ast.walk(tree):
        if isinstance(node, ast.stmt) and node.lineno <= line <= _last(node):
            yield node


def _function_around(tree: ast.Module, line: int) -> ast.FunctionDef | None:
    """Return the innermost function that a line belongs to."""
    around = [node for node in _holders(tree, line) if isinstance(node, ast.FunctionDef)]
    return max(around, key=lambda node: node.lineno, default=None)


def _statement_around(function: ast.FunctionDef, line: int) -> tuple[int, int]:
    """Return the lines of the innermost statement at a line; of one with a body only its head."""
    node = max(_holders(function, line), key=lambda each: (each.lineno, -_last(each)))
    bodies = [part for part in ("body", "orelse", "handlers", "cases", "finalbody") if getattr(node, part, None)]
    if not bodies:
        return node.lineno, _last(node)
    inner: ast.AST = getattr(node, bodies[0])[0]
    return node.lineno, max(node.lineno, line, getattr(inner, "lineno", node.lineno) - 1)


def _names_bound(tree: ast.Module, line: int) -> set[str]:
    """Return the names that a statement outside all functions gives a meaning to; of a class its own name."""
    for node in tree.body:
        if node.lineno <= line <= _last(node):
            if isinstance(node, ast.ClassDef):
                return {node.name}
            targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
            return {
                name.id
                for target in targets
                if target is not None
                for name in ast.walk(target)
                if isinstance(name, ast.Name)
            }
    return set()
