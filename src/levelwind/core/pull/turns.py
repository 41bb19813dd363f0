"""The once-a-turn part of a warped washer, followed along the spool's own travel.

While the line stretches, the spool lags behind the hand: it has turned by the hand's travel less tension over the
line's stiffness. The take-up shows that stiffness, so tension can be laid out over the spool's travel instead of the
clock; there a warp is the sinusoid that it is on the washer. What is left of the hand's unsteadiness is followed as a
slow change of phase. Where that explains little, the wave is followed as a narrow line over the clock.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from levelwind.core.fitting import FloatArray, LinearFit, fit_linear, robust_deviation
from levelwind.core.pull.ridge import STANDS_OUT, Line, follow_line

FEWEST_TURNS = 2.0
"""Turns; fewer cannot be told from a slow change of the drag. Our choice."""
SMALLEST_SHARE = 0.01
"""A part smaller than this share of the running drag is not told from the drag's roughness. Our choice, from
simulation."""
FALSE_ALARM = 0.01
"""How often noise alone may explain as much as is asked for. Our choice; the formula: 1.5 independent looks a sample,
each explaining more than a share x of white noise with probability (1 − x)^(n/2 − 1) (R. A. Fisher, Proceedings of the
Royal Society A 125, 1929, p. 54)."""
LOOKS_A_SAMPLE = 1.5
"""Independent frequencies looked at for each sample, see ``FALSE_ALARM``. Our choice: half as many as samples, and some
bends of each."""
LEAST_EXPLAINED = 0.2
"""Share of the unevenness that a wave must explain, however sure it is. Our choice: less is roughness."""
FASTEST_TURNS_S, FASTEST_PER_READING = 6.0, 0.4
"""Turns a second that a hand draws off at an even pull at the most (common practice, no source), and turns a reading:
below half, where two readings make a wave (H. Nyquist, 1928)."""
BENDS = np.linspace(-0.35, 0.35, 15)
"""Changes of speed to try, as parts of the mean, from the middle of the pull to its end. Our choice of range."""
FEW_TURNS, FEW_FROM, FEW_STEP, FEWBENDS, FEW_POINTS = 5.0, 0.7, 0.1, 3, 100
"""Below the first number of turns a level and a slope may be taken for a wave, so all three are fitted together: from
the second, in steps of the third, for every third bend, to the log averaged to about the fifth. Our choice."""
PADDED, EVEN_POINTS = 4096, 400
"""Lengths of the padded transform and of the log laid out evenly for it. Our choice: a step of a tenth of a turn."""
WANDER = 0.05
"""How far an unsteady hand may run ahead or lag by the end of the pull, as a part of the travel. Our choice of
width."""
MOST_WANDER_TERMS, COARSE_TERMS, FINE_TERMS = 24, 2, 3
"""Cosine terms of the hand's wandering: at the most, in the first round, and later at the least (one a turn else). Our
choice."""
_STEPS, _MOST_STEP = 6, 0.3
"""Gauss-Newton steps in a round, and how far one may change a coefficient, in turns. Our choice: the next turn is out
of reach."""
_HALVINGS = (1.0, 0.5, 0.25, 0.125)
"""Parts of a Gauss-Newton step that are tried. Our choice: a step that must be smaller gains nothing."""
SHAPE_POINTS = 120
"""Places round one turn at which the wave is given: every three degrees."""
OVERTONE_READINGS = 10
"""Readings a turn from which the first overtone counts towards what a wave explains. Our choice: fewer do not show it,
and more overtones explain sticking too."""
MOST_ORDERS, READINGS_AN_ORDER = 6, 2.5
"""Orders that make up the shape of a wave at the most, and readings a turn for each. Our choice: with two, one high
spot comes out a tenth too low."""
ORDER_SEEN = 3.0
"""Standard errors that an order must reach to be a part of that shape. Our choice: noise makes a wave no higher."""
SHAPE_ERROR = 0.042
"""Part of the wave's height by which its size is unsure beside noise: orders that are not fitted, and a hand that is
not followed. Set on simulated logs."""


@dataclass(frozen=True, slots=True, eq=False)
class Turning:
    """Level and slope of the steady slip with the once-a-turn part taken out of them."""

    fit: LinearFit
    shape: FloatArray
    """Columns of the once-a-turn part round one turn, shape (``SHAPE_POINTS``, terms); no terms without one."""
    turns: float
    """How many turns the steady slip lasted; 0 where nothing comes round."""
    waveless_N: FloatArray
    """Tension at each reading less what comes round."""
    explained: float = 0.0
    """Part of the drag's unevenness that comes round; 0 where too few turns were drawn to tell."""
    line: Line | None = None
    """The narrow line it was followed by, where no one law of the hand fits."""
    unsure: float = SHAPE_ERROR
    """Part of its height by which its size is unsure beside noise."""
    beyond_noise: float = 0.0
    """As ``explained``, with what readings scatter by left out of the unevenness."""
    higher: float = 0.0
    """Part of its height by which it may be higher, for a shape of which only the first order is seen."""

    def wave(self) -> FloatArray:
        """Tension in N over the mean, round one turn."""
        return np.asarray(self.shape @ self.fit.values[2 : 2 + self.shape.shape[1]], dtype=np.float64)

    def rising(self) -> float:
        """Share of a turn, parts of 1, from the wave's trough up to its top."""
        wave = self.wave()
        return float((np.argmax(wave) - np.argmin(wave)) % SHAPE_POINTS) / SHAPE_POINTS

    def half_span(self) -> tuple[float, float]:
        """Half of peak to trough in N, and its standard error."""
        wave = self.wave()
        if self.line is not None:
            first = np.hypot(self.fit.values[2], self.fit.values[2 + self.shape.shape[1] // 2])
            half = float(np.ptp(wave) / 2 * self.line.half_N / first)
            return half, float(np.hypot(self.line.error_N, self.unsure * half))
        top, bottom = int(np.argmax(wave)), int(np.argmin(wave))
        gradient = np.zeros(len(self.fit.values))
        gradient[2 : 2 + self.shape.shape[1]] = (self.shape[top] - self.shape[bottom]) / 2
        half = float(wave[top] - wave[bottom]) / 2
        return half, float(np.hypot(self.fit.error(gradient), self.unsure * half))


def spool_travel(along: FloatArray, net_N: FloatArray, slope: float) -> FloatArray:
    """The spool's travel in the unit of ``along`` (m of the hand's travel, or s): along − net_N/slope, from 0."""
    lagged: FloatArray = along - net_N / slope if slope > 0 else along
    return np.asarray(lagged - lagged[0])


def fit_turning(along: FloatArray, travel: FloatArray, net_N: FloatArray, *, seconds: float, lag: int) -> Turning:
    """Fit level, slope along ``along`` and, where one stands out, a part that comes round with ``travel``.

    The stretch took ``seconds``; ``lag`` is up to how many readings apart the unevenness is correlated.
    """
    x, plain = _level_and_slope(along)
    bare = fit_linear(plain, net_N, lag=lag)
    place = travel / (travel[-1] - travel[0])  # from −1/2 to 1/2, so that a bend changes no turns in the mean
    place = place - (place[0] + place[-1]) / 2
    most = min(FASTEST_PER_READING * len(along), FASTEST_TURNS_S * seconds)
    found = _strongest(place, x, bare.residuals, most=most)
    if found is None:
        return Turning(bare, np.empty((SHAPE_POINTS, 0)), 0.0, net_N)
    turns, phase = found[0], found[0] * (place + found[1] * place**2)
    if turns >= FEWEST_TURNS:
        turns, phase = _follow_hand(place, net_N - plain @ bare.values, *found)
    readings = len(net_N) / turns if turns >= FEWEST_TURNS else 0.0
    orders = np.arange(1, 3 if readings > OVERTONE_READINGS else 2)
    fit, explained = fit_linear(np.column_stack([plain, once_round(phase, orders)]), net_N, lag=lag), 0.0
    if turns >= FEWEST_TURNS:
        explained = 1 - float(np.var(fit.residuals) / np.var(bare.residuals))
        fit, orders = _shaped(plain, phase, net_N, lag, readings)
    waveless = plain @ fit.values[:2] + fit.residuals
    shape = once_round(np.linspace(0, 1, SHAPE_POINTS, endpoint=False), orders)
    turning = Turning(fit, shape, turns, waveless, explained, beyond_noise=_beyond_noise(bare.residuals, fit.residuals))
    large = turning.half_span()[0] > SMALLEST_SHARE * abs(float(fit.values[0]))
    return turning if large else Turning(bare, np.empty((SHAPE_POINTS, 0)), 0.0, net_N)


def fit_line_turning(
    time_s: FloatArray,
    net_N: FloatArray,
    lag: int,
    *,
    asked: tuple[float, float] = STANDS_OUT,
    most_orders: int = MOST_ORDERS,
) -> Turning | None:
    """The same by a narrow line followed over the clock; None where none stands out as is ``asked``.

    Its shape has ``most_orders`` at the most.
    """
    x, plain = _level_and_slope(time_s)
    bend = np.column_stack([plain, x**2])
    uneven = net_N - bend @ np.linalg.lstsq(bend, net_N, rcond=None)[0]
    line = follow_line(time_s, uneven)
    if line is None or not line.stands_out(asked) or line.half_N < SMALLEST_SHARE * abs(float(np.mean(net_N))):
        return None
    fit, orders = _shaped(plain, line.phase, net_N, lag, len(time_s) / line.turns, most_orders)
    shape = once_round(np.linspace(0, 1, SHAPE_POINTS, endpoint=False), orders)
    explained = 1 - float(np.var(fit.residuals) / np.var(uneven))
    waveless = plain @ fit.values[:2] + fit.residuals
    beyond_noise = _beyond_noise(uneven, fit.residuals)
    return Turning(fit, shape, line.turns, waveless, explained, line, beyond_noise=beyond_noise)


def _beyond_noise(uneven_N: FloatArray, left_N: FloatArray) -> float:
    """Part of the unevenness that is not ``left``, what readings scatter by taken out of both.

    Second differences of white noise have six times its variance.
    """
    noise = robust_deviation(np.diff(left_N, 2)) ** 2 / 6
    uneven, left = (max(float(np.var(each)) - noise, 0.0) for each in (uneven_N, left_N))
    return 1 - left / uneven if uneven > 0 else 0.0


def _shaped(
    plain: FloatArray, phase: FloatArray, net_N: FloatArray, lag: int, readings: float, most: int = MOST_ORDERS
) -> tuple[LinearFit, np.ndarray]:
    """Level, slope and the orders of the wave that are seen, with so many ``readings`` a turn."""
    orders = np.arange(1, 1 + int(np.clip(readings / READINGS_AN_ORDER, 1, most)))
    fit = fit_linear(np.column_stack([plain, once_round(phase, orders)]), net_N, lag=lag)
    heights = np.hypot(*fit.values[2:].reshape(2, -1))
    errors = np.sqrt(np.diag(fit.sandwich)[2:].reshape(2, -1).max(axis=0))
    seen = orders[(heights > ORDER_SEEN * errors) | (orders == 1)]
    if len(seen) == len(orders):
        return fit, orders
    return fit_linear(np.column_stack([plain, once_round(phase, seen)]), net_N, lag=lag), seen


def _level_and_slope(along: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Places from −1/2 to 1/2, and the columns of a level and a slope over them."""
    x = (along - along[0]) / (along[-1] - along[0]) - 0.5
    return x, np.column_stack([np.ones_like(x), x])


def once_round(turns: FloatArray, orders: np.ndarray) -> FloatArray:
    """Cosines and sines of each order, shape (turns, 2 orders)."""
    angle = 2 * np.pi * np.outer(turns, orders)
    return np.hstack([np.cos(angle), np.sin(angle)])


def _strongest(place: FloatArray, x: FloatArray, residuals: FloatArray, *, most: float) -> tuple[float, float] | None:
    """Turns over the stretch, and bend, of the sinusoid that explains most; None where it explains little."""
    total = float(residuals @ residuals)
    few, many = _few_turns(place, x, residuals), _many_turns(place, residuals, most)
    explained, turns, bend = max(few, many)
    chance = 1 - (FALSE_ALARM / (LOOKS_A_SAMPLE * len(place))) ** (2 / (len(place) - 2))
    return (turns, bend) if explained > max(LEAST_EXPLAINED, chance) * total else None


def _many_turns(place: FloatArray, residuals: FloatArray, most: float) -> tuple[float, float, float]:
    """Sum of squares explained, turns and bend, by a padded transform for each bend."""
    even = np.linspace(-0.5, 0.5, min(len(place), EVEN_POINTS), endpoint=False)
    order = np.argsort(place)
    bent = np.array([np.interp(even, place[order] + b * (place[order] ** 2 - 0.25), residuals[order]) for b in BENDS])
    power = 2 * np.abs(np.fft.rfft(bent, PADDED, axis=1)) ** 2 / len(even) * len(place) / len(even)
    turns = np.arange(power.shape[1]) * len(even) / PADDED
    power[:, (turns < FEW_TURNS) | (turns > most)] = 0.0
    bend, peak = np.unravel_index(int(np.argmax(power)), power.shape)
    return float(power[bend, peak]), float(turns[peak]), float(BENDS[bend])


def _few_turns(place: FloatArray, x: FloatArray, residuals: FloatArray) -> tuple[float, float, float]:
    """The same by least squares together with level and slope, which so few turns may be taken for."""
    block = max(len(place) // FEW_POINTS, 1)
    whole = len(place) // block * block
    place, x, residuals = (column[:whole].reshape(-1, block).mean(axis=1) for column in (place, x, residuals))
    turns, bend = (grid.ravel() for grid in np.meshgrid(np.arange(FEW_FROM, FEW_TURNS, FEW_STEP), BENDS[::FEWBENDS]))
    angle = 2 * np.pi * turns[:, None] * (place + bend[:, None] * place**2)
    columns = np.stack([np.ones_like(angle), np.broadcast_to(x, angle.shape), np.cos(angle), np.sin(angle)], axis=2)
    against = np.einsum("kni,n->ki", columns, residuals)
    square = np.einsum("kni,knj->kij", columns, columns) + 1e-9 * len(place) * np.eye(4)
    explained = np.einsum("ki,ki->k", against, np.linalg.solve(square, against[..., None])[..., 0])
    best = int(np.argmax(explained))
    return float(explained[best]) * block, float(turns[best]), float(bend[best])


def _follow_hand(place: FloatArray, residuals: FloatArray, turns: float, bend: float) -> tuple[float, FloatArray]:
    """Turns and phase (in turns) once the hand's wandering is followed.

    Gauss-Newton steps on the phase as a line, a bend and a cosine series. The series has a prior as of a random walk
    (variance falling with the square of the order), so that it bends no more than a hand does; coarse terms first.
    """
    noise = float(np.std(residuals)) / np.sqrt(2)
    line = np.column_stack([place, place**2])
    phase = line @ np.array([turns, turns * bend])
    for terms in (COARSE_TERMS, max(int(turns), FINE_TERMS), max(int(turns), FINE_TERMS)):
        orders = np.arange(1, min(terms, MOST_WANDER_TERMS) + 1)
        basis = np.column_stack([line, np.cos(np.pi * np.outer(place + 0.5, orders))])
        free = np.concatenate([[turns, BENDS[-1] * turns], WANDER * turns * np.sqrt(2) / (np.pi * orders)])
        bends = np.zeros(basis.shape[1])
        bends[:2] = np.linalg.lstsq(line, phase - phase.mean(), rcond=None)[0]
        bends[2:] = np.linalg.lstsq(basis[:, 2:], phase - line @ bends[:2], rcond=None)[0]
        phase = basis @ _settled(basis, bends, residuals, noise / free)
    return abs(float(phase[-1] - phase[0])) * len(place) / (len(place) - 1), phase


def _settled(basis: FloatArray, bends: FloatArray, residuals: FloatArray, hold: FloatArray) -> FloatArray:
    """The phase's coefficients after Gauss-Newton steps, each halved until it makes the fit better."""
    now = _waved(basis, bends, residuals, hold)
    for _ in range(_STEPS):
        step = _phase_step(basis, bends, now, residuals, hold)
        for shrink in _HALVINGS:
            tried = _waved(basis, bends + shrink * step, residuals, hold)
            if tried.misfit < now.misfit:
                break
        else:
            break
        bends, now = bends + shrink * step, tried
    return bends


class _Waved(NamedTuple):
    """What a wave of one phase comes to."""

    wave: FloatArray
    """Its cosine and sine at each reading."""
    heights: FloatArray
    misfit: float
    """Sum of squares that it leaves, and that of the prior."""


def _waved(basis: FloatArray, bends: FloatArray, residuals: FloatArray, hold: FloatArray) -> _Waved:
    wave = once_round(basis @ bends, np.array([1]))
    heights = np.asarray(np.linalg.lstsq(wave, residuals, rcond=None)[0], dtype=np.float64)
    left = residuals - wave @ heights
    return _Waved(wave, heights, float(left @ left + (hold * bends) @ (hold * bends)))


def _phase_step(
    basis: FloatArray, bends: FloatArray, now: _Waved, residuals: FloatArray, hold: FloatArray
) -> FloatArray:
    """One Gauss-Newton step of the phase's coefficients; ``hold`` is the weight of each one's prior."""
    cosine, sine = now.heights
    steep = 2 * np.pi * (sine * now.wave[:, 0] - cosine * now.wave[:, 1])
    held = np.hstack([np.zeros((len(hold), 2)), np.diag(hold)])
    design = np.vstack([np.column_stack([now.wave, steep[:, None] * basis]), held])
    step = np.linalg.lstsq(design, np.concatenate([residuals, -hold * bends]), rcond=None)[0][2:]
    return np.asarray(np.clip(step, -_MOST_STEP, _MOST_STEP))
