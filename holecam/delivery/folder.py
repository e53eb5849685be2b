"""Write a set of files into a folder so that nothing is half-written and nothing of the user's is lost.

Every file is written beside its target and renamed onto it. A hidden list in the folder remembers the digest of what
was written last; a file that no longer agrees with its digest was edited by somebody and is kept under another name.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from holecam.errors import InputError, OutputError

RECORD_NAME = ".holecam-written.json"
LOCK_NAME = ".holecam-lock"
MOST_KEPT = 999
"""Edited copies of one file that are kept before the user is asked to tidy up."""


@dataclass(frozen=True, slots=True)
class Delivered:
    """What was written, and which edited files were kept: pairs of (name, name under which it was kept)."""

    folder: Path
    written: tuple[str, ...]
    unchanged: tuple[str, ...]
    kept: tuple[tuple[str, str], ...]
    removed: tuple[str, ...] = ()


def deliver(folder: Path, files: Mapping[str, bytes], *, retire: tuple[str, ...] = ()) -> Delivered:
    """Write the files into the folder, made if needed, and return what was done.

    Parameters
    ----------
    folder : Path
    files : mapping of str to bytes
        Plain names (no folders in them) and whole contents.
    retire : tuple of str
        Patterns such as ``*.nc``: files that an earlier run wrote, that match, that nobody edited and that are not
        among the new ones are removed, so that a withheld program does not lie there from the last time.

    Raises
    ------
    InputError
        A name is not a plain file name.
    OutputError
        The folder cannot be written or another run is writing into it. Files already there stay as they were.
    """
    for name in files:
        if not name or name != Path(name).name or name.startswith("."):
            raise InputError(f'file name "{name}": expected a plain name without folders')
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with _only_writer(folder):
            return _deliver_locked(folder, files, retire)
    except OSError as error:
        raise OutputError(_why(folder, error)) from error


def _deliver_locked(folder: Path, files: Mapping[str, bytes], retire: tuple[str, ...]) -> Delivered:
    record = _read_record(folder)
    written, unchanged, kept = [], [], []
    # All new contents reach the disk before the first old file is touched: a full disk then loses nothing
    aside: dict[str, Path] = {}
    try:
        for name, content in files.items():
            if _same(folder / name, content):
                unchanged.append(name)
            else:
                aside[name] = _write_aside(folder, name, content)
        for name, temporary in aside.items():
            other = _keep_if_edited(folder, name, record)
            if other:
                kept.append((name, other))
            os.replace(temporary, folder / name)
            written.append(name)
    finally:
        for temporary in aside.values():
            temporary.unlink(missing_ok=True)
    removed = _retire(folder, files, record, retire)
    digests = {n: d for n, d in record.items() if n not in removed} | {n: _digest(c) for n, c in files.items()}
    content = json.dumps(digests, indent=0, sort_keys=True).encode()
    os.replace(_write_aside(folder, RECORD_NAME, content), folder / RECORD_NAME)
    return Delivered(folder, tuple(written), tuple(unchanged), tuple(kept), tuple(removed))


def _retire(folder: Path, files: Mapping[str, bytes], record: Mapping[str, str], retire: tuple[str, ...]) -> list[str]:
    removed = []
    for pattern in retire:
        for path in sorted(folder.glob(pattern)):
            stale = path.name not in files and path.name in record and path.is_file() and not path.is_symlink()
            if stale and _digest(path.read_bytes()) == record[path.name]:
                path.unlink()
                removed.append(path.name)
    return removed


def write_new(path: Path, content: bytes) -> None:
    """Write one file that must not exist yet, whole or not at all.

    Raises
    ------
    InputError
        Something of that name is there already.
    OutputError
        It cannot be written.
    """
    if path.exists() or path.is_symlink():
        raise InputError(f"{path} is there already; choose another name or move it away", key=str(path))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        temporary = _write_aside(path.parent, path.name, content)
        try:
            os.link(temporary, path)  # unlike a rename, this fails when somebody made the file meanwhile
        except FileExistsError as error:
            raise InputError(f"{path} is there already; choose another name or move it away") from error
        finally:
            temporary.unlink(missing_ok=True)
    except OSError as error:
        raise OutputError(_why(path, error)) from error


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _same(path: Path, content: bytes) -> bool:
    try:
        return path.is_file() and path.stat().st_size == len(content) and path.read_bytes() == content
    except OSError:
        return False


def _write_aside(folder: Path, name: str, content: bytes) -> Path:
    handle, text = tempfile.mkstemp(prefix=f".{name}.", suffix=".part", dir=folder)
    temporary = Path(text)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        os.chmod(temporary, 0o666 & ~_umask())
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _keep_if_edited(folder: Path, name: str, record: Mapping[str, str]) -> str:
    """Move an edited file out of the way and return its new name; empty when there is nothing to keep."""
    path = folder / name
    if path.is_dir():
        raise OutputError(f"{path} is a folder; a file of that name has to be written. Move the folder away.")
    if not path.exists() or _digest(path.read_bytes()) == record.get(name):
        return ""
    for number in range(1, MOST_KEPT + 1):
        other = path.with_name(f"{path.stem}.edited-{number}{path.suffix}")
        if not other.exists():
            os.replace(_write_aside(folder, other.name, path.read_bytes()), other)
            return other.name
    raise OutputError(f"{path}: {MOST_KEPT} edited copies are kept already; move some of them away")


def _read_record(folder: Path) -> dict[str, str]:
    try:
        data = json.loads((folder / RECORD_NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(k): str(v) for k, v in data.items()} if isinstance(data, dict) else {}


@contextlib.contextmanager
def _only_writer(folder: Path) -> Iterator[None]:
    """Hold the folder for this run; the system lets go of it even when the run is killed."""
    with open(folder / LOCK_NAME, "a+b") as lock:
        try:
            _lock(lock.fileno())
        except OSError as error:
            raise OutputError(
                f"{folder}: another run is writing here now; wait for it, or give another --out"
            ) from error
        yield


def _lock(handle: int) -> None:
    try:
        import fcntl
    except ImportError:  # not a POSIX system
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
    else:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _why(path: Path, error: OSError) -> str:
    reason = (error.strerror or str(error)).lower()
    return f"{path}: cannot be written ({reason}). Nothing that was there has been replaced by half a file."
