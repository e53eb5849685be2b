"""What goes wrong around the program: it is killed, the disk is full, a drawing vanishes, two runs meet, a pipe closes.

Nothing is lost, nothing is half-written, the words are clear, the exit code is right, and no traceback is seen.
"""

from __future__ import annotations

import errno
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from holecam.delivery import folder as folder_module
from holecam.delivery import plan_folder
from holecam.delivery.folder import BROKEN_OFF, LOCK_NAME, RECORD_NAME, deliver
from holecam.delivery.whole_files import ASIDE_SUFFIX, write_new
from holecam.errors import InputError, OutputError

if os.name != "posix":
    pytest.skip("signals, limits and links as POSIX has them", allow_module_level=True)

import fcntl

ROOT = Path(__file__).parents[2]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}
HELD_SIGNALS = (signal.SIGINT, signal.SIGTERM)


def holecam(*words: str | bytes | Path, **more: Any) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "holecam", *words],
        **{"capture_output": True, "timeout": 240, "env": ENVIRONMENT, "check": False, **more},
    )


def begin(*words: str | Path, **more: Any) -> subprocess.Popen[bytes]:
    """Start the command and return when its first line has run: what comes before is the interpreter's own start."""
    program = """
import sys, holecam.cli.entry as entry
watch = entry._watch
def say_so():
    watch()
    sys.stderr.write("go\\n")
    sys.stderr.flush()
entry._watch = say_so
entry.main()
"""
    run = subprocess.Popen(
        [sys.executable, "-c", program, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=ENVIRONMENT, **more
    )
    assert run.stderr is not None
    assert run.stderr.readline() == b"go\n"
    return run


def no_traceback(*texts: bytes) -> None:
    for text in texts:
        assert b"Traceback" not in text, text.decode(errors="replace")
        assert b"mistake of its own" not in text, text.decode(errors="replace")
        assert b"ignored" not in text, text.decode(errors="replace")


def visible(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if not p.name.startswith(".")}


SMALL = """title = "Plate"
unit = "mm"
[machine]
kind = "cnc"
[part]
material = "brass"
thickness = 3
outline = { rectangle = [60, 20] }
[[pattern]]
name = "pair"
points = [[10, 10], [50, 10]]
drill = "3 mm"
"""


def litter(folder: Path) -> list[str]:
    return [p.name for p in folder.rglob(f"*{ASIDE_SUFFIX}")] + [p.name for p in folder.rglob(BROKEN_OFF)]


def one_job_only(folder: Path) -> None:
    """Demand that every paper and program in a folder carries the mark of the same job."""
    marks = set()
    for name, content in visible(folder).items():
        if name.endswith((".nc", ".txt", ".json", ".html")):
            marks |= set(re.findall(rb'(?:job |Job |fingerprint": ")([0-9a-f]{16})', content))
    assert len(marks) == 1, marks


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(SMALL, encoding="utf-8")
    return path


def changed(job: Path) -> None:
    """Change the job so that every paper comes out new."""
    text = job.read_text(encoding="utf-8")
    title = text.partition("\n")[0]
    job.write_text(text.replace(title, f'title = "Plate {int("0" + re.sub(r"[^0-9]", "", title)) + 1}"'), "utf-8")


# Broken off


def broken_off(folder: Path, number: int, rounds: int) -> str:
    script = Path(__file__).with_name("killed_runs.py")
    words = [sys.executable, str(script), str(folder), str(int(number)), str(rounds), "20260501"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=300, env=ENVIRONMENT, check=False)
    assert done.returncode == 0, done.stderr
    *wrong, summary = done.stdout.splitlines()
    assert not wrong, "\n".join(wrong)
    return summary


@pytest.mark.parametrize("rounds", [pytest.param(60, id="some"), pytest.param(1000, id="many", marks=pytest.mark.slow)])
def test_a_killed_run_leaves_whole_files_and_says_when_they_are_mixed(tmp_path: Path, rounds: int) -> None:
    summary = broken_off(tmp_path / "out", signal.SIGKILL, rounds)
    assert int(summary.split()[2]) > rounds // 5, summary  # or the test broke nothing off


@pytest.mark.parametrize("rounds", [pytest.param(60, id="some"), pytest.param(1000, id="many", marks=pytest.mark.slow)])
def test_ctrl_c_while_writing_leaves_the_old_set_or_the_new_one_and_no_litter(tmp_path: Path, rounds: int) -> None:
    summary = broken_off(tmp_path / "out", signal.SIGINT, rounds)
    assert int(summary.split()[2]) > rounds // 6, summary
    assert ", 0 marked" in summary


@pytest.mark.parametrize("rounds", [pytest.param(3, id="some"), pytest.param(60, id="many", marks=pytest.mark.slow)])
@pytest.mark.parametrize("number", HELD_SIGNALS, ids=lambda s: s.name)
def test_planning_can_be_stopped_at_any_time(tmp_path: Path, job: Path, number: signal.Signals, rounds: int) -> None:
    out = tmp_path / "out"
    begun = time.perf_counter()
    assert holecam("plan", job, "--out", out).returncode == 0
    whole = time.perf_counter() - begun
    dice, stopped = random.Random(int(number)), 0
    for _ in range(rounds):
        changed(job)
        run = begin("plan", job, "--out", out)
        time.sleep(dice.random() * whole * 1.05)
        run.send_signal(number)
        shown, told = run.communicate(timeout=240)
        no_traceback(shown, told)
        assert run.returncode in (0, 128 + number), (run.returncode, told)
        if run.returncode:
            stopped += 1
            assert told == b"Stopped. Files that were there are whole, and nothing is half-written.\n"
        assert litter(tmp_path) == []
        one_job_only(out)
    assert stopped >= rounds // 3


def test_a_look_up_can_be_stopped_at_any_time() -> None:
    dice = random.Random(1)
    codes = set()
    for _ in range(10):
        run = begin("tap", "6-32")
        time.sleep(dice.random() * 0.12)
        run.send_signal(signal.SIGINT)
        shown, told = run.communicate(timeout=240)
        no_traceback(shown, told)
        codes.add(run.returncode)
    assert codes <= {0, 130}


EVERY_STEP = """
import os, signal, sys, types
import holecam.cli.entry as entry

def run_once(step):
    \"\"\"Send Ctrl-C at one step of the entry module, counted in the interpreter's own instructions, or never.\"\"\"
    taken = 0
    def look(frame, event, arg):
        nonlocal taken
        if frame.f_code.co_filename != entry.__file__ or not watching:
            return None
        frame.f_trace_opcodes = True
        if event == "opcode":
            taken += 1
            if taken == step:
                sys.settrace(None)
                os.kill(os.getpid(), signal.SIGINT)
        return look
    watching, watch = False, entry._watch
    def watch_then_look():
        nonlocal watching
        watch()
        watching = True
        sys._getframe(1).f_trace_opcodes = True
        sys._getframe(1).f_trace = look
        sys.settrace(look)  # from here on, also where the interpreter's steps are asked for before tracing begins
    entry._watch = watch_then_look
    try:
        entry.main()
    finally:
        print(taken, file=sys.stderr)

commands = types.ModuleType("holecam.cli.main")
commands.main = (lambda: sys.exit(2)) if sys.argv[1] == "fails" else (lambda: print("the work"))
sys.modules[commands.__name__] = commands
run_once(int(sys.argv[2]))
"""
"""One run with a signal at a stated step. The signal's handler runs in the frame that is traced, before the step."""


@pytest.mark.parametrize("ending", ["done", "fails"])
def test_ctrl_c_shows_no_traceback_at_whichever_step_of_the_beginning_and_the_end_it_comes(ending: str) -> None:
    codes, step = [], 0
    while True:
        step += 1
        run = subprocess.run(
            [sys.executable, "-c", EVERY_STEP, ending, str(step)], capture_output=True, timeout=60, env=ENVIRONMENT
        )
        no_traceback(run.stdout, run.stderr)
        if int(run.stderr.split()[-1]) < step:
            break
        codes.append(run.returncode)
    whole = {"done": 0, "fails": 2}[ending]
    assert set(codes) == {130, whole}, codes
    assert codes == sorted(codes, reverse=True), "once the work is over, its own code stands"


def test_a_run_in_the_background_that_ignores_the_hang_up_goes_on(job: Path, tmp_path: Path) -> None:
    def deaf() -> None:
        signal.signal(signal.SIGHUP, signal.SIG_IGN)

    run = begin("plan", job, "--out", tmp_path / "out", preexec_fn=deaf)
    run.send_signal(signal.SIGHUP)
    _, told = run.communicate(timeout=240)
    assert run.returncode == 0, told


def test_the_next_run_clears_up_after_a_killed_one_and_takes_none_of_its_files_for_edited(tmp_path: Path) -> None:
    deliver(tmp_path, {"a.nc": b"old", "b.nc": b"old"})
    (tmp_path / ".holecam-left.part").write_bytes(b"half")
    (tmp_path / BROKEN_OFF).write_bytes(b"x")
    done = deliver(tmp_path, {"a.nc": b"old", "b.nc": b"old"})
    assert done.kept == ()
    assert set(visible(tmp_path)) == {"a.nc", "b.nc"}
    assert litter(tmp_path) == []


# No room, no right to write


def small_files(limit: int) -> Callable[[], None]:
    def set_limit() -> None:
        import resource

        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

    return set_limit


def test_a_full_disk_leaves_the_folder_as_it_was(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert holecam("plan", job, "--out", out).returncode == 0
    before = visible(out)
    changed(job)
    done = holecam("plan", job, "--out", out, preexec_fn=small_files(8000))
    assert done.returncode == 2
    assert b"cannot be written (file too large). Nothing that was there has been changed." in done.stderr
    no_traceback(done.stdout, done.stderr)
    assert visible(out) == before
    assert litter(tmp_path) == []


def test_a_full_disk_leaves_no_empty_folder(job: Path, tmp_path: Path) -> None:
    done = holecam("plan", job, "--out", tmp_path / "new" / "out", preexec_fn=small_files(8000))
    assert done.returncode == 2
    assert not (tmp_path / "new").exists()
    done = holecam("new", tmp_path / "another", preexec_fn=small_files(100))
    assert done.returncode == 2
    assert b"cannot be written" in done.stderr
    assert not (tmp_path / "another").exists()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    disk = tmp_path / "disk"
    disk.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", "size=96k", "tmpfs", str(disk)]
    if shutil.which("mount") is None or subprocess.run(words, capture_output=True, check=False).returncode != 0:
        pytest.skip("no right to mount a small disk here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_disk_that_fills_up_half_way(small_disk: Path) -> None:
    out = small_disk / "out"
    old = {f"{n}.nc": b"old %d" % n * 900 for n in range(6)}
    deliver(out, old)
    (out / "3.nc").write_bytes(b"by hand")
    before = visible(out)
    with pytest.raises(OutputError, match=r"no space left on device.*Make room"):
        deliver(out, {f"{n}.nc": b"new %d" % n * 5000 for n in range(6)})
    assert visible(out) == before
    assert litter(small_disk) == []
    assert deliver(out, old).kept == (("3.nc", "3.edited-1.nc"),)


def test_a_disk_with_no_room_for_a_new_job(small_disk: Path) -> None:
    with pytest.raises(OutputError, match="no space left"):
        write_new(small_disk / "sub" / "job.toml", b"x" * 200_000)
    assert list(small_disk.iterdir()) == []


def as_nobody(program: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a program that first gives up the right of the administrator to write everywhere."""
    first = "import os, sys; from pathlib import Path; from holecam.errors import *\n" + textwrap.dedent(program)
    give_up = "os.getuid() or (os.setgroups([]), os.setgid(65534), os.setuid(65534))"
    return subprocess.run(
        [sys.executable, "-c", first.replace("GIVE_UP", give_up), str(folder)],
        capture_output=True, text=True, timeout=240, env=ENVIRONMENT, check=False,
    )  # fmt: skip


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder whose parents anybody may enter, unlike the test runner's own."""
    import tempfile

    folder = Path(tempfile.mkdtemp(prefix="holecam-faults-"))
    folder.chmod(0o755)
    yield folder
    for path in (folder, *folder.rglob("*")):
        if path.is_dir():
            path.chmod(0o755)
    shutil.rmtree(folder)


def test_a_folder_that_may_not_be_written(open_folder: Path) -> None:
    (open_folder / "out").mkdir()
    (open_folder / "out").chmod(0o555)
    program = """
        from holecam.delivery.folder import deliver
        from holecam.delivery.whole_files import write_new
        GIVE_UP
        for target in (lambda f: deliver(f / "out", {"a.txt": b"a"}), lambda f: deliver(f / "out" / "sub", {"a": b"a"}),
                       lambda f: write_new(f / "out" / "job.toml", b"x")):
            try:
                target(Path(sys.argv[1]))
            except OutputError as error:
                print(error)
    """
    done = as_nobody(program, open_folder)
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert len(lines) == 3, done
    for line in lines:
        assert "cannot be written (permission denied)" in line
        assert "Give a folder that you may write to." in line
    assert list((open_folder / "out").iterdir()) == []


def test_a_job_that_may_not_be_read(open_folder: Path) -> None:
    (open_folder / "job.toml").write_text("title = 'x'")
    (open_folder / "job.toml").chmod(0)
    program = """
        from holecam.job.reader import read_job
        GIVE_UP
        try:
            read_job(Path(sys.argv[1]) / "job.toml")
        except InputError as error:
            print(error)
    """
    done = as_nobody(program, open_folder)
    assert "expected a job file that can be read: Permission denied" in done.stdout, done


@pytest.mark.parametrize("words", [["plan", "{job}", "--out", "{file}"], ["plan", "{job}", "--out", "{file}/out"]])
def test_a_file_where_the_folder_should_be(job: Path, tmp_path: Path, words: list[str]) -> None:
    file = tmp_path / "file"
    file.write_bytes(b"mine")
    done = holecam(*(w.format(job=job, file=file) for w in words))
    assert done.returncode == 2
    assert b"A file stands where a folder is needed" in done.stderr
    no_traceback(done.stderr)
    assert file.read_bytes() == b"mine"


# What the run rests on changes under it


DRAWN = """
title = "Plate"
unit = "mm"
[part]
material = "brass"
thickness = 3
outline = { drawing = "plate.dxf" }
[[pattern]]
name = "pair"
points = [[10, 10], [50, 10]]
drill = "3 mm"
"""


@pytest.fixture
def drawn(tmp_path: Path) -> Path:
    import ezdxf

    drawing = ezdxf.new(units=4)
    drawing.modelspace().add_lwpolyline([(0, 0), (60, 0), (60, 20), (0, 20)], close=True)
    drawing.saveas(tmp_path / "plate.dxf")
    (tmp_path / "job.toml").write_text(DRAWN, encoding="utf-8")
    return tmp_path / "job.toml"


def test_a_drawing_that_is_not_there(drawn: Path, tmp_path: Path) -> None:
    (tmp_path / "plate.dxf").rename(tmp_path / "plates.dxf")
    done = holecam("plan", drawn)
    assert done.returncode == 2
    assert b"job.toml:7: part.outline.drawing" in done.stderr, done.stderr
    assert b"plates.dxf" in done.stderr
    no_traceback(done.stderr)
    assert not (tmp_path / "job-out").exists()


@pytest.mark.parametrize("what", ["job changed", "job gone", "drawing changed", "drawing gone"])
@pytest.mark.parametrize("when", ["before", "after"])
def test_a_file_that_changes_while_the_job_is_planned(
    drawn: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str, when: str
) -> None:
    file = drawn if what.startswith("job") else tmp_path / "plate.dxf"
    really = plan_folder.plan_job

    def meanwhile() -> None:
        if what.endswith("gone"):
            file.unlink()
        else:
            old, new = (b"10]", b"11]") if file == drawn else (b"60", b"61")
            assert old in file.read_bytes()
            file.write_bytes(file.read_bytes().replace(old, new))

    def disturbed(job: Any) -> Any:
        if when == "before":
            meanwhile()
        planned = really(job)
        if when == "after":
            meanwhile()
        return planned

    monkeypatch.setattr(plan_folder, "plan_job", disturbed)
    with pytest.raises(InputError, match=r"was changed while|found no such file") as caught:
        plan_folder.plan_file(drawn)
    assert file.name in str(caught.value)


def test_two_runs_at_once_on_one_folder(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    codes = []
    for _ in range(2):
        changed(job)
        runs = [begin("plan", job, "--out", out) for _ in range(2)]
        for run in runs:
            shown, told = run.communicate(timeout=240)
            no_traceback(shown, told)
            codes.append(run.returncode)
            assert run.returncode == 0 or b"another run is writing here now" in told
        one_job_only(out)
        assert not [n for n in visible(out) if "edited" in n]
        assert litter(tmp_path) == []
    assert 0 in codes


def test_many_runs_at_once_never_mix_their_files(tmp_path: Path) -> None:
    program = """
        import sys
        from pathlib import Path
        from holecam.delivery.folder import deliver
        from holecam.errors import OutputError
        for turn in range(30):
            text = f"{sys.argv[2]} {turn}".encode() * 500
            try:
                deliver(Path(sys.argv[1]), {f"{n}.nc": text for n in range(5)})
            except OutputError as error:
                assert "another run" in str(error), error
    """
    words = [sys.executable, "-c", textwrap.dedent(program), str(tmp_path / "out")]
    runs = [subprocess.Popen([*words, name], stderr=subprocess.PIPE, env=ENVIRONMENT) for name in "abc"]
    for run in runs:
        _, told = run.communicate(timeout=240)
        assert run.returncode == 0, told
    assert len(set(visible(tmp_path / "out").values())) == 1
    assert len(visible(tmp_path / "out")) == 5


def test_a_run_that_comes_second_leaves_the_lock_of_the_first_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both found no folder; the first made it and holds it, and has written nothing into it yet."""
    out, make = tmp_path / "out", Path.mkdir
    held: list[int] = []

    def as_the_other_run_does(folder: Path, *args: Any, **more: Any) -> None:
        make(folder, *args, **more)
        if not held:
            held.append(os.open(folder / LOCK_NAME, os.O_RDWR | os.O_CREAT))
            fcntl.flock(held[0], fcntl.LOCK_EX)

    monkeypatch.setattr(Path, "mkdir", as_the_other_run_does)
    with pytest.raises(OutputError, match="another run is writing here now"):
        deliver(out, {"sheet.txt": b"mine"})
    assert [p.name for p in out.iterdir()] == [LOCK_NAME]
    os.close(held[0])
    assert deliver(out, {"sheet.txt": b"mine"}).written == ("sheet.txt",)


def test_a_lock_that_was_taken_away_while_it_was_opened_is_not_trusted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out, lock, seen = tmp_path / "out", folder_module._lock, []

    def taken_away_first(handle: int) -> None:
        if not seen:
            (out / LOCK_NAME).unlink()
        seen.append(handle)
        lock(handle)

    monkeypatch.setattr(folder_module, "_lock", taken_away_first)
    deliver(out, {"sheet.txt": b"mine"})
    assert len(seen) == 2
    assert (out / LOCK_NAME).exists()


def test_a_disk_without_locks_is_told_and_nothing_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(handle: int) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(folder_module, "_lock", refused)
    with pytest.raises(OutputError, match=r"cannot be written \(no locks available\)"):
        deliver(tmp_path / "out", {"sheet.txt": b"mine"})
    assert not (tmp_path / "out").exists()


def test_a_lock_that_is_always_taken_away_is_told_and_not_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(folder_module, "_lock", lambda handle: (tmp_path / "out" / LOCK_NAME).unlink())
    with pytest.raises(OutputError, match="another run is writing here now"):
        deliver(tmp_path / "out", {"sheet.txt": b"mine"})
    assert not (tmp_path / "out").exists()


# What lies in the folder already


def test_files_that_somebody_edited_are_kept_through_the_command(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    holecam("plan", job, "--out", out)
    (out / "sheet.txt").write_bytes(b"my ticks")
    changed(job)
    done = holecam("plan", job, "--out", out)
    assert done.returncode == 0
    assert b"sheet.txt had been edited by hand; the edited one is kept as sheet.edited-1.txt" in done.stdout
    assert (out / "sheet.edited-1.txt").read_bytes() == b"my ticks"


def test_a_link_in_place_of_a_file_is_kept_and_what_it_leads_to_is_left_alone(tmp_path: Path) -> None:
    out, elsewhere = tmp_path / "out", tmp_path / "elsewhere.txt"
    out.mkdir()
    elsewhere.write_bytes(b"mine")
    (out / "sheet.txt").symlink_to(elsewhere)
    (out / "sheet.html").symlink_to(tmp_path / "nowhere")
    done = deliver(out, {"sheet.txt": b"new", "sheet.html": b"new"})
    assert done.kept == (("sheet.txt", "sheet.edited-1.txt"), ("sheet.html", "sheet.edited-1.html"))
    assert elsewhere.read_bytes() == b"mine"
    assert (out / "sheet.edited-1.txt").resolve() == elsewhere
    assert not (out / "sheet.txt").is_symlink()
    assert not (tmp_path / "nowhere").exists()


def test_a_link_in_place_of_the_folder_is_followed(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "out").symlink_to(tmp_path / "real")
    deliver(tmp_path / "out", {"a.txt": b"a"})
    assert visible(tmp_path / "real") == {"a.txt": b"a"}


def test_a_link_to_nowhere_in_place_of_the_folder_is_refused(job: Path, tmp_path: Path) -> None:
    (tmp_path / "out").symlink_to(tmp_path / "nowhere")
    done = holecam("plan", job, "--out", tmp_path / "out")
    assert done.returncode == 2
    no_traceback(done.stderr)
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("name", [LOCK_NAME, RECORD_NAME])
def test_links_in_place_of_the_hidden_files_reach_nothing_outside(tmp_path: Path, name: str) -> None:
    out, target = tmp_path / "out", tmp_path / "target"
    out.mkdir()
    (out / name).symlink_to(target)
    if name == LOCK_NAME:
        with pytest.raises(OutputError, match="is a link"):
            deliver(out, {"a.txt": b"a"})
    else:
        deliver(out, {"a.txt": b"a"})
    assert not target.exists()


@pytest.mark.parametrize("content", [b"", b"[]", b"{", b'{"a.txt": {"x": 1}}', b"\xff", b"[" * 100_000])
def test_a_spoilt_list_of_what_was_written_makes_every_file_count_as_edited(tmp_path: Path, content: bytes) -> None:
    deliver(tmp_path, {"a.txt": b"old"})
    (tmp_path / RECORD_NAME).write_bytes(content)
    assert deliver(tmp_path, {"a.txt": b"new"}).kept == (("a.txt", "a.edited-1.txt"),)
    assert visible(tmp_path) == {"a.txt": b"new", "a.edited-1.txt": b"old"}


@pytest.mark.parametrize("kind", ["folder", "pipe"])
def test_something_strange_under_the_name_of_a_file_is_refused_before_anything_is_written(
    tmp_path: Path, kind: str
) -> None:
    deliver(tmp_path, {"a.txt": b"old", "b.txt": b"old"})
    (tmp_path / "b.txt").unlink()
    if kind == "folder":
        (tmp_path / "b.txt").mkdir()
    else:
        os.mkfifo(tmp_path / "b.txt")
    with pytest.raises(OutputError, match=rf"b\.txt is a {kind}.*Move it away"):
        deliver(tmp_path, {"a.txt": b"new", "b.txt": b"new"})
    assert (tmp_path / "a.txt").read_bytes() == b"old"
    assert litter(tmp_path) == []


@pytest.mark.parametrize("words", [["check"], ["verify"]])
def test_a_pipe_or_folder_in_place_of_an_input_file_does_not_hang(tmp_path: Path, words: list[str]) -> None:
    os.mkfifo(tmp_path / "pipe")
    for name in (tmp_path / "pipe", tmp_path, tmp_path / "none"):
        done = holecam(*words, name)
        assert done.returncode == 2
        assert b"expected a " in done.stderr
        no_traceback(done.stderr)


# Names, and where the output goes


@pytest.mark.parametrize("locale", ["C.UTF-8", "C"])
def test_names_that_are_not_utf_8(job: Path, tmp_path: Path, locale: str) -> None:
    folder = os.fsencode(tmp_path) + b"/\xff\xe9 \xc3\xa9"
    environment = {**ENVIRONMENT, "LC_ALL": locale, "PYTHONIOENCODING": "ascii" if locale == "C" else "utf-8"}
    made = holecam("new", folder, env=environment)
    assert made.returncode == 0, made.stderr
    shutil.copyfile(job, folder + b"/job.toml")
    done = holecam("plan", folder + b"/job.toml", "--out", folder + b"/out\xfe", env=environment)
    assert done.returncode == 0, done.stderr
    no_traceback(made.stdout, made.stderr, done.stdout, done.stderr)
    assert os.path.isfile(folder + b"/out\xfe/sheet.html")
    gone = holecam("plan", folder + b"/gone\xff.toml", env=environment)
    assert gone.returncode == 2
    assert b"found no such file" in gone.stderr


def closed_at_once(run: subprocess.Popen[bytes]) -> bytes:
    """Close the pipe that a command prints to, wait for its end and return what it said beside it."""
    assert run.stdout is not None
    assert run.stderr is not None
    run.stdout.close()
    with run.stderr:
        told = run.stderr.read()
    run.wait(timeout=240)
    return told


@pytest.mark.parametrize("words", [["tap", "M4"], ["schema"], ["--help"], ["tap", "--help"]])
def test_a_reader_that_closes_the_pipe_ends_the_program_quietly(words: list[str]) -> None:
    run = begin(*words)
    assert closed_at_once(run) == b""
    assert run.returncode == -signal.SIGPIPE


def test_a_plan_is_written_even_if_nobody_reads_what_is_printed(job: Path, tmp_path: Path) -> None:
    run = begin("plan", job, "--out", tmp_path / "out")
    closed_at_once(run)
    assert (tmp_path / "out" / "sheet.html").is_file()
    assert litter(tmp_path) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_output_to_a_full_disk_is_told() -> None:
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "holecam", "tap", "M4"],
            stdout=full, stderr=subprocess.PIPE, env=ENVIRONMENT, check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == b"The result could not be printed (no space left on device).\n"


@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&-", ">&- 2>&-"])
def test_closed_streams_do_no_harm(job: Path, tmp_path: Path, closed: str) -> None:
    # A file that is opened then takes the number of the stream that is missing
    words = f'plan "$1" --out "{tmp_path}/out"' if closed == ">&- 2>&-" else "tap M4"
    done = subprocess.run(
        ["sh", "-c", f'"$0" -m holecam {words} {closed}', sys.executable, str(job)],
        capture_output=True, env=ENVIRONMENT, timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done
    no_traceback(done.stdout, done.stderr)
    if words.startswith("plan"):
        assert (tmp_path / "out" / "sheet.html").read_bytes().startswith(b"<!")
        assert (tmp_path / "out" / LOCK_NAME).read_bytes() == b""
