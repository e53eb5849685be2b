"""What the check of a program has to say: line, place, amount and rule, with codes that never change."""

from __future__ import annotations

from msgspec import Struct

from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity

Place = tuple[float, float, float]

MOST_OF_A_CODE = 20
"""Findings of one code that are reported; a last one says how many more there are."""


class ProgramFinding(Struct, frozen=True):
    """One thing that is wrong with, or doubtful about, a program.

    Parameters
    ----------
    code : str
        Lower case with hyphens, see ``CODES``.
    severity : Severity
        ``STOP``: the program is withheld.
    line : int
        From 1; 0 where the program as a whole is meant.
    message : str
    place : (x, y, z) or None
        Tip of the tool, mm, work frame; nan for a coordinate that is not known.
    measured, limit : float or None
        In ``quantity_unit``.
    rule : str
        What is broken: a published rule, or the part of the plan.
    remedy : str
    """

    code: str
    severity: Severity
    line: int
    message: str
    place: Place | None = None
    measured: float | None = None
    limit: float | None = None
    quantity_unit: str = "mm"
    rule: str = ""
    remedy: str = ""

    def text(self, unit: Unit = "mm") -> str:
        """Return the finding in one line: severity, code, line, message, place, rule."""
        where = f"line {self.line}" if self.line else "program"
        at = f" at {place_text(self.place, unit)}" if self.place is not None else ""
        rule = f" Rule: {self.rule}." if self.rule else ""
        remedy = f" {self.remedy}" if self.remedy else ""
        return f"{self.severity.value} {self.code}, {where}{at}: {self.message}.{rule}{remedy}"

    def as_finding(self, program: str, *, holes: tuple[int, ...] = (), operation: str = "") -> Finding:
        """Return the same as a finding of the plan, about a program by name."""
        where = f", line {self.line}" if self.line else ""
        return Finding(
            self.code,
            self.severity,
            f'program "{program}"{where}',
            f"{self.message}.",
            self.measured,
            self.limit,
            self.quantity_unit,
            self.rule,
            self.remedy,
            holes,
            operation,
        )


CODES: dict[str, tuple[Severity, str]] = {
    "not-read": (Severity.STOP, "a line is not of the published language, or a word in it is not read"),
    "no-program-end": (Severity.STOP, "the program does not end with M30 or M2"),
    "text-after-end": (Severity.CAUTION, "lines after the end are never run"),
    "units-not-stated": (Severity.STOP, "a motion before G20 or G21"),
    "distance-mode-not-stated": (Severity.STOP, "a motion before G90 or G91"),
    "place-unknown": (Severity.STOP, "a move that needs a position which no line has stated"),
    "sideways-rapid-low": (Severity.STOP, "a sideways rapid below the safe height"),
    "halts-low": (Severity.STOP, "the machine stops, takes a tool, or ends with the tool in the work"),
    "rapid-into-stock": (Severity.STOP, "a rapid into material that nothing has cut away"),
    "spindle-stopped": (Severity.STOP, "a cut with a stopped spindle"),
    "spindle-backward": (Severity.STOP, "a cut with the spindle turning anticlockwise"),
    "spindle-speed-missing": (Severity.STOP, "a cut without a stated spindle speed"),
    "feed-missing": (Severity.STOP, "a cut without a stated feed"),
    "below-hard-floor": (Severity.STOP, "the cutter reaches under a hard floor"),
    "in-keep-out": (Severity.STOP, "the cutter enters a keep-out"),
    "in-bend": (Severity.STOP, "the cutter comes too near to the inside of a bend"),
    "tool-unknown": (Severity.CAUTION, "a tool that the plan does not describe: its body is followed as a needle"),
    "deeper-than-flutes": (Severity.CAUTION, "a cut deeper than the cutting length"),
    "holder-in-stock": (Severity.STOP, "the holder would reach the stock"),
    "out-of-travel": (Severity.STOP, "beyond the travel of the machine"),
    "spindle-out-of-range": (Severity.STOP, "a speed that the spindle does not have"),
    "feed-out-of-range": (Severity.STOP, "a feed that the machine does not have"),
    "length-offset": (Severity.STOP, "the length offset of another tool"),
    "length-not-set": (Severity.CAUTION, "a further tool is used without its length offset or a stop to set it"),
    "hole-missing": (Severity.STOP, "a planned hole is not made"),
    "hole-not-planned": (Severity.STOP, "a hole where none is planned"),
    "hole-depth": (Severity.STOP, "a hole deeper or shallower than planned"),
    "hole-diameter": (Severity.STOP, "a hole made by a tool of another diameter"),
    "peck-too-deep": (Severity.STOP, "a bite deeper than planned without clearing the chips"),
    "cut-missing": (Severity.STOP, "a planned cut is not made"),
    "cut-not-planned": (Severity.STOP, "a cut where none is planned"),
    "cut-out-of-order": (Severity.STOP, "a deeper cut before the one above it"),
    "cut-other-way": (Severity.CAUTION, "a cut in the other direction: climb for conventional"),
    "tool-not-planned": (Severity.STOP, "a cut with another tool than planned"),
    "speed-not-planned": (Severity.STOP, "a cut at another spindle speed than planned"),
    "feed-not-planned": (Severity.STOP, "a cut at another feed than planned; slower is a caution"),
    "stop-missing": (Severity.STOP, "a planned stop is not there, or at another place"),
    "stop-optional": (Severity.CAUTION, "a planned stop depends on the switch for optional stops"),
    "stop-spindle-turning": (Severity.CAUTION, "the spindle turns while the operator measures or takes another tool"),
    "other-zero": (Severity.CAUTION, "the program counts from another zero than G54, which the plan writes"),
    "other-job": (Severity.CAUTION, "the program was made from another state of the job"),
    "space-in-number": (Severity.CAUTION, "a blank within a number: controls differ"),
    "remark-not-ascii": (Severity.NOTE, "a remark with characters that some controls refuse"),
    "return-level-unclear": (Severity.CAUTION, "G98 in a run of cycles whose height changed: controls differ"),
    "block-delete": (Severity.NOTE, "lines with /: checked with the switch on and off"),
    "cut-repeated": (Severity.NOTE, "cuts over a path that was cut before"),
    "order-changed": (Severity.NOTE, "cuts in another order than planned that do not touch each other"),
    "stop-added": (Severity.NOTE, "a stop that is not planned"),
}
"""Every code, its severity and what it means. Codes never change once published."""


