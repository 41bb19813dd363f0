"""How sure the split into dry friction, oil and air is: from the laws that a recording allows."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray, Generator
from levelwind.core.quantities import Quantity
from levelwind.core.spin.fit import LawFit
from levelwind.core.spin.law import Law, energy_shares, speed_after, time_between
from levelwind.core.spin.law_posterior import drawn_laws

STRETCH, RISEN_STRETCH = 1.1, 1.6
"""Times as far from the middle as the draws say that intervals of shares, losses and power reach, and where the fit
needed a rise of friction, which need not be an exponential. Set on made coast-downs of two shapes:
docs/decisions/spin-intervals.md."""
_REACHES_END = 0.15
"""Widths. An interval that ends this near to an end of the range is taken to reach it. Our choice, so that "no oil at
all" is a possible answer."""
EARLY_STOP = 0.45
"""Part of the last turn's time by which an unbalance may bring the stop forward. Set on made sounds, so that stops are
held in 94 %: docs/decisions/spin-intervals.md."""
SETTLING = 0.02
"""Part of the last turn's time at one standard deviation by which any spool comes to rest sooner or later than its law.
Our choice: no spool keeps its law to the last hundredth of a turn."""
_EARLY_STOP_MOST = 0.3
"""Part of the whole time to rest that it may take off. Our choice: bounds it where the last turn is most of the run."""


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """Laws the recording allows, all equally likely, with the speed in rev/s each had at the first value."""

    law: Law
    start_rev_s: FloatArray

    def shares(self, end_s: float) -> FloatArray:
        """Energy shares from the first value to ``end_s`` seconds later, shaped (draws, 3)."""
        return energy_shares(self.law, self.start_rev_s, speed_after(self.law, self.start_rev_s, end_s))

    def middle(self, end_s: float) -> int:
        """Which draw lies nearest to the middle of all in power, shares and time to rest: its numbers are of one
        law."""
        rest = np.log(np.maximum(time_between(self.law, self.start_rev_s, 0.0), 1e-9))
        told = np.column_stack([self.start_rev_s, np.asarray(self.law.power), rest, self.shares(end_s)[:, :2]])
        low, middle, high = np.quantile(told, [0.05, 0.5, 0.95], axis=0)
        return int(np.argmin(np.sum(((told - middle) / np.maximum(high - low, 1e-12)) ** 2, axis=1)))

    def stops_after_s(self, rng: Generator, watched_s: float) -> FloatArray:
        """Seconds from the first value to rest, never before ``watched_s``.

        A spool out of balance settles somewhere in its last turn: half of the draws lose up to ``EARLY_STOP`` of its
        time. One that still moved where the law has it at rest creeps on for up to as long.
        """
        stops = time_between(self.law, self.start_rev_s, 0.0)
        settled, turn = settled_early(stops, self.law, rng.uniform(-1, 1, len(stops))), last_turn_s(self.law)
        settled = settled + SETTLING * turn * rng.normal(size=len(stops))
        creep = np.minimum(EARLY_STOP * turn, _EARLY_STOP_MOST * watched_s) * rng.random(len(stops))
        return np.where(settled > watched_s, settled, watched_s + creep)


def settled_early(stops_s: FloatArray, law: Law, spread: FloatArray) -> FloatArray:
    """Times to rest in s of spools out of balance, law by law; ``spread``: evenly from −1 to 1, below 0 in balance."""
    early = np.maximum(spread, 0) * last_turn_s(law) * EARLY_STOP
    return np.asarray(stops_s - np.minimum(early, _EARLY_STOP_MOST * stops_s))


def last_turn_s(law: Law) -> FloatArray:
    """Seconds that the last turn before rest takes, law by law, about: by dry friction alone."""
    return np.asarray(np.sqrt(2 / np.maximum(np.asarray(law.coefficients[0]), 1e-6)))


def draw_laws(fit: LawFit, rng: Generator) -> Draws:
    """Laws drawn from what the recording allows, power and friction near rest among what it leaves open."""
    return Draws(*drawn_laws(fit, rng))


def central_interval(draws: FloatArray, value: float | None = None) -> Quantity:
    """The middle 90 % of draws, about their median or about ``value`` where one is given.

    >>> central_interval(np.linspace(0.0, 1.0, 101))
    Quantity(value=0.5, low=0.05, high=0.95)
    """
    low, middle, high = (float(x) for x in np.quantile(draws, [0.05, 0.5, 0.95]))
    value = middle if value is None else float(value)
    return Quantity(value, min(low, value), max(high, value))


def cautious_interval(draws: FloatArray, value: float, stretch: float, most: float = np.inf) -> Quantity:
    """What holds both the middle 90 % and the shortest 90 % of draws between 0 and ``most``, ``stretch`` times as far
    from their median; about ``value``.

    >>> cautious_interval(np.linspace(0.3, 0.7, 101), 0.5, 1.1)
    Quantity(value=0.5, low=0.280, high=0.698)
    """
    middle, short = central_interval(draws), highest_density_interval(draws, most)
    centre = middle.value
    ends = min(middle.low, short.low), max(middle.high, short.high)
    low, high = (centre + stretch * (end - centre) for end in ends)
    low, high = 0.0 if short.low == 0.0 else max(low, 0.0), min(high, most)
    return Quantity(value, min(low, value), max(high, value))


def highest_density_interval(draws: FloatArray, most: float = np.inf) -> Quantity:
    """The shortest interval that holds 90 % of draws of something between 0 and ``most``, about their median.

    Unlike the middle 90 % it reaches an end of the range where the draws crowd there: no oil at all must be a possible
    answer.

    >>> highest_density_interval(np.linspace(0.0, 1.0, 1001) ** 2)
    Quantity(value=0.25, low=0.0, high=0.81)
    """
    ordered = np.sort(draws)
    inside = int(np.ceil(0.9 * len(ordered)))
    first = int(np.argmin(ordered[inside - 1 :] - ordered[: len(ordered) - inside + 1]))
    low, high = float(ordered[first]), float(ordered[first + inside - 1])
    near = _REACHES_END * (high - low)
    low, high = 0.0 if low < near else low, most if most - high < near else high
    return Quantity(float(np.clip(np.median(ordered), low, high)), low, high)
