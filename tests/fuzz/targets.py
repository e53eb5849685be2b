"""What is fuzzed: each target takes bytes, does one job of the product with them, and checks what comes out."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import re
import shutil
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Literal

from chooser import BytesChooser, pick
from hostile_jobs import BASE_TEXTS, hostile_job, toml_text
from hostile_texts import hostile_command, hostile_drawing, hostile_program

from holecam.errors import FileContentError, HolecamError, InputError
from holecam.lengths import length_text, parse_length

WORK = Path(tempfile.gettempdir()) / f"holecam-fuzz-{os.getpid()}"
"""The folder in which whole jobs are read and written."""


def lengths(data: bytes) -> None:
    """A text as a length; what is read is finite and reads the same when it is printed."""
    text = data[1:].decode("utf-8", "replace")
    for unit in ("in", "mm", None):
        try:
            value = parse_length(text, unit=unit)
        except InputError as error:
            assert len(str(error)) < 1000  # noqa: PT017
            continue
        assert isinstance(value, Fraction)
        for out in ("in", "mm"):
            shown = length_text(value, out, signed=True)
            again = parse_length(shown.replace("\u2212", "-"), unit=out)
            assert abs(again - value) <= Fraction(1, 10) or abs(value) > 10**6, (shown, value)


def names(data: bytes) -> None:
    """A text as a thread, a drill, a material, a screw head."""
    from holecam.standards.clearance_holes import clearance_holes
    from holecam.standards.drill_names import parse_drill
    from holecam.standards.materials import material
    from holecam.standards.thread_names import parse_thread

    text = data.decode("utf-8", "replace")
    for read in (parse_drill, material, lambda t: clearance_holes(parse_thread(t))):
        with contextlib.suppress(HolecamError):
            read(text)


def commands(data: bytes) -> None:
    """A quick look-up or coordinate sheet; exit codes 0, 1 and 2 and nothing else."""
    run_command(hostile_command(data))


def run_command(words: list[str]) -> int:
    """Run one command in this process and return its exit code."""
    import gc
    import sys

    from holecam.cli.main import main

    before = sys.argv
    sys.argv = ["holecam", *words]
    out, err = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            main()
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 0 if end.code is None else 1
    else:
        code = 0
    finally:
        sys.argv = before
        gc.unfreeze()
    said = err.getvalue()
    assert code in (0, 1, 2), f"exit code {code}: {said[:500]}"
    for sign in ("Traceback", "mistake of its own"):
        assert sign not in said, said[:500]
    assert code != 2 or said.strip(), "refused without a word"
    if code == 0 and "--json" in words and "--help" not in words:
        json.loads(out.getvalue(), parse_constant=_no_constant)
    return code


def _no_constant(word: str) -> None:
    raise AssertionError(f"{word} is no JSON number")


def job_texts(data: bytes) -> None:
    """A damaged job text; either a job or problems with their lines."""
    from holecam.job.reader import parse_job

    chooser = BytesChooser(data[:16])
    rest = data[16:].decode("utf-8", "replace")
    text = rest if chooser.below(4) == 0 else _spliced(chooser, pick(chooser, BASE_TEXTS), rest)
    try:
        parse_job(text, file="job.toml", folder="/nowhere")
    except FileContentError as error:
        _hold_problems(error, text.count("\n") + 1)
        raise


def _spliced(chooser: BytesChooser, text: str, rest: str) -> str:
    begin = chooser.below(len(text))
    return text[:begin] + rest + text[begin + pick(chooser, [0, 1, 3, 20, len(rest)]) :]


def _hold_problems(error: FileContentError, lines: int) -> None:
    for problem in error.problems:
        assert problem.expected
        assert 0 <= problem.line <= lines, problem
        assert problem.text().isprintable(), problem.text()[:300]
        assert len(problem.text()) < 4000


def job_values(data: bytes) -> None:
    """A job with wrong values, as a program would hand them over."""
    from holecam.job.reader import check_data

    written = data.startswith(AS_WRITTEN)
    values = tomllib.loads(data.decode()) if written else hostile_job(BytesChooser(data))
    try:
        check_data(values, folder="/nowhere")
    except FileContentError as error:
        _hold_problems(error, 0)
        raise


def drawings(data: bytes) -> None:
    """A drawing as an outline, as a line and as holes."""
    _read_drawing(hostile_drawing(data) if data[:1] < b"\xc0" else data[1:])


def _read_drawing(raw: bytes) -> None:
    from holecam.job.drawings import holes_in, read_drawing
    from holecam.job.models_pattern import DrawnCircles
    from holecam.job.models_shape import DrawingFile

    folder = WORK / "in"
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "d.dxf").write_bytes(raw)
    for unit in (None, "mm"):
        try:
            drawn = read_drawing(
                DrawingFile(file="d.dxf", drawing_unit=unit, overrule_unit=unit is not None), folder=str(folder)
            )
        except InputError:
            continue
        for curve in (c for path in drawn.paths for c in path):
            assert max(abs(v) for v in (*curve.start, *curve.end)) <= 10_001.0
        with contextlib.suppress(InputError):
            drawn.outline_and_islands()
        with contextlib.suppress(InputError):
            drawn.path()
    with contextlib.suppress(InputError):
        holes_in(DrawnCircles(file="d.dxf", drawing_unit="mm", overrule_unit=True), folder=str(folder))


def programs(data: bytes) -> None:
    """A program read back in several dialects; the quick way and line by line agree."""
    import numpy as np

    from holecam.plan.dialect import Dialect
    from holecam.program import read_program, verify_text

    text = hostile_program(data) if data[:1] < b"\xc0" else data[1:].decode("utf-8", "replace")
    for dialect in (Dialect(), Dialect(arc_centers="absolute", comments="semicolon", tool_change="stop")):
        result = verify_text(text, dialect=dialect)
        assert len(result.findings) < 2000
        for finding in result.findings:
            assert finding.text().strip()
    quick, slow = read_program(text), read_program(text, quick=False)
    assert (quick.refused, quick.ended_at, quick.line_count) == (slow.refused, slow.ended_at, slow.line_count)
    assert len(quick.moves) == len(slow.moves)
    if len(quick.moves):
        assert np.allclose(quick.moves.end, slow.moves.end, rtol=1e-12, atol=1e-9, equal_nan=True)


def checks(data: bytes) -> None:
    """A damaged program held against the plan that it was written from."""
    from example_programs import example_programs

    from holecam.program import check_program

    chooser = BytesChooser(data)
    plan, dialect, text = pick(chooser, example_programs())
    lines = text.split("\n")
    for _ in range(chooser.below(4)):
        at = chooser.below(len(lines))
        what = chooser.below(5)
        if what == 0:
            del lines[at]
        elif what == 1:
            lines.insert(at, lines[chooser.below(len(lines))])
        elif what == 2:
            lines[at] = re.sub(r"-?\d+\.?\d*", pick(chooser, ["0", "-99", "9999", "0.001", "1e5", "12.5"]), lines[at])
        elif what == 3:
            lines[at] = lines[at].replace("G0", "G1") if "G0" in lines[at] else lines[at].replace("G1", "G0")
        else:
            lines.insert(at, hostile_program(chooser.rest()[:200]))
        if not lines:
            lines = [""]
    for finding in check_program("\n".join(lines), plan, dialect).findings:
        assert finding.text().strip()


AS_WRITTEN = b"# a whole job\n"
"""A case that begins with this line is a job file as it stands: choices would mean another job when an example or a
document changes, and the corpus has to stay what it was."""


def written_out(target: str, data: bytes) -> bytes:
    """Return a case of whole jobs or job values as the job that it stands for; other cases as they are."""
    if target not in ("whole-jobs", "job-values") or data.startswith(AS_WRITTEN):
        return data
    return AS_WRITTEN + toml_text(hostile_job(BytesChooser(data))).encode("utf-8", "replace")


def whole_jobs(data: bytes) -> None:
    """A job file planned, its programs checked, everything written into a folder and looked at."""
    from holecam.delivery.plan_folder import plan_file, write_folder

    shutil.rmtree(WORK, ignore_errors=True)
    folder, out = WORK / "in", WORK / "out"
    folder.mkdir(parents=True)
    chooser = BytesChooser(data)
    written = data.startswith(AS_WRITTEN)
    (folder / "job.toml").write_bytes(data if written else toml_text(hostile_job(chooser)).encode("utf-8", "replace"))
    drawing = hostile_drawing(chooser.rest()) if chooser.rest() and not written else SQUARE
    (folder / "drawing.dxf").write_bytes(drawing)
    before = set(os.listdir(folder))
    planned = plan_file(folder / "job.toml")
    TOLD["planned"] = TOLD.get("planned", 0) + 1
    write_folder(planned, out)
    assert set(os.listdir(WORK)) == {"in", "out"}
    assert set(os.listdir(folder)) == before
    _look_at(out)
    shutil.rmtree(WORK, ignore_errors=True)


TOLD: dict[str, int] = {}
"""Counts that a target keeps beside its cases: whole jobs that were planned and written."""

REMARKS: tuple[Literal["parentheses", "semicolon"], ...] = ("parentheses", "semicolon")

SQUARE = hostile_drawing(b"")


def _look_at(out: Path) -> None:
    """The papers are what they claim to be, and no text of the job became anything else."""
    from holecam.plan.dialect import Dialect
    from holecam.program import read_program

    for path in out.iterdir():
        name = path.name
        raw = path.read_bytes()
        assert raw or name == ".holecam-lock", f"{name} is empty"
        if name.endswith(".json"):
            json.loads(raw, parse_constant=_no_constant)
        elif name.endswith(".pdf"):
            assert (raw[:4], raw.rstrip()[-5:]) == (b"%PDF", b"%%EOF"), name
        elif name.endswith(".csv"):
            for row in csv.reader(io.StringIO(raw.decode("utf-8-sig"), newline=""), strict=True):
                for cell in row:
                    assert not re.match(r"[=+@\t\r]|-(?!\d)", cell), f"a formula in {name}: {cell[:80]}"
        elif name.endswith(".html"):
            page = raw.decode("utf-8")
            for sign in ("<script>alert(1)", "<img src=x", "</td><img"):
                assert sign not in page, f"markup of the job in {name}"
        elif name.endswith(".nc"):
            text = raw.decode("ascii")
            assert "Z-99" not in text.replace("(G0 Z-99)", ""), f"a command of the job in {name}"
            assert max(map(len, text.split("\n"))) <= 256
            spoken = [Dialect(arc_centers=c, comments=r) for c in ("incremental", "absolute") for r in REMARKS]
            assert not all(read_program(text, dialect).refused for dialect in spoken), name


@contextlib.contextmanager
def work_folder() -> Iterator[str]:
    """Make the folder of whole jobs and take it away again."""
    WORK.mkdir(parents=True, exist_ok=True)
    try:
        yield str(WORK)
    finally:
        shutil.rmtree(WORK, ignore_errors=True)


TARGETS: dict[str, Callable[[bytes], None]] = {
    "lengths": lengths,
    "names": names,
    "commands": commands,
    "job-texts": job_texts,
    "job-values": job_values,
    "drawings": drawings,
    "programs": programs,
    "checks": checks,
    "whole-jobs": whole_jobs,
}
