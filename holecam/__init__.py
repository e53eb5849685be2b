"""Relocated holes, clearance cuts and careful step-downs for machinists who make one of a thing.

The names of this module are for notebooks and short scripts. Each is imported when it is first used, so that
``import holecam`` costs nothing and a look-up loads only its tables.

>>> import holecam
>>> holecam.tap("6-32").recommended.drill.name
'#36'
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from holecam.delivery.planned_job import PlannedJob
    from holecam.errors import FileContentError, HolecamError, InputError, OutputError
    from holecam.job.models import Job
    from holecam.notebook.jobs import make_job, plan_job, read_job, verify_program
    from holecam.notebook.look_ups import clearance, drill, mm, tap, thread_percent
    from holecam.notebook.patterns import circle, grid, line
    from holecam.notebook.step_downs import step_down

__version__ = "0.1.0"

__all__ = [
    "FileContentError",
    "HolecamError",
    "InputError",
    "Job",
    "OutputError",
    "PlannedJob",
    "circle",
    "clearance",
    "drill",
    "grid",
    "line",
    "make_job",
    "mm",
    "plan_job",
    "read_job",
    "step_down",
    "tap",
    "thread_percent",
    "verify_program",
]

_HOMES = {
    "FileContentError": "errors",
    "HolecamError": "errors",
    "InputError": "errors",
    "Job": "job.models",
    "OutputError": "errors",
    "PlannedJob": "delivery.planned_job",
    "circle": "notebook.patterns",
    "clearance": "notebook.look_ups",
    "drill": "notebook.look_ups",
    "grid": "notebook.patterns",
    "line": "notebook.patterns",
    "make_job": "notebook.jobs",
    "mm": "notebook.look_ups",
    "plan_job": "notebook.jobs",
    "read_job": "notebook.jobs",
    "step_down": "notebook.step_downs",
    "tap": "notebook.look_ups",
    "thread_percent": "notebook.look_ups",
    "verify_program": "notebook.jobs",
}


if not TYPE_CHECKING:  # a checker that saw it would take every misspelt name for granted

    def __getattr__(name: str) -> object:
        """Import a name when it is first used."""
        if name not in _HOMES:
            raise AttributeError(f"module 'holecam' has no attribute {name!r}")
        from importlib import import_module

        value = getattr(import_module(f"holecam.{_HOMES[name]}"), name)
        globals()[name] = value
        return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOMES})
