"""The tapered lead of a tap, in pitches: threads that are cut only in part at the bottom of a hole."""

from functools import cache
from typing import NamedTuple

from holecam.standards.names import find_by_name
from holecam.standards.table import rows, words


class TapLead(NamedTuple):
    """A kind of tap; ``most_pitches`` is the longest lead that is usual, the safe figure for a depth.

    ``male_centre_d`` is the length of the pointed male centre that small taps of the kind have, in diameters.
    """

    name: str
    aliases: tuple[str, ...]
    least_pitches: float
    most_pitches: float
    male_centre_d: float
    source: str


@cache
def all_tap_leads() -> tuple[TapLead, ...]:
    """Return taper, plug and bottoming."""
    return tuple(
        TapLead(
            name=row["name"],
            aliases=words(row["aliases"]),
            least_pitches=float(row["least_pitches"]),
            most_pitches=float(row["most_pitches"]),
            male_centre_d=float(row["male_centre_d"]),
            source=row["source"],
        )
        for row in rows("tap_leads")
    )


def tap_lead(text: str) -> TapLead:
    """Return the kind of tap that the text names.

    Raises
    ------
    InputError
        Unknown, with the nearest names.

    Examples
    --------
    >>> tap_lead("bottoming tap").most_pitches
    2.0
    """
    return find_by_name(text, all_tap_leads(), what="tap")
