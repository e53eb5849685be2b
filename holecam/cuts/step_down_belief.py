"""The belief about sheet and layer after looking: a joint normal distribution of the faces, cut by what was seen.

The faces share touch-off, wedge, machine and the bar's thickness, so what is learned of the layer's top moves the sheet
as well. That a layer's top lies above its bottom is used too. The integrals are done on one face after the other with
Gauss-Legendre panels; the innermost one, over the substrate, is closed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from functools import cached_property, lru_cache
from itertools import pairwise
from statistics import NormalDist

from msgspec import Struct

from holecam.cuts.layer_estimates import DoubtRule, Estimate, covariance
from holecam.cuts.layer_stack import TouchedStack
from holecam.cuts.step_down_answers import ANYWHERE, Answer, Bounds, face_bounds
from holecam.cuts.step_down_chance import LEAST_STANDARD, Faces, normal_chance
from holecam.errors import InputError

FARTHEST = 9.0
"""Spreads of a normal distribution beyond which nothing is left to see (1e-19)."""

PANEL = 0.75
"""Spreads. Length of one stretch of the integration; eight nodes on it are exact to 1e-12 for a normal density."""

FLOOR_ACCURACY = 1e-6
"""mm. How closely a hard floor after looking is found, from above: a thousandth of the finest readout."""

NEAR = 0.4
"""Share of that accuracy by which the height is then looked at from both sides."""

_NODES = (
    (0.18343464249564980, 0.36268378337836198),
    (0.52553240991632899, 0.31370664587788729),
    (0.79666647741362674, 0.22238103445337447),
    (0.96028985649753623, 0.10122853629037626),
)
"""Half of the nodes and weights of the eight-point Gauss-Legendre rule (Abramowitz and Stegun, table 25.4)."""


class SeenFaces(Struct, frozen=True, dict=True):
    """What is believed after answers. ``layer`` and ``substrate`` bound the two faces of ``prior``.

    ``above`` is the face above the layer's top with its bounds, when something was seen of it. Faces higher up say
    next to nothing more and are left out.
    """

    prior: Faces
    layer: Bounds = ANYWHERE
    substrate: Bounds = ANYWHERE
    above: tuple[Estimate, Bounds] | None = None

    @classmethod
    def after(cls, touched: TouchedStack, prior: Faces, answers: Sequence[Answer]) -> SeenFaces:
        """Return the belief after the answers; ``prior`` holds the faces of the same touched stack.

        Raises
        ------
        InputError
            See :func:`face_bounds`.
        """
        bounds = face_bounds(touched, answers)
        substrate, bond = touched.stack.substrate_index, touched.stack.bond_index
        above = None
        if bond is not None and bond >= 2 and not bounds[bond - 1].is_open:
            above = (touched.faces[bond - 1], bounds[bond - 1])
        return cls(prior, bounds[substrate if bond is None else bond], bounds[substrate], above)

    @property
    def has_layer(self) -> bool:
        """Whether a layer of its own lies between bar and sheet."""
        return self.prior.layer_top != self.prior.substrate

    def chance_of_answers(self) -> float:
        """Return how likely the answers were before they were given, 0 to 1."""
        return min(1.0, self._whole_mass / _mass_before_looking(self.prior))

    def contact(self, z: float) -> float:
        """Return the chance that the substrate reaches above ``z``, given what was seen."""
        return self._reaching(z) / self._total()

    def showing(self, z: float) -> float:
        """Return the chance that the layer's top (without a layer, the sheet) stands at ``z`` or higher."""
        return min(1.0, self._showing_mass(z) / self._total())

    def _reaching(self, z: float) -> float:
        """Return the mass of a substrate above ``z``."""
        return self._mass(above_z=z) if z < self.substrate.high else 0.0

    def _showing_mass(self, z: float) -> float:
        """Return the mass of a layer's top (without a layer, of a sheet) at ``z`` or higher."""
        if not self.has_layer:
            return self._reaching(z)
        if z >= self.layer.high:
            return 0.0
        if z <= self.layer.low:
            return self._whole_mass
        return SeenFaces(self.prior, self.layer.narrowed(low=z), self.substrate, self.above)._mass()

    def hard_floor(self) -> float:
        """Return the lowest height, mm, at which contact is no likelier than ``Phi(-k)``, or cannot be (worst case).

        Raises
        ------
        InputError
            What was seen cannot be with this stack.
        """
        if self.prior.rule is DoubtRule.WORST_CASE:
            return self._worst_case()
        return self._height_of(self._reaching, normal_chance(-self.prior.sureness), self.substrate.high)

    def likeliest(self) -> float:
        """Return the height that the substrate reaches above as likely as not, mm (the median)."""
        return self._height_of(self._reaching, 0.5, self.substrate.high)

    def above_layer(self) -> float:
        """Return the lowest height, mm, that is as surely above the layer as the hard floor is above the sheet."""
        top = self.prior.layer_top
        if self.prior.rule is DoubtRule.WORST_CASE:
            return min(self.layer.high, top.value + top.half_width)
        return self._height_of(self._showing_mass, normal_chance(-self.prior.sureness), self.layer.high)

    def _height_of(self, mass_at: Callable[[float], float], target: float, limit: float) -> float:
        """Return the lowest height at which a falling chance is at most ``target``, to 1e-6 mm, from above.

        ``mass_at`` gives the share of all mass that the chance is of.

        Between two heights the chance is read on a normal scale, on which it is nearly straight.
        """
        total = self._total()
        spread = max(self.prior.substrate.standard, self.prior.layer_top.standard, LEAST_STANDARD)
        top = max(self.prior.substrate.value, self.prior.layer_top.value)
        high = min(limit, top + FARTHEST * spread)
        low = min(high, self.prior.substrate.value) - FARTHEST * spread
        wanted, at_low, at_high = _normal_scale(target), FARTHEST, -FARTHEST
        while high - low > FLOOR_ACCURACY:
            slope = (at_low - at_high) / (high - low)
            guess = low + min(max((at_low - wanted) / (at_low - at_high), 0.02), 0.98) * (high - low)
            looks = [guess]
            for z in looks:
                if not low < z < high:
                    continue
                chance = mass_at(z) / total
                deviate = _normal_scale(chance)
                if z == guess and abs(deviate - wanted) <= NEAR * FLOOR_ACCURACY * slope:
                    looks += [guess + NEAR * FLOOR_ACCURACY, guess - NEAR * FLOOR_ACCURACY]  # to close in on both sides
                if chance > target:
                    low, at_low = z, max(deviate, wanted + 1e-12)
                else:
                    high, at_high = z, min(deviate, wanted - 1e-12)
        return high

    @cached_property
    def _whole_mass(self) -> float:
        return self._mass()

    def _total(self) -> float:
        if not self._whole_mass > 0.0:
            raise _impossible()
        return self._whole_mass

    def _mass(self, *, above_z: float = -math.inf) -> float:
        """Return the chance of the bounds together with a substrate above ``above_z``."""
        top, substrate = self.prior.layer_top, self.prior.substrate
        if not self.has_layer:
            return _between(substrate.value, substrate.standard, above_z, self.substrate.high)
        if self.above is None:
            given = _Regression.of(substrate, top)
            return self._mass_over_layer(above_z, top.value, top.standard, given, 0.0, math.inf)
        face, bounds = self.above
        layer_given = _Regression.of(top, face)
        given = _Regression.of(substrate, top, face)

        def over_layer(height: float) -> float:
            off = height - face.value
            mean = top.value + layer_given.slopes[0] * off
            return self._mass_over_layer(above_z, mean, layer_given.rest, given, given.slopes[1] * off, height)

        return _integral(over_layer, face.value, face.standard, bounds, ())

    def _mass_over_layer(
        self, above_z: float, mean: float, spread: float, given: _Regression, shift: float, ceiling: float
    ) -> float:
        """Return the mass over the layer's top, normal with ``mean`` and ``spread``, under a face at ``ceiling``.

        The substrate follows the layer's top by ``given``; ``shift`` is what the face above adds to it.
        """
        top, substrate, highest = self.prior.layer_top, self.prior.substrate, self.substrate.high
        slope, base = given.slopes[0], substrate.value + shift

        def substrate_chance(height: float) -> float:
            expected = base + slope * (height - top.value)
            return _between(expected, given.rest, above_z, min(height, highest))

        # the inner chance changes fast where the expected substrate crosses a limit: panels get a boundary there
        turns = [height for height in (above_z, highest) if math.isfinite(height)]
        if slope != 0.0:
            turns += [top.value + (height - base) / slope for height in turns]
        if slope != 1.0:
            turns.append((base - slope * top.value) / (1.0 - slope))
        width = given.rest / max(abs(slope), 0.1)
        marks = [turn + step * width for turn in turns for step in (-6.0, -3.0, -1.0, 0.0, 1.0, 3.0, 6.0)]
        return _integral(substrate_chance, mean, spread, self.layer.narrowed(high=ceiling), marks)

    def _worst_case(self) -> float:
        """Return the highest place that the substrate can reach within every limit and what was seen."""
        top, bounds = self.prior.layer_top, self.layer
        if bounds.low > top.value + top.half_width or bounds.high < top.value - top.half_width:
            raise _impossible()
        limits = [self.substrate.high, bounds.high, _highest(self.prior.substrate, top, bounds)]
        if self.above is not None:
            limits.append(_highest(self.prior.substrate, *self.above))
        return min(limits)


