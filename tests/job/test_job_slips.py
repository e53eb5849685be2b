"""Figures that no such thing has, keys in the words of the trade, values of the wrong kind: each with its way out."""

from __future__ import annotations

import re

import pytest
from whole_job import WHOLE_JOB

from holecam.errors import FileContentError
from holecam.job.models import Job
from holecam.job.reader import parse_job, read_job

LAYERS = WHOLE_JOB[WHOLE_JOB.index("layers = ") : WHOLE_JOB.index("touch = ")]
BRASS, SOLDER, COPPER = (
    '{ is = "brass rail", thick = "3/16", within = "0.001" }',
    '{ is = "soft solder", thick = "0.004", within = "0.002" }',
    '{ is = "copper hood", thick = "0.025", keep = true }',
)


def stack(*layers: str) -> str:
    return f"layers = [{', '.join(layers)}]\n"


def spoilt(old: str, new: str) -> tuple[str, ...]:
    assert old in WHOLE_JOB
    with pytest.raises(FileContentError) as caught:
        parse_job(WHOLE_JOB.replace(old, new, 1), file="rescue.toml")
    return tuple(p.text() for p in caught.value.problems)


def accepted(old: str, new: str) -> Job:
    assert old in WHOLE_JOB
    return parse_job(WHOLE_JOB.replace(old, new, 1), file="rescue.toml")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[0.005, 0.008]", "[0,12]", "a lost motion of at most 0.0787 in"),
        ("lead = 0.1,", "lead = 0.001,", "travel for one turn from 0.0098 in to 1.9685 in"),
        ("lead = 0.1,", "lead = 5,", "travel for one turn from 0.0098 in to 1.9685 in"),
        ('thick = "0.004"', 'thick = "4"', "a layer of soft solder of at most 0.1969 in"),
        ('thick = "0.025"', 'thick = "0.025 mm"', "a sheet of at least 0.0020 in"),
        ('with = "paper" }', 'with = "paper", offset = "3" }', "at most 0.0394 in of paper between cutter and face"),
        (LAYERS, stack(SOLDER, BRASS, COPPER), "the bar above what holds it"),
        (LAYERS, stack(BRASS, COPPER, SOLDER), "the solder or glue between the bar and the sheet"),
        (LAYERS, stack(COPPER, SOLDER, BRASS), "List the stack top down: the bar first"),
        (
            LAYERS,
            stack(BRASS.replace(" }", ", keep = true }"), SOLDER, COPPER),
            "keep = true at the sheet alone. It is at several",
        ),
        (LAYERS, stack(BRASS, '{ is = "sodler", thick = "0.004" }', COPPER), 'Did you mean "solder"? Or say bond'),
        ('["2.52", "2.515"]', "[2,52]", "readings of one and the same length. 2.0000 in and 52.0000 in"),
        ('is = "5-13/32"', "is = [5,40]", "readings of one and the same length"),
        ("brass screw, soft soldered", "bras screw, soldered", "words that name the plug's metal"),
    ],
)
def test_a_figure_that_cannot_be_is_refused(old: str, new: str, words: str) -> None:
    (text,) = spoilt(old, new)
    assert words in text
    assert re.match(r"rescue\.toml:\d+: ", text)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("[0.005, 0.008]", "[0.030, 0.012]"),
        ("lead = 0.1,", 'lead = "0.5 mm",'),
        (LAYERS, stack(SOLDER, COPPER)),  # the bar is off already, and the solder is what is left
        (LAYERS, stack(BRASS, '{ is = "shim", thick = "0.004", within = "0.001" }', COPPER)),
        ('with = "paper" }', 'with = "setter", offset = "2" }'),
        ('["2.52", "2.515"]', '["0.030", "0.070"]'),  # a short section of formed sheet
        ("brass screw, soft soldered", "solder"),
    ],
)
def test_what_may_well_be_is_taken(old: str, new: str) -> None:
    touch = '{ on = "brass rail", with = "paper" }'
    text = WHOLE_JOB.replace(old, new, 1)
    assert text != WHOLE_JOB
    if "brass rail" not in text[text.index("[[step_down]]") :].split("touch = ")[0]:
        text = text.replace(touch, '{ on = "bare sheet", with = "lamp" }').replace('seen = "bar"', 'seen = "layer"')
    parse_job(text, file="rescue.toml")


def test_a_touch_names_its_layer_in_any_capitals() -> None:
    job = accepted('touch = { on = "brass rail"', 'touch = { on = "Brass  Rail"')
    assert job.step_downs[0].touch.on == "brass rail"


