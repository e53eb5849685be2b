"""The table of commands: name, module and one line of help. Nothing is imported until a command is asked for."""

from __future__ import annotations

COMMANDS: dict[str, tuple[str, str]] = {
    "plan": ("holecam.cli.plan", "Plan a job: coordinates, programs and papers in a folder."),
    "check": ("holecam.cli.check", "Check a job and print its findings; writes nothing."),
    "error": ("holecam.cli.error", "Find which measured section carries the error."),
    "compare": ("holecam.cli.compare", "Put several places for a pattern side by side."),
    "verify": ("holecam.cli.verify", "Read a program back, say what it does and what is wrong with it."),
    "new": ("holecam.cli.new", "Write a commented starter job into a folder."),
    "schema": ("holecam.cli.schema", "Print the JSON Schema of the job file."),
    "drill": ("holecam.cli.drill", "Look up a drill size and its neighbours."),
    "tap": ("holecam.cli.tap", "Choose a tap drill for a thread."),
    "clearance": ("holecam.cli.clearance", "Look up clearance holes for a screw."),
    "circle": ("holecam.cli.circle", "Coordinates of a hole circle, full or partial."),
    "line": ("holecam.cli.line", "Coordinates of a row of holes."),
    "grid": ("holecam.cli.grid", "Coordinates of a grid of holes."),
    "stepdown": ("holecam.cli.stepdown", "Heights and stops to mill a stack down to a thin sheet."),
}
