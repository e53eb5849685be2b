"""Which measurement would decide: the one for which the rival explanations expect values that are farthest apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct

from holecam.layout.reconciliation_chain import Across, Chain, Floats, Reading

APART = 4.0
"""Two expected values are told apart by a reading when they differ by so many of its standard doubts."""

LONGEST_LIST = 40
"""Sections up to which every run of them is tried; in longer chains runs start at the datum or end at the far end."""


class DecidingReading(Struct, frozen=True):
    """A measurement worth taking.

    ``of`` and ``across`` say what to measure; ``repeats`` names the reading that it repeats, or is empty. ``doubt``
    is the standard doubt that was assumed. ``expected`` gives, for each rival explanation, the value that would be
    read if it were true; ``groups`` are the explanations that the reading would still leave together.
    """

    of: tuple[str, ...]
    across: Across
    repeats: str
    doubt: float
    expected: tuple[tuple[str, float], ...]
    groups: tuple[tuple[str, ...], ...]


def _runs(names: Sequence[str]) -> list[tuple[str, ...]]:
    n = len(names)
    if n <= LONGEST_LIST:
        return [tuple(names[i:j]) for i in range(n) for j in range(i + 1, n + 1)]
    return [tuple(names[:j]) for j in range(1, n + 1)] + [tuple(names[i:]) for i in range(1, n)]


def _groups(expected: Mapping[str, float], doubt: float) -> tuple[tuple[str, ...], ...]:
    """Return the explanations in the order of their values, split where the gap can be seen."""
    ordered = sorted(expected.items(), key=lambda item: (item[1], item[0]))
    groups: list[list[str]] = [[ordered[0][0]]]
    for (_, before), (name, value) in pairwise(ordered):
        if value - before > APART * doubt:
            groups.append([name])
        else:
            groups[-1].append(name)
    return tuple(tuple(g) for g in groups)


def deciding_reading(chain: Chain, explanations: Mapping[str, Floats], *, doubt: float) -> DecidingReading | None:
    """Return the reading that leaves the fewest explanations together, or ``None`` if none separates any.

    Parameters
    ----------
    chain : Chain
    explanations : mapping of name to sizes
        For each rival explanation the sizes (the chain's unknowns) that hold if it is true.
    doubt : float
        Standard doubt, mm, with which the next reading can be taken.
    """
    if len(explanations) < 2:
        return None
    existing = {(r.of, r.across): r.name for r in chain.readings}
    trials: list[Reading] = []
    for run in _runs(chain.names):
        across = Across.STRAIGHT if len(run) == 1 else Across.ALONG
        trials.append(Reading("next", run, 0.0, doubt, across))
    trials += [r for r in chain.readings if r.across is not Across.SLOPE and (r.of, r.across) not in
               {(t.of, t.across) for t in trials}]  # fmt: skip
    names = list(explanations)
    table = np.array([chain.expected(explanations[name], trials)[0] for name in names])
    best: tuple[tuple[int, float, int], DecidingReading] | None = None
    for k, trial in enumerate(trials):
        expected = dict(zip(names, (float(v) for v in table[:, k]), strict=True))
        groups = _groups(expected, doubt)
        if len(groups) < 2:
            continue
        ordered = sorted(expected.values())
        widest = max(b - a for a, b in pairwise(ordered))
        repeats = existing.get((trial.of, trial.across), "")
        if not repeats and len(trial.of) == 1:
            repeats = existing.get((trial.of, Across.ALONG), "")
        score = (max(len(g) for g in groups), -round(widest / doubt, 6), len(trial.of))
        if best is None or score < best[0]:
            best = (
                score,
                DecidingReading(trial.of, trial.across, repeats, doubt, tuple(expected.items()), groups),
            )
    return None if best is None else best[1]
