"""Thread forms: flank angle and the depths, as multiples of the pitch, that percentages and areas are built on."""

from functools import cache
from typing import NamedTuple

from holecam.errors import InputError
from holecam.standards.table import rows


class ThreadForm(NamedTuple):
    """One form. All depths are multiples of the pitch.

    ``depth`` is what counts as 100 percent of thread, on each side (0.649519 P for 60 degrees, so 1.299038 P on the
    diameter; 0.640327 P for Whitworth; 0.6 P for BA). ``minor``: basic minor diameter is D less this. ``stress``:
    tensile stress area is pi/4 (D - stress P)^2; inch and metric threads of 60 degrees have different constants.
    ``shear_shape`` is the tangent of half the flank angle.
    """

    name: str
    words: str
    angle_deg: float
    depth: float
    minor: float
    stress: float
    shear_shape: float
    source: str


@cache
def all_forms() -> tuple[ThreadForm, ...]:
    """Return the four forms."""
    return tuple(
        ThreadForm(
            name=row["name"],
            words=row["words"],
            angle_deg=float(row["angle_deg"]),
            depth=float(row["depth"]),
            minor=float(row["minor"]),
            stress=float(row["stress"]),
            shear_shape=float(row["shear_shape"]),
            source=row["source"],
        )
        for row in rows("thread_forms")
    )


def thread_form(name: str) -> ThreadForm:
    """Return a form by its name: ``unified``, ``metric``, ``whitworth`` or ``ba``.

    Raises
    ------
    InputError
        There is no such form.
    """
    for form in all_forms():
        if form.name == name:
            return form
    known = ", ".join(f.name for f in all_forms())
    raise InputError(f'thread form "{name}" is not known. Known: {known}.', key="thread form", value=name)
