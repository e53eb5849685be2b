"""Reading a job: files as they are found in shops, the unit of bare numbers, values built in Python."""

from __future__ import annotations

import hashlib
import os
import re
import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError
from whole_job import WHOLE_JOB

from holecam.errors import FileContentError, InputError
from holecam.job.models import Job, job_from_dict
from holecam.job.models_pattern import Line
from holecam.job.models_place import Place
from holecam.job.quantities import MOST_HOLES, bare_numbers_in
from holecam.job.reader import LARGEST_FILE, check_data, parse_job, read_chains, read_job

SMALL = 'title = "Plate"\nunit = "mm"\n[part]\nmaterial = "brass"\nthickness = 3\n'


def _small(**more: Any) -> dict[str, Any]:
    return {"title": "Plate", "unit": "mm", "part": {"material": "brass", "thickness": 3}, **more}


def test_lengths_are_exact_and_in_mm() -> None:
    job = parse_job(WHOLE_JOB)
    assert job.part.thickness == Fraction(3, 16) * Fraction(254, 10)
    assert job.machine.readout == Fraction(127, 10_000)
    assert job.old_holes[0].place is not None
    assert job.old_holes[0].place.at == (Fraction("15.748"), Fraction("5.588"))
    assert job.machine.backlash == (Fraction("0.127"), Fraction("0.2032"))
    assert job.step_downs[0].tail == (Fraction("0.0508"), Fraction("0.0254"), Fraction("0.0127"))
    assert job.patterns[1].place is not None
    assert job.patterns[1].place.within == Fraction("0.0508")


def test_short_forms_mean_their_tables() -> None:
    job = parse_job(WHOLE_JOB)
    assert [m.name for m in job.tools.end_mills] == ["1/4 end mill", "small"]
    plug = job.old_holes[0].plug
    assert plug is not None
    assert (plug.metal, plug.kind, plug.locked) == ("brass", "screw", "soldered")
    assert job.slots[0].ends[0].open
    assert job.slots[0].ends[1].stop_short == "nose curve"
    assert job.slots[0].cutters == ("1/4 end mill",)
    assert job.step_downs[0].bends[0].inside_radius == (Fraction("2.38125"), Fraction("2.54"))
    assert job.patterns[0].countersink is not None
    assert job.patterns[0].countersink.head == "flat"
    assert job.tools.drills[-1] == "2.5 mm"
    assert job.date == "2024-05-31"
    assert job.notes == ("the hood was shortened", "the rail stays")


@pytest.mark.parametrize(
    ("words", "metal", "kind", "locked"),
    [
        ("brass screw, soft soldered", "brass", "screw", "soldered"),
        ("copper rivet, silver soldered", "copper", "rivet", "brazed"),
        ("steel grub screw", "steel", "grub screw", None),
        ("brass rod, epoxied", "brass", "rod", "epoxy"),
        ("filled with soft solder", "solder", "fill", None),
        ("epoxy", "epoxy", "fill", "epoxy"),
        ("aluminum pin, pinned", "aluminium", "pin", "pinned"),
        ("Bronze screw, brazed", "bronze", "screw", "brazed"),
    ],
)
def test_words_of_plugs(words: str, metal: str, kind: str | None, locked: str | None) -> None:
    holes = {"points": [[1, 1]], "diameter": 3, "plug": words}
    plug = job_from_dict(_small(old_holes=[holes])).old_holes[0].plug
    assert plug is not None
    assert (plug.metal, plug.kind, plug.locked) == (metal, kind, locked)


def _in_mm(text: str) -> str:
    """Return the same job with every length written in mm: bare and quoted inches become exact decimals."""

    def length(match: re.Match[str]) -> str:
        parts = re.fullmatch(r"(-?)(?:(\d+)-)?(\d+)/(\d+)|(-?)(\d*\.?\d+)", match[1])
        assert parts is not None
        if parts[4]:
            size = int(parts[2] or 0) + Fraction(int(parts[3]), int(parts[4]))
            size = -size if parts[1] else size
        else:
            size = Fraction(match[1])
        mm = size * Fraction(254, 10)
        exact = f"{mm.numerator / mm.denominator:.12f}".rstrip("0").rstrip(".")
        assert Fraction(exact) == mm
        return f'"{exact}"'

    return re.sub(r'"(-?(?:\d+-)?\d+/\d+|-?\d*\.?\d+)"', length, text)


