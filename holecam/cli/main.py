"""Entry point: finds the command, imports only its module, and turns every expected error into one clear message."""

from __future__ import annotations

import errno
import gc
import os
import sys
from importlib import import_module

import typer
from typer.core import TyperGroup
from typer.exceptions import TyperException

import holecam
from holecam.cli.commands import COMMANDS
from holecam.cli.entry import stopped
from holecam.errors import HolecamError, mistake_words

EXIT_DONE, EXIT_WITHHELD, EXIT_INPUT, EXIT_MISTAKE = 0, 1, 2, 70

_NOT_PRINTED = (errno.ENOSPC, errno.EIO, errno.EBADF, errno.EDQUOT, errno.EFBIG)
"""What a file to which the output is sent may answer; a file that the program opens itself has its name with it."""


COLLECT_AFTER = 200_000
"""Objects made before garbage is looked for, some 20 MB of them. What a plan's imports and values make stays to the end
and is no garbage; looking for some after every 700 objects takes a seventh of the whole time."""


class LazyCommands(TyperGroup):
    """A group that knows its commands by name and imports one module when one is called."""

    def list_commands(self, ctx: typer.Context) -> list[str]:  # type: ignore[override]  # typer vendors click's class
        """Return the names in the order of the table, which is the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: typer.Context, cmd_name: str):  # type: ignore[no-untyped-def,override]
        """Return one command, imported now; ``None`` for an unknown name."""
        if cmd_name not in COMMANDS:
            return None
        app: typer.Typer = import_module(COMMANDS[cmd_name][0]).app
        command = typer.main.get_command(app)
        command.name = cmd_name
        return command

    def format_commands(self, ctx: typer.Context, formatter) -> None:  # type: ignore[no-untyped-def,override]
        """Write the list of commands for ``--help`` without importing any of them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


app = typer.Typer(
    cls=LazyCommands,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
    help="Relocated holes, clearance cuts and careful step-downs for machinists who make one of a thing.",
)


@app.callback(invoke_without_command=True)
def _root(version: bool = typer.Option(False, "--version", help="Print the version and stop.")) -> None:
    if version:
        typer.echo(f"holecam {holecam.__version__}")
        raise typer.Exit(EXIT_DONE)


def main() -> None:
    """Run the command line; expected errors are printed to standard error and exit with 2.

    Anything else is a mistake of this program. It is told as such, without a traceback unless ``HOLECAM_TRACEBACK`` is
    set; nothing is half-written, because files are written aside and renamed.
    """
    # What the imports made lives to the end: set aside, it is not searched for garbage again, which at exit alone takes
    # a tenth of a look-up's time
    gc.freeze()
    gc.set_threshold(COLLECT_AFTER, *gc.get_threshold()[1:])
    # Else the library that validates asks every installed package whether it has a part to add
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")  # a name that the terminal cannot show is spelt out
    try:
        code = app(standalone_mode=False)
        sys.exit(code if isinstance(code, int) else EXIT_DONE)
    except TyperException as error:
        from holecam.cli.usage_words import usage_words

        print(usage_words(error, sys.argv[1:]), file=sys.stderr)
        sys.exit(EXIT_INPUT)
    except HolecamError as error:
        print(error, file=sys.stderr)
        sys.exit(EXIT_INPUT)
    except Exception as error:
        if os.environ.get("HOLECAM_TRACEBACK") or stopped():
            raise
        if isinstance(error, OSError) and error.errno in _NOT_PRINTED and error.filename is None:
            print(f"The result could not be printed ({(error.strerror or '').lower()}).", file=sys.stderr)
            _give_up_output()
            sys.exit(EXIT_INPUT)
        print(mistake_words(error), file=sys.stderr)
        sys.exit(EXIT_MISTAKE)
    finally:
        gc.freeze()


def _give_up_output() -> None:
    """Send what is still to be printed nowhere, so that the interpreter does not try again while it ends."""
    handle = os.open(os.devnull, os.O_WRONLY)
    os.dup2(handle, 1)
    os.close(handle)
