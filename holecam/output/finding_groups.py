"""Findings as every paper words them; those that say the same of several holes are told once, the tightest first."""

from __future__ import annotations

from collections.abc import Sequence

from holecam.output.plain_words import plain
from holecam.plan.finding import Finding, worst_first


def alike(findings: Sequence[Finding]) -> tuple[tuple[Finding, ...], ...]:
    """Return the findings in groups of one code, severity, source and remedy; the worst severity first.

    Without a figure that could be compared only the same words are alike, whatever they speak of. Each group starts
    with the finding whose figure is farthest below its limit. Stops are never grouped: each of them withholds something
    of its own.
    """
    groups: dict[object, list[Finding]] = {}
    for number, finding in enumerate(worst_first(tuple(findings))):
        words = finding.message.replace(finding.about, "") if finding.measured is None and finding.about else ""
        key: object = (finding.code, finding.severity, finding.source, finding.remedy, words)
        if finding.severity.rank == 2 or not finding.holes:
            key = number
        groups.setdefault(key, []).append(finding)
    return tuple(tuple(sorted(g, key=_surplus)) for g in groups.values())


def _surplus(finding: Finding) -> float:
    if finding.measured is None or finding.limit is None:
        return 0.0
    return finding.measured - finding.limit


def told(group: Sequence[Finding]) -> str:
    """Return the words of a group: what it speaks of, what was found, the other holes, what to do, what it rests on."""
    one = group[0]
    about = "" if not one.about or one.about in one.message else f"{one.about}: "
    remedy = f" {one.remedy}" if one.remedy else ""
    rests_on = "limit" if one.limit is not None else "from"
    source = "" if not one.source or one.source in one.message else f" ({rests_on}: {one.source})"
    return plain(f"{about}{one.message}{_also(group)}{remedy}{source}")


def _also(group: Sequence[Finding]) -> str:
    """Return the words that name the other holes of a group; empty for one alone."""
    if len(group) < 2:
        return ""
    first = set(group[0].holes)
    others = sorted({n for f in group[1:] for n in f.holes} - first)
    if not others:
        return f" The same {len(group) - 1} more times."
    return f" The same of hole{'s' if len(others) > 1 else ''} {', '.join(str(n) for n in others)}."
