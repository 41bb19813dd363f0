"""The once-a-turn part of a warped washer, followed along the spool's own travel.

While the line stretches, the spool lags behind the hand: it has turned by the hand's way less tension over the line's
stiffness. The take-up shows that stiffness, so that tension can be laid out over the spool's travel instead of the
clock, where a warp is the sinusoid that it is on the washer. What is left of the hand's unsteadiness is followed as a
slow bend of phase.
"""

from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray, LinearFit, fit_linear

FEWEST_TURNS = 2.0
"""Fewer cannot be told from a slow change of the drag."""
SMALLEST_SHARE = 0.01
"""A part smaller than this share of the running drag is not told from the drag's roughness."""
FALSE_ALARM = 0.01
"""How often noise alone may explain as much as is asked for: 1.5 looks a sample, each explaining more than a share x of
white noise with probability (1 - x)^(n/2 - 1) (R. A. Fisher, Proceedings of the Royal Society A 125, 1929, p. 54)."""
FASTEST_HZ = 6.0
"""No hand draws off more turns a second at an even pull."""
_BENDS = np.linspace(-0.35, 0.35, 15)
"""Changes of speed to try, as a share of the mean from the middle of the pull to its end."""
_FEW = 5.0
_PADDED = 4096
"""Length of the padded transform: a step of a tenth of a turn for 400 samples."""
WANDER = 0.05
"""How far an unsteady hand may run ahead or lag by the end of the pull, as a share of the way. Invented width."""


@dataclass(frozen=True, slots=True, eq=False)
class Turning:
    """Level and slope of the steady slip with the once-a-turn part taken out of them."""

    fit: LinearFit
    shape: FloatArray
    """Columns of the once-a-turn part at 120 places round one turn, shape (120, terms); empty without one."""
    turns: float
    """How many turns the steady slip lasted; 0 where nothing comes round."""
    explained: float = 0.0
    """The part of the drag's unevenness that comes round; nought where fewer turns were drawn than tell it."""

    def wave(self) -> FloatArray:
        """Tension over the mean round one turn."""
        return np.asarray(self.shape @ self.fit.values[2 : 2 + self.shape.shape[1]], dtype=np.float64)

    def half_span(self) -> tuple[float, float]:
        """Half of peak to trough, and its standard error."""
        wave = self.wave()
        top, bottom = int(np.argmax(wave)), int(np.argmin(wave))
        gradient = np.zeros(len(self.fit.values))
        gradient[2 : 2 + self.shape.shape[1]] = (self.shape[top] - self.shape[bottom]) / 2
        return float(wave[top] - wave[bottom]) / 2, self.fit.error(gradient)


def spool_travel(along: FloatArray, net_N: FloatArray, slope: float) -> FloatArray:
    """The spool's travel in the unit of ``along`` (the hand's, or time): where the line stretches, the spool lags."""
    lagged: FloatArray = along - net_N / slope if slope > 0 else along
    return np.asarray(lagged - lagged[0])


def fit_turning(along: FloatArray, travel: FloatArray, net_N: FloatArray, lag: int) -> Turning:
    """Fit level, slope along ``along`` and, where one stands out, a part that comes round with ``travel``."""
    x = (along - along[0]) / (along[-1] - along[0]) - 0.5
    plain = np.column_stack([np.ones_like(x), x])
    bare = fit_linear(plain, net_N, lag=lag)
    way = travel / (travel[-1] - travel[0])
    way = way - (way[0] + way[-1]) / 2
    length = float(along[-1] - along[0])
    found = _strongest(way, x, bare.residuals, most=min(0.4 * len(along) / length, FASTEST_HZ) * length)
    if found is None:
        return Turning(bare, np.empty((120, 0)), 0.0)
    turns, phase = found[0], found[0] * (way + found[1] * way**2)
    if turns >= FEWEST_TURNS:
        turns, phase = _followed(way, net_N - plain @ bare.values, *found)
    orders = np.arange(1, 3 if len(net_N) > 10 * turns and turns >= FEWEST_TURNS else 2)
    fit = fit_linear(np.column_stack([plain, _waves(phase, orders)]), net_N, lag=lag)
    explained = 1 - float(np.var(fit.residuals) / np.var(bare.residuals)) if turns >= FEWEST_TURNS else 0.0
    turning = Turning(fit, _waves(np.linspace(0, 1, 120, endpoint=False), orders), turns, explained)
    large = turning.half_span()[0] > SMALLEST_SHARE * abs(float(fit.values[0]))
    return turning if large else Turning(bare, np.empty((120, 0)), 0.0)


def _waves(turns: FloatArray, orders: np.ndarray) -> FloatArray:
    angle = 2 * np.pi * np.outer(turns, orders)
    return np.hstack([np.cos(angle), np.sin(angle)])


