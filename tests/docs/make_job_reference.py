"""Write ``docs/job-file.md`` from the schema of the job file: ``python tests/docs/make_job_reference.py``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from key_examples import examples

from holecam.job.schema import job_schema

PAGE = Path(__file__).parents[2] / "docs" / "job-file.md"

HEAD = """# The job file

Made from `holecam schema` by `tests/docs/make_job_reference.py`. Do not edit it by hand.

A job is one TOML file. This page has every table and every key. A starter with comments comes from `holecam new`; short
whole jobs stand in [how to](how-to.md).

How values are written:

- **length**: a number in the job's unit (inches or millimetres), or text with a unit or a fraction: `"3/16"`,
  `"1-7/32"`, `"0.187 in"`, `"12 thou"`, `"4.5 mm"`. Fractions and units need quotes. `"4,5 mm"` is refused.
- **point**: two lengths, `["0.480", "-0.195"]`.
- **angle**: a number of degrees, anticlockwise from +X.
- **true or false**: without quotes.
- **list of tables**: each entry under its own `[[name]]` heading, or written in one line: `name = [{ ... }, { ... }]`.

An unknown key is an error, with the nearest known one named. "needed" in the third column means that the job is refused
without it; a dash means that the key may be left out and has no fixed value then. Where a table wants exactly one of
several keys, its first line says so, and the message for a wrong job does too.

