"""What comes round again in steady slip: the once-a-turn part of a warped washer, or sticking and slipping."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray, LinearFit, fit_linear


@dataclass(frozen=True, slots=True, eq=False)
class Steady:
    """Steady slip as a level, a slope and whatever is periodic in it."""

    fit: LinearFit
    columns: FloatArray
    frequency_hz: float | None
    """Of the periodic part, None where there is none to be seen."""
    harmonics: int

    @property
    def level(self) -> float:
        return float(self.fit.values[0])


def fit_steady(time_s: FloatArray, net_N: FloatArray, noise_N: float) -> Steady:
    """Level and slope, with the strongest periodic part taken out where there is one."""
    along = _along(time_s)
    plain = np.column_stack([np.ones_like(along), along])
    bare = fit_linear(plain, net_N, lag=_lag(len(net_N)))
    found = _strongest(time_s, bare.residuals)
    if found is None:
        return Steady(bare, plain, None, 0)
    harmonics = 2 if found * 4 < _rate(time_s) else 1
    columns = np.column_stack([plain, _waves(time_s, found, harmonics)])
    return Steady(fit_linear(columns, net_N, lag=_lag(len(net_N))), columns, found, harmonics)


def half_span(steady: Steady, draws: FloatArray | None = None) -> float:
    """Half of peak to trough of the periodic part."""
    values = steady.fit.values[2:] if draws is None else draws
    phase = np.linspace(0, 1, 120, endpoint=False)
    wave = _waves(phase, 1.0, steady.harmonics) @ values
    return float(wave.max() - wave.min()) / 2


def rise_share(steady: Steady) -> float:
    """Which share of the period the wave spends rising: a half for a warp, more where the line sticks and lets go."""
    phase = np.linspace(0, 1, 240, endpoint=False)
    wave = _waves(phase, 1.0, steady.harmonics) @ steady.fit.values[2:]
    return float(np.mean(np.diff(wave, append=wave[0]) > 0))


def _along(time_s: FloatArray) -> FloatArray:
    """Time from -1/2 at the start of the stretch to 1/2 at its end."""
    along: FloatArray = (time_s - time_s[0]) / (time_s[-1] - time_s[0]) - 0.5
    return along


def _rate(time_s: FloatArray) -> float:
    return (len(time_s) - 1) / float(time_s[-1] - time_s[0])


def _lag(n: int) -> int:
    return max(1, int(1.5 * n ** (1 / 3)))


def _waves(time_s: FloatArray, frequency_hz: float, harmonics: int) -> FloatArray:
    turns = 2 * np.pi * frequency_hz * np.outer(time_s, np.arange(1, harmonics + 1))
    return np.hstack([np.cos(turns), np.sin(turns)])


def _strongest(time_s: FloatArray, residuals: FloatArray) -> float | None:
    """Frequency of the clearest sinusoid that fits at least one and a half times, None where none stands out."""
    length = float(time_s[-1] - time_s[0])
    grid = np.arange(1.5 / length, min(0.4 * _rate(time_s), 12.0), 0.2 / length)
    if not len(grid):
        return None
    spectrum = np.exp(-2j * np.pi * np.outer(grid, time_s)) @ residuals
    power = 2 * np.abs(spectrum) ** 2 / len(time_s)
    total = float(residuals @ residuals)
    best = int(np.argmax(power))
    explained = power[best] / total if total > 0 else 0.0
    return float(grid[best]) if explained > max(0.3, 12 / len(time_s)) else None
