"""Speeds that the spindle may not have, and feeds too slow for the speed."""

from __future__ import annotations

from collections.abc import Sequence

from holecam.job.models import Job
from holecam.lengths import Unit, length_text
from holecam.plan.finding import Finding, Severity
from holecam.plan.motions import ToolUse
from holecam.plan.work import Operation
from holecam.planning.spindle_speeds import FEED_DECIMALS

CHIP_DECIMALS: dict[Unit, int] = {"in": 5, "mm": 4}
"""Decimals of a chip that is too thin."""

SURELY_REACHED_RPM = 1500.0
"""Turns a minute that the spindle of any mill for such work reaches (common practice): below it nothing is told."""

RUBBING_SHARE = 0.3
"""Share of the usual chip below which a tooth rubs instead of cutting (common practice)."""


def rubbing_findings(
    about: str, tool: str, unit: Unit, *, usual: float, rpm: float, feed: float, teeth: int = 0
) -> list[Finding]:
    """Return that a tool is fed too slowly for its speed, if it is.

    Parameters
    ----------
    usual : float
        Feed a turn to start with, mm.
    rpm, feed : float
        Turns and mm a minute that are planned.
    teeth : int
        Of a cutter, to speak of its chip; 0 for a drill.
    """
    per_turn = feed / rpm
    if not per_turn < RUBBING_SHARE * usual:
        return []
    share, each = (per_turn / teeth, "tooth") if teeth else (per_turn, "turn")
    usual_share = usual / teeth if teeth else usual
    return [
        Finding(
            "teeth-rub",
            Severity.CAUTION,
            about,
            f"At {rpm:.0f} turns a minute and {length_text(feed, unit, decimals=FEED_DECIMALS[unit])} a minute the "
            f"{tool} takes {length_text(share, unit, decimals=CHIP_DECIMALS[unit])} a {each} instead of "
            f"{length_text(usual_share, unit, decimals=CHIP_DECIMALS[unit])}: it rubs, hardens the metal and heats it.",
            measured=share,
            limit=RUBBING_SHARE * usual_share,
            source="common practice",
            remedy="Turn slower or feed faster, as far as the job's speed, feed, machine.spindle and "
            "machine.fastest_feed allow; a cutter with fewer teeth takes more with each.",
        )
    ]


def spindle_findings(job: Job, operations: Sequence[Operation], tools: Sequence[ToolUse]) -> list[Finding]:
    """Return that speeds are starting points for the tool alone, where the job leaves the machine's speeds out.

    A note for work by hand, where the feed is felt. A caution where programs are written: a control that cannot reach
    the speed keeps the feed, so every tooth takes more, in the same share.
    """
    if job.machine.spindle is not None:
        return []
    names = {tool.number: tool.name for tool in tools}
    asked = {names[o.tool]: o.spindle_rpm for o in operations if o.tool and o.spindle_rpm is not None}
    quick = {name: rpm for name, rpm in asked.items() if rpm > SURELY_REACHED_RPM}
    if not quick:
        return []
    most = max(quick, key=lambda name: quick[name])
    tools_words = "1 tool has" if len(quick) == 1 else f"{len(quick)} tools have"
    programs = any(o.program or o.more_programs for o in operations)
    why = (
        "A program keeps its feed when the control cannot reach the speed: every tooth then takes more."
        if programs
        else "Not every spindle turns as fast."
    )
    return [
        Finding(
            "spindle-not-stated",
            Severity.CAUTION if programs else Severity.NOTE,
            "machine",
            f"The job does not say which speeds the spindle has, and {tools_words} a starting speed above "
            f"{SURELY_REACHED_RPM:.0f} turns a minute, {quick[most]:.0f} with the {most}. {why}",
            measured=quick[most],
            limit=SURELY_REACHED_RPM,
            quantity_unit="rpm",
            source="common practice",
            remedy="State machine.spindle, slowest and fastest: speeds and feeds are then fitted to it. Or take the "
            "fastest speed that there is, and lower the feed in the same share.",
        )
    ]
