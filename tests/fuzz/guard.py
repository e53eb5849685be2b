"""The rules that hold for every case, and what breaks them.

An expected refusal is a :class:`~holecam.errors.HolecamError`. Anything else that comes out, more than 5 seconds of
processor time, more than 1 GiB over what the imports took, or a file opened for writing, made, moved or removed outside
the case's own output folder, breaks a rule. Processor time is counted, because other work on a shared machine is not
the product's.
"""

from __future__ import annotations

import os
import resource
import signal
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

from holecam.errors import HolecamError

MOST_SECONDS = 5.0
MOST_MEMORY = 1 << 30
WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
OUTSIDE_EVENTS = frozenset({"os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.link", "os.symlink", "os.chmod"})
NEVER = frozenset({"subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "socket.connect"})


class RuleBrokenError(BaseException):
    """A rule was broken. Not an ``Exception``, so that no handler of the product takes it for bad input."""


class _Watch:
    """Looks at what Python tells its audit hooks while a case runs."""

    def __init__(self) -> None:
        self.on = False
        self.allowed = ""
        self.seen: list[str] = []
        self.hooked = False

    def hook(self, event: str, arguments: tuple[Any, ...]) -> None:
        if not self.on or not (event == "open" or event in OUTSIDE_EVENTS or event in NEVER):
            return
        if event in NEVER:
            self.seen.append(f"{event} {arguments!r}"[:300])
        elif event == "open":
            path, mode, flags = arguments
            writes = bool(flags & WRITING) if isinstance(flags, int) else any(c in str(mode) for c in "wax+")
            if writes and isinstance(path, (str, bytes)):
                self._hold(path)
        else:
            for number, path in enumerate(arguments[:2]):
                if isinstance(path, (str, bytes)):
                    self._hold(os.path.join(_folder_of(event, arguments, number), os.fsdecode(path)))

    def _hold(self, path: str | bytes) -> None:
        whole = os.path.abspath(os.fsdecode(path))
        if "__pycache__" in whole.split(os.sep):  # Python's own, where a module is imported for the first time
            return
        if not self.allowed or not (whole + os.sep).startswith(self.allowed.rstrip(os.sep) + os.sep):
            self.seen.append(f"writes {whole}"[:300])


def _folder_of(event: str, arguments: tuple[Any, ...], number: int) -> str:
    """Return the folder from which a path counts, where the call gave an open one; else nothing."""
    place = {"os.rename": number + 2, "os.link": number + 2, "os.mkdir": 2, "os.chmod": 2, "os.symlink": 2}.get(
        event, 1
    )
    handle = arguments[place] if len(arguments) > place else -1
    return os.readlink(f"/proc/self/fd/{handle}") if isinstance(handle, int) and handle >= 0 else ""


WATCH = _Watch()


def limit_memory() -> None:
    """From now on this process may take 1 GiB more address space than it has now."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    size = pages * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (size + MOST_MEMORY, resource.RLIM_INFINITY))


def broken_rule(case: Callable[[bytes], None], data: bytes, *, folder: str = "", seconds: float = MOST_SECONDS) -> str:
    """Run one case and return which rule it broke, with the place; empty when all of them held.

    ``folder`` is the only place where files may be written; without it, none may be.
    """
    if not WATCH.hooked:
        sys.addaudithook(WATCH.hook)
        WATCH.hooked = True

    def too_slow(_signal: int, _frame: FrameType | None) -> None:
        raise RuleBrokenError(f"took more than {seconds:g} s")

    WATCH.allowed, WATCH.seen, WATCH.on = folder, [], True
    old = signal.signal(signal.SIGPROF, too_slow)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        case(data)
    except HolecamError as error:
        if not str(error).strip() or "Traceback" in str(error):
            return f"a message that says nothing: {error!r}"
    except (KeyboardInterrupt, GeneratorExit):
        raise
    except BaseException as error:
        return _told(error)
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, old)
        WATCH.on = False
    return f"outside the output folder: {WATCH.seen[0]}" if WATCH.seen else ""


def _told(error: BaseException) -> str:
    """Return kind, message and the innermost places of the product in one line."""
    frames = [
        f
        for f in traceback.extract_tb(error.__traceback__)
        if ("holecam" in f.filename or "fuzz" in f.filename) and f.filename != __file__
    ]
    where = " < ".join(f"{Path(f.filename).name}:{f.lineno}" for f in frames[::-1][:4])
    return f"{type(error).__name__}: {str(error)[:300]} at {where}"


def kind_of(told: str) -> str:
    """Return what makes two breaches the same: kind of error and innermost place."""
    kind, _, rest = told.partition(":")
    return f"{kind} at {rest.rpartition(' at ')[2].split(' < ')[0]}" if " at " in told else told[:80]
