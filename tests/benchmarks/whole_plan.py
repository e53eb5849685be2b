"""The whole plan of the lantern hood, from its file to the checked programs and papers, against its libraries' imports.

Run ``python tests/benchmarks/whole_plan.py [rounds]``. Each is a fresh interpreter, in turns, processor time, least of
the rounds: importing typer, msgspec, numpy, shapely, ezdxf, pydantic, jinja2 and reportlab as the plan uses them,
and ``holecam plan``. The goal is at most 2.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from startup import plain_copy, seconds

ALLOWED_RATIO = 2.0
EXAMPLE = Path(__file__).parents[2] / "examples" / "lantern-hood" / "job.toml"
LIBRARIES = """
import typer, msgspec, numpy.random, numpy.typing, shapely, jinja2
from pydantic import BaseModel, BeforeValidator, Field, PrivateAttr, ValidationError, model_validator
from pydantic.json_schema import JsonSchemaValue
import ezdxf.filemanagement, ezdxf.document
import reportlab.pdfgen.canvas, reportlab.pdfbase.ttfonts
"""
RUN = "import sys; sys.argv = ['holecam', 'plan', {job!r}, '--out', {out!r}]; from holecam.cli.main import main; main()"


def main() -> int:
    """Print the ratio and return the exit code."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plain_copy(folder)
        environment = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
        imports, plans = [], []
        for turn in range(rounds + 1):  # the first round warms the disk cache and is dropped
            imports.append(seconds(LIBRARIES, environment)[0])
            plans.append(seconds(RUN.format(job=str(EXAMPLE), out=str(folder / f"out-{turn}")), environment)[0])
    floor, ours = min(imports[1:]), min(plans[1:])
    print(f"importing the libraries {1e3 * floor:.0f} ms, the whole plan {1e3 * ours:.0f} ms of processor time")
    print(f"worst ratio {ours / floor:.2f}, allowed {ALLOWED_RATIO:.0f}")
    return 0 if ours / floor <= ALLOWED_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
