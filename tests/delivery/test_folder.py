"""Files are written whole or not at all, and what somebody edited is kept."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from holecam.delivery.folder import LOCK_NAME, deliver
from holecam.delivery.whole_files import write_new
from holecam.errors import InputError, OutputError


def visible(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if not p.name.startswith(".")}


def test_files_are_written_and_an_equal_run_changes_nothing(tmp_path: Path) -> None:
    files = {"a.txt": b"one", "b.nc": b"two"}
    first = deliver(tmp_path / "out", files)
    assert first.written == ("a.txt", "b.nc")
    second = deliver(tmp_path / "out", files)
    assert second.written == ()
    assert second.unchanged == ("a.txt", "b.nc")
    assert visible(tmp_path / "out") == files


def test_a_file_that_nobody_edited_is_replaced_without_a_copy(tmp_path: Path) -> None:
    deliver(tmp_path, {"a.txt": b"one"})
    again = deliver(tmp_path, {"a.txt": b"two"})
    assert again.kept == ()
    assert visible(tmp_path) == {"a.txt": b"two"}


def test_an_edited_file_is_kept_beside_the_new_one_each_time(tmp_path: Path) -> None:
    deliver(tmp_path, {"a.nc": b"one"})
    (tmp_path / "a.nc").write_bytes(b"by hand")
    assert deliver(tmp_path, {"a.nc": b"two"}).kept == (("a.nc", "a.edited-1.nc"),)
    (tmp_path / "a.nc").write_bytes(b"by hand again")
    assert deliver(tmp_path, {"a.nc": b"three"}).kept == (("a.nc", "a.edited-2.nc"),)
    assert visible(tmp_path) == {"a.nc": b"three", "a.edited-1.nc": b"by hand", "a.edited-2.nc": b"by hand again"}


def test_a_file_that_was_there_before_the_first_run_is_kept(tmp_path: Path) -> None:
    (tmp_path / "sheet.txt").write_bytes(b"mine")
    deliver(tmp_path, {"sheet.txt": b"new"})
    assert visible(tmp_path) == {"sheet.txt": b"new", "sheet.edited-1.txt": b"mine"}


def test_a_program_of_an_earlier_run_does_not_lie_there_when_it_is_withheld(tmp_path: Path) -> None:
    deliver(tmp_path, {"01-spot.nc": b"G0", "02-drill.nc": b"G1"})
    (tmp_path / "own.nc").write_bytes(b"not ours")
    done = deliver(tmp_path, {"01-spot.nc": b"G0"}, retire=("*.nc",))
    assert done.removed == ("02-drill.nc",)
    assert set(visible(tmp_path)) == {"01-spot.nc", "own.nc"}


def test_an_edited_program_is_not_removed(tmp_path: Path) -> None:
    deliver(tmp_path, {"02-drill.nc": b"G1"})
    (tmp_path / "02-drill.nc").write_bytes(b"G1 by hand")
    assert deliver(tmp_path, {"a.txt": b""}, retire=("*.nc",)).removed == ()
    assert visible(tmp_path)["02-drill.nc"] == b"G1 by hand"


@pytest.mark.parametrize("name", ["../up.txt", "sub/x.txt", "", ".hidden", "/abs.txt", ".."])
def test_a_name_never_leaves_the_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match="plain name"):
        deliver(tmp_path / "out", {name: b"x"})
    assert not (tmp_path / "out").exists()


def test_two_runs_at_once_do_not_mix(tmp_path: Path) -> None:
    import fcntl

    with open(tmp_path / LOCK_NAME, "a+b") as lock:
        fcntl.flock(lock.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
        with pytest.raises(OutputError, match="another run is writing"):
            deliver(tmp_path, {"a.txt": b"one"})
    assert visible(tmp_path) == {}
    deliver(tmp_path, {"a.txt": b"one"})
    assert visible(tmp_path) == {"a.txt": b"one"}


def test_a_folder_under_a_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="cannot be written"):
        deliver(tmp_path / "file" / "out", {"a.txt": b"one"})


@pytest.mark.skipif(os.name != "posix", reason="file-size limits are a POSIX facility")
def test_a_full_disk_leaves_the_old_files_whole(tmp_path: Path) -> None:
    out = tmp_path / "out"
    deliver(out, {"a.txt": b"old a", "b.txt": b"old b"})
    program = textwrap.dedent("""
        import resource, signal, sys
        from pathlib import Path
        from holecam.delivery.folder import deliver
        from holecam.errors import OutputError
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
        try:
            deliver(Path(sys.argv[1]), {"a.txt": b"new a", "b.txt": b"x" * 100_000})
        except OutputError as error:
            print(error)
            sys.exit(3)
    """)
    run = subprocess.run([sys.executable, "-c", program, str(out)], capture_output=True, text=True)
    assert run.returncode == 3, run.stderr
    assert "cannot be written (file too large)" in run.stdout
    assert visible(out) == {"a.txt": b"old a", "b.txt": b"old b"}
    assert not list(out.glob("*.part"))
    assert not list(out.glob(".*.part"))
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] != 4096


def test_a_new_file_is_never_put_over_one_that_exists(tmp_path: Path) -> None:
    write_new(tmp_path / "job.toml", b"one")
    with pytest.raises(InputError, match="is there already"):
        write_new(tmp_path / "job.toml", b"two")
    assert (tmp_path / "job.toml").read_bytes() == b"one"
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]
