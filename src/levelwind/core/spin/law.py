"""The law of a spool running down: df/dt = −(dry + oil·f·(f/n₀)^(power − 1) + air·f²), f in turns a second.

With a power of 1 the oil's term is oil·f, whatever n₀ is.

Coast-down of a body with constant, viscous and quadratic resistance. The law is a Riccati equation, so that one closed
form serves all five textbook cases (constant; constant with linear; constant with quadratic; full, with
4·dry·air − oil² positive, negative or zero) without a jump between them:

    f(t) = (f₀ c(t) − (A + B f₀/2) s(t)) / (c(t) + (C f₀ + B/2) s(t))

with A, B, C for dry, oil and air, κ = A C − B²/4, c = cos(√κ t), s = sin(√κ t)/√κ. For κ < 0 these become cosh and
sinh, for κ = 0 they are 1 and t. Derived in docs/physics/spin.md; checked against a solver of differential equations in
tests/published. A law with another power, or with a Stribeck term (dry friction that rises towards rest), has no closed
form; it is integrated over speed (``law_tables``).

Every function takes arrays that broadcast against one another; coefficients are not negative.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from math import atan, log, sqrt

import numpy as np
from numpy.typing import ArrayLike

from levelwind.core.fitting import FloatArray
from levelwind.core.spin.law_tables import gauss_integral, gauss_speeds, tabled

_ARCTAN_SERIES = 1e-3
"""Below this |κ| slope² four terms of the series of arctan leave an error under 1e-13; the closed form would divide
nothing by nothing at κ = 0."""
_SINE_SERIES = 1e-5
"""Below this |κ| t² three terms of the series of sine leave an error under 1e-18; the difference of two exponentials
would cancel."""
_SMALL_AIR = 1e-5
"""Below this air · turns, the turns come from a series in air: the closed form divides by air."""
_EXP_SERIES = 0.02
"""Below this oil · t the divided differences of exp are taken from five terms of their series (error under 1e-10)."""


@dataclass(frozen=True, slots=True, eq=False)
class Law:
    """What takes a spool's speed away; each a float, or an array of many laws at once."""

    dry_rev_s2: ArrayLike
    oil_per_s: ArrayLike
    air_per_rev: ArrayLike
    stribeck: float | FloatArray = 0.0
    """How much more dry friction there is at rest than at speed, as a part of it (R. Stribeck, Zeitschrift des VDI 46,
    1902, p. 1341; from memory): the loss to dry friction at f is dry · (1 + stribeck · exp(−f/stribeck_rev_s))."""
    stribeck_rev_s: float | FloatArray = 1.0
    """The speed in rev/s at which that excess has fallen to 1/e."""
    power: float | FloatArray = 1.0
    """Of the speed, to which the oil's drag goes: 1 for a film sheared between smooth faces (N. Petroff, 1883), 2/3 for
    a rolling bearing's (A. Palmgren; both from memory, docs/physics/spin.md)."""
    reference_rev_s: float | FloatArray = 1.0
    """n₀, the speed in rev/s at which oil of every power takes oil·n₀."""

    def with_coefficients(self, dry: ArrayLike, oil: ArrayLike, air: ArrayLike) -> "Law":
        """Other coefficients, the same power and Stribeck term."""
        return replace(self, dry_rev_s2=dry, oil_per_s=oil, air_per_rev=air)

    def each(self, change: Callable[[FloatArray], FloatArray]) -> "Law":
        """All numbers of the law changed alike: reshaped, or some of many laws picked."""
        return Law(*(change(np.asarray(getattr(self, part.name), dtype=np.float64)) for part in fields(self)))

    def turning(self, times: float) -> "Law":
        """The law of something that turns ``times`` as fast: of a spool, from that of its ticks.

        >>> Law(6.0, 0.05, 0.001).turning(0.5).coefficients
        (array(3.), array(0.05), array(0.002))
        """
        dry, oil, air = self.coefficients
        fast, reference = (np.asarray(x) * times for x in (self.stribeck_rev_s, self.reference_rev_s))
        return Law(dry * times, oil, air / times, self.stribeck, fast, self.power, reference)

    def referred_to(self, rev_s: float) -> "Law":
        """The same law with another n₀.

        >>> float(Law(0.5, 0.05, 0.0, power=0.5, reference_rev_s=20.0).referred_to(5.0).oil_per_s)
        0.1
        """
        reference = np.asarray(self.reference_rev_s, dtype=np.float64)
        oil = np.asarray(self.oil_per_s) * (rev_s / reference) ** (np.asarray(self.power) - 1)
        return replace(self, oil_per_s=oil, reference_rev_s=rev_s)

    @property
    def coefficients(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        dry, oil, air = (np.asarray(x, dtype=np.float64) for x in (self.dry_rev_s2, self.oil_per_s, self.air_per_rev))
        return dry, oil, air

    @property
    def closed(self) -> bool:
        """Whether the closed forms are its: power 1, no Stribeck term."""
        return not np.any(self.stribeck) and bool(np.all(np.equal(self.power, 1.0)))

    def loss(self, rev_s: ArrayLike) -> FloatArray:
        """−df/dt in rev/s² at a speed in rev/s.

        >>> float(Law(0.5, 0.05, 0.002).loss(20.0)), float(Law(0.5, 0.05, 0.0, power=0.5, reference_rev_s=20).loss(5.0))
        (2.3, 1.0)
        """
        dry, oil, air = self.terms(np.asarray(rev_s, dtype=np.float64))
        return np.asarray(dry + oil + air)

    def terms(self, f: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The loss to dry friction, oil and air, in rev/s², at f rev/s."""
        dry, oil, air = self.coefficients
        return np.asarray(dry * self.stribeck_factor(f)), np.asarray(oil * self.oil_speed(f)), np.asarray(air * f * f)

    def stribeck_factor(self, f: FloatArray) -> FloatArray:
        """Dry friction at f rev/s over that of a fast spool."""
        if not np.any(self.stribeck):
            return np.ones_like(f)
        return np.asarray(1 + self.stribeck * np.exp(-f / np.asarray(self.stribeck_rev_s)))

    def oil_speed(self, f: FloatArray) -> FloatArray:
        """What oil is multiplied by at f rev/s: f at power 1, n₀ (f/n₀)^power else."""
        if np.all(np.equal(self.power, 1.0)):
            return f
        return np.asarray(self.reference_rev_s * np.maximum(f / self.reference_rev_s, 0.0) ** self.power)


def speed_after(law: Law, start_rev_s: ArrayLike, seconds: ArrayLike) -> FloatArray:
    """Speed in rev/s, ``seconds`` after it was ``start_rev_s``; 0 after the stop.

    Seconds may be negative: the speed before; infinite where no finite speed is possible that early.

    >>> float(speed_after(Law(0.5, 0.05, 0.002), 20.0, 10.0))
    5.95
    """
    if not law.closed:
        return _tabled_after(law, start_rev_s, seconds)[0]
    dry, oil, air = law.coefficients
    start = np.asarray(start_rev_s, dtype=np.float64)
    t = np.minimum(np.asarray(seconds, dtype=np.float64), _time_to_rest(law, start))
    c, s = _c_and_s(dry * air - oil * oil / 4, t)
    below = c + (air * start + oil / 2) * s
    with np.errstate(divide="ignore", invalid="ignore"):
        speed = (start * c - (dry + oil * start / 2) * s) / below
    return np.asarray(np.where(below > 0, np.maximum(speed, 0.0), np.inf))


def time_between(law: Law, start_rev_s: ArrayLike, end_rev_s: ArrayLike) -> FloatArray:
    """Seconds from one speed down to another, both in rev/s: tan(√κ t)/√κ = (f₀ − f)/(A + B (f₀ + f)/2 + C f₀ f).

    Infinite down to 0 where there is no dry friction. Negative where the end is faster than the start.

    >>> float(time_between(Law(0.5, 0.05, 0.002), 20.0, 0.0))
    19.08
    """
    if not law.closed:
        start, end = (np.asarray(x, dtype=np.float64)[..., None] for x in (start_rev_s, end_rev_s))
        f = gauss_speeds(start, end)
        return gauss_integral(1 / np.maximum(law.each(_column).loss(f), 1e-300), start, end)
    dry, oil, air = law.coefficients
    start, end = (np.asarray(x, dtype=np.float64) for x in (start_rev_s, end_rev_s))
    kappa = dry * air - oil * oil / 4
    top, below = start - end, dry + oil * (start + end) / 2 + air * start * end
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        slope = np.where(top == 0, 0.0, top / below)
        small = kappa * slope * slope
        near_zero = np.abs(small) < _ARCTAN_SERIES
        positive = kappa > 0
        if positive.all() or near_zero.all():
            taken = np.arctan(np.sqrt(np.abs(kappa)) * slope) / np.sqrt(np.abs(kappa))
        else:
            taken = _hyperbolic_time(dry, oil, air, start, end)
            if positive.any():
                root = np.sqrt(np.abs(kappa))
                taken = np.where(positive, np.arctan(root * slope) / root, taken)
        if near_zero.any():
            taken = np.where(near_zero, slope * _arctan_series(small), taken)
    return np.asarray(taken)


def _arctan_series(z: FloatArray | float) -> FloatArray | float:
    """arctan(√z)/√z, for z < 0 artanh(√−z)/√−z, where z is small."""
    return 1 - z / 3 + z**2 / 5 - z**3 / 7


def _time_to_rest(law: Law, start: FloatArray) -> FloatArray | float:
    """``time_between`` down to 0.

    One law with dry friction goes by plain floats: a fit asks for it a thousand times, and arrays of one are slow.
    """
    dry, oil, air = law.coefficients
    if dry.ndim or oil.ndim or air.ndim or start.ndim or not dry > 0:
        return time_between(law, start, 0.0)
    a, b, c, f = float(dry), float(oil), float(air), float(start)
    kappa, slope = a * c - b * b / 4, f / (a + b * f / 2)
    small, root = kappa * slope * slope, sqrt(abs(kappa))
    if abs(small) < _ARCTAN_SERIES:
        return slope * _arctan_series(small)
    if kappa > 0:
        return atan(root * slope) / root
    more = b / 2 + root
    return log((a + more * f) / (a + a * c / more * f)) / (2 * root)


def _hyperbolic_time(
    dry: FloatArray, oil: FloatArray, air: FloatArray, start: FloatArray, end: FloatArray
) -> FloatArray:
    """``time_between`` for κ < 0, as a logarithm of sums of positive terms, so that no figures are lost."""
    root = np.sqrt(np.abs(dry * air - oil * oil / 4))
    more = oil / 2 + root
    # B/2 − √(B²/4 − AC)
    less = np.where(oil > 0, dry * air / np.maximum(more, 1e-300), 0.0)
    both = dry + air * start * end
    return np.asarray(np.log((both + more * start + less * end) / (both + less * start + more * end)) / (2 * root))


def turns_after(law: Law, start_rev_s: ArrayLike, seconds: ArrayLike) -> FloatArray:
    """Turns made ``seconds`` after the speed was ``start_rev_s``; constant after the stop.

    (ln(c + (C f₀ + B/2) s) − B t/2)/C. Where air hardly counts that is a small difference over a small number; a series
    takes its place.

    >>> float(turns_after(Law(0.5, 0.05, 0.002), 20.0, 19.0773))
    143.00
    """
    if not law.closed:
        return _tabled_after(law, start_rev_s, seconds)[1]
    dry, oil, air = law.coefficients
    start = np.asarray(start_rev_s, dtype=np.float64)
    t = np.minimum(np.asarray(seconds, dtype=np.float64), _time_to_rest(law, start))
    small = air * (start + dry * np.abs(t) + 1e-3) * np.abs(t) < _SMALL_AIR
    if np.all(small):
        return _turns_by_series(dry, oil, air, start, t)
    closed = _turns_closed(dry, oil, air, start, t)
    return np.where(small, _turns_by_series(dry, oil, air, start, t), closed) if np.any(small) else closed


def energy_shares(law: Law, start_rev_s: ArrayLike, end_rev_s: ArrayLike) -> FloatArray:
    """Shares of the energy lost between two speeds: dry friction, oil, air; shape (..., 3), parts of 1 that sum to 1.

    Of each term ∫ term(f) f dt = ∫ term(f) f df / loss(f), by a Gauss rule over speed.

    >>> energy_shares(Law(0.5, 0.05, 0.002), 20.0, 0.0).round(3)
    array([0.357, 0.414, 0.229])
    """
    start, end = (np.asarray(x, dtype=np.float64)[..., None] for x in (start_rev_s, end_rev_s))
    f = gauss_speeds(start, end)
    terms = law.each(_column).terms(f)
    pace = f / np.maximum(sum(terms), 1e-300)
    parts = np.stack([gauss_integral(pace * term, start, end) for term in terms], axis=-1)
    return np.asarray(parts / parts.sum(-1, keepdims=True))


def _column(x: FloatArray) -> FloatArray:
    return x[..., None]


def _c_and_s(kappa: FloatArray, t: FloatArray) -> tuple[FloatArray, FloatArray]:
    """c and s of the closed form, cos(√κ t) and sin(√κ t)/√κ, smooth through κ = 0."""
    root = np.sqrt(np.abs(kappa))
    angle = root * t
    safe = np.where(root > 0, root, 1.0)
    positive = kappa >= 0
    if positive.all():
        c, s = np.cos(angle), np.sin(angle) / safe
    else:
        # one exponential is quicker than both hyperbolic functions; where its difference would cancel, the series below
        # takes over
        up = np.exp(np.clip(angle, -300.0, 300.0))
        down = 1 / up
        c, s = (up + down) / 2, (up - down) / (2 * safe)
        if positive.any():
            c, s = np.where(positive, np.cos(angle), c), np.where(positive, np.sin(angle) / safe, s)
    z = kappa * t * t
    small = np.abs(z) < _SINE_SERIES
    return c, np.where(small, t * (1 - z / 6 + z * z / 120), s) if small.any() else s


def _turns_closed(dry: FloatArray, oil: FloatArray, air: FloatArray, start: FloatArray, t: FloatArray) -> FloatArray:
    c, s = _c_and_s(dry * air - oil * oil / 4, t)
    with np.errstate(invalid="ignore", divide="ignore"):
        below = c + (air * start + oil / 2) * s
        return np.asarray(np.where(below > 0, (np.log(below) - oil * t / 2) / air, -np.inf))


def _turns_by_series(dry: FloatArray, oil: FloatArray, air: FloatArray, start: FloatArray, t: FloatArray) -> FloatArray:
    """Turns where air hardly counts: ln(1 + C w)/C as a series in C w.

    w = f₀ u − A v, u = exp(−B t/2) s and v its integral over time. u and v are divided differences of exp at 0, −p t
    and −q t, with p + q = B and p q = A C; they too are series where B t is small.
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
    with np.errstate(over="ignore", invalid="ignore"):  # in elements that the caller drops
        gone_slow, gone_fast = -np.expm1(-slow * t), -np.expm1(-fast * t)
        far_u, far_v = (gone_fast - gone_slow) / apart, (gone_slow / slow - gone_fast / fast) / apart
        near = np.abs(bt) < _EXP_SERIES
        w = start * np.where(near, near_u, far_u) - dry * np.where(near, near_v, far_v)
        z = air * w
        return np.asarray(w * (1 - z * (1 / 2 - z * (1 / 3 - z / 4))))


def _tabled_after(law: Law, start_rev_s: ArrayLike, seconds: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Speed and turns of laws without a closed form; before the start, those of the law in ``_near``."""
    t, first = np.asarray(seconds, dtype=np.float64), np.asarray(start_rev_s, dtype=np.float64)
    numbers = np.broadcast_arrays(
        *(np.asarray(getattr(law, part.name), dtype=np.float64) for part in fields(law)), first
    )
    shape = np.broadcast_shapes(t.shape, numbers[0].shape)
    sizes = (1,) * (len(shape) - numbers[0].ndim) + numbers[0].shape
    order = sorted(range(len(shape)), key=lambda axis: sizes[axis] == 1)  # axes along which laws differ come first
    *flat, start = (x.reshape(-1) for x in (np.reshape(each, sizes).transpose(order) for each in numbers))
    turned = np.broadcast_to(t, shape).transpose(order)
    rows = turned.reshape(len(start), -1)
    laws = Law(*flat)
    speed, turns = tabled(laws.each(_column).loss, start, rows)
    early = rows < 0
    if early.any():
        which = np.broadcast_to(np.arange(len(start))[:, None], rows.shape)[early]
        near = _near(laws.each(lambda x: x[which]), start[which])
        speed[early], turns[early] = (each(near, start[which], rows[early]) for each in (speed_after, turns_after))
    back = np.argsort(order)
    return speed.reshape(turned.shape).transpose(back), turns.reshape(turned.shape).transpose(back)


def _near(law: Law, at_rev_s: FloatArray) -> Law:
    """The law of power 1 with the same loss and slope of it at a speed at which a Stribeck term hardly counts."""
    dry, oil, air = law.coefficients
    lost = oil * law.oil_speed(at_rev_s)
    return Law(dry + (1 - np.asarray(law.power)) * lost, np.asarray(law.power) * lost / at_rev_s, air)
