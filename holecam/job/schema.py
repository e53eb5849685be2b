"""JSON Schema of the job file, for editors that complete and check while one types."""

from __future__ import annotations

import re
from typing import Any

from pydantic import BaseModel

from holecam.job.descriptions import all_tables, descriptions
from holecam.job.models import Job

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a job file.

    It knows every key, every kind of value and what each is for. What only the whole file can tell (names that lead
    nowhere, exactly one of several keys, a hole that is too deep) is left to the reader.
    """
    schema = Job.model_json_schema(by_alias=True, mode="validation")
    schema["properties"] = _described(schema["properties"], Job)
    tables = all_tables()
    for name, table in schema["$defs"].items():
        if name in tables and "properties" in table:
            table["properties"] = _described(table["properties"], tables[name])
    plain = _plain(schema)
    plain["$defs"] = {_bare(name): table for name, table in plain["$defs"].items()}
    return {"$schema": DIALECT, **plain, "title": "holecam job"}


def _described(properties: dict[str, Any], model: type[BaseModel]) -> dict[str, Any]:
    """Return the properties of a table with what each is for."""
    texts = descriptions(model)
    return {k: {**v, "description": texts[k]} if k in texts else v for k, v in properties.items()}


def _bare(name: str) -> str:
    """Return the name of a table without the ending that tells the class from its short form."""
    return re.sub(r"(?<=[a-z])Model$", "", name)


def _without_null(node: dict[str, Any]) -> dict[str, Any]:
    """Return a choice without the empty value, which TOML does not have; nested choices become one."""
    choices: list[Any] = []
    for choice in node["anyOf"]:
        inner = choice.get("anyOf") if isinstance(choice, dict) and set(choice) <= {"anyOf"} else None
        choices.extend(c for c in (inner or [choice]) if c != {"type": "null"})
    rest = {key: value for key, value in node.items() if key != "anyOf"}
    return {**choices[0], **rest} if len(choices) == 1 else {"anyOf": choices, **rest}


def _says_little(default: Any) -> bool:
    """Return whether a default is empty or a whole table: of no use to somebody who types."""
    return (
        default is None
        or isinstance(default, dict)
        or (isinstance(default, list) and not all(isinstance(d, str) for d in default))
    )


def _plain(node: Any) -> Any:
    """Return the schema without words that only a programmer knows."""
    if isinstance(node, dict):
        out = {key: _plain(value) for key, value in node.items() if not (key == "default" and _says_little(value))}
        if isinstance(out.get("anyOf"), list):
            out = _without_null(out)
        title = out.get("title")
        if isinstance(title, str):
            out["title"] = _bare(title).replace("_", "").strip()
        if isinstance(out.get("$ref"), str):
            out["$ref"] = _bare(out["$ref"])
        description = out.get("description")
        if isinstance(description, str):
            out["description"] = " ".join(description.replace("``", '"').split())
        return out
    return [_plain(item) for item in node] if isinstance(node, list) else node
