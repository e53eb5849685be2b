"""What the layers of a step-down are made of, as seen from the words for them, and the tags of cautions that follow."""

from __future__ import annotations

import re

from holecam.errors import InputError
from holecam.standards.bonding_layers import BondingLayer
from holecam.standards.cautions import material_tags
from holecam.standards.materials import Material, material

STEP_DOWN_TAGS = ("step-down", "thin-sheet", "cutting-data")
"""Tags of every step-down: the cutter comes close to a thin sheet and its bend."""


def layer_material(name: str, stated: str | None = None) -> Material | None:
    """Return what a bar or sheet is made of: as stated, else by a word of its name; ``None`` where no word tells.

    >>> layer_material("copper hood").name
    'copper'
    >>> layer_material("lower plate")
    """
    for word in (stated, *re.split(r"[\W\d_]+", name)):
        if word:
            try:
                return material(word)
            except InputError:
                continue
    return None


def layer_tags(name: str, bond: BondingLayer | None, stated: str | None = None) -> set[str]:
    """Return the tags of a layer: those of its bonding material, or of its metal where it is a bar or a sheet."""
    if bond is not None:
        return set(bond.caution_tags)
    metal = layer_material(name, stated)
    return set() if metal is None else set(material_tags(metal))
