"""Hostile drawings, programs and command lines, built from choices; what is left of the bytes is mixed in raw."""

from __future__ import annotations

from chooser import BytesChooser, pick
from odd_values import HOSTILE_TEXTS, LENGTH_TEXTS

NUMBERS = ["0", "-0", "1", "-1", "0.5", "10", "25.4", "1e5", "1e308", "-1e308", "1e-320", "nan", "inf", "-inf", "1e999",
           "99999999999", "360", "90", "", "x", "0.0000001", "2147483648", "-5", "3.", ".5", "1,5"]  # fmt: skip

ENTITIES: dict[str, list[int]] = {
    "LINE": [10, 20, 30, 11, 21, 31],
    "CIRCLE": [10, 20, 30, 40, 210, 220, 230],
    "ARC": [10, 20, 40, 50, 51, 210, 220, 230],
    "LWPOLYLINE": [90, 70, 43, 38, 10, 20, 42, 10, 20, 42, 10, 20, 42],
    "ELLIPSE": [10, 20, 11, 21, 31, 40, 41, 42],
    "SPLINE": [70, 71, 72, 73, 74, 40, 40, 40, 40, 40, 40, 41, 10, 20, 30, 10, 20, 30, 10, 20, 30, 11, 21],
    "INSERT": [2, 10, 20, 41, 42, 43, 50, 70, 71, 44, 45, 210, 220, 230],
    "POLYLINE": [66, 70, 71, 72, 10, 20],
    "VERTEX": [10, 20, 42, 70],
    "SEQEND": [],
    "TEXT": [10, 20, 40, 1],
    "HATCH": [70, 91, 92, 93],
    "POINT": [10, 20],
    "3DFACE": [10, 20, 11, 21],
    "SOLID": [10, 20, 11, 21, 12, 22],
    "MLINE": [2, 40, 70, 71, 72],
    "VIEWPORT": [10, 20],
    "DIMENSION": [2, 10, 20],
    "HELIX": [10, 20, 40, 41],
}


def hostile_drawing(data: bytes) -> bytes:
    """Return a DXF text of a few entities with odd numbers, in a block too at times."""
    chooser = BytesChooser(data)
    insunits = pick(chooser, ["4", "1", "0", "6", "99", "-1", "x", "2"])
    rows = [
        "0",
        "SECTION",
        "2",
        "HEADER",
        "9",
        "$ACADVER",
        "1",
        pick(chooser, ["AC1015", "AC1009", "AC1032", "AC9", ""]),
    ]
    rows += ["9", "$INSUNITS", "70", insunits, "0", "ENDSEC"]
    if chooser.below(2):
        rows += ["0", "SECTION", "2", "BLOCKS"]
        for name in ("A", "B"):
            rows += ["0", "BLOCK", "2", name, "10", "0", "20", "0", "70", "0"]
            rows += _entity(chooser) + (["0", "INSERT", "2", pick(chooser, ["A", "B"]), "10", "1", "20", "1",
                                         "70", pick(chooser, NUMBERS), "71", "3"] if chooser.below(2)
                                        else [])  # fmt: skip
            rows += ["0", "ENDBLK"]
        rows += ["0", "ENDSEC"]
    rows += ["0", "SECTION", "2", "ENTITIES"]
    for _ in range(chooser.below(8)):
        rows += _entity(chooser)
    rows += ["0", "ENDSEC", "0", "EOF"]
    text = "\n".join(rows).encode("utf-8", "surrogateescape") + b"\n"
    rest = chooser.rest()
    at = len(text) * (len(rest) % 7) // 7
    return text[:at] + rest + text[at:] if rest else text


def _entity(chooser: BytesChooser) -> list[str]:
    kind = pick(chooser, list(ENTITIES))
    rows = ["0", kind, "8", pick(chooser, ["0", "CUT", "", "x" * 300, "a\x01"])]
    odd = chooser.below(3) == 0
    for n, code in enumerate(ENTITIES[kind]):
        if code in (2, 1):
            value = pick(chooser, ["A", "B", "*U1", "", "{\\H1;x}"])
        elif odd:
            value = pick(chooser, NUMBERS)
        elif code in (66, 70, 71, 72, 73, 74, 90, 91, 92, 93):
            value = str(chooser.below(6))
        else:
            value = str((chooser.below(4001) - 2000) / 100 + n)
        rows += [str(code), value]
    return rows


WORDS = ["G0", "G1", "G2", "G3", "G4 P1", "G17", "G18", "G19", "G20", "G21", "G28", "G40", "G41", "G43 H1", "G49",
         "G53", "G54", "G59.3", "G73", "G80", "G81", "G82", "G83", "G84", "G89", "G90", "G91", "G92", "G93",
         "G94", "G98", "G99", "M0", "M1", "M2", "M3", "M4", "M5", "M6", "M7", "M8", "M9", "M30", "M48", "M98",
         "T1", "T2", "T0",
         "T999999", "/", "%", "N10", "O100", "(text)", "(a (b))", "(open", ";x", "#1=2", "[1+2]", "L3",
         "L999999999", "Q1", "Q0",
         "Q1e9", "R5", "R-5", "R0", "P0", "S1000", "S-1", "F100", "F0", "A1", "\t", "", "g1x1y1z1", "G1.5", "G-1",
         "(holecam)", "\u00e9"]  # fmt: skip
