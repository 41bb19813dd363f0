"""What a pull on the scale says about the friction of the washers behind it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from levelwind.core.drag import chain
from levelwind.core.drag.contacts import Contact
from levelwind.core.drag.draws import NORMAL_95, Generator, sampled
from levelwind.core.drag.model import Coefficient, Stack
from levelwind.core.drag.rings import Assumption, Floats
from levelwind.core.drag.torque import coefficient_draws, radii
from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.notes import Amount, Note, plain
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

GRID: Floats = np.geomspace(0.02, 1.0, 300)
"""Coefficients tried: below and above all that the tables have, their steps of 1.3 % finer than any reading. Our
choice."""

NUISANCES = 200
"""Draws of what a reading does not tell, averaged over: the middle then moves by less than a tenth of its interval. Our
choice."""

_SHARPEST = 0.01
"""No reading and no table is taken as surer than this share of itself, so that the grid can resolve it: our choice."""

_HARDLY_KNOWN = 2.0
"""High end over low end of a clamp force from which friction and clamp cannot be told apart: our choice."""

_LITTLE_NEWS = 0.8
"""A reading that leaves more than this share of the tables' width, in ratios, says little: our choice."""

_WELL_OUTSIDE = 1.5
"""So many times beyond the ends of the tables a reading is called well outside: our choice."""

LEAST_TO_TELL = 0.6
"""No condition is named that is less likely than this: our choice."""


@dataclass(frozen=True, slots=True)
class Inferred:
    """The coefficient a reading points to, and how likely each condition is that could have given it."""

    coefficient: Coefficient
    by_condition: dict[str, float]
    cautions: tuple[str, ...]

    @property
    def fits(self) -> str:
        """The likeliest condition."""
        return max(self.by_condition, key=self.by_condition.__getitem__)


def weighed(likely: Floats, priors: Mapping[str, Coefficient], clamp_N: Quantity) -> Inferred:
    """The lining's coefficient: what was known of it, weighed by how likely each coefficient makes the reading.

    ``priors`` gives what was known for each condition the lining may be in, all taken as equally likely; pass the
    coefficient of an earlier reading under one name to sharpen it further. Raises NotDeterminedError where no
    coefficient from 0.02 to 1 explains the reading.
    """
    if not priors:
        raise InputError("conditions", 0, "at least one with what is known of its friction")
    beliefs = {name: _density(prior.mu) for name, prior in priors.items()}
    evidence = {name: float(belief @ likely) for name, belief in beliefs.items()}
    total = sum(evidence.values())
    if not total > 1e-12:
        raise NotDeterminedError(
            "No coefficient of friction known for these washers gives this reading: check the clamp."
        )
    by_condition = {name: value / total for name, value in evidence.items()}
    posterior = likely * sum(beliefs.values()) / total
    mu = _middle_and_ends(posterior)
    best = priors[max(by_condition, key=by_condition.__getitem__)]
    found = Coefficient(mu, "the shop's own reading, on " + best.source)
    return Inferred(found, by_condition, _cautions(mu, float(GRID[np.argmax(likely)]), best.mu, clamp_N))


def likelihood(
    stack: Stack,
    contacts: Sequence[Contact],
    unknown: Sequence[int],
    torque_Nm: Quantity,
    clamp_N: Quantity,
    rng: Generator,
) -> Floats:
    """Chance of one reading of the stack's torque at each coefficient of ``GRID``, up to a factor, shape (300,).

    The coefficient is shared by the surfaces ``unknown``. Clamp force, the other coefficients, and whether the faces
    are new or run in are averaged over.
    """
    if not unknown or not set(unknown) <= {contact.index for contact in contacts if contact.carries}:
        raise InputError("surfaces to infer", tuple(unknown), "surfaces that carry drag")
    if torque_Nm.low <= 0:
        raise InputError("drag torque of the reading", f"{written(torque_Nm.low)} N m at its low end", "over 0")
    mu = np.repeat(coefficient_draws(contacts, rng, NUISANCES)[:, None, :], len(GRID), axis=1)
    mu[:, :, list(unknown)] = GRID[None, :, None]
    keys = [body.key_radius_m for body in stack.bodies]
    halves = np.split(mu, 2)
    per_N = [
        chain.torque_per_N(chain.sides(stack), half, *radii(contacts), assumption, stack.key_friction, keys)
        for half, assumption in zip(halves, Assumption, strict=True)
    ]
    expected = sampled(clamp_N, rng.standard_normal(NUISANCES))[:, None] * np.concatenate(per_N)
    return np.asarray(_bell(expected, torque_Nm).mean(axis=0))


