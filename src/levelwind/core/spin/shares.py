"""How sure the split into dry friction, oil and air is: laws drawn from all that the recording allows.

Importance sampling with a prior that is flat over coefficients not below 0, which, the energy lost being known, is
flat over the shares. Draws come from the fit's own normal distribution, cut off at 0, and are weighted by their
likelihood.

A real spool need not keep to the law: dry friction may rise as it comes to rest (Stribeck, 1902). A second family of
draws allows for that, and the two are mixed in proportion to their evidence.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from levelwind.core.fitting import NINETY, FloatArray, Generator
from levelwind.core.quantities import Quantity
from levelwind.core.spin.fit import STRIBECK_SPEEDS_REV_S, LawFit
from levelwind.core.spin.fit_solver import Observable, jacobian, unknowns_of
from levelwind.core.spin.law import Law, energy_shares, speed_after, time_between, turns_after
from levelwind.core.spin.truncated_normal import LEAST_UNKNOWNS, truncated_normal

DRAWS = 1500
"""Laws drawn. Our choice: the ends of a 90 % interval then vary by some 2 % of its width from dice to dice."""
STRIBECK_STRETCH = 1.6
"""Draws are spread about their median by this factor where the fit needed a Stribeck term. Set on made recordings:
docs/decisions/spin-intervals.md."""
MOST_BLOCKS = 160
"""Neighbouring values are averaged to at most this many, as a likelihood costs the cube of their number. Our choice."""
_REACHES_END = 0.15
"""Widths. An interval that ends this near to an end of the range is taken to reach it. Our choice, so that "no oil at
all" is a possible answer."""

UNBALANCE = 0.3
"""How large an unbalance's pull is, in parts of the dry friction, at one standard deviation. Our choice: no measurement
of a reel (docs/decisions/spin-intervals.md)."""
EARLY_STOP = 0.45
"""Part of the last turn's time by which an unbalance may bring the stop forward. Set on made sounds, so that stops are
held in 94 %: docs/decisions/spin-intervals.md."""
_EARLY_STOP_MOST = 0.3
"""Part of the whole time to rest that it may take off. Our choice: bounds it where the last turn is most of the run."""
STRIBECK_SIZE, STRIBECK_SIZE_MORE = 0.35, 1.0
"""How large a Stribeck term is, in parts of the dry friction, at one standard deviation, and by how many times a fitted
one that grows, as its shape is a guess. Our choice: no measurement of a reel (docs/decisions/spin-intervals.md)."""