@lru_cache(maxsize=64)
def _mass_before_looking(prior: Faces) -> float:
    return SeenFaces(prior)._whole_mass


class _Regression(Struct, frozen=True):
    """A face expected from one or two others: slopes on their deviations, and the spread that is left, mm."""

    slopes: tuple[float, ...]
    rest: float

    @classmethod
    def of(cls, face: Estimate, first: Estimate, second: Estimate | None = None) -> _Regression:
        variance, cov = max(first.standard, LEAST_STANDARD) ** 2, covariance(face, first)
        if second is None:
            slopes: tuple[float, ...] = (cov / variance,)
            explained = cov * cov / variance
        else:
            other, cov_other = max(second.standard, LEAST_STANDARD) ** 2, covariance(face, second)
            between = covariance(first, second)
            determinant = variance * other - between * between
            if determinant <= 1e-12 * variance * other:  # the two faces say the same: the nearer one is enough
                return cls((cov / variance, 0.0), cls.of(face, first).rest)
            slopes = (
                (cov * other - cov_other * between) / determinant,
                (cov_other * variance - cov * between) / determinant,
            )
            explained = slopes[0] * cov + slopes[1] * cov_other
        rest = math.sqrt(max(face.standard**2 - explained, 0.0))
        return cls(slopes, max(rest, LEAST_STANDARD))


