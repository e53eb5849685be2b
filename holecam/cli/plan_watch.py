"""``holecam plan --watch``: plan again at each change until Ctrl-C, and say in a few lines what came of it."""

from __future__ import annotations

import os
import time
from collections.abc import Sequence
from pathlib import Path

import typer

from holecam.cli.delivered_text import delivered_text
from holecam.cli.entry import Stopped, ended_by_ctrl_c, stopped
from holecam.delivery.watching import SECONDS_BETWEEN_LOOKS, Outcome, WatchedJob
from holecam.errors import mistake_words
from holecam.job.files import file_state
from holecam.lengths import Unit
from holecam.output.terminal_table import findings_text, plan_table


def watch_job(job: Path, folder: Path, *, unit: Unit | None, printer_scale: tuple[float, float]) -> int:
    """Plan until the user ends it, and return the exit code of the last plan."""
    watched = WatchedJob(job, folder, unit=unit, printer_scale=printer_scale)
    outcome = Outcome(trouble="nothing was planned yet")
    try:
        outcome = _plan(watched)
        _show(outcome, first=True)
        if outcome.planned is None and file_state(str(job)) is None:
            return outcome.exit_code  # most likely a slip in the name: nothing to wait for
        typer.echo(f"\nLooking at {_names(watched.files)}: each change is planned again. Ctrl-C ends it.")
        while True:
            time.sleep(SECONDS_BETWEEN_LOOKS)
            changed = watched.changed()
            if changed:
                before = outcome
                outcome = _plan(watched)
                # a folder that stays shut is told of once
                if not outcome.trouble or outcome.trouble != before.trouble or changed != (str(job),):
                    typer.echo(f"\n{time.strftime('%H:%M:%S')} {_names(changed)} changed")
                    _show(outcome, first=False)
    except (KeyboardInterrupt, Stopped) as ending:
        if isinstance(ending, Stopped) and not ended_by_ctrl_c():
            raise
        typer.echo("\nEnded. The folder holds the last good plan." if outcome.planned else "\nEnded.")
    return outcome.exit_code


def _plan(watched: WatchedJob) -> Outcome:
    try:
        return watched.plan()
    except Exception as error:
        if stopped():  # Ctrl-C came inside a library, which made an error of its own of it
            raise Stopped from error
        # The job may be half changed: whoever watches gets the next chance instead of a dead terminal
        if os.environ.get("HOLECAM_TRACEBACK"):
            raise
        return watched.mistaken(mistake_words(error))


def _show(outcome: Outcome, *, first: bool) -> None:
    if outcome.planned is None or outcome.delivered is None:
        typer.echo(outcome.trouble, err=True)
        typer.echo("Papers that were written before stay as they were; an open run sheet says so.")
        return
    if first:
        for plan in outcome.planned.plans:
            typer.echo(plan_table(plan))
    typer.echo(findings_text(outcome.planned.findings), nl=False)
    typer.echo(f"\n{delivered_text(outcome.delivered)}")


def _names(files: Sequence[str]) -> str:
    return " and ".join([", ".join(files[:-1]), files[-1]] if len(files) > 1 else list(files))