AXES = ["X", "Y", "Z", "I", "J", "K", "R", "F", "Q", "x"]


def hostile_program(data: bytes) -> str:
    """Return a program of some lines, often long stretches of plain moves, with odd words among them."""
    chooser = BytesChooser(data)
    lines = pick(chooser, [[], ["G21 G90 G17 G40 G49 G80 G94", "G0 Z15", "T1 M6", "M3 S1000"], ["%"], ["G20 G91"]])[:]
    for _ in range(chooser.below(14)):
        words = []
        for _ in range(chooser.below(6)):
            if chooser.below(3) == 0:
                words.append(pick(chooser, WORDS))
            else:
                number = pick(chooser, NUMBERS) if chooser.below(4) == 0 else f"{(chooser.below(8001) - 4000) / 100}"
                words.append(pick(chooser, AXES) + number)
        again = pick(chooser, [1, 1, 1, 1, 30, 200])
        lines += [pick(chooser, [" ", ""]).join(words)] * again
    rest = chooser.rest().decode("utf-8", "replace")
    return pick(chooser, ["\n", "\r\n"]).join([*lines, rest])


def hostile_command(data: bytes) -> list[str]:
    """Return the words of a quick look-up or sheet."""
    chooser = BytesChooser(data)
    command = pick(chooser, list(COMMAND_OPTIONS))
    plain, options = COMMAND_OPTIONS[command]
    words = [command, *plain]
    for _ in range(chooser.below(7)):
        option = pick(chooser, options)
        words.append(option)
        if option not in FLAGS:
            values = pick(chooser, [LENGTH_TEXTS, GOOD_WORDS, COUNTS, GOOD_WORDS, HOSTILE_TEXTS])
            words.append(pick(chooser, values).replace("\x00", "0"))  # no system hands a zero character over
    rest = chooser.rest().decode("utf-8", "replace").replace("\x00", "0")
    return [*words, rest] if rest else words


FLAGS = {"--json", "--staggered", "--short-rows", "--clockwise", "--formed", "--worst-case", "--above-layer", "--help"}
COUNTS = ["0", "1", "2", "6", "-1", "7.5", "10000", "10001", "1000000", "1000000000", "9" * 30]
GOOD_WORDS = ["6", "2", "10", "1/2 in", "3/16", "in", "mm", "0,0", "1.5,2.5", "+x", "-y", "45", "x=1", "y=2 mm",
              "by row", "by column", "there and back", "brass", "M4", "6-32", "no29", "light", "70", "0.005", "2.5",
              "1/4-20", "3 mm", "0.001", "100", "+x,-y", "flat", "carbide", "plug", "8.8", "copper", "0.5", "bar:3:0.1",
              "soft solder:0.1:0.05", "sheet:0.6", "still bar at -2", "paper", "continuity on sheet", "all",
              "0.01,0.005", "2:-0.1", "wire 10 x 1 over 20 x 5"]  # fmt: skip
_LOOK_UP = ["--unit", "--json", "--drills"]
_SHEET = ["--unit", "--readout", "--dial-lead", "--dial-divisions", "--approach", "--mirror", "--json"]

COMMAND_OPTIONS: dict[str, tuple[list[str], list[str]]] = {
    "drill": (["no29"], ["--material", "--tool", "--slowest", "--fastest", *_LOOK_UP]),
    "tap": (["6-32"], ["--percent", "--material", "--thickness", "--formed", "--blind", "--leave", "--lead", "--point",
                       "--screw", *_LOOK_UP]),
    "clearance": (["M4"], ["--head", *_LOOK_UP]),
    "circle": (["--count", "6", "--diameter", "50"],
               ["--count", "--diameter", "--start", "--included", "--step", "--clockwise", "--centre", *_SHEET]),
    "line": (["--count", "6", "--pitch", "10"],
             ["--count", "--pitch", "--length", "--first", "--hole", "--along", *_SHEET]),
    "grid": (["--columns", "3", "--rows", "3", "--pitch", "10"],
             ["--columns", "--rows", "--pitch", "--column-pitch", "--row-pitch", "--staggered", "--short-rows",
              "--first", "--hole", "--along", "--numbering", *_SHEET]),
    "stepdown": (["--layer", "brass:3:0.02", "--layer", "soft solder:0.1:0.05", "--keep", "copper:0.6"],
                 ["--layer", "--keep", "--touch", "--touch-offset", "--touch-within", "--second", "--length",
                  "--high-spot", "--machine-within", "--readout", "--unit", "--sureness", "--worst-case",
                  "--margin-over-floor", "--skin", "--above-layer", "--floor", "--stop-percent", "--hold", "--rough",
                  "--last", "--least-chip", "--answer", "--bend-radius", "--bend-margin", "--bend-gap", "--cutter",
                  "--corner-radius", "--drill", "--drill-point", "--json"]),
}  # fmt: skip
"""Words that a command needs, and the options that it knows (a later option overrides an earlier one)."""