PLAIN_INCH = """
title = "Rail"
unit = "in"
[machine]
readout = "0.0005"
safe_height = "1/2"
[part]
material = "brass"
thickness = "3/16"
outline = { rectangle = ["7-1/4", "7/16"] }
[[old_holes]]
name = "old"
line = { count = 6, pitch = "1-1/4" }
place = { at = ["0.620", "0.195"] }
diameter = "0.125"
[[pattern]]
name = "new"
line = { count = 6, length = "6-1/4" }
thread = "5-40"
depth = { leave_bottom = "1/32" }
place = { moved = { from = "old", shift = ["-0.140", "0"] }, furthest = "1" }
[[slot]]
name = "slot"
clears = { width = "7/16", height = "1/16", within = "0.010" }
from = ["0", "1.250"]
to = ["6.400", "1.250"]
[[step_down]]
name = "down"
layers = [{ is = "bar", thick = "3/16" }, { is = "sheet", thick = "0.025", keep = true }]
touch = { on = "bar", with = "paper" }
bend = { inside_radius = "3/32", margin = "0.020" }
"""


def test_inch_and_mm_versions_of_one_job_are_equal() -> None:
    inch = parse_job(PLAIN_INCH)
    metric = parse_job(_in_mm(PLAIN_INCH).replace('unit = "in"', 'unit = "mm"'))
    assert inch.unit != metric.unit
    assert inch.model_dump(exclude={"unit"}) == metric.model_dump(exclude={"unit"})
    assert inch.patterns == metric.patterns
    assert hash(inch.slots) == hash(metric.slots)


def test_bare_numbers_and_text_without_unit_mean_the_same() -> None:
    text = parse_job(PLAIN_INCH)
    bare = re.sub(r'"(\d*\.\d+|\d+)"', r"\1", PLAIN_INCH)
    assert parse_job(bare).model_dump() == text.model_dump()


def test_a_unit_in_the_text_overrules_the_jobs() -> None:
    job = job_from_dict({**_small(), "part": {"material": "brass", "thickness": "1/8 in"}})
    assert job.part.thickness == Fraction("3.175")


def test_the_unit_is_read_first_wherever_it_stands() -> None:
    data = {"part": {"material": "brass", "thickness": 1}, "title": "x", "unit": "in"}
    assert Job.model_validate(data).part.thickness == Fraction(254, 10)


def test_built_in_python() -> None:
    place = Place(at=("1 in", "0.5 in"))  # type: ignore[arg-type]  # text is read as in a file
    assert place.at == (Fraction(254, 10), Fraction(127, 10))
    with pytest.raises(ValidationError, match="A bare number has no unit here"):
        Line(count=3, pitch=5)  # type: ignore[arg-type]
    with bare_numbers_in("in"):
        assert Line(count=3, pitch=5).pitch == 127  # type: ignore[arg-type]
    assert Line(count=3, pitch=Fraction(5)).pitch == 5
    job = job_from_dict({"title": "x", "part": {"material": "brass", "thickness": 1}}, unit="in", folder="there")
    assert (job.unit, job.part.thickness, job.source.folder) == ("in", Fraction(254, 10), "there")
    with pytest.raises(ValidationError, match="frozen"):
        job.part.thickness = Fraction(1)  # type: ignore[misc]


def test_problems_of_python_values_have_no_line() -> None:
    with pytest.raises(FileContentError) as caught:
        job_from_dict(_small(pattern=[{"name": "a", "line": {"count": 0, "pitch": 5}}]))
    (problem,) = caught.value.problems
    assert (problem.line, problem.key, problem.value) == (0, 'pattern "a": line.count', "0")


@pytest.mark.parametrize("value", ["0.136", 0.136])
def test_a_decimal_drill_has_the_unit_put_to_it(value: object) -> None:
    pattern = {"name": "a", "points": [[1, 1]], "drill": value}
    assert job_from_dict(_small(unit="in", pattern=[pattern])).patterns[0].drill == "0.136 in"


# Files as they are found


def _write(folder: Path, content: bytes | str, name: str = "job.toml") -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def test_source_says_where_the_job_came_from(tmp_path: Path) -> None:
    path = _write(tmp_path, SMALL)
    source = read_job(path).source
    assert source.file == str(path)
    assert source.folder == str(tmp_path)
    assert source.files == ((str(path), hashlib.sha256(SMALL.encode()).hexdigest()),)


