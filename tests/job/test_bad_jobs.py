"""Kinds of bad job file: every one gives its line, its key in the user's words and what to write instead.

The expected line is found in the text of the test itself, by a word that stands on it.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from whole_job import WHOLE_JOB

from holecam.errors import FileContentError
from holecam.job.reader import parse_job, read_job

WHOLE_PART = WHOLE_JOB[WHOLE_JOB.index("[part]") : WHOLE_JOB.index("[setup]")]

# name, text taken out, text put in, a word on the line that has to be named, what the message has to say
BAD: list[tuple[str, str, str, str, tuple[str, ...]]] = [
    # Keys
    (
        "misspelt key",
        'thickness = "3/16"',
        'thicknes = "3/16"',
        "thicknes ",
        ("part.thicknes", 'Did you mean "thickness"?'),
    ),
    (
        "key of nowhere",
        'name = "cover"',
        'name = "cover"\nsparkle = 3',
        "sparkle",
        ("sparkle = 3", "Known keys: thread, drill"),
    ),
    (
        "key under wrong table",
        "fastest_feed = 40",
        'fastest_feed = 40\nthickness = "1"',
        'thickness = "1"',
        ("belongs under [part]",),
    ),
    (
        "top key too low",
        'name = "knee mill"',
        'name = "knee mill"\nrevision = "A"',
        'revision = "A"',
        ("belongs at the top of the file",),
    ),
    ("missing title", 'title = "Lantern hood, left half"\n', "", "", ('"title" here, which is missing',)),
    ("missing unit", 'unit = "in"\n', "", "", ('"unit" here, which is missing', "What a bare number means")),
    ("missing part", WHOLE_PART, "", "", ("[part] here, which is missing",)),
    ("missing name", 'name = "cover"\n', "", "[[pattern]]\ncircle", ("pattern 2: name", "which is missing")),
    (
        "missing count",
        "circle = { count = 5, diameter",
        "circle = { diameter",
        "circle = {",
        ('pattern "cover": circle.count', "How many holes"),
    ),
    (
        "missing place",
        'place = { centre = [3, "0.2"], within = "2 thou" }\n',
        "",
        '[[pattern]]\nname = "cover"',
        ("expected place", "Say where one hole lies"),
    ),
    (
        "missing chain reading",
        '"calliper"',
        '"caliper"\nmeasures = 3',
        "measures",
        ('section "skirt": measures', '"measured"'),
    ),
    # Kinds of value
    (
        "number for text",
        'title = "Lantern hood, left half"',
        "title = 12",
        "title",
        ("title = 12", "expected text in quotes"),
    ),
    ("empty text", 'name = "cover"', 'name = "  "', 'name = "  "', ("text that is not empty",)),
    ("long name", 'name = "cover"', f'name = "{"x" * 90}"', "xxx", ("at most 80 characters", "under notes")),
    (
        "true for a count",
        "count = 5",
        "count = true",
        "count = true",
        ("circle.count = true", "expected a whole number"),
    ),
    (
        "text for a count",
        "count = 5",
        'count = "5"',
        'count = "5"',
        ("expected a whole number", "Take the quotes off."),
    ),
    ("half a hole", "count = 5", "count = 5.5", "count = 5.5", ("circle.count = 5.5", "expected a whole number")),
    ("zero count", "count = 5", "count = 0", "count = 0", ("circle.count = 0", "at least 1")),
    ("too many holes", "count = 5", "count = 20000", "count = 20000", ("at most 10000",)),
    (
        "text for a number",
        "percent = 70",
        'percent = "70"',
        'percent = "70"',
        ("tap.percent", "a number without quotes"),
    ),
    ("percent too high", "percent = 70", "percent = 170", "percent = 170", ("a number of at most 100",)),
    ("text for true", 'like = "old row"', 'like = "old row"\nspot = "yes"', "spot", ("true or false", "Write true.")),
    ("text for a list", 'approach = ["+x", "+y"]', 'approach = "+x"', "approach", ("a list in square brackets",)),
    (
        "list for a table",
        'depth = { full_thread = "1/8" }',
        "depth = [3]",
        "depth = [3]",
        ("depth = [3]", "a table such as"),
    ),
    (
        "table for a list",
        "leave_out = [2]",
        "leave_out = { a = 2 }",
        "leave_out",
        ("leave_out", "a list in square brackets"),
    ),
    ("unknown word", 'fit = "fine"', 'fit = "fin"', 'fit = "fin"', ('"close", "normal"', 'Did you mean "fine"?')),
    (
        "unknown approach",
        'approach = ["+x", "+y"]',
        'approach = ["+x", "+z"]',
        "approach",
        ("approach[2]", '"+x", "-x"'),
    ),
    (
        "same approach twice",
        'approach = ["+x", "+y"]',
        'approach = ["+x", "-x"]',
        "approach",
        ("one side for each axis",),
    ),
    ("angle as text", "first_deg = 18", 'first_deg = "18 deg"', "first_deg", ("a number without quotes",)),
    ("angle beyond a turn", "first_deg = 18", "first_deg = 720", "first_deg", ("at most 360",)),
    ("hidden character", 'name = "cover"', 'name = "co\\u0007ver"', "co\\u0007ver", ("U+0007", "take it out")),
    ("direction mark", 'hand = "left as', 'hand = "\u202eleft as', "hand =", ("U+202E",)),
    # Lengths
    ("decimal comma", 'thickness = "3/16"', 'thickness = "4,5 mm"', "4,5", ("a length such as", 'Write "4.5 mm".')),
    ("unit typo", 'thickness = "3/16"', 'thickness = "4.5 mn"', "4.5 mn", ('The unit "mn" is not known',)),
    ("a mil", 'thickness = "3/16"', 'thickness = "12 mil"', "12 mil", ("A mil means",)),
    ("zero denominator", 'thickness = "3/16"', 'thickness = "3/0"', "3/0", ("is zero",)),
    ("nan", 'thickness = "3/16"', "thickness = nan", "nan", ("Give a finite number",)),
    ("infinity", 'thickness = "3/16"', "thickness = inf", "inf", ("Give a finite number",)),
    ("true as a length", 'thickness = "3/16"', "thickness = true", "thickness = true", ("a length such as",)),
    ("date as a length", 'thickness = "3/16"', "thickness = 2024-01-01", "2024-01-01", ("a length such as",)),
    ("negative thickness", 'thickness = "3/16"', 'thickness = "-3/16"', "-3/16", ("a length above zero",)),
    ("zero diameter", 'diameter = "0.125"', "diameter = 0", "diameter = 0", ("a length above zero",)),
    ("absurd size", 'thickness = "3/16"', "thickness = 4000", "4000", ("at most 10 m",)),
    ("endlessly small", 'drawn = "2-1/2"', "drawn = 1e-12", "1e-12", ("at least 0.00001 mm",)),
    ("power of ten in text", 'thickness = "3/16"', 'thickness = "2e-1"', "2e-1", ("without a power of ten",)),
    (
        "negative pitch",
        'line = { count = 6, pitch = "1-1/4" }\nplace',
        'line = { count = 6, pitch = "-1" }\nplace',
        'pitch = "-1"',
        ("line.pitch", "above zero"),
    ),
    (
        "one coordinate",
        'centre = [3, "0.2"], within',
        "centre = [3], within",
        "centre = [3]",
        ("2 values in brackets", "One is missing"),
    ),
    (
        "three coordinates",
        'centre = [3, "0.2"], within',
        'centre = [3, "0.2", 0], within',
        "centre = [3,",
        ("at most 2 values", "It has 3"),
    ),
    (
        "wrong coordinate",
        'first = ["0.010", "0.020"]',
        'first = ["0.010", "x"]',
        "first",
        ("skew.edge.first[2]", 'first[2] = "x"'),
    ),
    ("unit as a word", 'unit = "in"', 'unit = "inches"', "unit", ('"in" or "mm"', 'Did you mean "in"?')),
    ("coarse readout", 'readout = "0.0005"', "readout = 0.5", "readout", ("machine.readout", "slip of unit or point")),
    # Trade words
    ("unknown material", 'material = "brass"', 'material = "brss"', "brss", ("a known material", "Did you mean brass")),
    (
        "impossible thread",
        'thread = "5-40"\ntap',
        'thread = "5-41"\ntap',
        "5-41",
        ('pattern "rail screws": thread', "5-40"),
    ),
    ("no thread at all", 'thread = "5-40"\ntap', 'thread = "banana"\ntap', "banana", ("a thread such as",)),
    ("unknown screw", 'clearance_for = "M3"', 'clearance_for = "M3.3"', "M3.3", ("clearance_for", "M3")),
    (
        "bare drill number",
        'over = "rail end over the hood"',
        'over = "rail end over the hood"\npilot = 40',
        "pilot",
        ('"#40"',),
    ),
    ("unknown drill", '"fraction", "2.5 mm"]', '"fraction", "#120"]', "#120", ("tools.drills[4]",)),
    ("unknown instrument", '"calliper"', '"calipter"', "calipter", ("a known instrument", "calliper")),
    (
        "unknown method",
        'zero_found_by = "edge finder"',
        'zero_found_by = "edge fender"',
        "edge fender",
        ("edge finder",),
    ),
    ("unknown touch", 'with = "paper"', 'with = "papper"', "papper", ("a known way to touch off", "paper")),
    (
        "unknown limit",
        'of = "edge-distance"',
        'of = "edge distanse"',
        "edge distanse",
        ("a known limit", '"edge-distance"'),
    ),
    # One of several, and what goes together
    (
        "two shapes",
        'like = "old row"\n',
        'like = "old row"\npoints = [[0, 0]]\n',
        'like = "old row"',
        ("exactly one of line, grid", "It has points and like"),
    ),
    (
        "no shape",
        "circle = { count = 5, diameter = 2, first_deg = 18 }\n",
        "",
        '[[pattern]]\nname = "cover"',
        ("exactly one of line, grid", "none of them"),
    ),
    (
        "two jobs for a hole",
        'clearance_for = "M3"',
        'clearance_for = "M3"\ndrill = "1/8"',
        'clearance_for = "M3"\ndrill',
        ("exactly one of thread, drill", "drill and clearance_for"),
    ),
    (
        "two places",
        'place = { centre = [3, "0.2"]',
        'place = { at = [0, 0], centre = [3, "0.2"]',
        "place = { at = [0, 0], centre",
        ("exactly one of at, centre",),
    ),
    (
        "centre of a row",
        'place = { at = ["0.620", "0.220"] }',
        'place = { centre = ["0.620", "0.220"] }',
        'centre = ["0.620',
        ("centre only for a circle",),
    ),
    (
        "pitch and length",
        'line = { count = 6, pitch = "1-1/4" }\nplace',
        "line = { count = 6, pitch = 1, length = 5 }\nplace",
        "length = 5",
        ("exactly one of pitch or length",),
    ),
    (
        "blind without thread",
        'fit = "fine"',
        'fit = "fine"\ndepth = { full_thread = 0.1 }',
        "depth = { full_thread = 0.1",
        ("full_thread only beside thread",),
    ),
    (
        "depth as a bare length",
        'depth = { full_thread = "1/8" }',
        'depth = "1/8"',
        'depth = "1/8"',
        ('"through" or a table',),
    ),
    (
        "fit of a thread",
        'countersink = "flat"',
        'countersink = "flat"\nfit = "close"',
        'fit = "close"',
        ("fit only beside clearance_for",),
    ),
    ("plug of nothing", 'soft soldered"', 'soft soldered"\nto_plug = { metal = "brass" }', "to_plug", ("not both",)),
    (
        "strange plug",
        'plug = "brass screw, soft soldered"',
        'plug = "chewing gum"',
        "chewing gum",
        ("words that name the plug's metal", "brass screw"),
    ),
    (
        "slot without depth",
        'clears = { width = "7/16", height = "3/16", within = "0.010", float = "0.015" }',
        "width = 1",
        "width = 1\nfrom",
        ("depth beside width",),
    ),
    ("strange end", 'ends = ["open",', 'ends = ["opne",', "opne", ('"open", "blind"',)),
    (
        "stop short of nothing",
        'stop_short = "nose curve", by = "0.060"',
        'stop_short = "nose curve"',
        "stop_short",
        ("by beside stop_short",),
    ),
    ("slot of no length", 'to = ["6.400", "1.250"]', 'to = [0, "1.250"]', 'to = [0, "1.250"]', ("two different ends",)),
    (
        "bull-nose without radius",
        'material = "carbide", name = "small"',
        'kind = "bull-nose", name = "small"',
        "bull-nose",
        ("corner_radius for a bull-nose",),
    ),
    ("travel turned round", "x = [-15, 15]", "x = [15, -15]", "x = [15", ("the least x first",)),
    ("slow faster than fast", "slowest = 120", "slowest = 3000", "slowest = 3000", ("slowest not above fastest",)),
    ("limit without reason", 'reason = "the edge is not loaded"', 'reason = ""', "reason", ("a reason",)),
    (
        "keep-out with two shapes",
        "width = 0.05\nradius = ",
        "width = 0.05\ncircle = 1\nradius = ",
        "line = [[0, 0], [7, 0]]",
        ("exactly one of rectangle, circle",),
    ),
    (
        "no sheet to keep",
        "keep = true",
        "keep = false",
        "layers =",
        ("one layer with keep = true",),
    ),
    ("negative layer", 'thick = "0.004"', 'thick = "-0.004"', "-0.004", ('layers "soft solder": thick', "above zero")),
    (
        "touch beside the stack",
        'touch = { on = "brass rail"',
        'touch = { on = "brass bar"',
        "brass bar",
        ("a layer of the stack", '"brass bar"'),
    ),
    ("growing tail", 'tail = ["0.002", "0.001"', 'tail = ["0.001", "0.002"', "tail", ("passes never grow",)),
    (
        "sections unknown",
        'of = ["skirt", "slope"]',
        'of = ["skirt", "slop"]',
        'of = ["skirt"',
        ("names of sections: skirt, slope", '"slop"'),
    ),
    ("reading without instrument", 'with = "steel rule"', "", "is = ", ("or within",)),
    ("machine words", 'ending = "M2"', 'ending = "M1"', 'ending = "M1"', ("machine.program.ending", '"M30"')),
    # Shapes
    (
        "corner radius too large",
        'corner_radius = "1/16"',
        "corner_radius = 1",
        "corner_radius = 1",
        ("at most half the shorter side",),
    ),
    (
        "arc radius too small",
        "radius = 2, turn",
        "radius = 1, turn",
        "radius = 1",
        ("a radius of at least 1.5000 in", "Step 3: found 1.0000 in."),
    ),
    ("arc without turn", 'radius = 2, turn = "left"', "radius = 2", "radius = 2", ('turn = "left" or "right"',)),
    ("arc on a line", 'through = [7, "1.25"]', 'through = ["6.5", "1.25"]', 'through = ["6.5"', ("not on one line",)),
    ("rounding too large", "rounded = 0.1", "rounded = 9", "rounded = 9", ("roundings that need at most",)),
    (
        "outline of two points",
        '[[0, 0], [8, 0], { arc_to = [8, 3], radius = 2, turn = "left" }, { to = [0, 3], rounded = 0.1 }]',
        "[[0, 0], [8, 0]]",
        "outline = { points",
        ("at least 3 points",),
    ),
    (
        "flat outline",
        '[[0, 0], [8, 0], { arc_to = [8, 3], radius = 2, turn = "left" }, { to = [0, 3], rounded = 0.1 }]',
        "[[0, 0], [8, 0], [4, 0]]",
        "outline = { points",
        ("points that enclose an area", "on one line"),
    ),
    (
        "same point twice",
        "[[0, 0], [8, 0],",
        "[[0, 0], [8, 0], [8, 0],",
        "outline = { points",
        ("another point than the one before",),
    ),
    (
        "outline that crosses itself",
        '[[0, 0], [8, 0], { arc_to = [8, 3], radius = 2, turn = "left" }, { to = [0, 3], rounded = 0.1 }]',
        "[[0, 0], [8, 3], [8, 0], [0, 3]]",
        "outline = { points",
        ("an outline that can be made", "Outline crosses itself at X 101.600 Y 38.100 mm", "edges 1 and 3"),
    ),
    (
        "island on the wall",
        'clears = { rectangle = [1, "3/4"], at = [2, "1/2"], height = "1/16", within = "0.010", float = "1/32" }',
        'rectangle = [1, "3/4"]\nat = [2, "0.9"]\ndepth = "1/16"',
        "island = ",
        ("an outline that can be made", "touches its wall"),
    ),
    (
        "island outside",
        'clears = { rectangle = [1, "3/4"], at = [2, "1/2"], height = "1/16", within = "0.010", float = "1/32" }',
        'rectangle = [1, "3/4"]\nat = [4, "1/2"]\ndepth = "1/16"',
        "island = ",
        ("Island 1 of the pocket lies outside",),
    ),
    # Names that lead nowhere
    (
        "two patterns of one name",
        'name = "cover"',
        'name = "Rail  screws"',
        "Rail  screws",
        ("a different name for each pattern", "pattern 1 too"),
    ),
    ("old holes of that name", 'name = "old row"', 'name = "cover"', 'name = "cover"\nline', ("a different name",)),
    (
        "slot and pocket alike",
        'name = "patch"',
        'name = "rail clearance"',
        'name = "rail clearance"\nin = "former"\nclears = { rectangle',
        ("slot 1 too",),
    ),
    (
        "mate of nothing",
        'pattern = "rail screws"',
        'pattern = "rail screw"',
        'pattern = "rail screw"',
        ("the name of a [[pattern]]", 'Did you mean "rail screws"?'),
    ),
    ("like nothing", 'like = "old row"', 'like = "older row"', "older row", ('Did you mean "old row"?',)),
    ("moved from nothing", 'from = "old row"', 'from = "oldrow"', "oldrow", ("place.moved.from", '"old row"')),
    ("chain of nothing", 'by = "hood length"', 'by = "hod length"', "hod length", ("[[chain]]", '"hood length"')),
    (
        "body of nothing",
        'in = "former"\nclears = { width',
        'in = "formr"\nclears = { width',
        "formr",
        ("[[body]]", '"former"'),
    ),
    ("sheet of nothing", 'over = "rail end over the hood"', 'over = "rail"', 'over = "rail"', ("[[step_down]]",)),
    ("curve of nothing", 'stop_short = "nose curve"', 'stop_short = "nose"', 'stop_short = "nose"', ("[[keep_out]]",)),
    (
        "curve of another body",
        'stop_short = "nose curve"',
        'stop_short = "bend"',
        'stop_short = "bend"',
        ("on the same body", "the part"),
    ),
    (
        "cutter not listed",
        'cutter = "1/4 end mill"',
        'cutter = "3/8 end mill"',
        "3/8 end mill",
        ("under [tools] end_mills", '"1/4 end mill"'),
    ),
    ("second cutter not listed", 'second_cutter = "small"', 'second_cutter = "tiny"', "tiny", ("second_cutter",)),
    (
        "limit of nothing",
        'of = "edge-distance"',
        'of = "edge-distance"\npattern = "lid"',
        'pattern = "lid"',
        ("limit 1: pattern",),
    ),
    ("like itself", 'like = "old row"', 'like = "rail screws"', 'like = "rail screws"', ("names itself",)),
    # Numbers of holes and sides
    ("hole that is not there", "leave_out = [2]", "leave_out = [2]\nonly = [6]", "only", ("hole numbers from 1 to 5",)),
    ("nothing left in", "leave_out = [2]", "leave_out = [1, 2, 3, 4, 5]", "leave_out", ("at least one hole",)),
    (
        "reference not there",
        'place = { at = ["0.620", "0.220"] }',
        'place = { hole = 7, at = ["0.620", "0.220"] }',
        "hole = 7",
        ("a hole number from 1 to 6",),
    ),
    (
        "mate too short",
        "holes = { line = { count = 6",
        "holes = { line = { count = 5",
        "count = 5, pitch",
        ("a hole for each of the 6 screws",),
    ),
    ("measured not there", "hole = 2, off", "hole = 8, off", "hole = 8", ("measured 1: hole", "1 to 6")),
    # Sizes against each other
    (
        "deeper than the part",
        'full_thread = "1/8"',
        "full_thread = 1",
        "full_thread = 1",
        ("less than the thickness", '"through"'),
    ),
    (
        "higher than the former",
        'height = "3/16", within',
        "height = 3, within",
        "height = 3",
        ("less than the thickness", "through = true"),
    ),
    # Drawings
    (
        "missing drawing",
        'outline = { rectangle = ["7-1/4", "7/16"], corner_radius = "1/16" }',
        'outline = { drawing = "rail.dxf" }',
        "rail.dxf",
        ("part.outline.drawing", "found no such file"),
    ),
    # TOML itself
    (
        "missing quote",
        'title = "Lantern hood, left half"',
        'title = "Lantern hood, left half',
        "title",
        ("a closing quote",),
    ),
    ("text without quotes", 'name = "cover"', "name = cover", "name = cover", ("Text needs quotes",)),
    (
        "fraction without quotes",
        'thickness = "3/16"',
        "thickness = 3/16",
        "3/16\n",
        ("quotes round a length", 'Write "3/16".'),
    ),
    ("unit without quotes", 'thickness = "3/16"', "thickness = 4.5 mm", "4.5 mm", ('Write "4.5 mm".',)),
    ("inner fraction without quotes", 'drawn = "2-1/2"', "drawn = 2-1/2", "2-1/2", ('Write "2-1/2".',)),
    ("key twice", 'temper = "half hard"', 'temper = "half hard"\nmaterial = "steel"', '"steel"', ("each key once",)),
    ("table twice", "[setup]", '[part]\nmaterial = "x"\n[setup]', '[part]\nmaterial = "x"', ("each [table] once",)),
    ("missing equals", "fastest_feed = 40", "fastest_feed 40", "fastest_feed", ("equals sign",)),
    (
        "missing bracket",
        'notes = ["the hood was shortened", "the rail stays"]',
        'notes = ["the hood was shortened", "the rail stays"',
        "notes",
        ("a closing ]",),
    ),
    (
        "missing brace",
        "spindle = { slowest = 120, fastest = 2800 }",
        "spindle = { slowest = 120, fastest = 2800",
        "spindle",
        ("a closing }",),
    ),
    ("back stroke in text", 'held = "on its former"', 'held = "c:\\parts"', "held", ("double",)),
    ("name of a table open", "[tools]", "[tools", "[tools", ("a closing ]",)),
    ("curly quotes", 'thread = "5-40"\n', "thread = \u201c5-40\u201d\n", "\u201c5-40", ("straight quotes", "curly")),
    ("curly quotes in a list", '["+x", "+y"]', '["+x", \u201d+y\u201d]', "\u201d+y", ("straight quotes", "curly")),
    ("side without its sign", '["+x", "+y"]', '["x", "+y"]', '["x"', ('approach[1] = "x"', "The sign is missing.")),
]


def _line_of(text: str, word: str) -> int:
    if not word:
        return 0
    assert text.count(word) >= 1, f"the test has no line with {word!r}"
    return text[: text.index(word)].count("\n") + 1


@pytest.mark.parametrize(("old", "new", "word", "said"), [b[1:] for b in BAD], ids=[b[0] for b in BAD])
def test_names_line_key_and_way_out(old: str, new: str, word: str, said: tuple[str, ...]) -> None:
    assert old in WHOLE_JOB
    text = WHOLE_JOB.replace(old, new, 1)
    with pytest.raises(FileContentError) as caught:
        parse_job(text, file="rescue.toml")
    line = _line_of(text, word)
    place = f"rescue.toml:{line}: " if line else "rescue.toml: "
    mine = [p.text() for p in caught.value.problems if all(s in p.text() for s in said)]
    assert mine, str(caught.value)
    assert any(m.startswith(place) for m in mine), (place, mine)
    assert len(caught.value.problems) <= 3, str(caught.value)
    for word in ("pydantic", "Input should", "validation error", "Traceback", "None", "tuple", "dict"):
        assert word not in str(caught.value)


def test_there_are_many_kinds() -> None:
    assert len({b[0] for b in BAD}) == len(BAD) >= 100


def test_the_unspoilt_job_is_fine() -> None:
    job = parse_job(WHOLE_JOB, file="rescue.toml")
    assert [p.name for p in job.patterns] == ["rail screws", "cover"]


def test_all_problems_at_once_in_order_of_lines() -> None:
    text = WHOLE_JOB
    changes = [
        ('unit = "in"', 'unit = "inch"'),
        ('material = "brass"', 'material = "brss"'),
        ("count = 5", "count = 0"),
        ('thread = "5-40"\ntap', 'thread = "5-41"\ntap'),
        ('name = "patch"', 'name = "rail clearance"'),
        ('cutter = "small"\ntail = ["0.002"', 'cutter = "small"\ntail = ["2 furlongs"'),
        ('pattern = "rail screws"', 'pattern = "rail screw"'),
    ]
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    with pytest.raises(FileContentError) as caught:
        parse_job(text, file="rescue.toml")
    lines = [p.line for p in caught.value.problems]
    assert lines == sorted(lines)
    assert len(lines) == len(changes), str(caught.value)


def test_drawing_problems_name_the_layers_there_are(tmp_path: Path) -> None:
    import ezdxf

    document = ezdxf.new("R2010", units=4)
    for name in ("EDGE", "HOLES"):
        document.layers.add(name)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (100, 0), (100, 50)], close=True, dxfattribs={"layer": "EDGE"})
    space.add_circle((10, 10), 2, dxfattribs={"layer": "HOLES"})
    document.saveas(tmp_path / "cover.dxf")
    old = 'outline = { rectangle = ["7-1/4", "7/16"], corner_radius = "1/16" }'
    text = WHOLE_JOB.replace(old, 'outline = { drawing = { file = "cover.dxf", layer = "EGDE" } }')
    path = tmp_path / "job.toml"
    path.write_text(text)
    with pytest.raises(FileContentError) as caught:
        read_job(path)
    (problem,) = caught.value.problems
    assert problem.line == text[: text.index("EGDE")].count("\n") + 1
    assert problem.key == "part.outline.drawing.layer"
    assert 'Did you mean "EDGE"?' in problem.text()
    assert '"EDGE", "HOLES"' in problem.text()

    path.write_text(text.replace("EGDE", "EDGE"))
    job = read_job(path)
    assert job.part.outline is not None
    circles = text.replace("EGDE", "EDGE").replace(
        "circle = { count = 5, diameter = 2, first_deg = 18 }",
        'drawing = { file = "cover.dxf", layer = "HOLES", diameter = "5 mm" }',
    )
    path.write_text(circles.replace('place = { centre = [3, "0.2"], within = "2 thou" }\nleave_out = [2]\n', ""))
    with pytest.raises(FileContentError, match=r"circles of 5\.0000 mm.* 1 of 4\.0000 mm"):
        read_job(path)


def test_a_side_without_its_sign_is_not_guessed() -> None:
    """The nearest word to "x" was "-x": to follow the hint would have taken up the backlash on the wrong side."""
    with pytest.raises(FileContentError) as caught:
        parse_job(WHOLE_JOB.replace('["+x", "+y"]', '["x", "y"]'), file="rescue.toml")
    assert "Did you mean" not in str(caught.value)


def test_an_outline_from_a_drawing_with_holes_in_it_names_line_and_way_out(tmp_path: Path) -> None:
    import ezdxf

    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (100, 0), (100, 50)], close=True)
    space.add_circle((80, 20), 2)
    document.saveas(tmp_path / "cover.dxf")
    old = 'outline = { rectangle = ["7-1/4", "7/16"], corner_radius = "1/16" }'
    assert old in WHOLE_JOB
    text = WHOLE_JOB.replace(old, 'outline = { drawing = "cover.dxf" }')
    path = tmp_path / "job.toml"
    path.write_text(text)
    with pytest.raises(FileContentError) as caught:
        read_job(path)
    (problem,) = caught.value.problems
    assert problem.line == text[: text.index("cover.dxf")].count("\n") + 1
    assert problem.key == "part.outline.drawing"
    assert "found 1 more inside it" in problem.text()
    assert "a layer of its own" in problem.text()
