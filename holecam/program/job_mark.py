"""Whether a program was made from the job as it stands: the mark of the job in its head."""

from __future__ import annotations

import re

from holecam.program.program_findings import CODES, ProgramFinding

MARK_LENGTH = 16
"""Characters of the job's fingerprint that a program carries."""

_MARK = re.compile(rf"\bjob ([0-9a-f]{{{MARK_LENGTH}}})\b")


def job_mark_finding(text: str, fingerprint: str) -> ProgramFinding | None:
    """Return a caution if the head of a program carries the mark of another state of the job; else ``None``.

    A program without a mark (written by hand) gives none: nothing is known then.
    """
    for number, line in enumerate(text.split("\n"), 1):
        match = _MARK.search(line)
        if match is None:
            continue
        if match.group(1) == fingerprint[:MARK_LENGTH]:
            return None
        return ProgramFinding(
            "other-job",
            CODES["other-job"][0],
            number,
            f"the program was made from another state of the job ({match.group(1)}); the job is now "
            f"{fingerprint[:MARK_LENGTH]}",
            rule="fingerprint of the job",
            remedy="Plan again, or check against the job it was made from.",
        )
    return None