_LEAST_SPARE = 3.0
"""Degrees of freedom that Student's factor is taken for at the least: with fewer it grows without bound. Our choice."""
_FINEST = 1e-6
"""Part of its own range that no recording is finer than. Our choice: keeps exact tables from making a likelihood of
zero width."""
_PROPOSAL_WIDTH = 1.25
"""How much wider than the fit's the normal distribution is that draws come from, so that no tail is missed. Our
choice."""
_UNBALANCE_REV_S, _UNBALANCE_TURNS = 0.3, 0.1
"""rev/s and turns: below this speed an unbalance's effect is taken as at this speed, and it is never larger than this.
Our choice: where it would be, the spool no longer turns whole turns."""
_STRIBECK_POINTS = 800
"""Speeds over which the effect of a Stribeck term is summed. Our choice: the step is far below its own speeds."""
_FREE = 1e4
"""Standard deviations, of the least sure value, that a free column's coefficient may take: as good as any. Our
choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """Laws the recording allows, all equally likely, with the speed in rev/s each had at the first value."""

    law: Law
    start_rev_s: FloatArray

    def shares(self, end_s: float) -> FloatArray:
        """Energy shares from the first value to ``end_s`` seconds later, shaped (draws, 3)."""
        return energy_shares(self.law, self.start_rev_s, speed_after(self.law, self.start_rev_s, end_s))

    def stops_after_s(self, rng: Generator, watched_s: float) -> FloatArray:
        """Seconds from the first value to rest, never before ``watched_s``.

        A spool out of balance settles somewhere in its last turn: half of the draws lose up to ``EARLY_STOP`` of its
        time.
        """
        stops = time_between(self.law, self.start_rev_s, 0.0)
        return np.maximum(settled_early(stops, self.law, rng.uniform(-1, 1, len(stops))), watched_s)


def settled_early(stops_s: FloatArray, law: Law, spread: FloatArray) -> FloatArray:
    """Times to rest in s of spools out of balance, law by law; ``spread``: evenly from −1 to 1, below 0 in balance."""
    last_turn = np.sqrt(2 / np.maximum(np.asarray(law.coefficients[0]), 1e-6))
    early = np.maximum(spread, 0) * last_turn * EARLY_STOP
    return np.asarray(stops_s - np.minimum(early, _EARLY_STOP_MOST * stops_s))


def draw_laws(fit: LawFit, rng: Generator) -> Draws:
    """Laws drawn from what the recording allows: with a Stribeck term in all of them where the fit has one, else in as
    many as the evidence for it says.
    """
    blocks = _blocks(fit)
    stribeck = _stribeck_columns(fit, blocks.seconds)
    families = [_Family(blocks, np.column_stack([blocks.common_errors, stribeck]))]
    if not fit.law.stribeck:
        families.append(_Family(blocks, blocks.common_errors))
    evidence = np.array([family.log_evidence for family in families])
    parts = np.exp(evidence - evidence.max())
    counts = np.round(DRAWS * parts / parts.sum()).astype(int)
    drawn = [family.draw(rng, count) for family, count in zip(families, counts, strict=True) if count]
    unknowns = np.concatenate(drawn)
    if fit.law.stribeck:
        middle = np.median(unknowns, axis=0)
        unknowns = np.maximum(middle + STRIBECK_STRETCH * (unknowns - middle), LEAST_UNKNOWNS)
    return Draws(fit.law.with_coefficients(*(unknowns[:, i] for i in (1, 2, 3))), unknowns[:, 0])


def central_interval(draws: FloatArray, value: float | None = None) -> Quantity:
    """The middle 90 % of draws, about their median or about ``value`` where one is given.

    >>> central_interval(np.linspace(0.0, 1.0, 101))
    Quantity(value=0.5, low=0.05, high=0.95)
    """
    low, middle, high = (float(x) for x in np.quantile(draws, [0.05, 0.5, 0.95]))
    value = middle if value is None else float(value)
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


@dataclass(frozen=True, slots=True, eq=False)
class _Blocks:
    """Neighbouring values averaged, shape (blocks,): residuals, their deviations, and what the fitted law predicts."""

    seconds: FloatArray
    residuals: FloatArray
    sigma: FloatArray
    free: FloatArray
    """Columns that may take any coefficient, shape (blocks, columns): the offset and the fit's own extras."""
    common_errors: FloatArray
    """Shape (blocks, errors)."""
    unknowns: FloatArray
    """Start speed, dry, oil and air of the fit."""
    law: Law
    predicted: FloatArray
    observable: Observable


def _blocks(fit: LawFit) -> _Blocks:
    n = len(fit.time_s)
    where = np.arange(n) * min(MOST_BLOCKS, n) // n
    weight = 1 / fit.sigma**2
    total = np.bincount(where, weight)

    def mean(x: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(where, weight * x) / total)

    seconds = mean(fit.time_s - fit.start_s)
    none = np.empty((len(total), 0))
    free = np.column_stack([none, *(mean(column) for column in fit.linear_columns.T)])
    shared = (*fit.common_errors.T, *_unbalance_columns(fit).T)
    common_errors = np.column_stack([none, *(mean(column) for column in shared)])
    predicted = fit.observable(fit.law, fit.start_rev_s, seconds)
    sigma = np.sqrt(max(fit.correlation_length, 1.0) / total) * _student_factor(fit)
    sigma = np.maximum(sigma, _FINEST * float(np.ptp(predicted)))
    unknowns = unknowns_of(fit.start_rev_s, fit.law)
    return _Blocks(
        seconds, mean(fit.residuals), sigma, free, common_errors, unknowns, fit.law, predicted, fit.observable
    )


def _student_factor(fit: LawFit) -> float:
    """By how much to widen deviations, as few independent residuals tell their own size badly.

    Student's 90 % over the normal distribution's.
    """
    spare = len(fit.time_s) / max(fit.correlation_length, 1.0) - 4 - fit.linear_columns.shape[1]
    return float(stdtrit(max(spare, _LEAST_SPARE), 0.95)) / NINETY


def _unbalance_columns(fit: LawFit) -> FloatArray:
    """How an unbalance of ``UNBALANCE`` moves the phase within each turn, shape (values, 2): its pull over (2π f)².

    Sine and cosine, as nobody knows where on the spool the weight sits.
    """
    if fit.observable is not turns_after:
        return np.empty((len(fit.time_s), 0))
    speed = np.maximum(fit.speed(fit.time_s), _UNBALANCE_REV_S)
    size = UNBALANCE * float(fit.law.coefficients[0]) / (2 * np.pi * speed) ** 2
    size = np.minimum(size, _UNBALANCE_TURNS)
    angle = 2 * np.pi * fit.phase(fit.time_s)
    return np.column_stack([size * np.cos(angle), size * np.sin(angle)])


