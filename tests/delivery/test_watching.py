"""A watched job is planned again when it or its drawing changes, however it was saved, and never half-written."""

from __future__ import annotations

import fcntl
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from urllib.parse import unquote

import ezdxf
import pytest
from test_faults import begin

from holecam.cli import entry
from holecam.cli.plan_watch import watch_job
from holecam.delivery.folder import LOCK_NAME
from holecam.delivery.watching import Outcome, WatchedJob
from holecam.job.files import noting_reads
from holecam.job.reader import read_job
from holecam.output.sheet_stamp import LONGEST_TROUBLE, stamp_file, stamp_of, stamped

PLATE = """\
title = "plate"
unit = "mm"
[machine]
kind = "manual"
[part]
material = "mild steel"
thickness = 6
outline = { rectangle = [100, 50] }
[tools]
drills = ["metric"]
[[pattern]]
name = "row"
points = [[20, 25], [40, 25], [60, 25]]
drill = "5 mm"
"""
DRAWN = PLATE.replace("outline = { rectangle = [100, 50] }", 'outline = { drawing = { file = "plate.dxf" } }')


def draw(path: Path, width: float) -> None:
    document = ezdxf.new(units=4)
    corners = [(0, 0), (width, 0), (width, 50), (0, 50)]
    document.modelspace().add_lwpolyline(corners, close=True)
    document.saveas(path)


def watched(folder: Path, text: str = PLATE) -> WatchedJob:
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return WatchedJob(folder / "job.toml", folder / "out")


def looked(job: WatchedJob) -> tuple[str, ...]:
    """Return what two looks find: the first sees a change, the second that it rests."""
    assert job.changed() == ()
    return job.changed()


def papers(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if not p.name.startswith(".")}


def told(folder: Path, name: str = "sheet-stamp.css") -> tuple[str, str]:
    """Return the stamp and the trouble that a page reads."""
    text = (folder / name).read_text("ascii")
    found = re.fullmatch(r'/\*[^*]*\*/\n#stamp\{--plan:"([0-9a-f]{16})";--trouble:"([A-Za-z0-9%_.~-]*)"\}\n', text)
    assert found is not None, text
    return found[1], unquote(found[2])


def test_nothing_happens_until_something_changes(tmp_path: Path) -> None:
    job = watched(tmp_path)
    outcome = job.plan()
    assert outcome.exit_code == 0
    assert told(tmp_path / "out") == (stamp_of((tmp_path / "out" / "sheet.html").read_text("utf-8")), "")
    assert [job.changed() for _ in range(4)] == [()] * 4


def test_a_changed_job_is_planned_again_and_the_stamp_follows(tmp_path: Path) -> None:
    job = watched(tmp_path)
    job.plan()
    before = told(tmp_path / "out")[0]
    (tmp_path / "job.toml").write_text(PLATE.replace("40, 25", "41, 25"), encoding="utf-8")
    assert looked(job) == (str(tmp_path / "job.toml"),)
    outcome = job.plan()
    assert outcome.planned is not None
    assert outcome.planned.plans[0].holes[1].xy_part == (41.0, 25.0)
    stamp, trouble = told(tmp_path / "out")
    assert stamp != before
    assert stamp == stamp_of((tmp_path / "out" / "sheet.html").read_text("utf-8"))
    assert trouble == ""
    assert job.changed() == ()


def test_an_editor_that_saves_by_renaming_is_seen_though_size_and_time_are_the_same(tmp_path: Path) -> None:
    job = watched(tmp_path)
    job.plan()
    state = (tmp_path / "job.toml").stat()
    (tmp_path / "job.new").write_text(PLATE.replace("40, 25", "41, 25"), encoding="utf-8")
    os.utime(tmp_path / "job.new", ns=(state.st_atime_ns, state.st_mtime_ns))
    os.replace(tmp_path / "job.new", tmp_path / "job.toml")
    assert looked(job) == (str(tmp_path / "job.toml"),)


def test_the_gap_between_removing_and_renaming_is_not_taken_for_a_lost_job(tmp_path: Path) -> None:
    job = watched(tmp_path)
    job.plan()
    text = (tmp_path / "job.toml").read_bytes()
    (tmp_path / "job.toml").unlink()
    assert job.changed() == ()
    (tmp_path / "job.toml").write_bytes(text)
    assert job.changed() == (), "it has just come back and may still grow"
    assert job.changed() == (str(tmp_path / "job.toml"),)
    assert job.plan().exit_code == 0


def test_a_file_that_still_grows_is_left_alone(tmp_path: Path) -> None:
    job = watched(tmp_path)
    job.plan()
    with (tmp_path / "job.toml").open("w", encoding="utf-8") as out:
        for bit in PLATE.splitlines(keepends=True):
            out.write(bit)
            out.flush()
            assert job.changed() == ()
    assert job.changed() == (str(tmp_path / "job.toml"),)
    assert job.plan().exit_code == 0


