"""Where the command begins: Ctrl-C and a closed pipe are dealt with before anything else is imported."""

import os
import signal
import sys
from types import FrameType

NO_FONTS = os.path.join(os.path.dirname(__file__), "no_fonts")
"""Folder with an empty list of fonts. As soon as it is imported, the drawing library looks for a list of this
computer's fonts in the user's cache folder, and makes one there. No drawing here needs a font, and nothing is to be
written outside the output folder."""

_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")


class Stopped(BaseException):
    """Somebody pressed Ctrl-C, or the system asks the program to end. No ordinary handler of errors catches it."""


_stopped_by = 0
"""Number of the signal; 0 while nobody has asked to stop."""

_at_work = True
"""Whether a signal breaks the work off. Once the work is over there is nothing to break off, and none counts."""


def stopped() -> bool:
    """Return whether the run has been asked to stop: an error that follows from it is not worth telling."""
    return _stopped_by != 0


def ended_by_ctrl_c() -> bool:
    """Return whether Ctrl-C was pressed, and take it as dealt with: for a command that is meant to be ended so."""
    global _stopped_by
    if _stopped_by != signal.SIGINT:
        return False
    _stopped_by = 0
    return True


def main() -> None:
    """Run the command line and end with its exit code; 128 and the signal's number when it was stopped.

    A reader that closes the pipe (``holecam tap M4 | head -1``) ends the program quietly, as it does other programs.
    """
    global _at_work
    code: object = 0
    try:
        try:
            _watch()
            os.environ["XDG_CACHE_HOME"] = NO_FONTS
            from holecam.cli.main import main as run

            run()
        finally:
            # The first thing after the work, inside the outer ``try``: a signal comes before it and is caught below, or
            # after it and raises nothing. Outside any ``try`` it would show a traceback, as it once did
            _at_work = False
    except SystemExit as ending:
        code = ending.code
    except BaseException:
        _at_work = False
        if not stopped():
            raise
    # A signal while the interpreter ends has nothing to tell either
    for name in _SIGNALS:
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    if stopped():
        code = _tell_stopped()
    sys.exit(code)  # type: ignore[arg-type]


def _watch() -> None:
    for name in _SIGNALS:
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:  # nohup stays nohup
            signal.signal(number, _stop)
    if hasattr(signal, "SIGPIPE"):
        signal.signal(signal.SIGPIPE, signal.SIG_DFL)
    if hasattr(signal, "SIGALRM"):
        signal.signal(signal.SIGALRM, _stop_again)
        sys.unraisablehook = _swallowed


def _stop(number: int, frame: FrameType | None) -> None:
    global _stopped_by
    if _at_work:
        _stopped_by = number
        raise Stopped


def _stop_again(number: int, frame: FrameType | None) -> None:
    if _at_work:
        raise Stopped


def _swallowed(unraisable: "sys.UnraisableHookArgs") -> None:
    """Where the signal came while a library tidied up, its stop was lost: ask again in a moment."""
    if isinstance(unraisable.exc_value, Stopped):
        signal.setitimer(signal.ITIMER_REAL, 0.02)
    else:
        sys.__unraisablehook__(unraisable)


def _tell_stopped() -> int:
    from contextlib import suppress

    with suppress(OSError, ValueError, AttributeError):
        sys.stderr.write("Stopped. Files that were there are whole, and nothing is half-written.\n")
        sys.stderr.flush()
    return 128 + _stopped_by
