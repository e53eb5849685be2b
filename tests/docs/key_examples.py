"""An example for every key of the job file, out of jobs that the tests read."""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "job"))

import pages  # noqa: E402
from whole_job import WHOLE_JOB  # noqa: E402

LONGEST = 72
"""Characters of an example that still fits into its column."""

Key = tuple[str, str]
"""A table by its name in the schema, and a key of it."""


def jobs() -> list[dict[str, Any]]:
    """Return the jobs that examples are taken from: the one with every key, the examples, those of the pages."""
    texts = [WHOLE_JOB]
    texts += [f.read_text(encoding="utf-8") for f in sorted((ROOT / "examples").glob("*/job.toml"))]
    texts += [b.text for page in pages.PAGES for b in pages.blocks(page) if pages.is_job(b)]
    return [tomllib.loads(text) for text in texts]


def toml_text(value: Any) -> str:
    """Return a value as it is written in a job file, in one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_text, value)) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {toml_text(v)}" for k, v in value.items()) + " }"
    return str(value)


def fitting(node: dict[str, Any], value: Any, tables: dict[str, Any]) -> dict[str, Any]:
    """Return the one of several choices that a value is written in."""
    for choice in node.get("anyOf", ()):
        if jsonschema.Draft202012Validator({**choice, "$defs": tables}).is_valid(value):
            return fitting(choice, value, tables)
    return node


def seen_in(node: dict[str, Any], value: Any, tables: dict[str, Any], table: str) -> Iterator[tuple[Key, str]]:
    """Return each key that stands in a value, with its text, in order."""
    node = fitting(node, value, tables)
    if "$ref" in node:
        table = node["$ref"].rsplit("/", 1)[-1]
        node = tables[table]
    if isinstance(value, dict):
        for key, inner in value.items():
            if key in node.get("properties", {}):
                yield (table, key), toml_text(inner)
                yield from seen_in(node["properties"][key], inner, tables, table)
    elif isinstance(value, list):
        places = node.get("prefixItems") or [node.get("items") or {}] * len(value)
        for place, inner in zip(places, value, strict=False):
            yield from seen_in(place, inner, tables, table)


def examples(schema: dict[str, Any], top: str) -> dict[Key, str]:
    """Return an example for each key: the first that is short enough, else the shortest.

    ``top`` is what the table of the whole file is called.
    """
    found: dict[Key, list[str]] = {}
    for job in jobs():
        for key, text in seen_in({"properties": schema["properties"]}, job, schema["$defs"], top):
            found.setdefault(key, []).append(text)
    short = {key: next((t for t in texts if len(t) <= LONGEST), "") for key, texts in found.items()}
    tables = {top: schema, **schema["$defs"]}
    written = tomllib.loads(WRITTEN)
    for name, table in tables.items():
        for key, node in table["properties"].items():
            if not short.get((name, key)):
                short[name, key] = made_up(name, key, node, schema["$defs"], written)
    return short


WRITTEN = """
about = ["1.250", "0.500"]
across = "x"
accept = true
allowance = "0.010"
along = [["0", "0"], ["6", "0.25"]]
angle_deg = 82
arc = { count = 5, radius = "1-1/2", from_deg = 30, to_deg = 150 }
at = ["0.500", "0.250"]
at_z = "-0.1870"
axis_at_point = true
bond = "silver braze"
centre = ["2", "1"]
chain_drill = { drill = "1/4", web = "0.020", allowance = "0.010" }
chip = "0.002"
circle = "1-1/4"
clearance_for = "5-40"
clearance_under = "3/8"
colour = "pale yellow"
columns = 4
contact_percent = 0.05
corner_radius = "1/8"
corners = [1, 3]
count = 5
counterbore = "socket"
cutting = { step_depth = "1/8", direction = "conventional" }
depth = "1/8"
diameter = "1/4"
diameter_within = "0.002"
divisions_y = 200
drawing = "outline.dxf"
drill = "No. 38"
drill_point_deg = 135
edge = [2]
end = "1/2"
engagement_ratio = 1.1
entry_at = ["1.0", "0.5"]
face_z = "-1/16"
feed = 6
feed_deg = 90
file = "outline.dxf"
finish = "0.005"
float_below = "1/32"
floor_margin = "0.001"
floor_z = "-0.1860"
found_by = "edge finder"
free_along = 15
from = ["0.120", "0.400"]
from_deg = 30
from_z = "-1/4"
gap = "0.002"
grid = { columns = 4, rows = 2, pitch = ["1", "3/4"] }
head_diameter = "0.226"
height_within = "0.005"
high_spot = "0.003"
holes_within = "0.003"
in = "former"
island = [{ circle = "1/2", centre = ["2", "1"] }]
joint = ["2", "7/16"]
k = 3.5
keep_from = "nose curve"
layer = "HOLES"
lead_y = "0.125"
lean_deg = 1
least = "3/16"
least_bottom = "1/4"
least_wall = "1/4"
leave_bottom = "0.040"
least_chip = "0.0003"
leave_out = [3]
length = "6-1/4"
like = "old row"
line = "3"
line_numbers = 10
locked = true
long_way = true
lost_percent = 10
margin = "1/16"
mass_g = 0.66
material = "copper"
measured = ["0.0045", "0.0050"]
measured_slope_deg = 12.5
metal = "brass"
mirror_copy = { across = "x", line = "3" }
name = "rear row"
notes = "clamp at both ends"
off_centre = ["1/8", "0"]
offset = "1/4"
only = [4, 5, 6]
openings = [{ circle = "1", centre = ["3", "1"] }]
overhang = "1-1/4"
parallel = "rear edge to the X axis, within 0.002 over 6"
part = ["0.500", "0.250"]
path = [["0", "1"], ["3", "1"], ["5", "2"]]
pattern = "rail screws"
pilot = "1/16"
pitch = "1-1/4"
place = { at = ["0.500", "0.250"] }
points = [["0", "0"], ["3", "0"], ["3", "2"]]
process = "0.020"
program_number = 1001
radius = "1-1/2"
ramp_deg = 2
rapid = 60
reads = ["0.512", "0.248"]
ream = "0.1250"
rectangle = ["3", "1-1/2"]
rough_step = "0.008"
row_angle_deg = 90
rows = 2
run_out = "3/16"
runout = "0.001"
screw_diameter = "0.125"
service = "pressure"
shift = ["0.340", "0.180"]
significance_percent = 1
skin = "0.001"
slope_within_deg = 0.5
slotted = { length = "1/4", along = 0 }
solder = { wire_length = "3", wire_diameter = "1/16", joint = ["2", "7/16"] }
span_deg = 120
speed_rpm = 900
spoil_board = "3/4"
spot_deg = 90
spread = "0.0005"
start = "1/2"
step_depth = "1/8"
step_over = "0.100"
steps = [250, 500, 1000, 2000]
thread = "5-40"
through = ["1", "0.4"]
to = ["6.120", "0.415"]
to_deg = 150
to_plug = { metal = "brass", thread = "8-32", locked = true }
to_shoulder = "1/4"
to_tip = "0.300"
to_z = "1/2"
tolerance = "0.0005"
top_depth = "1/16"
top_z = "1/8"
turn_deg = 15
turn_free_deg = 2
washer_diameter = "1/4"
web = "0.020"
weight = 2
width = "7/16"
wire_diameter = "1/16"
wire_length = "3"
within = "0.005"
words = "brass screw, soft soldered"
z_zero = "top of the rail, with paper"
zero_within = "0.001"