def test_a_broken_job_keeps_the_last_good_papers_and_is_told_then_mended(tmp_path: Path) -> None:
    job = watched(tmp_path)
    job.plan()
    good = papers(tmp_path / "out")
    (tmp_path / "job.toml").write_text(PLATE.replace("[60, 25]", "[60, 25"), encoding="utf-8")
    assert looked(job)
    outcome = job.plan()
    assert outcome.exit_code == 2
    assert outcome.planned is None
    assert "job.toml:" in outcome.trouble
    now = papers(tmp_path / "out")
    assert {n for n in now if now[n] != good[n]} == {"sheet-stamp.css"}
    assert set(now) == set(good)
    assert told(tmp_path / "out") == (stamp_of(good["sheet.html"].decode()), outcome.trouble)
    (tmp_path / "job.toml").write_text(PLATE, encoding="utf-8")
    assert looked(job)
    assert job.plan().exit_code == 0
    assert papers(tmp_path / "out") == good


def test_a_job_that_is_broken_from_the_start_leaves_no_folder(tmp_path: Path) -> None:
    job = watched(tmp_path, "unit = ")
    assert job.plan().exit_code == 2
    assert not (tmp_path / "out").exists()
    (tmp_path / "job.toml").write_text(PLATE, encoding="utf-8")
    assert looked(job)
    assert job.plan().exit_code == 0


def test_a_drawing_is_watched_and_may_vanish_and_come_back(tmp_path: Path) -> None:
    draw(tmp_path / "plate.dxf", 100)
    job = watched(tmp_path, DRAWN)
    first = job.plan()
    assert first.planned is not None
    assert set(job.files) == {str(tmp_path / "job.toml"), str(tmp_path / "plate.dxf")}
    draw(tmp_path / "plate.dxf", 120)
    assert looked(job) == (str(tmp_path / "plate.dxf"),)
    outcome = job.plan()
    assert outcome.planned is not None
    assert outcome.planned.plans[0].part.outline is not None
    assert outcome.planned.plans[0].part.outline.bounds[2] == 120.0
    (tmp_path / "plate.dxf").unlink()
    assert looked(job) == (str(tmp_path / "plate.dxf"),)
    outcome = job.plan()
    assert outcome.exit_code == 2
    assert "found no such file" in outcome.trouble
    assert "plate.dxf" in told(tmp_path / "out")[1]
    assert [job.changed() for _ in range(3)] == [()] * 3
    draw(tmp_path / "plate.dxf", 110)
    assert looked(job) == (str(tmp_path / "plate.dxf"),)
    assert job.plan().exit_code == 0


def test_a_drawing_mended_while_the_job_itself_is_broken_is_still_watched(tmp_path: Path) -> None:
    draw(tmp_path / "plate.dxf", 100)
    job = watched(tmp_path, DRAWN)
    job.plan()
    (tmp_path / "job.toml").write_text("[[", encoding="utf-8")
    assert looked(job)
    job.plan()
    assert str(tmp_path / "plate.dxf") in job.files


def test_a_change_during_planning_is_not_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from holecam.delivery import watching

    job = watched(tmp_path)
    real = watching.write_folder

    def slow(*args, **more):  # type: ignore[no-untyped-def]
        (tmp_path / "job.toml").write_text(PLATE.replace("40, 25", "41, 25"), encoding="utf-8")
        return real(*args, **more)

    monkeypatch.setattr(watching, "write_folder", slow)
    job.plan()
    monkeypatch.undo()
    assert looked(job) == (str(tmp_path / "job.toml"),)


