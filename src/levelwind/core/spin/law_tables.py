"""Laws of a spool that have no closed form, integrated over speed.

Speeds are laid out as the square of an even grid, f = f₀ u²: oil whose drag goes as a root of the speed, and friction
that rises in the last turns, are both smooth in u. ``loss`` gives −df/dt in rev/s² for speeds in rev/s of the shape
(laws, speeds).
"""

from collections.abc import Callable

import numpy as np

from levelwind.core.fitting import FloatArray

Loss = Callable[[FloatArray], FloatArray]

_GAUSS_POINTS = 40
"""Points of the Gauss rule over speed. Our choice: far more than smooth integrands need for nine figures."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(_GAUSS_POINTS)
_NODES, _WEIGHTS = (_NODES + 1) / 2, _WEIGHTS / 2
"""Of the Gauss-Legendre rule on 0 to 1."""
_STEPS = 100
"""Steps of u at whose ends times and turns are tabled. Our choice: they agree with a solver to 1e-5
(docs/physics/spin.md)."""
_U = np.linspace(1.0, 0.0, 2 * _STEPS + 1)
"""With the middle of each step, for Simpson's rule."""


def gauss_speeds(start: FloatArray, end: FloatArray) -> FloatArray:
    """Speeds in rev/s from end to start, along the last axis, at which ``gauss_integral`` wants its integrand."""
    return np.asarray(end + (start - end) * _NODES**2)


def gauss_integral(values: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """∫ values df from end to start, over the last axis.

    >>> one = np.ones(1)
    >>> float(gauss_integral(gauss_speeds(3 * one, 0 * one), 3 * one, 0 * one))
    4.5
    """
    return np.asarray((values * _WEIGHTS * 2 * _NODES * (start - end)).sum(axis=-1))


def tabled(loss: Loss, start: FloatArray, seconds: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Speed in rev/s and turns made, for laws with a start speed each (laws,) at seconds (laws, times); at rest after.

    The times at which each of a grid of speeds is reached are tabled; between them goes a cubic through both speeds and
    both losses.
    """
    f, lost, times, turns = _table(loss, start[:, None])
    k = np.arange(len(f))[:, None]
    i = np.stack([np.searchsorted(time, row) for time, row in zip(times, seconds, strict=True)])
    i = np.clip(i - 1, 0, f.shape[1] - 2)
    begun, size = times[k, i], np.maximum(times[k, i + 1] - times[k, i], 1e-300)
    part = (np.minimum(seconds, times[:, -1:]) - begun) / size
    first, last, fall, fall_last = f[k, i], f[k, i + 1], -lost[k, i] * size, -lost[k, i + 1] * size
    square, cube = 3 * (last - first) - 2 * fall - fall_last, 2 * (first - last) + fall + fall_last
    speed = np.maximum(first + part * (fall + part * (square + part * cube)), 0.0)
    made = turns[k, i] + size * part * (first + part * (fall / 2 + part * (square / 3 + part * cube / 4)))
    return speed, made


def _table(loss: Loss, start: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Speeds that fall along each row, the loss at them, the time taken to each and the turns made."""
    f = start * _U**2
    lost = np.maximum(loss(f), 1e-300)
    pace = 2 * start * _U / lost
    return f[:, ::2], lost[:, ::2], _summed(pace), _summed(pace * f)


def _summed(rates: FloatArray) -> FloatArray:
    """Integrals from the start along each row, by Simpson's rule."""
    pieces = (rates[:, :-2:2] + 4 * rates[:, 1:-1:2] + rates[:, 2::2]) / (6 * _STEPS)
    return np.concatenate([np.zeros((len(rates), 1)), np.cumsum(pieces, axis=1)], axis=1)