def place_text(place: Place, unit: Unit = "mm") -> str:
    """Return a place as the operator reads it; a coordinate that is not known is shown as ``?``."""
    parts = (
        f"{axis}{length_text(value, unit, signed=True).rsplit(' ', 1)[0] if value == value else '?'}"
        for axis, value in zip("XYZ", place, strict=True)
    )
    return f"{' '.join(parts)} {unit}"


class FindingList:
    """Collects findings and keeps the number of each code readable."""

    def __init__(self) -> None:
        self._found: list[ProgramFinding] = []
        self._count: dict[str, int] = {}
        self._worst: dict[str, Severity] = {}

    def add(
        self,
        code: str,
        line: int,
        message: str,
        *,
        place: Place | None = None,
        measured: float | None = None,
        limit: float | None = None,
        unit: str = "mm",
        rule: str = "",
        remedy: str = "",
        severity: Severity | None = None,
    ) -> None:
        """Add one; more than ``MOST_OF_A_CODE`` of a code are only counted."""
        grade = CODES[code][0] if severity is None else severity
        self._count[code] = self._count.get(code, 0) + 1
        self._worst[code] = max(self._worst.get(code, grade), grade, key=lambda s: s.rank)
        if self._count[code] > MOST_OF_A_CODE:
            return
        self._found.append(ProgramFinding(code, grade, line, message, place, measured, limit, unit, rule, remedy))

    def lists_no_more(self, code: str) -> bool:
        """Return whether further findings of a code are only counted."""
        return self._count.get(code, 0) >= MOST_OF_A_CODE

    def count_more(self, code: str, more: int) -> None:
        """Count findings of a code that were not worked out."""
        if more > 0:
            self._count[code] = self._count.get(code, 0) + more
            self._worst.setdefault(code, CODES[code][0])

    def findings(self) -> tuple[ProgramFinding, ...]:
        """Return all, those with lines in their order."""
        extra = [
            ProgramFinding(code, self._worst[code], 0, f"{count - MOST_OF_A_CODE} or more of these are not listed")
            for code, count in self._count.items()
            if count > MOST_OF_A_CODE
        ]
        return tuple(sorted(self._found, key=lambda f: (f.line == 0, f.line))) + tuple(extra)
