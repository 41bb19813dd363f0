"""Speed followed backward from rest.

A film of a spool at 45 turns a second taken at 30 frames a second shows it turning at 15, and one at 30 shows it
standing still: frame by frame nothing tells. From rest backward there is no doubt: speed cannot jump by a frame rate
within a few tenths of a second. Each block of 0.3 s is searched on a grid of speed and of its rate near what the block
after it foretells.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import median_filter

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]

BLOCK_S = 0.3
HOP_S = 0.1
LEAST_FRAMES = 6
LOST = 0.35
"""Part of a block's energy that turns with the speed found, below which the speed was not seen there."""
LOST_FOR_S = 0.7
FASTEST_REV_S = 120.0
STEEPEST_REV_S2 = 40.0
REST_S = 0.25
REST_TURNS = 0.012


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Speed at the middle of each block, earliest first."""

    t_s: FloatArray
    rev_s: FloatArray
    fall_rev_s2: FloatArray
    coherence: FloatArray

    def speed(self, t_s: FloatArray) -> FloatArray:
        return np.asarray(PchipInterpolator(self.t_s, self.rev_s, extrapolate=True)(t_s))

    def turns(self, t_s: FloatArray) -> FloatArray:
        """Turns since the first block; straight on beyond the last and the first."""
        curve = PchipInterpolator(self.t_s, self.rev_s)
        inside = np.clip(t_s, self.t_s[0], self.t_s[-1])
        turns = curve.antiderivative()(inside)
        turns += np.minimum(t_s - self.t_s[0], 0) * self.rev_s[0] + np.maximum(t_s - self.t_s[-1], 0) * self.rev_s[-1]
        return np.asarray(turns)


def coherence(z: ComplexArray, tau: FloatArray, rev_s: FloatArray, fall: FloatArray) -> FloatArray:
    """What part of a block's energy turns at ``rev_s`` (f,) falling at ``fall`` (d,) rev/s²; shape (f, d), 0 to 1."""
    wave_f = np.exp(-2j * np.pi * rev_s[:, None] * tau)
    wave_d = np.exp(1j * np.pi * fall[:, None] * tau * tau)
    power_f, power_d = wave_f.copy(), wave_d.copy()
    total = np.zeros((len(rev_s), len(fall)))
    for order in range(z.shape[1]):
        total += np.abs((power_f * z[:, order]) @ power_d.T) ** 2
        power_f *= wave_f
        power_d *= wave_d
    return np.asarray(total / max(len(tau) * float(np.sum(np.abs(z) ** 2)), 1e-300))


def rests_at_end(z: ComplexArray, t_s: FloatArray) -> float | None:
    """When the picture last moved, if it has stood still since for a quarter of a second."""
    power = np.sum(np.abs(z[-max(len(z) // 4, 8) :]) ** 2, axis=0)
    order = int(np.argmax(power))
    strongest, last = z[:, order], t_s >= t_s[-1] - REST_S
    off = np.abs(np.angle(strongest * np.conj(np.mean(strongest[last])))) / (2 * np.pi * (order + 1))
    off = median_filter(off, 5)
    noise = float(np.median(off[last]))
    moved = np.flatnonzero(off > max(REST_TURNS, 5 * noise))
    if noise > REST_TURNS or not len(moved):
        return None
    return float(t_s[moved[-1]]) if t_s[-1] - t_s[moved[-1]] >= REST_S else None


def track_back(z: ComplexArray, t_s: FloatArray, last_s: float, rev_s: float, fall: float) -> Track:
    """From ``last_s``, where the speed was ``rev_s``, back to where it can no longer be followed."""
    found: list[tuple[float, float, float, float]] = []
    half = max(BLOCK_S, (LEAST_FRAMES + 1) * float(np.median(np.diff(t_s)))) / 2
    middle, lost = last_s, 0.0
    while middle - half >= t_s[0] - 1e-9 and lost < LOST_FOR_S:
        inside = np.abs(t_s - middle) <= half
        if inside.sum() >= LEAST_FRAMES:
            tau = t_s[inside] - middle
            ahead = rev_s + fall * HOP_S if found else rev_s
            speed, rate, sure = _search(z[inside], tau, ahead, fall)
            if sure < LOST:
                speed, rate, lost = ahead, fall, lost + HOP_S
            else:
                lost = 0.0
            rev_s, fall = speed, 0.5 * fall + 0.5 * rate if found else rate
            found.append((middle, rev_s, fall, sure))
        middle -= HOP_S
    while found and found[-1][3] < LOST:
        found.pop()
    table = np.array(found[::-1]).reshape(-1, 4)
    return Track(table[:, 0], table[:, 1], table[:, 2], table[:, 3])


def _search(z: ComplexArray, tau: FloatArray, ahead: float, fall: float) -> tuple[float, float, float]:
    """The best speed and rate near what was foretold: a coarse grid, then a fine one."""
    width = 0.5 + 0.25 * fall * HOP_S * 4
    speeds = np.arange(max(ahead - width, -0.05), ahead + width + 0.01, 0.12)
    top = min(max(2.5 * fall, fall + 4.0), STEEPEST_REV_S2)
    falls = np.linspace(0.3 * fall, top, max(6, int(np.ceil((top - 0.3 * fall) / 1.5))))
    score = coherence(z, tau, speeds, falls)
    score -= (
        0.04 * ((speeds - ahead) / width)[:, None] ** 2 + 0.02 * ((falls - fall) / (top - 0.3 * fall))[None, :] ** 2
    )
    i, j = np.unravel_index(int(score.argmax()), score.shape)
    step = falls[1] - falls[0]
    speeds = np.maximum(speeds[i] + np.linspace(-0.12, 0.12, 13), 0.0)
    falls = np.maximum(falls[j] + np.linspace(-step, step, 9), 0.0)
    score = coherence(z, tau, speeds, falls)
    i, j = np.unravel_index(int(score.argmax()), score.shape)
    return float(speeds[i]), float(falls[j]), float(score[i, j])
