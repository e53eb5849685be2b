"""What the trade knows about milling over a thin sheet: set-up, clamping, what to look for, how to take off the rest.

All of it is common practice; nothing here is computed.
"""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from holecam.cuts.layer_stack import LayerStack

SOURCE = "common practice"


class Hold(StrEnum):
    """How well the set-up holds; it bounds the roughing step."""

    FIRM = "firm"
    """Rigid mill, bar clamped itself."""
    LIGHT = "light"
    """Small mill, or the bar clamped at one end."""
    BY_SHEET = "by the sheet"
    """The bar is held by the sheet that carries it, and by nothing else."""


ROUGH_STEP = {Hold.FIRM: 0.5, Hold.LIGHT: 0.25, Hold.BY_SHEET: 0.1}
"""mm. Greatest roughing step over a soldered sheet: 0.2 to 0.5; where the sheet itself holds the bar, 0.1."""


class CheckItem(Struct, frozen=True):
    """One thing to see to before the cut."""

    code: str
    text: str
    source: str = SOURCE


CHECK_LIST: tuple[CheckItem, ...] = (
    CheckItem(
        "support", "The sheet is backed over its whole area: on its former, or on tape over a freshly faced plate."
    ),
    CheckItem("cavities", "Cavities under the cut are filled: hot-melt glue, wax, pitch or low-melt alloy."),
    CheckItem("clamps", "Clamps sit outside the cut, under a window board: clamps hold, the backing supports."),
    CheckItem("clamp-force", "No clamp bends the sheet: an indicator on it moves less than 0.02 mm (0.001 in)."),
    CheckItem("free-end", "The free end of the bar cannot rise: it is held, or milled first."),
    CheckItem("cutter", "Cutter sharp, uncoated, two flutes, straight or low helix, sharp corner; never a ball nose."),
    CheckItem("cutter-measured", "Cutter measured where it cuts; its runout read with an indicator."),
    CheckItem(
        "height",
        "Height touched off with this cutter and checked at the far end; never on the thin sheet itself "
        "with a touch that presses.",
    ),
    CheckItem("backlash", "Gibs snug, the axis that is not moving locked, feed against the cut."),
    CheckItem("chips", "Light oil or wax at hand; chips brushed away: a chip welded to a tooth gouges."),
    CheckItem("temperature", "Work and machine at one temperature; soldered work left to cool before measuring."),
    CheckItem("dry-run", "First run above the work, hand on the stop."),
)
"""Before the first pass, in this order."""


class RemovalMethod(Struct, frozen=True):
    """A way to take off what the cutter cannot reach. ``cautions`` belong to it."""

    name: str
    how: str
    cautions: tuple[str, ...]
    source: str = SOURCE


REMOVAL_METHODS: tuple[RemovalMethod, ...] = (
    RemovalMethod(
        "scraper",
        "A hand scraper with a rounded edge, drawn along the bend, toward the cleared side.",
        ("Eye protection.", "Keep the scraper's corner out of the bend: a scratch across it starts a crack."),
    ),
    RemovalMethod(
        "file with a safe edge",
        "A fine file with one edge ground smooth, the smooth edge to the flange.",
        ("Back the sheet: a file's pressure dents it.",),
    ),
    RemovalMethod(
        "wet abrasive on a stick",
        "Wet abrasive paper on a hardwood stick shaped to the inside of the bend, finer at the end.",
        ("Wet, never dry: dust of lead-bearing solder is poisonous; wash hands, no air line.",),
    ),
    RemovalMethod(
        "small rotary burr",
        "A fine round burr, light strokes away from the flange, the work well held.",
        ("It grabs in copper like a cutter: keep it moving, never along the very edge.", "Eye protection."),
    ),
    RemovalMethod(
        "heat and wipe",
        "Once the bar is gone, warm the last skin of soft solder and wipe it with a fluxed cloth.",
        (
            "Never on an unknown braze: treat it as cadmium-bearing, no heat.",
            "Flux fumes: extraction. Clear or cover what burns; watch for fire afterwards.",
            "Vessels under pressure, and anything a local code covers: ask those responsible before heating.",
        ),
    ),
)
"""For the metal beside a bend and for the skin that is left over the sheet."""

_COLOURS = (
    ("copper", "pink"),
    ("brass", "yellow"),
    ("bronze", "reddish yellow"),
    ("gunmetal", "reddish yellow"),
    ("nickel silver", "warm white"),
    ("steel", "grey-white"),
    ("iron", "grey-white"),
    ("alumin", "white"),
    ("zinc", "bluish white"),
    ("silver", "white"),
    ("solder", "grey"),
    ("braze", "pale yellow to white"),
)
"""Colour of a fresh cut by a word in the layer's name; the first that fits."""


def colour_of(name: str, stated: str = "") -> str:
    """Return the colour of a freshly cut layer by its name, or what was stated; empty when it is not known."""
    if stated:
        return stated
    low = name.casefold()
    return next((colour for word, colour in _COLOURS if word in low), "")


class LookWords(Struct, frozen=True):
    """What to look for at a stop, and what each sight means to do."""

    look_for: str
    still_bar: str
    layer_shows: str
    sheet_shows: str


def look_words(stack: LayerStack) -> LookWords:
    """Return the words for the stops of a stack."""
    substrate = stack.substrate
    bond = stack.bond
    bar = stack.layers[stack.substrate_index - (1 if bond is None else 2)]
    bar_text = _with_colour(bar.name, colour_of(bar.name, bar.looks))
    sheet_text = _with_colour(substrate.name, colour_of(substrate.name, substrate.looks))
    if bond is None:
        look = (
            f"Stop, wipe, look under a lens with slanting light: only {bar_text}, or the line of the {sheet_text} at "
            "the edge of the cut?"
        )
        layer = "There is no bonding layer to warn: the first line of the sheet ends the milling."
    else:
        smears = "Soft solder smears: w" if "solder" in bond.name.lower() else "W"
        bond_text = _with_colour(bond.name, colour_of(bond.name, bond.looks))
        look = (
            f"Stop, wipe, scratch lightly, look under a lens: only {bar_text}, or {bond_text} showing anywhere? "
            f"{smears}hat looks bare may be covered."
        )
        layer = (
            f'"{bond.name}" shows: write down where and at what height. Go no lower than the next floor for this '
            "answer; take the rest off by hand."
        )
    return LookWords(
        look,
        f"Still only {bar.name}, everywhere: the next floor for this answer holds.",
        layer,
        f"{sheet_text[0].upper()}{sheet_text[1:]} shows, even as a line: stop, lift straight up, mill no more.",
    )


def _with_colour(name: str, colour: str) -> str:
    return f"{name} ({colour})" if colour else name