The examples are invented and mostly in inches. Each is right by itself; together they make no job. For whole jobs see
[how to](how-to.md). A table that is too long for one line has a heading of its own, `[part]` for one, `[[pattern]]` for
each of several; what belongs to the last `[[pattern]]` above it is headed `[pattern.place]`.
"""

WHOLE = "The whole file"


def is_length(node: Any) -> bool:
    """Return whether a value is a length, a drill or another size: text or a number, nothing else asked."""
    choices = node.get("anyOf")
    plain = choices is not None and [c.get("type") for c in choices] == ["string", "number"]
    return (plain and not any(c.get("enum") for c in choices)) or node.get("type") == ["string", "number"]


def table_link(reference: str) -> str:
    """Return a link to the table that a reference names."""
    name = reference.rsplit("/", 1)[-1]
    return f"[{name}](#{name.lower()})"


def quoted(values: list[Any]) -> str:
    """Return the words that may stand there, as they are typed."""
    return ", ".join(f'`"{v}"`' if isinstance(v, str) else f"`{v}`" for v in values)


def bounds(node: dict[str, Any]) -> str:
    """Return the limits of a number in words."""
    parts = []
    for key, words in (
        ("minimum", "from"),
        ("exclusiveMinimum", "above"),
        ("maximum", "to"),
        ("exclusiveMaximum", "below"),
    ):
        if key in node:
            parts.append(f"{words} {node[key]:g}")
    return " ".join(parts)


def value_words(node: dict[str, Any]) -> str:
    """Return what may be written for a value, in words of the shop."""
    if "$ref" in node:
        return table_link(node["$ref"])
    if "enum" in node:
        return quoted(node["enum"])
    if "const" in node:
        return quoted([node["const"]])
    if is_length(node):
        return "length or drill" if "drill" in node.get("description", "").lower() else "length"
    if "anyOf" in node:
        return ", or ".join(dict.fromkeys(value_words(choice) for choice in node["anyOf"]))
    if "prefixItems" in node:
        kinds = list(dict.fromkeys(value_words(item) for item in node["prefixItems"]))
        return "point or pair of lengths" if kinds == ["length"] else "pair of: " + "; ".join(kinds)
    kind = node.get("type")
    if kind == "array":
        items = node.get("items")
        if items is None:
            return "list of points"
        if node.get("maxItems") == node.get("minItems") == 2:
            return "point or pair of lengths"
        return f"list of {value_words(items)}"
    if kind == "string":
        examples = node.get("examples")
        return f"text, such as {quoted(examples[:4])}" if examples else "text"
    if kind == "boolean":
        return "true or false"
    if kind in ("number", "integer"):
        limits = bounds(node)
        if (node.get("minimum"), node.get("maximum")) == (-360, 360):
            return "angle"
        return ("whole number" if kind == "integer" else "number") + (f" {limits}" if limits else "")
    raise ValueError(f"the schema has a kind of value that this page cannot tell: {node}")


def default_words(key: str, node: dict[str, Any], needed: list[str]) -> str:
    """Return what holds when a key is left out."""
    if key in needed:
        return "needed"
    default = node.get("default")
    if default in (None, "", []):
        return "-"
    if isinstance(default, bool):
        return f"`{str(default).lower()}`"
    if isinstance(default, list):
        return quoted(default)
    return f"`{default}`"


def cell(text: str) -> str:
    """Return a text that fits in one cell of a table."""
    return " ".join(text.split()).replace("|", "\\|")


def example_words(heading: str, key: str, node: dict[str, Any], example: str) -> str:
    """Return an example of a key; without one the heading of the table that stands there."""
    if example:
        return f"`{example}`"
    if not references(node):
        raise ValueError(f"{heading}.{key} has no example: give one under WRITTEN in key_examples.py")
    inner = f"{heading}.{key}".lstrip(".")
    return f"`[[{inner}]]`" if node.get("type") == "array" else f"`[{inner}]`"


def table_lines(
    name: str, table: dict[str, Any], heading: str, used_in: list[str], shown: dict[tuple[str, str], str]
) -> list[str]:
    """Return one section of the page."""
    lines = [f"## {name}", ""]
    if table.get("description"):
        lines += [cell(table["description"]), ""]
    if used_in:
        lines += ["Stands in: " + ", ".join(used_in) + ".", ""]
    lines += ["| key | value | left out | example | what it is for |", "|---|---|---|---|---|"]
    needed = table.get("required", [])
    for key, node in table["properties"].items():
        what = cell(node.get("description", ""))
        example = cell(example_words(heading, key, node, shown[name, key]))
        cells = (f"`{key}`", cell(value_words(node)), default_words(key, node, needed), example, what)
        lines.append("| " + " | ".join(cells) + " |")
    return [*lines, ""]


def references(node: Any) -> list[str]:
    """Return the names of the tables that a part of the schema leads to, in order."""
    if isinstance(node, dict):
        own = [node["$ref"].rsplit("/", 1)[-1]] if isinstance(node.get("$ref"), str) else []
        return own + [name for key, inner in node.items() if key != "$ref" for name in references(inner)]
    return [name for inner in node for name in references(inner)] if isinstance(node, list) else []


def page_text() -> str:
    """Return the whole page."""
    schema = job_schema()
    tables: dict[str, Any] = schema["$defs"]
    shown = examples(schema, WHOLE)
    uses: dict[str, list[str]] = {name: [] for name in tables}
    order: list[str] = []
    headings = {WHOLE: ""}

    def visit(name: str, table: dict[str, Any]) -> None:
        for key, node in table["properties"].items():
            for inner in dict.fromkeys(references(node)):
                place = f"[{name}](#{name.lower().replace(' ', '-')}) `{key}`"
                if place not in uses[inner]:
                    uses[inner].append(place)
                if inner not in order:
                    order.append(inner)
                    headings[inner] = f"{headings[name]}.{key}".lstrip(".")
                    visit(inner, tables[inner])

    visit(WHOLE, schema)
    lines = table_lines(WHOLE, {**schema, "description": "The keys at the top of the file."}, "", [], shown)
    for name in order:
        lines += table_lines(name, tables[name], headings[name], uses[name], shown)
    return HEAD + "\n" + "\n".join(lines).rstrip() + "\n"


if __name__ == "__main__":
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(page_text(), encoding="utf-8")
    print(f"{PAGE.name} written")
