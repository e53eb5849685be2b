"""What the outside checks speak of: the formulas of the design, the tables, and the rest of the work.

A test says ``@pytest.mark.outside_check(subject=..., source=..., closeness=..., standing=...)``. ``subject`` is a key
of :data:`FORMULAS` or :data:`OTHER`, or ``"table NAME"`` for a table of ``holecam/standards/tables``, or several of
them. ``make_checks_page.py`` collects the marks into ``docs/checks.md``.
"""

from __future__ import annotations

STANDINGS = {
    "published": "read in the source that is named, in a reprint of it, or in an open library that tabulates it",
    "library": "a general-purpose library computes the same thing its own way",
    "mathematics": "a closed form of a textbook, worked out by hand in the test",
    "memory": "the source is named, but its figures were written down from memory",
    "common practice": "a figure of the trade without a published source",
}
"""What a standing means."""

OUTSIDE = ("published", "library", "mathematics")
"""Standings that do not rest on the memory or the custom of those who wrote the tool."""

FORMULAS = {
    "minor diameter, 60 degrees": "D - 1.082532 P",
    "percentage of thread, cut": "100 (D - d) / (2 h)",
    "percentage of thread, formed": "147.06 (D - d) / P",
    "Whitworth form": "h = 0.640327 P",
    "BA form": "P = 0.9^n, D = 6 P^1.2, h = 0.6 P",
    "stress area, inch": "pi/4 (D - 0.9743 P)^2",
    "stress area, metric": "pi/4 (D - 0.938194 P)^2",
    "thread shear and engagement": "FED-STD-H28/2 areas, 2 At / ASs, times J",
    "drill point": "(d/2) / tan(point/2)",
    "spindle speed": "1000 v / (pi D)",
    "feed": "turns x teeth x chip",
    "floating fastener": "T = H - F",
    "fixed fastener": "T = (H - F) / 2",
    "rigid fit": "turn = atan2(sum p x c, sum p . c), then the shift",
    "bolt-up": "least over motions of the worst offset / play",
    "freedom": "shifts outside the grown obstacles and inside the shrunk outline",
    "inside bend": "x >= Rb - rc - sqrt((Rb - rc - g)^2 - (Rb - rc - h)^2) + m",
    "step-down doubt": "root of the sum of squares, or the sum",
    "hard floor": "height of the sheet + k u",
    "chance of contact": "Phi((zs - z) / u)",
    "error in a chain": "weighted least squares, chi-square, normalised residuals",
}
"""The formulas of the design, section 5, in its order."""

OTHER = {
    "Threads and drills": ("limits of the minor diameter", "tap drill choice", "depth of a blind hole", "countersink"),
    "Places": (
        "hole circle",
        "doubt of a reference",
        "play of a screw",
        "which hole to open",
        "chance of assembly",
        "metal at edges and webs",
        "roomiest place",
        "marking out",
        "drilling order",
        "backlash",
    ),
    "Cuts and step-downs": (
        "slot",
        "pocket: gouge and leftover",
        "corner that a cutter leaves",
        "engagement of a tooth",
        "offsets",
        "chips in wood",
        "layer from the solder used",
        "layer from readings",
        "belief after a look",
        "last passes",
        "sweep of a step-down",
    ),
    "Programs": ("reading of programs", "words of a program", "arcs in a program", "body of the cutter"),
    "Lengths, shapes, files, papers": (
        "lengths as written",
        "dial turns",
        "distances",
        "drawings in",
        "drawings out",
        "job file",
        "papers",
    ),
    "Whole jobs": ("whole job",),
}
"""Everything else that is held against something outside, by heading."""

GAPS = {
    "percentage of thread, formed": (
        "The handbook form is from memory. That metal only moves bears it out to about a tenth, no closer. What the "
        "maker of the tap prints goes first."
    ),
    "BA form": (
        "BS 93 is quoted from memory. The sizes, the pitches and the core diameters of workshop tables agree "
        "with its formulas, but those are from memory as well."
    ),
    "table bonding_layers": "Glues, tapes and riveted joints are common practice; melting points are from memory.",
    "table cautions": "The sources on the rows were read in part; the words are this project's.",
    "table chip_loads": ("Wood is read from a chart. Metal and plastic are common practice, held only to their order."),
    "table counterbores": (
        "The rows are from memory. That they clear the listed heads by a little is all that is checked."
    ),
    "table cutting_speeds": (
        "Aluminium, brass, copper, mild steel and hardwood are read; the rest is common practice."
    ),
    "table drill_feeds": "The steps of a handbook from memory; no second table was found.",
    "table drill_oversize": "The tolerance of a drilled hole is read in part; the mean oversize is from memory.",
    "table instruments": "The legal classes of rules are read; the rest is common practice.",
    "table material_strengths": "Eleven of the materials have no second table.",
    "table materials": "Eighteen materials have no second table of expansion. How they cut is common practice.",
    "table metric_minor_tolerance": (
        "From memory, held to a formula from memory. Only 4 of the 19 rows have a published source: those behind "
        "M8, M12, M20 and M24."
    ),
    "table mill_depths": "The ceilings are read; the shares of the diameter are common practice.",
    "table operation_factors": "Common practice.",
    "table position_methods": "Common practice. Only how a half-width becomes a standard doubt has a source.",
    "table screw_head_rules": "A rule made here, held to be no smaller than the listed heads.",
    "table screw_heads": (
        "Inch sunk, fillister and hexagon heads, inch washers, BA and Whitworth hexagons have no second "
        "table, only rules and an order."
    ),
    "table screw_strengths": "All figures are from memory; property classes agree with their names.",
    "table spacing_limits": (
        "No standard speaks of one-off parts. The limits are common practice, between the published ones that "
        "stand beside them."
    ),
    "table thread_engagement": "Common practice. Public guides agree; none is a standard.",
    "table thread_percent": "The floor of 50 percent is read; the steps above it are common practice.",
    "table threads": (
        "BSW, BSF, BA and the model engineers' series have no second table of pitches. Their core diameters "
        "agree with figures from memory."
    ),
    "table touch_off": "Common practice. Only how a half-width becomes a standard doubt has a source.",
}
"""What is still missing, in words: what rests on memory or custom alone, and tables that are covered only in part."""
