"""Write a set of files into a folder so that nothing is half-written and nothing of the user's is lost.

Every new content reaches the disk under a hidden name first; then all files get their names in one go, which Ctrl-C
waits for. Should the power or the system cut that moment short, a file is left that says so. A hidden list in the
folder remembers the digest of what was written; a file that does not agree with it was edited by somebody and is kept
under another name.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import stat
from collections.abc import Iterator, Mapping
from pathlib import Path

from msgspec import Struct

from holecam.delivery.whole_files import (
    folder_for_writing,
    keep_under,
    take_away_left_behind,
    uninterrupted,
    why_not,
    write_aside,
)
from holecam.errors import InputError, OutputError

RECORD_NAME = ".holecam-written.json"
LOCK_NAME = ".holecam-lock"
BROKEN_OFF = "BROKEN-OFF.txt"
"""There only when a run was killed, or failed, between the first and the last file that it put in place."""

BROKEN_OFF_TEXT = (
    "A run of holecam was broken off while it put its files here.\n"
    "Some files in this folder are new and some are old: use none of them.\n"
    "Plan the job again into this folder. This file then goes away by itself.\n"
)
LOCK_TRIES = 20
"""How often the lock is opened anew when other runs take theirs away."""

MOST_KEPT = 999
"""Edited copies of one file that are kept before the user is asked to tidy up."""

LARGEST_RECORD = 10_000_000
"""Bytes of the hidden list that are read; a longer one is not ours."""

Record = Mapping[str, frozenset[str]]
"""By file name: digests of what this program wrote under it. More than one while files are put in place."""


class Delivered(Struct, frozen=True):
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
        The folder cannot be written or another run is writing into it. Files already there stay as they were; where a
        disk fails while files are put in place, ``BROKEN-OFF.txt`` says that old and new ones are mixed.
    """
    for name in files:
        if not name or name != Path(name).name or name.startswith(".") or name == BROKEN_OFF:
            raise InputError(f'file name "{name}": expected a plain name without folders')
    try:
        with folder_for_writing(folder), _only_writer(folder):
            try:
                take_away_left_behind(folder)
                return _deliver_locked(folder, files, retire)
            finally:
                with uninterrupted():
                    take_away_left_behind(folder)
    except (OSError, ValueError) as error:  # a zero character in a name is a ValueError
        if isinstance(error, InputError):
            raise
        raise OutputError(why_not(folder, error)) from error


def _deliver_locked(folder: Path, files: Mapping[str, bytes], retire: tuple[str, ...]) -> Delivered:
    record = _read_record(folder)
    changed = {name: content for name, content in files.items() if not _same(folder / name, content)}
    for name in changed:
        _refuse_strange(folder / name)
    stale = _stale(folder, files, record, retire)
    digests = {name: frozenset([_digest(content)]) for name, content in files.items()}
    lasting = {n: d for n, d in record.items() if n not in stale} | digests
    if not changed and not stale and lasting == record and not (folder / BROKEN_OFF).exists():
        return Delivered(folder, (), tuple(files), ())
    # All new contents reach the disk before the first old file is touched: a full disk then loses nothing
    aside = {name: write_aside(folder, content) for name, content in changed.items()}
    both = {n: record.get(n, frozenset()) | digests.get(n, frozenset()) for n in record.keys() | digests.keys()}
    record_during, record_after = _record_aside(folder, both), _record_aside(folder, lasting)
    mark = write_aside(folder, BROKEN_OFF_TEXT.encode())
    kept = [(name, other) for name in changed if (other := _keep_if_edited(folder, name, record))]
    with uninterrupted():
        os.replace(record_during, folder / RECORD_NAME)  # what a killed run wrote is not taken for somebody's work
        os.replace(mark, folder / BROKEN_OFF)
        try:
            for name, temporary in aside.items():
                os.replace(temporary, folder / name)
            for name in stale:
                (folder / name).unlink(missing_ok=True)
            os.replace(record_after, folder / RECORD_NAME)
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise OutputError(
                f"{folder}: the disk failed while files were put in place ({reason}). Old and new files may be mixed: "
                f"use none of them ({BROKEN_OFF} says so there too), and plan the job again, into another folder."
            ) from error
        _reach_the_disk(folder)
        (folder / BROKEN_OFF).unlink(missing_ok=True)
    unchanged = tuple(name for name in files if name not in changed)
    return Delivered(folder, tuple(changed), unchanged, tuple(kept), stale)


