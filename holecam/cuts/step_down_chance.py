"""How surely a height lies above the sheet, or inside the bonding layer, before anything has been seen."""

from __future__ import annotations

import math
from typing import Protocol

from msgspec import Struct

from holecam.cuts.layer_estimates import DoubtRule, Estimate, covariance
from holecam.errors import InputError

LEAST_STANDARD = 1e-9
"""mm. A doubt below this counts as this: arithmetic noise, so that a perfectly known face is a step and not 0/0."""


def normal_chance(t: float) -> float:
    """Return Phi(t), the chance that a standard normal error stays below ``t``; exact far out on both sides."""
    return 0.5 * math.erfc(-t / math.sqrt(2.0))


class Belief(Protocol):
    """What is believed about the faces; before looking a joint normal, afterwards what is left of it."""

    def contact(self, z: float) -> float:
        """Return the chance that the substrate reaches above ``z``: a tooth at ``z`` touches it."""

    def showing(self, z: float) -> float:
        """Return the chance that the layer above the substrate reaches above ``z``: it shows, or more than that."""

    def hard_floor(self) -> float:
        """Return the lowest height that is sure enough not to touch the substrate, mm."""

    def likeliest(self) -> float:
        """Return the height that the substrate reaches above as likely as not, mm."""

    def above_layer(self) -> float:
        """Return the lowest height that is sure enough not to reach into the layer, mm."""


class Faces(Struct, frozen=True):
    """The two faces that matter: the substrate's top and the top of the layer on it, on the readout.

    ``rule`` and ``sureness`` say what "sure enough" means. Both faces are at the sheet's highest place.
    """

    substrate: Estimate
    layer_top: Estimate
    rule: DoubtRule = DoubtRule.ROOT_OF_SQUARES
    sureness: float = 3.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.sureness) and self.sureness > 0):
            raise InputError(f"sureness {self.sureness}: expected a number above zero, such as 3", key="sureness")

    def contact(self, z: float) -> float:
        """Return the chance of contact at ``z``: ``Phi((z_s - z) / u)``, design page section 5."""
        return normal_chance((self.substrate.value - z) / max(self.substrate.standard, LEAST_STANDARD))

    def showing(self, z: float) -> float:
        """Return the chance that the layer's top stands at ``z`` or higher."""
        return normal_chance((self.layer_top.value - z) / max(self.layer_top.standard, LEAST_STANDARD))

    def doubt(self) -> float:
        """Return how far the substrate may stand above its best value, mm."""
        return self.substrate.doubt(self.rule, self.sureness)

    def hard_floor(self) -> float:
        """Return ``z_s + k u``, or plus the worst case, mm, not rounded."""
        return self.substrate.value + self.doubt()

    def likeliest(self) -> float:
        """Return the best value of the substrate's height, mm."""
        return self.substrate.value

    def above_layer(self) -> float:
        """Return the lowest height, mm, that is as surely above the layer as the hard floor is above the sheet."""
        return self.layer_top.value + self.layer_top.doubt(self.rule, self.sureness)

    @property
    def correlation(self) -> float:
        """Correlation of the two faces, from the doubts they share (touch-off, wedge, machine), -1 to 1."""
        product = self.substrate.standard * self.layer_top.standard
        return covariance(self.substrate, self.layer_top) / product if product > 0 else 0.0


class LayerWindow(Struct, frozen=True):
    """Where a floor lies inside the layer.

    ``low`` to ``high`` are the heights at which both the layer is sure to show and the sheet is sure not to be
    touched; ``low > high`` means that there is no such height. ``best_z`` is the height with the greatest chance to
    lie inside the layer, ``best_chance`` that chance.
    """

    low: float
    high: float
    best_z: float
    best_chance: float

    @property
    def exists(self) -> bool:
        """Whether any height satisfies both."""
        return self.low <= self.high


def chance_in_layer(belief: Belief, z: float) -> float:
    """Return the chance that ``z`` lies inside the layer: it shows there and the substrate does not.

    In depths: P(layer's top above) - P(substrate above), practice C5. At least 0: an unbounded normal would let the
    substrate stand above the layer that covers it.
    """
    return max(0.0, belief.showing(z) - belief.contact(z))


def layer_window(faces: Faces) -> LayerWindow:
    """Return the heights that surely lie inside the layer, and the likeliest one when there is none."""
    high = faces.layer_top.value - faces.layer_top.doubt(faces.rule, faces.sureness)
    best = _likeliest(faces)
    return LayerWindow(faces.hard_floor(), high, best, chance_in_layer(faces, best))


def _likeliest(faces: Faces) -> float:
    """Return the height with the greatest chance to lie inside the layer, by a scan and a golden-section refinement."""
    reach = 4.0 * max(faces.substrate.standard, faces.layer_top.standard, LEAST_STANDARD)
    low, high = faces.substrate.value - reach, faces.layer_top.value + reach
    steps = 400
    scanned = [low + (high - low) * n / steps for n in range(steps + 1)]
    at = max(range(steps + 1), key=lambda n: chance_in_layer(faces, scanned[n]))
    a, b = scanned[max(at - 1, 0)], scanned[min(at + 1, steps)]
    ratio = (math.sqrt(5.0) - 1.0) / 2.0
    for _ in range(60):
        left, right = b - ratio * (b - a), a + ratio * (b - a)
        if chance_in_layer(faces, left) < chance_in_layer(faces, right):
            a = left
        else:
            b = right
    return 0.5 * (a + b)