def test_the_fingerprint_is_of_what_the_job_says_and_not_of_how_it_is_written() -> None:
    said = parse_job(SMALL).source.fingerprint
    assert re.fullmatch("[0-9a-f]{64}", said)
    assert parse_job("# a remark\n" + SMALL).source.fingerprint == said
    assert check_data(tomllib.loads(SMALL)).source.fingerprint == said
    assert parse_job(SMALL.replace("title", "revision = 'B'\ntitle", 1)).source.fingerprint != said


def test_windows_line_ends_and_byte_order_mark(tmp_path: Path) -> None:
    text = WHOLE_JOB.replace("\n", "\r\n")
    assert read_job(_write(tmp_path, b"\xef\xbb\xbf" + text.encode())).title == "Lantern hood, left half"
    bad = text.replace("count = 5", "count = 0")
    with pytest.raises(FileContentError) as caught:
        read_job(_write(tmp_path, b"\xef\xbb\xbf" + bad.encode()))
    assert [p.line for p in caught.value.problems] == [bad[: bad.index("count = 0")].count("\n") + 1]


@pytest.mark.parametrize(
    ("content", "line", "said"),
    [
        ((SMALL + "# é").encode("latin-1"), 6, "save the file as UTF-8"),
        (SMALL.encode("utf-16"), 1, "UTF-16"),
        (b"", 0, '"title" here, which is missing'),
        (b"\x00\x01\x02", 1, "rescue"),
        (b"PK\x03\x04" + bytes(range(256)), 2, "UTF-8"),
    ],
)
def test_files_that_are_no_job(tmp_path: Path, content: bytes, line: int, said: str) -> None:
    path = _write(tmp_path, content, "rescue.toml")
    with pytest.raises(FileContentError) as caught:
        read_job(path)
    assert said in str(caught.value)
    assert caught.value.problems[0].line == line


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    _write(tmp_path, SMALL, "lantern.toml")
    with pytest.raises(
        InputError, match=r"lantren\.toml: expected a job file, found no such file. Did you mean .*lantern"
    ):
        read_job(tmp_path / "lantren.toml")
    with pytest.raises(InputError, match="found a folder"):
        read_job(tmp_path)
    with pytest.raises(InputError, match="found a device or pipe"):
        read_job("/dev/zero")
    with pytest.raises(InputError, match="at most 2 MB, found"):
        read_job(_write(tmp_path, b"#" * (LARGEST_FILE + 10)))
    with pytest.raises(InputError, match="zero character"):
        read_job("job\0.toml")
    with pytest.raises(InputError, match="can be read"):
        read_job(tmp_path / ("x" * 5000))
    with pytest.raises(InputError, match="found no such file"):
        read_job(tmp_path / "no" / "job.toml")


def test_a_pipe_does_not_hang(tmp_path: Path) -> None:
    pipe = tmp_path / "job.toml"
    os.mkfifo(pipe)
    with pytest.raises(InputError, match="found a device or pipe"):
        read_job(pipe)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (SMALL + "x = " + "[" * 5000 + "]" * 5000, "at most 32 deep"),
        (SMALL + "x = " + "[" * 40 + "]" * 40, "at most 32 deep"),
        (SMALL + "x = " + "{a=" * 3000 + "1" + "}" * 3000, "at most 32 deep"),
        (SMALL + ".".join(["a"] * 300) + " = 1", "keys of at most 32 parts"),
        (SMALL + ".".join(["a"] * 20) + " = {" + ".".join(["a"] * 20) + " = 1}", "at most 32 deep"),
        (SMALL + "x = " + "9" * 6000, "numbers of usual length"),
        (SMALL + "x = " + "[" * 400, "closing ]"),
    ],
)
def test_nesting_and_numbers_without_end(text: str, said: str) -> None:
    with pytest.raises(FileContentError, match=re.escape(said)):
        parse_job(text)


def test_values_that_contain_themselves() -> None:
    loop: dict[str, Any] = {"count": 3}
    loop["line"] = loop
    with pytest.raises(FileContentError, match="do not contain themselves"):
        job_from_dict(_small(pattern=[{"name": "a", "line": loop}]))


def test_a_large_job_reports_a_hundred_problems_and_the_number_of_the_rest() -> None:
    rows = ", ".join("[1, true]" for _ in range(500))
    text = SMALL + f'[[pattern]]\nname = "a"\ndrill = "1/8"\npoints = [{rows}]\n'
    with pytest.raises(FileContentError) as caught:
        parse_job(text)
    assert len(caught.value.problems) == 101
    assert "400 more are not listed" in str(caught.value)


