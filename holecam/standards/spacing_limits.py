"""How near a hole may come to an edge, a bend, another hole: published or customary limits, by material class.

Rules (``all_rules``): ``edge-distance`` (hole centre to edge), ``edge-metal`` (major diameter of a tapped hole to
edge), ``web`` (edge to edge of two holes), ``hole-spacing`` (centre to centre, structural), ``bend-distance`` and
``slot-bend-distance`` (hole or slot edge to the tangent of a bend), ``head-clearance``, ``plug-wall``,
``blind-floor``, ``former-wall``. Levels: at or above ``comfortable`` all is well, below ``caution`` it gets a
caution, below ``stop`` the programs are withheld; ``reference`` rows are published figures shown for comparison.
"""

from __future__ import annotations

import math
from functools import cache

from msgspec import Struct

from holecam.errors import InputError
from holecam.standards.table import rows

LEVELS = ("comfortable", "caution", "stop", "reference")
GENERAL = "general"


class SpacingTerm(Struct, frozen=True):
    """One row: ``factor`` times a diameter, pitch or thickness, or ``factor`` millimetres."""

    rule: str
    material_class: str
    level: str
    factor: float
    per: str
    note: str
    source: str

    def length(self, *, diameter: float | None, pitch: float | None, thickness: float | None) -> float | None:
        """Return the limit in mm; ``None`` when the size that it is a multiple of is not known."""
        if self.per == "mm":
            return self.factor
        size = {"diameter": diameter, "pitch": pitch, "thickness": thickness}[self.per]
        return None if size is None else self.factor * size


class SpacingLimit(Struct, frozen=True):
    """The limit that binds: the greatest of the terms that apply, in mm, and the term it comes from."""

    value: float
    term: SpacingTerm

    @property
    def source(self) -> str:
        """Where the binding term comes from."""
        return self.term.source

    @property
    def reason(self) -> str:
        """Return the term in words, such as ``1.5 x diameter``."""
        factor = f"{self.term.factor:.4g}"
        return f"{factor} mm" if self.term.per == "mm" else f"{factor} x {self.term.per}"


@cache
def all_spacing_terms() -> tuple[SpacingTerm, ...]:
    """Return every row of the table."""
    return tuple(
        SpacingTerm(
            rule=row["rule"],
            material_class=row["material_class"],
            level=row["level"],
            factor=float(row["factor"]),
            per=row["per"],
            note=row["note"],
            source=row["source"],
        )
        for row in rows("spacing_limits")
    )


def all_rules() -> tuple[str, ...]:
    """Return the names of the rules, in the order of the table."""
    return tuple(dict.fromkeys(term.rule for term in all_spacing_terms()))


def spacing_terms(rule: str, level: str, *, material_class: str = GENERAL) -> tuple[SpacingTerm, ...]:
    """Return the terms of one rule and level: those of the class, else the general ones; empty when there are none.

    Raises
    ------
    InputError
        The rule or the level does not exist.
    """
    if rule not in all_rules():
        raise InputError(
            f'spacing rule "{rule}" is not known. Known: {", ".join(all_rules())}.', key="rule", value=rule
        )
    if level not in LEVELS:
        raise InputError(f'level "{level}": expected one of {", ".join(LEVELS)}.', key="level", value=level)
    terms = [t for t in all_spacing_terms() if t.rule == rule and t.level == level]
    own = tuple(t for t in terms if t.material_class == material_class)
    return own or tuple(t for t in terms if t.material_class == GENERAL)


def spacing_limit(
    rule: str,
    level: str,
    *,
    material_class: str = GENERAL,
    diameter: float | None = None,
    pitch: float | None = None,
    thickness: float | None = None,
) -> SpacingLimit | None:
    """Return the greatest limit of a rule at a level, in mm; ``None`` when no term can be worked out.

    Sizes in mm; give the larger diameter of two holes. A term whose size is not given is left out.

    Raises
    ------
    InputError
        Unknown rule or level, or a size that is not finite or negative.

    Examples
    --------
    A 3 mm hole and a 4 mm hole in plate 3 mm thick: caution below the thickness, which exceeds half the diameter.

    >>> limit = spacing_limit("web", "caution", diameter=4.0, thickness=3.0)
    >>> limit.value, limit.reason
    (3.0, '1 x thickness')
    """
    for name, size in (("diameter", diameter), ("pitch", pitch), ("thickness", thickness)):
        if size is not None and not (math.isfinite(size) and size >= 0):
            raise InputError(f"{name} {size} mm: expected a finite length, zero or more", key=name, value=str(size))
    best: SpacingLimit | None = None
    for term in spacing_terms(rule, level, material_class=material_class):
        value = term.length(diameter=diameter, pitch=pitch, thickness=thickness)
        if value is not None and (best is None or value > best.value):
            best = SpacingLimit(value, term)
    return best
