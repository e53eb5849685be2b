"""What one check has compared, and what it found wrong."""

from __future__ import annotations


class Account:
    """Counts the figures that were compared and keeps a line of text for each that was wrong.

    A fault begins with a word in capitals that says of which kind it is: ``GOUGE``, ``HOLE OFF``, ``MISSED FINDING``.
    """

    def __init__(self) -> None:
        self.faults: list[str] = []
        self.figures = 0
        self.programs = 0
        self.planned = True

    def fault(self, text: str) -> None:
        """Note something wrong."""
        self.faults.append(text)

    def hold(self, what: str, kept: bool) -> bool:
        """Count one figure or rule; ``what`` is noted unless it is kept."""
        self.figures += 1
        if not kept:
            self.faults.append(what)
        return bool(kept)

    def near(self, what: str, got: float, computed: float, *, within: float) -> bool:
        """Count one figure, which may differ from the one computed apart by ``within``. A ``nan`` is never near."""
        return self.hold(f"{what}: {got:.6g}, computed {computed:.6g}", abs(got - computed) <= within)