def test_readings_of_a_rise_may_lie_about_zero() -> None:
    """Square to the chain a small slope rises by next to nothing, and one reading is soon ten times another."""
    is_ = 'is = "5-13/32"'
    text = WHOLE_JOB.replace(is_, 'is = ["0.02", "0.30"]\nacross = "square"', 1)
    assert len(parse_job(text, file="rescue.toml").chains[0].readings[0].is_) == 2
    with pytest.raises(FileContentError, match="one and the same length"):
        parse_job(WHOLE_JOB.replace(is_, 'is = ["0.02", "0.30"]', 1), file="rescue.toml")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("diameter = 2, first_deg", "dia = 2, first_deg", 'Did you mean "diameter"?'),
        ("diameter = 2, first_deg", "pcd = 2, first_deg", 'Did you mean "diameter"?'),
        ("diameter = 2, first_deg", "radius = 1, first_deg", "Give the diameter, twice the radius: diameter = ..."),
        ("{ rectangle = [3, 2] }", "{ radius = 1 }", "Give the diameter, twice the radius: circle = ..."),
        ("count = 5, diameter", "holes = 5, diameter", 'Did you mean "count"?'),
        ("count = 5, diameter", "number = 5, diameter", 'Did you mean "count"?'),
        ('{ count = 6, pitch = "1-1/4" }\nplace', '{ count = 6, spacing = "1-1/4" }\nplace', 'Did you mean "pitch"?'),
        ('height = "3/16"', 'depth = "3/16"', 'Did you mean "height"?'),
        ('diameter = "3/16", flutes', 'radius = "3/32", flutes', "Give the diameter"),
        (
            '"7/16"], corner_radius = "1/16" }',
            '"7/16"], datum = "x" }',
            '"datum" belongs beside outline, not inside it',
        ),
    ],
)
def test_a_key_in_the_words_of_the_trade_is_told_once(old: str, new: str, words: str) -> None:
    (text,) = spoilt(old, new)
    assert words in text
    assert "[[keep_out]]" not in text


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[tools]\n", "[[tools]]\n", "There is one of it: head it [tools]"),
        ("[[limit]]\n", "[limit]\n", "limit: expected [[limit]] with two brackets"),
        ('{ rectangle = ["7-1/4", "7/16"], corner_radius = "1/16" }', '"edge.dxf"', 'Write { drawing = "edge.dxf" }.'),
        ('{ rectangle = ["7-1/4", "7/16"], corner_radius = "1/16" }', "[[0, 0], [7, 0], [7, 1]]", "Write { points ="),
        ('rectangle = ["7-1/4", "7/16"]', 'rectangle = "7-1/4 x 7/16"', 'Write ["7-1/4", "7/16"].'),
        ('shift = ["-0.100", 0]', 'shift = "-0.100, 0"', 'Write ["-0.100", "0"].'),
        ("from = [0,", "from = [0, 5,", "It has 3."),
        ('to = ["6.400", "1.250"]', "to = [6,4, 1,25]", "If a comma was meant as the decimal point, write 6.4."),
        ("leave_out = [2]", "leave_out = 2", "Write [2]."),
        ("first_deg = 18", 'first_deg = "18\u00b0"', "Write 18."),
        ("first_deg = 18", "first_deg = \"22\u00b030'\"", "Write 22.5."),
        ("percent = 70", 'percent = "70%"', "Write 70."),
        ('depth = { full_thread = "1/8" }', 'depth = "1/8"', '{ to_shoulder = "..." }'),
        ('depth = { full_thread = "1/8" }', "depth = 0.125", '{ to_shoulder = "..." }'),
        ('plug = "brass screw, soft soldered"', "plug = true", "for an open hole leave plug out"),
        ('radius = 2, turn = "left"', 'radius = 2, turn = "ccw"', 'Did you mean "left"?'),
        ('kind = "cnc"', 'kind = "by hand"', 'Did you mean "manual"?'),
        ('["+x", "+y"]', '["right", "+y"]', 'expected "+x", "-x", "+y" or "-y".'),
        ('off = ["0.003", 0]', "off = [[3, 0]]", "off[1]"),
    ],
)  # fmt: skip
def test_a_value_of_the_wrong_kind_is_told_with_what_to_write(old: str, new: str, words: str) -> None:
    (text,) = spoilt(old, new)
    assert words in text
    assert "The sign is missing" not in text


POINTS = "circle = { count = 5, diameter = 2, first_deg = 18 }"
PLACED = 'place = { centre = [3, "0.2"], within = "2 thou" }\nleave_out = [2]\n'


def test_a_point_that_stands_twice_has_its_line_and_its_pattern() -> None:
    text = WHOLE_JOB.replace(PLACED, "").replace(POINTS, 'points = [[1, "1/8"], ["2", "1/8"], [2, "1/8"]]')
    with pytest.raises(FileContentError, match=r'pattern "cover": points\[3\].*every hole once. Hole 2 lies'):
        parse_job(text, file="rescue.toml")


def test_a_move_of_holes_that_are_not_there_has_its_line() -> None:
    text = WHOLE_JOB.replace(PLACED, 'place = { moved = { from = "old row", shift = [0, 1] } }\n')
    text = text.replace(POINTS, 'line = { count = 7, pitch = "1/2" }')
    with pytest.raises(FileContentError, match=r"rescue\.toml:\d+: .*moved\.from.*there is no hole 7.*like ="):
        parse_job(text, file="rescue.toml")


def test_threads_on_both_sides_have_their_line() -> None:
    (text,) = spoilt('pitch = "1-1/4" }, diameter = "9/64" }', 'pitch = "1-1/4" }, thread = "5-40" }')
    assert "holes.thread" in text
    assert "would hold the pieces apart" in text


def test_a_job_of_chains_alone_names_the_command_that_reads_it() -> None:
    start = WHOLE_JOB.index("[[chain]]")
    text = 'title = "x"\nunit = "in"\n' + WHOLE_JOB[start : WHOLE_JOB.index("[[marking_out]]")]
    with pytest.raises(FileContentError, match="holecam error reads a file of chains alone"):
        parse_job(text, file="chains.toml")


def test_a_drawing_is_named_as_it_is_spelled(tmp_path) -> None:  # type: ignore[no-untyped-def]
    (tmp_path / "edge.dxf").write_text("0\nEOF\n")
    for written in ("edge", "EDGE.DXF"):
        job = tmp_path / "job.toml"
        outline = '{ rectangle = ["7-1/4", "7/16"], corner_radius = "1/16" }'
        job.write_text(WHOLE_JOB.replace(outline, f'{{ drawing = "{written}" }}'))
        with pytest.raises(
            FileContentError, match=rf"{written}: found no such file. Did you mean .*edge\.dxf"
        ) as caught:
            read_job(job)
        assert len(caught.value.problems) == 1
