"""Put single files on the disk whole or not at all, and take away what a run that was killed left behind."""

from __future__ import annotations

import contextlib
import errno
import os
import signal
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from types import FrameType

from holecam.errors import InputError, OutputError

ASIDE_PREFIX, ASIDE_SUFFIX = ".holecam-", ".part"
"""Names of files that are being written; nobody else's files are called so."""

LEFT_BEHIND_AFTER = 3600.0
"""Seconds. A file that was being written an hour ago belongs to a run that was killed: writing takes a moment."""

_STOPPING = ("SIGINT", "SIGTERM", "SIGHUP")


def write_new(path: Path, content: bytes) -> None:
    """Write one file that must not exist yet, whole or not at all.

    Raises
    ------
    InputError
        Something of that name is there already.
    OutputError
        It cannot be written; a folder that was made for it is taken away again.
    """
    if os.path.lexists(path):
        raise _there_already(path)
    try:
        with folder_for_writing(path.parent):
            take_away_left_behind(path.parent, older_than=LEFT_BEHIND_AFTER)
            temporary = write_aside(path.parent, content)
            try:
                _put_new(temporary, path)
            finally:
                temporary.unlink(missing_ok=True)
    except FileExistsError as error:
        if not path.parent.is_dir():
            raise OutputError(why_not(path.parent, error)) from error
        raise _there_already(path) from error
    except (OSError, ValueError) as error:
        raise OutputError(why_not(path, error)) from error


def _there_already(path: Path) -> InputError:
    return InputError(f"{path} is there already; choose another name or move it away", key=str(path))


def _put_new(temporary: Path, path: Path) -> None:
    """Give a file its name; unlike a plain rename, this fails when somebody made a file of that name meanwhile."""
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError as error:
        if error.errno not in (errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS):
            raise
        # A disk without links, as many memory sticks are: take the name first, then put the content over it
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        os.replace(temporary, path)


def write_aside(folder: Path, content: bytes) -> Path:
    """Return a new hidden file in the folder that holds the content and has reached the disk."""
    handle, text = tempfile.mkstemp(prefix=ASIDE_PREFIX, suffix=ASIDE_SUFFIX, dir=folder)
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


def keep_under(path: Path, other: Path) -> None:
    """Give a file, or a link, a second name that is free; its content is not copied where the disk can link."""
    with contextlib.suppress(FileNotFoundError):  # somebody took the file away meanwhile: there is nothing to keep
        try:
            os.link(path, other, follow_symlinks=False)
        except FileExistsError:
            raise
        except OSError:
            if path.is_symlink():
                os.symlink(os.readlink(path), other)
                return
            temporary = write_aside(path.parent, path.read_bytes())
            try:
                _put_new(temporary, other)
            finally:
                temporary.unlink(missing_ok=True)


def take_away_left_behind(folder: Path, *, older_than: float = 0.0) -> None:
    """Remove files that a run was writing when it was killed: at least so many seconds ago."""
    latest = time.time() - older_than
    for path in folder.glob(f"{ASIDE_PREFIX}*{ASIDE_SUFFIX}"):
        with contextlib.suppress(OSError):
            if older_than == 0.0 or path.lstat().st_mtime < latest:
                path.unlink()


@contextlib.contextmanager
def folder_for_writing(folder: Path) -> Iterator[None]:
    """Make the folder where it is not there; take it away again when the writing fails and nothing is in it."""
    made = [p for p in (folder, *folder.parents) if not os.path.lexists(p)]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        yield
    except BaseException:
        with uninterrupted(), contextlib.suppress(OSError):
            for path in made:
                path.rmdir()
        raise


@contextlib.contextmanager
def uninterrupted() -> Iterator[None]:
    """Hold back Ctrl-C and requests to end until the block is done; then they take effect.

    In another thread than the main one nothing is held back: signals do not reach it.
    """
    came: list[int] = []

    def remember(number: int, frame: FrameType | None) -> None:
        came.append(number)

    before = {}
    for name in _STOPPING:
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) not in (signal.SIG_IGN, None):
            try:
                before[number] = signal.signal(number, remember)
            except ValueError:
                break
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        for number in came[:1]:
            signal.raise_signal(number)


def why_not(path: Path, error: OSError | ValueError) -> str:
    """Return why a file or folder cannot be written, in words, and what state things are in."""
    reason = (getattr(error, "strerror", None) or str(error)).lower()
    hint = {
        errno.ENOSPC: " Make room, or give another folder.",
        errno.EDQUOT: " Make room, or give another folder.",
        errno.EACCES: " Give a folder that you may write to.",
        errno.EPERM: " Give a folder that you may write to.",
        errno.EROFS: " Give a folder that you may write to.",
        errno.EEXIST: " A file stands where a folder is needed; give another name.",
        errno.ENOTDIR: " A file stands where a folder is needed; give another name.",
        errno.ENAMETOOLONG: " Give a shorter name.",
    }.get(getattr(error, "errno", 0) or 0, "")
    return f"{path}: cannot be written ({reason}). Nothing that was there has been changed.{hint}"


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
