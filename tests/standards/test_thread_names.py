"""Thread names as people write them; what is ambiguous is refused, what is unknown gets the nearest."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holecam.errors import InputError
from holecam.standards.thread_forms import all_forms
from holecam.standards.thread_names import parse_thread
from holecam.standards.threads import Thread, all_threads, free_thread


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("6-32", "6-32 UNC"), ("#6-32", "6-32 UNC"), ("No. 6-32", "6-32 UNC"), ("no 6 - 32", "6-32 UNC"),
        ("6-32unc", "6-32 UNC"), ("6-32 UNC-2B", "6-32 UNC"), ("6–32", "6-32 UNC"), ("10x32", "10-32 UNF"),
        ("0.138-32", "6-32 UNC"), ("6-32 NC", "6-32 UNC"), ("12-32", "12-32 UNEF"), ("5-40", "5-40 UNC"),
        ("1/4-20", "1/4-20 UNC"), ('1/4"-20', "1/4-20 UNC"), ("¼-20", "1/4-20 UNC"), ("1/4 UNC", "1/4-20 UNC"),
        ("UNF 1/4", "1/4-28 UNF"), ("1/4-32 UNEF", "1/4-32 UNEF"), ("1/4-20 BSW", "1/4 BSW"), ("1/2-28", "1/2-28 UNEF"),
        ("1-8", "1-8 UNC"), ("1-64", "1-64 UNC"), ("M4", "M4"), ("m4", "M4"), ("M 4", "M4"), ("M4x0.7", "M4"),
        ("M4 x .7", "M4"), ("M4×0.7", "M4"), ("M4-0.7", "M4"), ("M4x0.7-6H", "M4"), ("M4 coarse", "M4"),
        ("M8x1", "M8 x 1"), ("M8 x 1.0 mm", "M8 x 1"), ("M6 fine", "M6 x 0.75"),
        ("M12 x 1.5 fine", "M12 x 1.5"), ("M6x1 coarse", "M6"), ("M5.5", "M5.5 x 0.5"),
        ("M3.50", "M3.5"), ("2BA", "2 BA"), ("2 ba", "2 BA"), ("BA 2", "2 BA"), ("No. 2 BA", "2 BA"), ("0 BA", "0 BA"),
        ("1/4 BSW", "1/4 BSW"), ("1/4 Whit", "1/4 BSW"), ("1/4 Whitworth", "1/4 BSW"),
        ("1/4 x 20 whitworth", "1/4 BSW"),
        ("1/4-26 whit", "1/4 BSF"), ("3/8 BSF", "3/8 BSF"), ("3/16 x 40 ME", "3/16 x 40 ME"),
        ("3/16-40 ME", "3/16 x 40 ME"), ("ME 3/16x40", "3/16 x 40 ME"), ("3/16 ME 40", "3/16 x 40 ME"),
        ("3/16 x 40 tpi ME", "3/16 x 40 ME"), ("1/4 x 32 model engineer", "1/4 x 32 ME"),
        ("7 x 0.75 60 deg", "7 x 0.75 mm 60 deg"), ("7 mm x 0.75 mm, 60 deg", "7 x 0.75 mm 60 deg"),
        ("7x.75 60°", "7 x 0.75 mm 60 deg"), ("1/4 x 36 tpi whitworth", "1/4 x 36 tpi whitworth"),
        ("1/4 x 36 whitworth", "1/4 x 36 tpi whitworth"), ("1/4 x 36 tpi 55 deg", "1/4 x 36 tpi whitworth"),
        ("0.3 in x 60 tpi 60 deg", "0.3 in x 60 tpi 60 deg"), ("5 mm x 0.9 mm 47.5 deg", "5 x 0.9 mm ba form"),
        ("1-1/8 x 7 tpi unified form", "1-1/8 x 7 tpi 60 deg"), ("0.34375 in x 40 tpi 60 deg", "11/32 x 40 tpi 60 deg"),
        ("3/2 x 9 tpi 60 deg", "1-1/2 x 9 tpi 60 deg"), ("0.328125 in x 40 tpi 60 deg", "21/64 x 40 tpi 60 deg"),
    ],
)  # fmt: skip
def test_names_as_people_write_them(text: str, name: str) -> None:
    assert parse_thread(text).name == name


@pytest.mark.parametrize("thread", all_threads(), ids=lambda t: t.name)
def test_every_printed_name_reads_back(thread: Thread) -> None:
    assert parse_thread(thread.name) == thread
    assert parse_thread(thread.name.upper().replace(" ", "  ")) == thread


@settings(max_examples=150, deadline=None)
@given(
    size=st.integers(32, 480),
    pitch=st.integers(5, 40),
    unit=st.sampled_from(["in", "mm"]),
    form=st.sampled_from([f for f in all_forms() if f.name != "metric"]),
)
def test_a_free_name_reads_back(size: int, pitch: int, unit: str, form: object) -> None:
    if unit == "in":
        made = free_thread(size=Fraction(size, 64), pitch_size=Fraction(1, pitch + 20), unit="in", form=form)  # type: ignore[arg-type]
    else:
        name = "metric" if form.name == "unified" else form.name  # type: ignore[attr-defined]
        same = next(f for f in all_forms() if f.name == name)
        made = free_thread(size=Fraction(size, 20), pitch_size=Fraction(pitch, 100), unit="mm", form=same)
    again = parse_thread(made.name)
    assert (again.exact_major, again.pitch_size, again.form) == (made.exact_major, made.pitch_size, made.form)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1/4 x 20", r"more than one thread\. Write one of: 1/4-20 UNC, 1/4 BSW\."),
        ("1/4", r"more than one thread\. Write one of: 1/4-20 UNC, 1/4-28 UNF, 1/4-32 UNEF, 1/4 BSW, 1/4 BSF"),
        ("1/4-32", r"Write one of: 1/4-32 UNEF, 1/4 x 32 ME"),
        ("1/8-40", r"Write one of: 5-40 UNC, 1/8 BSW, 1/8 x 40 ME"),
        ("6", r"Write one of: 6-32 UNC, 6-40 UNF"),
        ("3/16 ME", r"Write one of: 3/16 x 32 ME, 3/16 x 40 ME"),
        ("M12 x 1.75 fine", r'M12 with 1\.75 mm is the coarse thread; leave "fine" out'),
        ("M10 fine", r"Write one of: M10 x 1\.25, M10 x 1, M10 x 0\.75"),
        ("M15", r"Write one of: M15 x 1\.5, M15 x 1"),
        ("1/4-26", r'no unified thread. If you mean the other series, write "1/4 BSF"'),
        ("3/16-40", r'write "3/16 x 40 ME"'),
        ("6/32", r'Did you mean "6-32"\?'),
        ("10/32", r'Did you mean "10-32"\?'),
        ("M4,5", r'Write the decimal with a point: "M4\.5"'),
        ("M4x0,7", r'Write the decimal with a point: "M4x0\.7"'),
        ("M4x0.6", r'M4 has these pitches: 0\.7 mm, 0\.5 mm\. Another one is "4 x 0\.6 60 deg"'),
        ("M6.5", "nearest: M6 and M7"),
        ("M30", "Metric threads run from M1 to M24; nearest: M24"),
        ("M0", "nearest: M1"),
        ("17BA", "BA threads run from 0 BA to 16 BA"),
        ("6-33", "Of this size there are: 6-32 UNC, 6-40 UNF"),
        ("1/4-0", "Of this size there are"),
        ("1/3-20", "expected a thread such as 6-32"),
        ("1/0 BSW", "expected a thread such as 6-32"),
        ("1/8 NPT", "Pipe and trapezoidal threads are not in the tables"),
        ("G1/8", "Pipe and trapezoidal threads are not in the tables"),
        ("Tr 10x2", "Pipe and trapezoidal threads are not in the tables"),
        ("M4 LH", "Left-hand threads are not in the tables"),
        ("1/4-20 left-hand", "Left-hand threads are not in the tables"),
        ("6-32 left", "Left-hand threads are not in the tables"),
        ("6-32 UNC-3B", "Only the limits of classes 2B and 6H"),
        ("7 x 0.75", r"State the form of the thread: 60 deg, 55 deg \(whitworth\) or 47\.5 deg"),
        ("7 x 40 tpi 60 deg", 'State the unit of the diameter: "7 in x 40 tpi", or mm'),
        ("0.25 in x 0.7 60 deg", "State the pitch of an inch thread in threads an inch"),
        ("5 x 4 60 deg", "the pitch is too coarse"),
        ("1/4 x 0 tpi 60 deg", "Threads an inch must be more than 0"),
        ("6-32 UNX", r"Did you mean 6-32 UNC"),
        ("", "expected a thread such as 6-32"),
        ("thread", "expected a thread such as 6-32"),
        ("6" * 4000, "longer than 60 characters"),
        ("thread", 'thread = "thread": expected'),
        ("1/4-21 BSF", r"Of this size there are: 1/4 BSF\. Any other"),
        ("1/5 whitworth", r'thread = "1/5 whitworth": expected .* or 7 x 0\.75 60 deg\.$'),
        # An inch size with a pitch in millimetres: 1 mm is not 1 thread an inch
        ("1/4 x 1 mm 60 deg", "State the pitch of an inch thread in threads an inch"),
        ("0.25 in x 1 mm 60 deg", "State the pitch of an inch thread in threads an inch"),
        ("M6.5", r"nearest: M6 and M7\.$"),
        ("M24.5", r"nearest: M24\.$"),
    ],
)
def test_what_is_wrong_or_open_is_refused_with_a_way_out(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_thread(text)


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet="0123456789/-.x# MBAUNCFSWEmbaptideg°½,", max_size=16))
def test_no_text_gives_anything_but_a_thread_or_an_input_error(text: str) -> None:
    try:
        thread = parse_thread(text)
    except InputError:
        return
    assert thread.major > 0
    assert thread.basic_minor > 0
