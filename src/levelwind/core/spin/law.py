"""The law of a spool running down: df/dt = −(dry + oil·f + air·f²), f in turns a second.

Coast-down of a body with constant, viscous and quadratic resistance. The law is a Riccati equation, so that one closed
form serves all five textbook cases (constant; constant with linear; constant with quadratic; full, with the sign of
4·dry·air − oil² above, below or at nought) without a seam between them:

    f(t) = (f₀ c(t) − (A + B f₀/2) s(t)) / (c(t) + (C f₀ + B/2) s(t))

with κ = A C − B²/4, c = cos(√κ t), s = sin(√κ t)/√κ, which turn into cosh and sinh where κ < 0 and into 1 and t where
it is nought. Derived in docs/physics/spin.md; checked against a solver of differential equations in tests/published.
A law whose dry friction rises towards rest has no closed form; it is integrated over speed by Simpson's rule.

Every function takes arrays that broadcast against one another; coefficients are not negative.
"""

from dataclasses import dataclass
from math import atan, log, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(40)
_NODES, _WEIGHTS = (_NODES + 1) / 2, _WEIGHTS / 2


@dataclass(frozen=True, slots=True, eq=False)
class Law:
    """What takes a spool's speed away; each a float, or an array of many laws at once."""

    dry_rev_s2: ArrayLike
    oil_per_s: ArrayLike
    air_per_rev: ArrayLike
    rise: float = 0.0
    """How much more dry friction there is at rest than at speed, as a part of it (Stribeck, 1902)."""
    rise_rev_s: float = 1.0
    """The speed at which that rise has fallen to 1/e."""

    def with_terms(self, dry: ArrayLike, oil: ArrayLike, air: ArrayLike) -> "Law":
        """Other terms, the same rise."""
        return Law(dry, oil, air, self.rise, self.rise_rev_s)

    @property
    def coefficients(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        dry, oil, air = (np.asarray(x, dtype=np.float64) for x in (self.dry_rev_s2, self.oil_per_s, self.air_per_rev))
        return dry, oil, air

    def loss(self, rev_s: ArrayLike) -> FloatArray:
        """−df/dt in rev/s² at a speed in rev/s.

        >>> float(Law(0.5, 0.05, 0.002).loss(20.0))
        2.3
        """
        dry, oil, air = self.coefficients
        f = np.asarray(rev_s, dtype=np.float64)
        return np.asarray(dry * self.risen(f) + oil * f + air * f * f)

    def risen(self, f: FloatArray) -> FloatArray:
        """How many times the dry friction at speed there is at f rev/s."""
        return 1 + self.rise * np.exp(-f / self.rise_rev_s) if self.rise else np.ones_like(f)


def speed_after(law: Law, start_rev_s: ArrayLike, seconds: ArrayLike) -> FloatArray:
    """Speed in rev/s, ``seconds`` after it was ``start_rev_s``; nought after the stop.

    Seconds may be negative: the speed before, infinite where the law allows none that early.

    >>> float(speed_after(Law(0.5, 0.05, 0.002), 20.0, 10.0))
    5.95
    """
    if law.rise:
        return _risen_after(law, start_rev_s, seconds)[0]
    dry, oil, air = law.coefficients
    start = np.asarray(start_rev_s, dtype=np.float64)
    t = np.minimum(np.asarray(seconds, dtype=np.float64), _to_rest(law, start))
    c, s = _c_and_s(dry * air - oil * oil / 4, t)
    below = c + (air * start + oil / 2) * s
    with np.errstate(divide="ignore", invalid="ignore"):
        speed = (start * c - (dry + oil * start / 2) * s) / below
    return np.asarray(np.where(below > 0, np.maximum(speed, 0.0), np.inf))


def time_between(law: Law, start_rev_s: ArrayLike, end_rev_s: ArrayLike) -> FloatArray:
    """Seconds from one speed down to another, both in rev/s: tan(√κ t)/√κ = (f₀ − f)/(A + B (f₀ + f)/2 + C f₀ f).

    Infinite down to nought where nothing is dry. Negative where the end is faster than the start.

    >>> float(time_between(Law(0.5, 0.05, 0.002), 20.0, 0.0))
    19.08
    """
    if law.rise:
        return _risen_time(law, start_rev_s, end_rev_s)
    dry, oil, air = law.coefficients
    start, end = (np.asarray(x, dtype=np.float64) for x in (start_rev_s, end_rev_s))
    kappa = dry * air - oil * oil / 4
    top, below = start - end, dry + oil * (start + end) / 2 + air * start * end
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        slope = np.where(top == 0, 0.0, top / below)
        small = kappa * slope * slope
        near = np.abs(small) < 1e-3
        turning = kappa > 0
        if turning.all() or near.all():
            taken = np.arctan(np.sqrt(np.abs(kappa)) * slope) / np.sqrt(np.abs(kappa))
        else:
            taken = _sinking(dry, oil, air, start, end)
            if turning.any():
                root = np.sqrt(np.abs(kappa))
                taken = np.where(turning, np.arctan(root * slope) / root, taken)
        if near.any():
            taken = np.where(near, slope * (1 - small / 3 + small**2 / 5 - small**3 / 7), taken)
    return np.asarray(taken)


def _to_rest(law: Law, start: FloatArray) -> FloatArray | float:
    """``time_between`` down to nought; of one law that is dry, by plain floats, as fits ask it a thousand times."""
    dry, oil, air = law.coefficients
    if dry.ndim or oil.ndim or air.ndim or start.ndim or not dry > 0:
        return time_between(law, start, 0.0)
    a, b, c, f = float(dry), float(oil), float(air), float(start)
    kappa, slope = a * c - b * b / 4, f / (a + b * f / 2)
    small, root = kappa * slope * slope, sqrt(abs(kappa))
    if abs(small) < 1e-3:
        return slope * (1 - small / 3 + small**2 / 5 - small**3 / 7)
    if kappa > 0:
        return atan(root * slope) / root
    more = b / 2 + root
    return log((a + more * f) / (a + a * c / more * f)) / (2 * root)


def _sinking(dry: FloatArray, oil: FloatArray, air: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """The time for κ < 0, as a logarithm in which nothing cancels."""
    root = np.sqrt(np.abs(dry * air - oil * oil / 4))
    more = oil / 2 + root
    # B/2 − √(B²/4 − AC)
    less = np.where(oil > 0, dry * air / np.maximum(more, 1e-300), 0.0)
    both = dry + air * start * end
    return np.asarray(np.log((both + more * start + less * end) / (both + less * start + more * end)) / (2 * root))


def turns_after(law: Law, start_rev_s: ArrayLike, seconds: ArrayLike) -> FloatArray:
    """Turns made ``seconds`` after the speed was ``start_rev_s``; they stay what they are after the stop.

    (ln(c + (C f₀ + B/2) s) − B t/2)/C, and where air hardly counts, which cancels, a series.

    >>> float(turns_after(Law(0.5, 0.05, 0.002), 20.0, 19.0773))
    143.00
    """
    if law.rise:
        return _risen_after(law, start_rev_s, seconds)[1]
    dry, oil, air = law.coefficients
    start = np.asarray(start_rev_s, dtype=np.float64)
    t = np.minimum(np.asarray(seconds, dtype=np.float64), _to_rest(law, start))
    straight = air * (start + dry * np.abs(t) + 1e-3) * np.abs(t) < 1e-5
    if np.all(straight):
        return _turns_straight(dry, oil, air, start, t)
    closed = _turns_closed(dry, oil, air, start, t)
    return np.where(straight, _turns_straight(dry, oil, air, start, t), closed) if np.any(straight) else closed


def turns_between(law: Law, start_rev_s: ArrayLike, end_rev_s: ArrayLike) -> FloatArray:
    """Turns from one speed down to another, both in rev/s.

    >>> float(turns_between(Law(0.5, 0.05, 0.002), 20.0, 0.0))
    143.00
    """
    return turns_after(law, start_rev_s, time_between(law, start_rev_s, end_rev_s))


def energy_shares(law: Law, start_rev_s: ArrayLike, end_rev_s: ArrayLike) -> FloatArray:
    """What part of the energy lost between two speeds went into dry friction, oil and air; shape (..., 3), sums to one.

    Of each term ∫ term(f) f dt = ∫ term(f) f df / loss(f), by a Gauss rule over speed.

    >>> energy_shares(Law(0.5, 0.05, 0.002), 20.0, 0.0).round(3)
    array([0.357, 0.414, 0.229])
    """
    dry, oil, air = (x[..., None] for x in law.coefficients)
    start, end = (np.asarray(x, dtype=np.float64)[..., None] for x in (start_rev_s, end_rev_s))
    f = end + (start - end) * _NODES
    terms = (dry * law.risen(f), oil * f, air * f * f)
    weight = _WEIGHTS * f / np.maximum(sum(terms), 1e-300)
    parts = np.stack([(weight * term).sum(-1) for term in terms], axis=-1)
    return np.asarray(parts / parts.sum(-1, keepdims=True))


def _c_and_s(kappa: FloatArray, t: FloatArray) -> tuple[FloatArray, FloatArray]:
    """cos(√κ t) and sin(√κ t)/√κ, smooth through κ = 0."""
    root = np.sqrt(np.abs(kappa))
    angle = root * t
    safe = np.where(root > 0, root, 1.0)
    turning = kappa >= 0
    if turning.all():
        c, s = np.cos(angle), np.sin(angle) / safe
    else:
        # one exponential is quicker than both hyperbolic functions; where the sine would cancel, the series below does
        up = np.exp(np.clip(angle, -300.0, 300.0))
        down = 1 / up
        c, s = (up + down) / 2, (up - down) / (2 * safe)
        if turning.any():
            c, s = np.where(turning, np.cos(angle), c), np.where(turning, np.sin(angle) / safe, s)
    z = kappa * t * t
    small = np.abs(z) < 1e-5
    return c, np.where(small, t * (1 - z / 6 + z * z / 120), s) if small.any() else s


def _turns_closed(dry: FloatArray, oil: FloatArray, air: FloatArray, start: FloatArray, t: FloatArray) -> FloatArray:
    c, s = _c_and_s(dry * air - oil * oil / 4, t)
    with np.errstate(invalid="ignore", divide="ignore"):
        below = c + (air * start + oil / 2) * s
        return np.asarray(np.where(below > 0, (np.log(below) - oil * t / 2) / air, -np.inf))


def _turns_straight(dry: FloatArray, oil: FloatArray, air: FloatArray, start: FloatArray, t: FloatArray) -> FloatArray:
    """ln(1 + C w)/C as a series, where w = f₀ u − A v, u = exp(−B t/2) s and v its integral over time.

    u and v are divided differences of exp at 0, −p t and −q t, with p + q = B and p q = A C; they too are series where
    these are small.
    """
    root = np.sqrt(np.maximum(oil * oil / 4 - dry * air, 0.0))
    q = oil / 2 + root
    fast = np.maximum(q, 1e-300)
    slow, apart = np.maximum(dry * air / fast, 1e-300), np.maximum(2 * root, 1e-300)
    bt, act = oil * t, dry * air * t * t
    first, second, third = bt, bt * bt - act, bt * (bt * bt - 2 * act)
    fourth = bt * third - act * second
    near_u = t * (1 - first / 2 + second / 6 - third / 24 + fourth / 120)
    near_v = t * t * (1 / 2 - first / 6 + second / 24 - third / 120 + fourth / 720)
    with np.errstate(over="ignore", invalid="ignore"):  # of laws that are not straight, whose turns are not taken
        gone_slow, gone_fast = -np.expm1(-slow * t), -np.expm1(-fast * t)
        far_u, far_v = (gone_fast - gone_slow) / apart, (gone_slow / slow - gone_fast / fast) / apart
        near = np.abs(bt) < 0.02
        w = start * np.where(near, near_u, far_u) - dry * np.where(near, near_v, far_v)
        z = air * w
        return np.asarray(w * (1 - z * (1 / 2 - z * (1 / 3 - z / 4))))


_GRID = np.linspace(1.0, 0.0, 101) ** 1.5


def _risen_after(law: Law, start_rev_s: ArrayLike, seconds: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Speed and turns of a law that rises: between the times at which each of a grid of speeds is reached, by cubics.

    Before the start, where the spool is fast, the plain law does.
    """
    t = np.asarray(seconds, dtype=np.float64)
    starts = np.broadcast_arrays(*(np.atleast_1d(np.squeeze(x)) for x in (*law.coefficients, np.asarray(start_rev_s))))
    f = np.asarray(starts[3], dtype=np.float64)[:, None] * _GRID
    one = law.with_terms(starts[0][:, None], starts[1][:, None], starts[2][:, None])
    loss, times, turns = _reached(one, f)
    shape = np.broadcast_shapes(t.shape, *(np.shape(x) for x in (*law.coefficients, start_rev_s)))
    rows = np.broadcast_to(t, shape).reshape(len(f), -1)
    k = np.arange(len(f))[:, None]
    i = np.stack([np.searchsorted(time, row) for time, row in zip(times, rows, strict=True)])
    i = np.clip(i - 1, 0, f.shape[1] - 2)
    begun, size = times[k, i], times[k, i + 1] - times[k, i]
    part = (np.minimum(rows, times[:, -1:]) - begun) / size
    first, last, fall, fall_last = f[k, i], f[k, i + 1], -loss[k, i] * size, -loss[k, i + 1] * size
    square, cube = 3 * (last - first) - 2 * fall - fall_last, 2 * (first - last) + fall + fall_last
    speed = np.maximum(first + part * (fall + part * (square + part * cube)), 0.0)
    made = turns[k, i] + size * part * (first + part * (fall / 2 + part * (square / 3 + part * cube / 4)))
    early = rows < 0
    if early.any():
        terms = [np.broadcast_to(x[:, None], rows.shape)[early] for x in starts]
        plain = Law(terms[0], terms[1], terms[2])
        speed[early], made[early] = (each(plain, terms[3], rows[early]) for each in (speed_after, turns_after))
    return speed.reshape(shape), made.reshape(shape)


def _reached(law: Law, f: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The loss at speeds that fall along each row, the time taken to each and the turns made, by Simpson's rule."""
    middle = (f[:, 1:] + f[:, :-1]) / 2
    loss, middle_loss = law.loss(f), law.loss(middle)
    summed = []
    for ends, middles in ((1 / loss, 1 / middle_loss), (f / loss, middle / middle_loss)):
        pieces = -np.diff(f) * (ends[:, 1:] + 4 * middles + ends[:, :-1]) / 6
        summed.append(np.concatenate([np.zeros((len(f), 1)), np.cumsum(pieces, axis=1)], axis=1))
    return loss, summed[0], summed[1]


def _risen_time(law: Law, start_rev_s: ArrayLike, end_rev_s: ArrayLike) -> FloatArray:
    """∫ df / loss from the end to the start, by a Gauss rule."""
    dry, oil, air = (x[..., None] for x in law.coefficients)
    start, end = (np.asarray(x, dtype=np.float64)[..., None] for x in (start_rev_s, end_rev_s))
    pace = 1 / law.with_terms(dry, oil, air).loss(end + (start - end) * _NODES)
    return np.asarray((pace * _WEIGHTS * (start - end)).sum(axis=-1))