def _between(mean: float, spread: float, low: float, high: float) -> float:
    """Return the chance that a normal value lies between two heights; 0 when ``low`` is above ``high``."""
    if not low < high:
        return 0.0
    spread = max(spread, LEAST_STANDARD)
    a, b = (low - mean) / spread, (high - mean) / spread
    # on the far side both chances are near 1: take them from the other end, so that no digits are lost
    return normal_chance(-a) - normal_chance(-b) if a > 0 else normal_chance(b) - normal_chance(a)


def _integral(f: Callable[[float], float], mean: float, spread: float, bounds: Bounds, marks: Iterable[float]) -> float:
    """Return the integral of ``f`` over a normal density inside the bounds; panels begin at the marks."""
    spread = max(spread, LEAST_STANDARD)
    a, b = _window((bounds.low - mean) / spread, (bounds.high - mean) / spread)
    if not a < b:
        return 0.0
    inside = sorted({a, b, *(t for t in ((m - mean) / spread for m in marks) if a < t < b)})
    total = 0.0
    for start, end in pairwise(inside):
        panels = math.ceil((end - start) / PANEL)
        half = 0.5 * (end - start) / panels
        for n in range(panels):
            middle = start + (2 * n + 1) * half
            for node, weight in _NODES:
                for t in (middle - node * half, middle + node * half):
                    total += weight * half * math.exp(-0.5 * t * t) * f(mean + spread * t)
    return total / math.sqrt(math.tau)


def _window(a: float, b: float) -> tuple[float, float]:
    """Return the part of ``a`` to ``b``, in spreads, that holds all but e^-40 of the mass of a normal density in it."""
    if b < 0.0:
        return max(a, -math.sqrt(b * b + 80.0)), b
    if a > 0.0:
        return a, min(b, math.sqrt(a * a + 80.0))
    return max(a, -FARTHEST), min(b, FARTHEST)


def _normal_scale(chance: float) -> float:
    """Return the normal deviate with this chance below it, within plus or minus the farthest spreads looked at."""
    least = normal_chance(-FARTHEST)
    return NormalDist().inv_cdf(min(max(chance, least), 1.0 - 1e-16))


def _highest(substrate: Estimate, face: Estimate, bounds: Bounds) -> float:
    """Return the highest substrate within all half-widths when ``face`` lies in the bounds, mm.

    A linear program in the errors with one range constraint. Its dual is a convex function of one multiplier that
    bends only where a share vanishes, so trying those places is exact.
    """
    shares = {term.name: (term.half_width, share, 0.0) for term, share in substrate.parts}
    for term, share in face.parts:
        half, of_substrate, _ = shares.get(term.name, (term.half_width, 0.0, 0.0))
        shares[term.name] = (half, of_substrate, share)

    def dual(multiplier: float) -> float:
        rest = sum(half * abs(s - multiplier * t) for half, s, t in shares.values())
        if multiplier == 0.0:
            return substrate.value + rest
        limit = bounds.high if multiplier > 0 else bounds.low
        return substrate.value + rest + multiplier * (limit - face.value)

    ratios = [s / t for _, s, t in shares.values() if t != 0.0]
    useful = [r for r in ratios if math.isfinite(bounds.high if r > 0 else bounds.low) and r != 0.0]
    return min(dual(option) for option in (0.0, *useful))


def _impossible() -> InputError:
    return InputError(
        "answers: what was seen cannot be with the stack as stated. Measure the stack and touch off again", key="answer"
    )