def _density(mu: Quantity) -> Floats:
    """Log-normal density on the grid, each half with its own width, summing to 1."""
    density = _bell(GRID, mu)
    return np.asarray(density / density.sum())


def _bell(values: Floats, about: Quantity) -> Floats:
    """exp(-z^2 / 2) of values over 0 about a quantity, by ratios, each half with its own width; 1 at its middle."""
    off = np.log(np.maximum(values, 1e-300) / about.value)
    down, up = np.log(about.value / about.low), np.log(about.high / about.value)
    sigma = np.maximum(np.where(off < 0, np.full_like(off, down), up) / NORMAL_95, _SHARPEST)
    return np.asarray(np.exp(-0.5 * (off / sigma) ** 2))


def _middle_and_ends(posterior: Floats) -> Quantity:
    below = np.cumsum(posterior) / posterior.sum()
    low, middle, high = np.interp([0.05, 0.5, 0.95], below, GRID)
    return Quantity(float(middle), float(low), float(high))


def _cautions(mu: Quantity, alone: float, prior: Quantity, clamp_N: Quantity) -> tuple[str, ...]:
    """``alone`` is the coefficient the reading points to without any table."""
    said = []
    if clamp_N.high > _HARDLY_KNOWN * clamp_N.low:
        said.append("The clamp force is hardly known, so friction and clamp cannot be told apart.")
    if np.log(mu.high / mu.low) > _LITTLE_NEWS * np.log(prior.high / prior.low):
        said.append("This reading says little more than the tables do.")
    if not prior.low / _WELL_OUTSIDE <= alone <= prior.high * _WELL_OUTSIDE:
        said.append("The reading lies well outside what is known of this material: check the order and the clamp.")
    return tuple(said)


def in_a_sentence(found: Inferred, material: str) -> Note:
    """The reading's friction and condition, or that it does not tell which.

    >>> mu = Coefficient(Quantity(0.2, 0.18, 0.22), "the shop's own reading")
    >>> in_a_sentence(Inferred(mu, {"dry": 0.9, "oiled": 0.1}, ()), "felt").words()
    'The pull says friction 0.200 (0.180 to 0.220) for felt, as if dry (90 %).'
    """
    says, best = "The pull says friction {mu} for {material}", found.by_condition[found.fits]
    mu = Amount(found.coefficient.mu)
    if best < LEAST_TO_TELL:
        return Note.of("friction", says + "; it does not tell in which condition.", mu=mu, material=material)
    chance = plain(100 * best, "%", decimals=0)
    says += ", as if {condition} ({chance})."
    return Note.of("friction_as", says, mu=mu, material=material, condition=found.fits, chance=chance)


def remembered(found: Inferred, whose: str) -> Coefficient:
    """The coefficient with a name, to be kept for the shop's own parts.

    >>> found = Inferred(Coefficient(Quantity(0.2, 0.18, 0.22), "the shop's own reading"), {"dry": 1.0}, ())
    >>> remembered(found, "drag set 12").source
    "drag set 12, dry: the shop's own reading"
    """
    return replace(found.coefficient, source=f"{whose}, {found.fits}: {found.coefficient.source}")
