"""What every key of the job file is for: the texts under the fields of the models, read from their source when needed.

pydantic can collect them while the classes are made, but that costs every plan a tenth of a second, and only the schema
and the message for a missing key ever show them.
"""

from __future__ import annotations

import ast
import inspect
import sys
from functools import cache

from pydantic import BaseModel

from holecam.job.quantities import Model


@cache
def _texts_of_module(name: str) -> dict[str, dict[str, str]]:
    """Return class name to field name to text, for one module."""
    found: dict[str, dict[str, str]] = {}
    for node in ast.parse(inspect.getsource(sys.modules[name])).body:
        if isinstance(node, ast.ClassDef):
            texts = found.setdefault(node.name, {})
            for field, after in zip(node.body, node.body[1:], strict=False):
                if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name) and _is_text(after):
                    texts[field.target.id] = inspect.cleandoc(ast.literal_eval(after.value))  # type: ignore[attr-defined]
    return found


def _is_text(node: ast.stmt) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)


def descriptions(model: type[BaseModel]) -> dict[str, str]:
    """Return key (as the file writes it) to what it is for, fields of base classes included."""
    texts: dict[str, str] = {}
    for table in reversed(model.__mro__):
        if issubclass(table, Model) and table is not Model:
            texts |= _texts_of_module(table.__module__).get(table.__name__, {})
    return {f.alias or n: texts[n] for n, f in model.model_fields.items() if n in texts}


def all_tables() -> dict[str, type[BaseModel]]:
    """Return every model by the name of its class."""
    found: dict[str, type[BaseModel]] = {}
    todo: list[type[BaseModel]] = [Model]
    while todo:
        table = todo.pop()
        todo.extend(table.__subclasses__())
        found[table.__name__] = table
    return found
