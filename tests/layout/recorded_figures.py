"""Figures of small named cases, kept in files and compared one by one, so that no step of a long way changes unseen.

The figures lie in ``recorded/``, one file for each test file. They are what the code gave when its other tests (hand
figures, other libraries, laws) held. They tell that a figure has changed; that it is right is the business of those
other tests. A change that is meant renews them:

    HOLECAM_RENEW_FIGURES=1 python -m pytest tests/layout/test_freedom_figures.py

then read what ``git diff`` shows: every figure that moved needs a reason.
"""

from __future__ import annotations

import json
import math
import os
from enum import Enum
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np
from msgspec import Struct

from holecam.layout.freedom_field import Freedom
from holecam.layout.spacing_boundaries import Boundary
from holecam.layout.spacing_rules import LimitTerm, SpacingLimits
from holecam.layout.spacing_sites import DrillSite, HoleProfile
from holecam.layout.spacing_surroundings import OldHole

FOLDER = Path(__file__).parent / "recorded"
RENEW = "HOLECAM_RENEW_FIGURES"
WITHIN = 1e-7
"""mm, degrees and ratios alike: a tenth of a nanometre, far above what other machines' arithmetic differs by."""

DIGITS = 12
"""Digits of a figure that are written down."""


def same_as_recorded(name: str, found: object, *, file: str, within: float = WITHIN) -> None:
    """Fail where the figures of a case differ from those in its file, naming the first that does."""
    plain = plain_figures(found)
    if os.environ.get(RENEW):
        path = FOLDER / f"{file}.json"
        cases = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
        cases[name] = plain
        rows = [f"{json.dumps(key)}: {json.dumps(cases[key], ensure_ascii=False)}" for key in sorted(cases)]
        path.write_text("{\n" + ",\n".join(rows) + "\n}\n", encoding="utf-8")
        _cases.cache_clear()
        return
    different = _first_difference(plain, _cases(file)[name], within, name)
    assert different is None, different


@cache
def _cases(file: str) -> dict[str, object]:
    cases: dict[str, object] = json.loads((FOLDER / f"{file}.json").read_text(encoding="utf-8"))
    return cases


def plain_figures(value: object) -> object:
    """Return a value as lists, dictionaries, texts and numbers; what belongs to the question is named, not repeated."""
    match value:
        case None | bool() | int():
            return value
        case Enum():
            return value.name
        case str():
            return value
        case float() | np.floating():
            return float(f"{float(value):.{DIGITS}g}") if math.isfinite(value) else str(float(value))
        case np.bool_():
            return bool(value)
        case np.integer():
            return int(value)
        case Fraction():
            return str(value)
        case np.ndarray():
            return plain_figures(value.tolist())
        case DrillSite() | Boundary():
            return value.name
        case OldHole():
            return value.label
        case LimitTerm():
            return f"{value.words}; {value.cited}"
        case Freedom() | SpacingLimits() | HoleProfile():
            return type(value).__name__
        case dict():
            return {str(plain_figures(key)): plain_figures(each) for key, each in value.items()}
        case list() | tuple():
            return [plain_figures(each) for each in value]
        case Struct():
            return {name: plain_figures(getattr(value, name)) for name in value.__struct_fields__}
    raise TypeError(f"{type(value).__name__} has no plain figures")


def _first_difference(found: object, kept: object, within: float, where: str) -> str | None:
    if isinstance(found, dict) and isinstance(kept, dict):
        if found.keys() != kept.keys():
            return f"{where}: {sorted(found)} against {sorted(kept)}"
        pairs = [(found[key], kept[key], f"{where}, {key}") for key in found]
    elif isinstance(found, list) and isinstance(kept, list):
        if len(found) != len(kept):
            return f"{where}: {len(found)} entries against {len(kept)}: {found} against {kept}"
        pairs = [(a, b, f"{where}[{k}]") for k, (a, b) in enumerate(zip(found, kept, strict=True))]
    elif _number(found) and _number(kept):
        close = abs(float(found) - float(kept)) <= within * max(1.0, abs(float(kept)))  # type: ignore[arg-type]
        return None if close else f"{where}: {found} against {kept}"
    else:
        return None if type(found) is type(kept) and found == kept else f"{where}: {found!r} against {kept!r}"
    return next((told for a, b, at in pairs if (told := _first_difference(a, b, within, at))), None)


def _number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)