def _refuse_strange(path: Path) -> None:
    """Refuse a name under which something stands that is neither a file nor a link: it is not ours to move."""
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        return
    if not (stat.S_ISREG(mode) or stat.S_ISLNK(mode)):
        what = "a folder" if stat.S_ISDIR(mode) else "a pipe or device"
        raise OutputError(f"{path} is {what}; a file of that name has to be written. Move it away.")


def _stale(folder: Path, files: Mapping[str, bytes], record: Record, retire: tuple[str, ...]) -> tuple[str, ...]:
    """Return files of an earlier run that nobody edited and that are not planned any more."""
    found: dict[str, None] = {}
    for pattern in retire:
        for path in sorted(folder.glob(pattern)):
            if path.name not in files and path.name in record and _is_plain(path):
                digest = _digest_of(path)
                if digest in record[path.name]:
                    found[path.name] = None
    return tuple(found)


def _keep_if_edited(folder: Path, name: str, record: Record) -> str:
    """Give an edited file a second name and return it; empty when there is nothing to keep."""
    path = folder / name
    if not os.path.lexists(path):
        return ""
    digest = _digest_of(path) if _is_plain(path) else None
    if digest is not None and digest in record.get(name, frozenset()):
        return ""
    for number in range(1, MOST_KEPT + 1):
        other = path.with_name(f"{path.stem}.edited-{number}{path.suffix}")
        if not os.path.lexists(other):
            keep_under(path, other)
            return other.name
        if digest is not None and _is_plain(other) and _digest_of(other) == digest:
            return other.name  # kept by a run that was broken off afterwards
    raise OutputError(f"{path}: {MOST_KEPT} edited copies are kept already; move some of them away")


def _is_plain(path: Path) -> bool:
    try:
        return stat.S_ISREG(path.lstat().st_mode)
    except OSError:
        return False


def _same(path: Path, content: bytes) -> bool:
    try:
        return path.is_file() and path.stat().st_size == len(content) and path.read_bytes() == content
    except OSError:
        return False


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _digest_of(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _record_aside(folder: Path, record: Record) -> Path:
    content = {name: sorted(digests) for name, digests in record.items()}
    return write_aside(folder, json.dumps(content, indent=0, sort_keys=True).encode())


def _read_record(folder: Path) -> dict[str, frozenset[str]]:
    path = folder / RECORD_NAME
    try:
        if not _is_plain(path) or path.stat().st_size > LARGEST_RECORD:
            return {}
        data = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(data, dict):
        return {}
    return {str(n): frozenset(map(str, d if isinstance(d, list) else [d])) for n, d in data.items()}


def _reach_the_disk(folder: Path) -> None:
    """Have the new names reach the disk as well, where the system can do that for a folder."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def _only_writer(folder: Path) -> Iterator[None]:
    """Hold the folder for this run; the system lets go of it even when the run is killed."""
    path = folder / LOCK_NAME
    if path.is_symlink():
        raise OutputError(f"{path} is a link; take it away, or give another folder")
    handle, made = _held(path)
    try:
        yield
    except BaseException:
        if made:  # while it is still held: a lock that another run holds is never taken away
            with uninterrupted(), contextlib.suppress(OSError):
                path.unlink()
        raise
    finally:
        os.close(handle)


def _held(path: Path) -> tuple[int, bool]:
    """Return the open lock, held, and whether this run made it."""
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    for _ in range(LOCK_TRIES):
        try:
            handle, made = os.open(path, flags | os.O_EXCL, 0o666), True
        except FileExistsError:
            handle, made = os.open(path, flags, 0o666), False
        try:
            _lock(handle)
            # A run that failed may have taken its lock away between the opening and the locking: then what is held
            # here is a file without a name, which keeps nobody off
            if _stands_at(handle, path):
                return handle, made
        except OSError as error:
            os.close(handle)
            if error.errno in (errno.EAGAIN, errno.EACCES, errno.EDEADLK):
                break
            if made:  # a disk that knows no locks: nobody holds it
                with contextlib.suppress(OSError):
                    path.unlink()
            raise
        os.close(handle)
    raise OutputError(f"{path.parent}: another run is writing here now; wait for it, or give another folder (--out)")


def _stands_at(handle: int, path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(handle), path.lstat())
    except FileNotFoundError:
        return False


def _lock(handle: int) -> None:
    try:
        import fcntl
    except ImportError:  # not a POSIX system
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
    else:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
