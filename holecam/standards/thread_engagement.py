"""How much engaged thread a material usually takes: 1 D in steel, 1.5 D in brass, 2 D in copper."""

from typing import NamedTuple

from holecam.errors import InputError
from holecam.standards.materials import Material
from holecam.standards.table import rows
from holecam.standards.threads import Thread


class Engagement(NamedTuple):
    """Length of engaged thread that a material usually takes, mm and in diameters, with the source."""

    length: float
    diameters: float
    source: str


def usual_engagement(thread: Thread, material: Material) -> Engagement:
    """Return how much engaged thread a material usually takes: 1 D in steel, 1.5 D in brass, 2 D in copper...

    Raises
    ------
    InputError
        The table has no figure for the material's family.
    """
    for row in rows("thread_engagement"):
        if row["family"] == material.family:
            diameters = float(row["engagement_d"])
            return Engagement(diameters * thread.major, diameters, row["source"])
    raise InputError(f"no usual engagement is known for {material.name}", key="material", value=material.name)