def _strongest(way: FloatArray, x: FloatArray, residuals: FloatArray, *, most: float) -> tuple[float, float] | None:
    """Turns over the stretch and bend of the sinusoid that explains most, None where it explains little."""
    total = float(residuals @ residuals)
    few, many = _few_turns(way, x, residuals), _many_turns(way, residuals, most)
    explained, turns, bend = max(few, many)
    chance = 1 - (FALSE_ALARM / (1.5 * len(way))) ** (2 / (len(way) - 2))
    return (turns, bend) if explained > max(0.2, chance) * total else None


def _many_turns(way: FloatArray, residuals: FloatArray, most: float) -> tuple[float, float, float]:
    """Sum of squares explained, turns and bend, by a padded transform for each bend."""
    even = np.linspace(-0.5, 0.5, min(len(way), 400), endpoint=False)
    order = np.argsort(way)
    bent = np.array([np.interp(even, way[order] + b * (way[order] ** 2 - 0.25), residuals[order]) for b in _BENDS])
    power = 2 * np.abs(np.fft.rfft(bent, _PADDED, axis=1)) ** 2 / len(even) * len(way) / len(even)
    turns = np.arange(power.shape[1]) * len(even) / _PADDED
    power[:, (turns < _FEW) | (turns > most)] = 0.0
    bend, peak = np.unravel_index(int(np.argmax(power)), power.shape)
    return float(power[bend, peak]), float(turns[peak]), float(_BENDS[bend])


def _few_turns(way: FloatArray, x: FloatArray, residuals: FloatArray) -> tuple[float, float, float]:
    """The same by least squares with level and slope, which so few turns may be taken for."""
    block = max(len(way) // 100, 1)
    whole = len(way) // block * block
    way, x, residuals = (column[:whole].reshape(-1, block).mean(axis=1) for column in (way, x, residuals))
    turns, bend = (grid.ravel() for grid in np.meshgrid(np.arange(0.7, _FEW, 0.1), _BENDS[::3]))
    angle = 2 * np.pi * turns[:, None] * (way + bend[:, None] * way**2)
    columns = np.stack([np.ones_like(angle), np.broadcast_to(x, angle.shape), np.cos(angle), np.sin(angle)], axis=2)
    against = np.einsum("kni,n->ki", columns, residuals)
    square = np.einsum("kni,knj->kij", columns, columns) + 1e-9 * len(way) * np.eye(4)
    explained = np.einsum("ki,ki->k", against, np.linalg.solve(square, against[..., None])[..., 0])
    best = int(np.argmax(explained))
    return float(explained[best]) * block, float(turns[best]), float(bend[best])


def _followed(way: FloatArray, residuals: FloatArray, turns: float, bend: float) -> tuple[float, FloatArray]:
    """Turns and phase once the hand's wandering is followed.

    Gauss-Newton steps on the phase as a line, a bend and a cosine series whose terms are held back as those of a random
    walk are (variance falling with the square of the order), coarse terms first.
    """
    noise = float(np.std(residuals)) / np.sqrt(2)
    line = np.column_stack([way, way**2])
    phase = line @ np.array([turns, turns * bend])
    for terms in (2, max(int(turns), 3), max(int(turns), 3)):
        orders = np.arange(1, min(terms, 24) + 1)
        basis = np.column_stack([line, np.cos(np.pi * np.outer(way + 0.5, orders))])
        free = np.concatenate([[turns, 0.35 * turns], WANDER * turns * np.sqrt(2) / (np.pi * orders)])
        bends = np.zeros(basis.shape[1])
        bends[:2] = np.linalg.lstsq(line, phase - phase.mean(), rcond=None)[0]
        bends[2:] = np.linalg.lstsq(basis[:, 2:], phase - line @ bends[:2], rcond=None)[0]
        for _ in range(6):
            bends = bends + _step(basis, bends, residuals, noise / free)
        phase = basis @ bends
    return abs(float(phase[-1] - phase[0])) * len(way) / (len(way) - 1), phase


def _step(basis: FloatArray, bends: FloatArray, residuals: FloatArray, hold: FloatArray) -> FloatArray:
    wave = _waves(basis @ bends, np.array([1]))
    cosine, sine = np.linalg.lstsq(wave, residuals, rcond=None)[0]
    steep = 2 * np.pi * (sine * wave[:, 0] - cosine * wave[:, 1])
    held = np.hstack([np.zeros((len(hold), 2)), np.diag(hold)])
    design = np.vstack([np.column_stack([wave, steep[:, None] * basis]), held])
    step = np.linalg.lstsq(design, np.concatenate([residuals, -hold * bends]), rcond=None)[0][2:]
    return np.asarray(np.clip(step, -0.3, 0.3))