def test_many_holes_are_read_and_too_many_are_refused() -> None:
    spots = ", ".join(f"[{n % 100}, {n // 100}]" for n in range(MOST_HOLES))
    text = SMALL + f'[[pattern]]\nname = "a"\ndrill = "1 mm"\npoints = [{spots}]\n'
    assert len(parse_job(text).patterns[0].points or ()) == MOST_HOLES
    with pytest.raises(FileContentError, match="at most 10000 values"):
        parse_job(text.replace("points = [", "points = [[0, 500], "))


def test_control_characters_of_a_file_do_not_reach_the_terminal() -> None:
    text = SMALL + '"\\u001b[31mkey\\u202e" = "\\u001b[0m"\n'
    with pytest.raises(FileContentError) as caught:
        parse_job(text)
    assert all(c.isprintable() or c == "\n" for c in str(caught.value))


# Chains of sizes on their own

CHAIN = """
title = "Hood"
unit = "in"
[[chain]]
name = "length"
section = [{ name = "a", drawn = 2, measured = 2.02, with = "calliper" }, { name = "b", drawn = 3 }]
reading = [{ is = 5.03, with = "steel rule" }]
"""


def test_a_file_of_chains_and_a_job_with_chains(tmp_path: Path) -> None:
    alone = read_chains(_write(tmp_path, CHAIN))
    assert alone.chains[0].sections[0].measured == (Fraction("51.308"),)
    within = read_chains(_write(tmp_path, WHOLE_JOB))
    assert within.chains == parse_job(WHOLE_JOB).chains
    with pytest.raises(FileContentError, match=r"a \[\[chain\]\] with sections"):
        read_chains(_write(tmp_path, SMALL))
    with pytest.raises(FileContentError, match="calliper"):
        read_chains(_write(tmp_path, CHAIN.replace('"calliper"', '"caliiper"')))
    twice = _write(tmp_path, CHAIN + CHAIN[CHAIN.index("[[chain]]") :])
    with pytest.raises(FileContentError, match="a different name for each chain"):
        read_chains(twice)


def test_circles_of_names() -> None:
    def old(name: str, start: str) -> dict[str, Any]:
        place = {"moved": {"from": start, "shift": [1, 0]}}
        return {"name": name, "line": {"count": 2, "pitch": 5}, "diameter": 2, "place": place}

    with pytest.raises(FileContentError, match="lead round in a circle"):
        job_from_dict(_small(old_holes=[old("a", "b"), old("b", "a")]))
    likes = [{"name": n, "like": m, "diameter": 2, "place": {"at": [0, 0]}} for n, m in (("a", "b"), ("b", "a"))]
    with pytest.raises(FileContentError, match="lead round in a circle"):
        job_from_dict(_small(old_holes=likes))


def test_the_tomls_reader_and_ours_see_one_file() -> None:
    """The models hold what the standard reader gives: nothing is dropped on the way."""
    data = tomllib.loads(WHOLE_JOB)
    job = parse_job(WHOLE_JOB)
    for key, value in data.items():
        name = next((n for n, f in Job.model_fields.items() if (f.alias or n) == key), None)
        assert name is not None, key
        held = getattr(job, name)
        if isinstance(value, list) and value and isinstance(value[0], dict):
            assert len(held) == len(value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (SMALL + ".".join(["a"] * 300_000) + " = 1", "keys of at most 32 parts"),
        (SMALL + "".join(f'[[mate]]\npattern = "q{n}"\n' for n in range(3000)), "more are not listed"),
        (SMALL + "".join(f"k{n} = 1\n" for n in range(5000)), "Many more are not listed"),
        (SMALL + '[[pattern]]\nname = "' + "n" * 500_000 + '"\n', "at most 80 characters"),
    ],
)
def test_large_hostile_files_end_with_a_short_message(text: str, said: str) -> None:
    with pytest.raises(FileContentError, match=said) as caught:
        parse_job(text)
    assert len(str(caught.value)) < 60_000


def test_dots_in_text_and_numbers_are_no_endless_key() -> None:
    spots = ", ".join(f"[{n}.5, {n}.25]" for n in range(80))
    text = SMALL.replace("[part]", f'notes = "{"a.b." * 40} = 3 \\" {"c.d." * 40}"\n[part]')
    job = parse_job(text + f'[[pattern]]\nname = "a"\ndrill = "1 mm"\npoints = [{spots}]\n')
    assert job.patterns[0].known_count == 80
