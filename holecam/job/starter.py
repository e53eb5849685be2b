"""The starter job that ``holecam new`` writes."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

STARTER_NAME = "job.toml"
"""Name of the file in the new folder."""


def starter_job(unit: Literal["in", "mm"]) -> str:
    """Return a commented job file that plans as it stands, with sizes that are usual in the unit."""
    return (Path(__file__).parent / f"starter_{unit}.toml").read_text(encoding="utf-8")