def _stribeck_columns(fit: LawFit, seconds: FloatArray) -> FloatArray:
    """How a Stribeck term of ``STRIBECK_SIZE`` moves what was observed, to first order, for each of its speeds.

    Shape (seconds, speeds). With loss P(f) and its change g(f), time and turns down to f change by −∫ g/P² df and
    −∫ f g/P² df.
    """
    dry = float(fit.law.coefficients[0])
    lowest = max(fit.end_rev_s, 1e-3 * fit.start_rev_s)
    f = np.linspace(fit.start_rev_s, min(lowest, 0.999 * fit.start_rev_s), _STRIBECK_POINTS)
    speed = np.clip(speed_after(fit.law, fit.start_rev_s, seconds), f[-1], f[0])
    step, loss = -np.diff(f), fit.law.loss(f)
    columns = []
    for of in STRIBECK_SPEEDS_REV_S:
        term = STRIBECK_SIZE + STRIBECK_SIZE_MORE * fit.law.stribeck
        change = term * max(dry, 1e-6) * np.exp(-f / of) / loss**2
        time, turns = (np.concatenate([[0.0], -np.cumsum((y[1:] + y[:-1]) / 2 * step)]) for y in (change, change * f))
        moved = turns - f * time if fit.observable is turns_after else loss * time
        columns.append(np.interp(-speed, -f, moved))
    return np.column_stack(columns)


class _Family:
    """The likelihood of the values under the law with some common errors allowed, and its normal approximation.

    The common errors are normal with known size, so that they only add to the covariance of the values (they are
    integrated out). Everything is then whitened by that covariance's Cholesky root.
    """

    def __init__(self, blocks: _Blocks, common_errors: FloatArray) -> None:
        self.blocks = blocks
        size = np.maximum(np.abs(blocks.free).max(0, initial=0.0), 1e-12)
        free = blocks.free * (_FREE * float(np.max(blocks.sigma)) / size)
        covariance = np.diag(blocks.sigma**2) + common_errors @ common_errors.T + free @ free.T
        self.root = np.linalg.cholesky(covariance)
        slopes = jacobian(blocks.law, float(blocks.unknowns[0]), blocks.seconds, blocks.observable)[:, :4]
        moves, left = self._whiten(slopes), self._whiten(blocks.residuals[:, None])[:, 0]
        self.scale = 1 / np.maximum(np.sqrt(np.sum(moves**2, axis=0)), 1e-300)
        q, r = np.linalg.qr(moves * self.scale)
        r = r + np.eye(4) * 1e-9 * np.abs(np.diag(r)).max()
        step = np.linalg.solve(r, q.T @ left)
        self.middle = blocks.unknowns + step * self.scale
        self.spread = np.linalg.inv(r) * self.scale[:, None]
        """Turns standard normal draws into moves of the unknowns, shape (4, 4)."""
        misfit = float(np.sum((left - q @ (q.T @ left)) ** 2))
        volume = float(np.sum(np.log(np.abs(np.diag(r)))) - np.sum(np.log(self.scale)))
        self.log_evidence = -misfit / 2 - volume - float(np.sum(np.log(np.diag(self.root))))

    def draw(self, rng: Generator, count: int) -> FloatArray:
        """Unknowns, shape (count, 4): from a wider normal distribution, picked again by their likelihood over its."""
        spread = self.spread * _PROPOSAL_WIDTH
        normal = truncated_normal(self.middle, spread, self.blocks.unknowns, rng, count)
        unknowns = self.middle + normal @ spread.T
        weight = self._log_likelihood(unknowns) + np.sum(normal**2, axis=1) / 2
        weight = np.exp(weight - weight.max())
        return np.asarray(unknowns[rng.choice(count, count, p=weight / weight.sum())])

    def _log_likelihood(self, unknowns: FloatArray) -> FloatArray:
        start, dry, oil, air = (unknowns[:, i : i + 1] for i in range(4))
        law = self.blocks.law.with_coefficients(dry, oil, air)
        predicted = self.blocks.observable(law, start, self.blocks.seconds)
        left = self._whiten((self.blocks.residuals + self.blocks.predicted - predicted).T)
        return np.asarray(-np.sum(left**2, axis=0) / 2)

    def _whiten(self, columns: FloatArray) -> FloatArray:
        return np.asarray(np.linalg.solve(self.root, columns))
