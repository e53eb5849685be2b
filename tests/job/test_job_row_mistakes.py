"""Mistakes in the writing of single rows: what is said names the mistake, and all are told at once."""

from __future__ import annotations

import re

import pytest
from whole_job import WHOLE_JOB

from holecam.errors import FileContentError
from holecam.job.reader import parse_job, read_job
from holecam.job.row_mistakes import row_mistake

THICK = 'thickness = "3/16"'


def told(old: str, new: str) -> str:
    assert old in WHOLE_JOB
    with pytest.raises(FileContentError) as caught:
        parse_job(WHOLE_JOB.replace(old, new, 1), file="rescue.toml")
    (problem,) = caught.value.problems
    assert problem.line == WHOLE_JOB[: WHOLE_JOB.index(old)].count("\n") + 1
    return problem.text()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (THICK, "thickness = 4,5", ("a decimal point", "Write 4.5.")),
        (THICK, "thickness = -4,5 # as measured", ("a decimal point", "Write -4.5.")),
        (THICK, "thickness = 4,5 mm", ("quotes and a decimal point", 'Write "4.5 mm".')),
        (THICK, 'thickness = 3/16"', ("An inch mark would end the text", 'write "3/16 in"')),
        (THICK, 'thickness = "3/16""', ("An inch mark would end the text", 'write "3/16 in"')),
        (THICK, "thickness = .5", ("a digit on both sides of the decimal point", "Write 0.5.")),
        (THICK, "thickness = 5.", ("a digit on both sides of the decimal point", "Write 5.0.")),
        (THICK, "thickness = 05", ("without a zero in front", "Write 5")),
        (THICK, "thickness =\u00a04", ("a plain space", "U+00A0")),
        (THICK, "thickness = \u22124", ("a plain minus sign", "Write -4.")),
        (THICK, "thickness: 4", ("key = value", "Write thickness = 4")),
        ('material = "brass"', "material = brass", ("quotes round text", 'write "brass"')),
        ('material = "brass"', 'material = brass"', ("quotes round text", 'write "brass"')),
        ('material = "brass"', "material = `brass`", ("straight quotes",)),
        ('material = "brass"', "material = 'brass\"", ("a closing quote of the same kind",)),
        ('thread = "5-40"\n', "thread = 5-40\n", ("quotes round text", 'write "5-40"')),
        ("first_deg = 18", "first_deg = 18\u00b0", ("a plain number of degrees", "Write 18.")),
        ("backlash = [0.005, 0.008]", "backlash = (0.005, 0.008)", ("square brackets", "( and )")),
        ("backlash = [0.005, 0.008]", "backlash = [0.005; 0.008]", ("a comma between the values",)),
        ("backlash = [0.005, 0.008]", "backlash = [0,005, 0,008]", ("a decimal point", "Write 0.005.")),
        ("diameter = 2, first_deg = 18 }", "diameter = 2, first_deg = 18, }", ("no comma before a closing }",)),
        (
            "circle = { count = 5, diameter",
            "circle = { count = 5,\n diameter",
            ("a closing } on this line", "in braces stands on one line"),
        ),
        ("[tools]", "[[tools]", ("a closing ]]", "Write [[tools]].")),
        ("[[keep_out]]", "[[keep out]]", ("a name without blanks", "Write [[keep_out]].")),
        ("[tools]", "// the tools\n[tools]", ("# in front of a remark", "in place of //")),
        ("[tools]", "; the tools\n[tools]", ("# in front of a remark", "in place of ;")),
    ],
)
def test_a_row_says_what_is_wrong_with_it(old: str, new: str, said: tuple[str, ...]) -> None:
    text = told(old, new)
    for words in said:
        assert words in text
    assert "valid TOML" not in text


def test_rows_that_are_wrong_by_themselves_are_told_together() -> None:
    changes = [
        ("fastest_feed = 40", "fastest_feed = 40 mm"),
        ('material = "brass"', "material = brass"),
        (THICK, "thickness = 4,5"),
        ("percent = 70", "percent = 70"),
        ('fit = "fine"', "fit = fine"),
    ]
    text = WHOLE_JOB
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    with pytest.raises(FileContentError) as caught:
        parse_job(text, file="rescue.toml")
    rows = text.split("\n")
    assert [rows[p.line - 1] for p in caught.value.problems] == [
        "fastest_feed = 40 mm",
        "material = brass",
        "thickness = 4,5",
        "fit = fine",
    ]


def test_a_mistake_that_others_may_follow_from_ends_the_search() -> None:
    """Without its heading the rows below would be told as keys that stand twice."""
    text = WHOLE_JOB.replace("[tools]", "[tools", 1).replace('fit = "fine"', "fit = fine", 1)
    with pytest.raises(FileContentError) as caught:
        parse_job(text, file="rescue.toml")
    (problem,) = caught.value.problems
    assert problem.value == "[tools"


@pytest.mark.parametrize("row", ["a = 4", 'a = "4,5"', "a = [1, 2]", 'a = { b = "3/16" }', "# a = 4,5", "[part]", ""])
def test_a_row_that_is_right_shows_nothing(row: str) -> None:
    assert row_mistake(row) is None


@pytest.mark.parametrize(
    ("old", "new", "place", "words"),
    [
        (
            '[[chain.section]]\nname = "skirt"',
            '[chain.section]\nname = "skirt"',
            "[chain.section]",
            "expected [[chain.section]], as further down. A bracket is missing.",
        ),
        (
            '[[pattern]]\nname = "rail screws"',
            '[pattern.tap]\npercent = 70\n[[pattern]]\nname = "rail screws"',
            "[pattern.tap]",
            "expected [[pattern]] above what belongs to it. Put it below [[pattern]].",
        ),
    ],
)
def test_a_heading_with_too_few_brackets_or_too_early(old: str, new: str, place: str, words: str) -> None:
    assert old in WHOLE_JOB
    text = WHOLE_JOB.replace(old, new, 1)
    with pytest.raises(FileContentError, match=re.escape(words)) as caught:
        parse_job(text, file="rescue.toml")
    assert text.split("\n")[caught.value.problems[0].line - 1] == place


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_a_file_in_another_encoding_says_so(tmp_path, encoding: str) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "job.toml"
    path.write_bytes(WHOLE_JOB.encode(encoding))
    with pytest.raises(FileContentError, match="UTF-16 or the like; save it as UTF-8"):
        read_job(path)


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_every_kind_of_line_end_is_read_and_lines_are_counted(tmp_path, ending: str) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE_JOB.replace("\n", ending).encode())
    assert read_job(path).title == "Lantern hood, left half"
    path.write_bytes(WHOLE_JOB.replace("count = 5", "count = 0").replace("\n", ending).encode())
    with pytest.raises(FileContentError) as caught:
        read_job(path)
    assert caught.value.problems[0].line == WHOLE_JOB[: WHOLE_JOB.index("count = 5")].count("\n") + 1


@pytest.mark.parametrize("start", ["{\\rtf1\\ansi ", "PK\x03\x04\x00\x00", "<html><body>"])
def test_a_file_of_a_word_processor_is_named_as_such(tmp_path, start: str) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "job.toml"
    path.write_bytes((start + WHOLE_JOB).encode())
    with pytest.raises(FileContentError, match="save it as plain text"):
        read_job(path)