face_up = "scribed side up"
head = "flat"
sneak = { undersize = "0.020", steps = 3 }
"MateHoles.along" = { edge = "outline", pitch = "1", offset = "1/4" }
"OldHoles.along" = { edge = "outline", pitch = "1", offset = "1/4" }
"OldHoles.circle" = { count = 6, diameter = "3-1/2" }
"OldHoles.to_plug" = { metal = "brass", diameter = "1/8" }
"Pattern.along" = { edge = [2], pitch = "1", offset = "1/4" }
"PlugPlan.length" = "3/16"
"Slotted.along" = 30
"Skew.holes" = [{ part = ["1", "1"], reads = ["1.012", "0.990"] }]
"""
"""Examples, by key, of what no job above uses; the same key means the same wherever it stands, or a table is named."""


def made_up(table: str, key: str, node: dict[str, Any], tables: dict[str, Any], written: dict[str, Any]) -> str:
    """Return an example of a key that no job uses: as written above, another choice than the one that holds anyway, or
    "" for a table or a list of tables, which has a heading of its own.
    """
    check = jsonschema.Draft202012Validator({**node, "$defs": tables})
    for name in (f"{table}.{key}", key):
        if name in written and check.is_valid(written[name]):
            return toml_text(written[name])
    choices = [True, False] if node.get("type") == "boolean" else list(node.get("enum", []))
    choices += [one for choice in node.get("anyOf", ()) for one in choice.get("enum", ())]
    return next((toml_text(c) for c in choices if c != node.get("default")), "")
