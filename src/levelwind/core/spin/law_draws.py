"""The laws that one recording allows, as a result keeps them: what any two speeds would say, draw by draw."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from levelwind.core.errors import InputError
from levelwind.core.fitting import FloatArray
from levelwind.core.spin.law import Law, energy_shares, time_between

KEPT = 400
"""Draws that a result keeps. Our choice: a quantile at 5 % then stands on twenty draws, and a book grows by some
20 kB a spin."""
_FIGURES = 6
"""Figures each number is kept with: a law is never known to a millionth."""


@dataclass(frozen=True, slots=True)
class LawDraws:
    """Laws drawn from all that a recording allows, all equally likely; draw k is the k-th number of every column.

    >>> one, none = (1.0, 1.0), (0.0, 0.0)
    >>> draws = LawDraws((20.0, 20.1), (0.5, 0.6), (0.05, 0.04), (0.002, 0.002), one, none, one, 20.0)
    >>> draws.seconds(20.0, 0.0).round(2)
    array([19.08, 18.2 ])
    >>> draws.energy_shares(20.0, 5.0).round(2)
    array([[0.33, 0.43, 0.24],
           [0.4 , 0.35, 0.25]])
    """

    start_rev_s: tuple[float, ...]
    """Speed at the spin's ``start_s``."""
    dry_rev_s2: tuple[float, ...]
    oil_per_s: tuple[float, ...]
    air_per_rev: tuple[float, ...]
    power: tuple[float, ...]
    stribeck: tuple[float, ...]
    stribeck_rev_s: tuple[float, ...]
    reference_rev_s: float
    """n₀ of every draw's oil term (``Law``)."""

    def __post_init__(self) -> None:
        counts = [len(column) for column in (self.start_rev_s, *self._columns)]
        if len(set(counts)) != 1 or not counts[0]:
            raise InputError("draws of a law", counts, "as many of each number, one at least")

    @classmethod
    def of(cls, law: Law, start_rev_s: FloatArray, most: int = KEPT) -> "LawDraws":
        """At most so many of the laws drawn, evenly picked; each number of ``law`` has the shape of ``start_rev_s``."""
        some = np.unique(np.linspace(0, len(start_rev_s) - 1, min(most, len(start_rev_s))).astype(int))
        reference = float(np.ravel(law.reference_rev_s)[0])

        def kept(values: ArrayLike) -> tuple[float, ...]:
            picked = np.broadcast_to(np.asarray(values, dtype=np.float64), start_rev_s.shape)[some]
            return tuple(float(f"{x:.{_FIGURES}g}") for x in picked)

        return cls(
            start_rev_s=kept(start_rev_s),
            dry_rev_s2=kept(law.dry_rev_s2),
            oil_per_s=kept(law.oil_per_s),
            air_per_rev=kept(law.air_per_rev),
            power=kept(law.power),
            stribeck=kept(law.stribeck),
            stribeck_rev_s=kept(law.stribeck_rev_s),
            reference_rev_s=reference,
        )

    @property
    def _columns(self) -> tuple[tuple[float, ...], ...]:
        return (
            self.dry_rev_s2,
            self.oil_per_s,
            self.air_per_rev,
            self.stribeck,
            self.stribeck_rev_s,
            self.power,
        )

    @property
    def law(self) -> Law:
        """All draws as one law of arrays, each (draws,)."""
        dry, oil, air, stribeck, speed, power = (np.array(column) for column in self._columns)
        return Law(dry, oil, air, stribeck, speed, power, self.reference_rev_s)

    def seconds(self, from_rev_s: ArrayLike, to_rev_s: ArrayLike) -> FloatArray:
        """The time each draw takes from one speed in rev/s down to another, shape (draws,)."""
        return time_between(self.law, from_rev_s, to_rev_s)

    def energy_shares(self, from_rev_s: ArrayLike, to_rev_s: ArrayLike) -> FloatArray:
        """Parts of the energy lost between two speeds in rev/s: dry friction, oil, air; shape (draws, 3)."""
        return energy_shares(self.law, from_rev_s, to_rev_s)