def test_a_folder_in_use_is_tried_again(tmp_path: Path) -> None:
    job = watched(tmp_path)
    (tmp_path / "out").mkdir()
    with open(tmp_path / "out" / LOCK_NAME, "a+b") as lock:
        fcntl.flock(lock.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
        outcome = job.plan()
        assert outcome.exit_code == 2
        assert "another run is writing" in outcome.trouble
    assert looked(job) == (str(tmp_path / "job.toml"),)
    assert job.plan().exit_code == 0
    assert (tmp_path / "out" / "sheet.html").is_file()


def test_a_sheet_edited_by_hand_is_kept_at_each_new_plan(tmp_path: Path) -> None:
    job = watched(tmp_path)
    job.plan()
    with (tmp_path / "out" / "sheet.html").open("a", encoding="utf-8") as out:
        out.write("<!-- mine -->")
    (tmp_path / "job.toml").write_text(PLATE.replace("40, 25", "41, 25"), encoding="utf-8")
    looked(job)
    outcome = job.plan()
    assert outcome.delivered is not None
    assert outcome.delivered.kept == (("sheet.html", "sheet.edited-1.html"),)
    assert (tmp_path / "out" / "sheet.edited-1.html").read_text("utf-8").endswith("<!-- mine -->")


def test_a_mistake_of_the_program_is_told_on_the_page(tmp_path: Path) -> None:
    job = watched(tmp_path)
    job.plan()
    assert job.mistaken("holecam made a mistake") == Outcome(trouble="holecam made a mistake")
    assert told(tmp_path / "out")[1] == "holecam made a mistake"


HOSTILE = (
    '"}*{display:none}#x{content:"',
    "</style><script>alert(1)</script>",
    "\\22 } body{display:none}",
    "*/ @import url(https://x.invalid); /*",
    "\udcff\u202e\n\x00 ümläut 漢",
)


@pytest.mark.parametrize("words", HOSTILE)
def test_no_text_ends_its_string_in_the_stamp(words: str, tmp_path: Path) -> None:
    (tmp_path / "sheet-stamp.css").write_text(stamp_file("0123456789abcdef", trouble=words), encoding="ascii")
    assert told(tmp_path)[1] == words.encode("utf-8", "replace").decode()


def test_a_very_long_trouble_is_cut_and_says_so() -> None:
    text = stamp_file("0123456789abcdef", trouble="x" * 3 * LONGEST_TROUBLE)
    assert len(text) < LONGEST_TROUBLE + 400
    assert "the%20rest%20stands%20in%20the%20terminal" in text


def test_a_page_without_a_stamp_has_none() -> None:
    assert stamp_of("<p>x") == ""
    page = '<meta name="sheet-stamp" content="0000000000000000"><p>a'
    assert stamp_of(stamped(page)) not in ("", "0" * 16)
    assert stamp_of(stamped(page)) != stamp_of(stamped(page + "b"))


def test_reads_are_noted_only_inside_the_block(tmp_path: Path) -> None:
    draw(tmp_path / "plate.dxf", 100)
    (tmp_path / "job.toml").write_text(DRAWN, encoding="utf-8")
    with noting_reads() as noted:
        read_job(tmp_path / "job.toml")
    assert set(noted) == {str(tmp_path / "job.toml"), str(tmp_path / "plate.dxf")}
    noted.clear()
    read_job(tmp_path / "job.toml")
    assert noted == {}


# ---- the command


def lines_until(stream, words: str) -> list[str]:  # type: ignore[no-untyped-def]
    seen = []
    for line in stream:
        seen.append(line)
        if words in line:
            return seen
    pytest.fail(f"ended without {words!r}: {seen}")


@pytest.mark.skipif(os.name != "posix", reason="sends a POSIX signal")
def test_the_command_follows_changes_and_ends_cleanly(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(PLATE, encoding="utf-8")
    command = [sys.executable, "-m", "holecam", "plan", str(job), "--watch"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as run:
        try:
            lines_until(run.stdout, "Ctrl-C ends it.")
            job.write_text(PLATE.replace("[60, 25]", "[60, 25"), encoding="utf-8")
            seen = lines_until(run.stdout, "stay as they were")
            assert any(re.search(r"job\.toml:\d+: ", line) for line in seen)
            job.write_text(PLATE.replace("40, 25", "41, 25"), encoding="utf-8")
            lines_until(run.stdout, "At the machine open")
            run.send_signal(signal.SIGINT)
            rest = run.communicate(timeout=30)[0]
        finally:
            run.kill()
    assert run.returncode == 0
    assert "Ended." in rest
    assert "Traceback" not in rest
    assert "+41.00" in (tmp_path / "job-out" / "sheet.html").read_text("utf-8")
    assert not list((tmp_path / "job-out").glob(".*.part"))


@pytest.mark.skipif(os.name != "posix", reason="sends a POSIX signal")
def test_ctrl_c_at_any_moment_of_planning_leaves_no_traceback(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(PLATE, encoding="utf-8")
    for wait in (0.0, 0.1, 0.3, 0.6, 1.2):
        run = begin("plan", job, "--watch")
        time.sleep(wait)
        run.send_signal(signal.SIGINT)
        try:
            shown, said = run.communicate(timeout=60)
        finally:
            run.kill()
        assert b"Traceback" not in shown + said
        folder = tmp_path / "job-out"
        assert not folder.exists() or not list(folder.glob(".*.part"))


def test_a_job_that_is_not_there_is_not_waited_for(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "holecam", "plan", str(tmp_path / "none.toml"), "--watch"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2
    assert "found no such file" in done.stderr


def test_watching_and_json_are_not_asked_for_together(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "holecam", "plan", str(tmp_path / "job.toml"), "--watch", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2
    assert "expected one of them" in done.stderr


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_stop_that_a_library_turned_into_an_error_still_ends_the_watching(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], number: signal.Signals
) -> None:
    """Where the signal comes while a library runs code of its own, the stop reaches us as an error of that library."""
    job = tmp_path / "job.toml"
    job.write_text(PLATE, encoding="utf-8")

    def broken(watched: WatchedJob) -> Outcome:
        monkeypatch.setattr(entry, "_stopped_by", int(number))
        raise RuntimeError("error building a validator")

    monkeypatch.setattr(WatchedJob, "plan", broken)
    if number == signal.SIGINT:
        watch_job(job, tmp_path / "out", unit=None, printer_scale=(1.0, 1.0))
        assert capsys.readouterr().out == "\nEnded.\n"
        assert not entry.stopped()
    else:
        with pytest.raises(entry.Stopped):
            watch_job(job, tmp_path / "out", unit=None, printer_scale=(1.0, 1.0))
    assert not (tmp_path / "out").exists()
