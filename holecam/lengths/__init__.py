"""Lengths as people write them, as exact fractions of a millimetre inside, as a readout shows them on the way out."""

from holecam.lengths.parsing import EXAMPLES, MM_PER_INCH, MM_PER_UNIT, Unit, parse_length
from holecam.lengths.printing import (
    area_number,
    area_text,
    decimal_text,
    fraction_text,
    length_text,
    nearest_fraction,
    number_in,
    reading_text,
    thou_text,
    volume_text,
)
from holecam.lengths.rounding import counts, decimals_of, exact, increments, round_half_away, rounded

__all__ = [
    "EXAMPLES",
    "MM_PER_INCH",
    "MM_PER_UNIT",
    "Unit",
    "area_number",
    "area_text",
    "counts",
    "decimal_text",
    "decimals_of",
    "exact",
    "fraction_text",
    "increments",
    "length_text",
    "nearest_fraction",
    "number_in",
    "parse_length",
    "reading_text",
    "round_half_away",
    "rounded",
    "thou_text",
    "volume_text",
]
