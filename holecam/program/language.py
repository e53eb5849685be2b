"""The words of the published language: which there are, which group they belong to, and why some are refused.

RS-274/NGC as in the public report NISTIR 6556 (Kramer, Proctor, Messina, 2000), tables of G and M codes and of modal
groups; ISO 6983-1 for the words that both share. Section numbers here are from memory. G73 and G90.1/G91.1 are not in
the report but are read alike by the open controls that grew out of it (common practice).

Codes are kept in tenths, because the language has codes such as G59.1 and G38.2.
"""

from __future__ import annotations

from enum import StrEnum

RULE_WORDS = "NISTIR 6556, 3.3 format of a line"
RULE_GROUPS = "NISTIR 6556, 3.4 modal groups"
RULE_G = "NISTIR 6556, 3.5 G codes"
RULE_M = "NISTIR 6556, 3.6 M codes"
RULE_ARCS = "NISTIR 6556, 3.5.3 arcs"
RULE_CYCLES = "NISTIR 6556, 3.5.16 canned cycles"
RULE_ORDER = "NISTIR 6556, 3.8 order of execution"


class Group(StrEnum):
    """Modal groups: at most one word of a group in a line (NISTIR 6556, 3.4, table 4)."""

    NON_MODAL = "not modal"
    MOTION = "motion"
    PLANE = "plane"
    DISTANCE = "distance mode"
    ARC_CENTERS = "arc centre mode"
    FEED_MODE = "feed mode"
    UNITS = "units"
    CUTTER_RADIUS = "cutter radius compensation"
    LENGTH_OFFSET = "tool length offset"
    RETURN_LEVEL = "return level of cycles"
    WORK_OFFSET = "work offset"
    PATH = "path control"
    STOPPING = "stopping"
    TOOL_CHANGE = "tool change"
    SPINDLE = "spindle"
    COOLANT = "coolant"
    OVERRIDE = "overrides"


G_GROUP: dict[int, Group] = {
    **dict.fromkeys((0, 10, 20, 30, 730, 800, 810, 820, 830, 840, 850, 890), Group.MOTION),
    **dict.fromkeys((170, 180, 190), Group.PLANE),
    **dict.fromkeys((200, 210), Group.UNITS),
    **dict.fromkeys((900, 910), Group.DISTANCE),
    **dict.fromkeys((901, 911), Group.ARC_CENTERS),
    **dict.fromkeys((540, 550, 560, 570, 580, 590, 591, 592, 593), Group.WORK_OFFSET),
    **dict.fromkeys((610, 611, 640), Group.PATH),
    **dict.fromkeys((980, 990), Group.RETURN_LEVEL),
    **dict.fromkeys((430, 490), Group.LENGTH_OFFSET),
    400: Group.CUTTER_RADIUS,
    940: Group.FEED_MODE,
    40: Group.NON_MODAL,
}

M_GROUP: dict[int, Group] = {
    **dict.fromkeys((0, 1, 2, 30), Group.STOPPING),
    **dict.fromkeys((3, 4, 5), Group.SPINDLE),
    **dict.fromkeys((7, 8, 9), Group.COOLANT),
    **dict.fromkeys((48, 49), Group.OVERRIDE),
    6: Group.TOOL_CHANGE,
}

CYCLES = frozenset((730, 810, 820, 830, 840, 850, 890))
"""Canned cycles that are read."""

WORDS = frozenset("FGHIJKLMNPQRSTXYZ")
"""Letters that are read."""

_OFFSET = "it moves the zero by an amount that the program alone does not tell"
_HOME = "it goes to a place of the machine that the program alone does not tell"

REFUSED_G: dict[int, str] = {
    100: f"G10 is refused: {_OFFSET}",
    280: f"G28 is refused: {_HOME}; write a rapid move to a stated height instead",
    281: "G28.1 is refused: it changes what G28 means",
    300: f"G30 is refused: {_HOME}; write a rapid move to a stated height instead",
    301: "G30.1 is refused: it changes what G30 means",
    330: "G33 is refused: a thread that follows the spindle is not simulated",
    331: "G33.1 is refused: tapping that follows the spindle is not simulated; G84 is read",
    382: "G38.2 is refused: a probe stops at a place that the program alone does not tell",
    410: "G41 is refused: the offset path depends on the control; write the path of the tool's centre",
    420: "G42 is refused: the offset path depends on the control; write the path of the tool's centre",
    431: "G43.1 is refused: the control's offset is not known here",
    530: f"G53 is refused: {_HOME}",
    860: "G86 is refused: it stops the spindle in the hole",
    870: "G87 is refused: back boring moves sideways in the hole",
    880: "G88 is refused: it ends by hand in the hole",
    920: f"G92 is refused: {_OFFSET}",
    921: f"G92.1 is refused: {_OFFSET}",
    922: f"G92.2 is refused: {_OFFSET}",
    923: f"G92.3 is refused: {_OFFSET}",
    930: "G93 is refused: inverse time feed is not read; state feeds by G94",
    950: "G95 is refused: feed per turn is not read; state feeds by G94",
    960: "G96 is refused: constant surface speed belongs to turning",
}

REFUSED_M: dict[int, str] = {
    60: "M60 is refused: there is no pallet to change",
    97: "M97 is refused: a subprogram is not followed",
    98: "M98 is refused: a subprogram is not followed",
    99: "M99 is refused: a subprogram is not followed",
}

REFUSED_WORDS: dict[str, str] = {
    "A": "a rotary axis is not read",
    "B": "a rotary axis is not read",
    "C": "a rotary axis is not read",
    "D": "cutter radius compensation is not read; write the path of the tool's centre",
    "E": "the letter E is no word of the published language",
    "O": "a subprogram or a second program number is not read",
    "U": "a second set of axes is not read",
    "V": "a second set of axes is not read",
    "W": "a second set of axes is not read",
}


def code_text(letter: str, tenths: int) -> str:
    """Return a code as it is written: ``G1``, ``G59.1``."""
    whole, part = divmod(tenths, 10)
    return f"{letter}{whole}.{part}" if part else f"{letter}{whole}"
