"""Ask a result of the check for one finding."""

from __future__ import annotations

from holecam.program import CheckResult, ProgramFinding


def only(result: CheckResult, code: str) -> ProgramFinding:
    """The first finding of a code, which must be there."""
    found = [f for f in result.findings if f.code == code]
    assert found, f"expected {code}, got {[f.text() for f in result.findings]}"
    return found[0]
