"""Speed followed backward from rest.

A film of a spool at 45 turns a second taken at 30 frames a second shows it turning at 15, and one at 30 shows it
standing still: aliasing, which no single moment of the film resolves. From rest backward there is no doubt: speed
cannot jump by a frame rate within a few tenths of a second. So each short block is searched on a grid of speed and of
deceleration, near what the block after it predicts.
"""

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import median_filter, uniform_filter1d

from levelwind.core.fitting import ComplexArray, FloatArray

BLOCK_S, HOP_S = 0.3, 0.1
"""Seconds: length of a block, and from one block's middle to the next. Our choice: in 0.3 s a phone takes nine frames
or more, and the deceleration hardly changes."""
BLOCK_FRAMES = 6
"""Frames in a block at the least. Our choice: speed and deceleration, and four frames to show that they fit."""
COHERENT = 0.35
"""Part of a block's energy that turns with the speed found, below which the speed was not seen there. Our choice,
judged on made films."""
LOST_S = 0.7
"""Seconds without a coherent block after which the track ends. Our choice: longer than a hand's or a glare's
passing."""
STEEPEST_REV_S2 = 40.0
"""rev/s²; fastest deceleration looked for. Our choice: a spool that loses 40 rev/s each second is braked by hand."""
STILL_S = 0.25
"""Seconds without movement that count as rest. Our choice: longer than the pause of a spool that rocks about its heavy
side."""
STILL_TURNS = 0.012
"""Turns; smaller moves are not seen. Our choice: four degrees, a pixel at the rim of a small spool."""
_STILL_NOISE = 5.0
"""Times the median error of the resting phases above which it moves, if that is more. Our choice."""
_STRONGEST_PART, _STRONGEST_LEAST = 4, 8
"""The strongest order is told by the last quarter of the frames, eight at the least: those nearest to rest. Our
choice."""
_STRONG, _HARDLY_TURNS = 0.4, 0.06
"""Part of the strongest order's power from which an order is strong, and turns over its number by which the strongest
may lie off in the median at rest. Our choice: one that turns lies off by a quarter of a turn over its number."""
_SMOOTHED_FRAMES = 5
"""Frames of the running median that takes single bad phases out. Our choice."""

_SPEED_STEP, _SPEED_FINE = 0.12, 13
"""rev/s of the coarse grid, and points of the fine one across two such steps. Our choice: a block's coherence falls to
half within a rev/s or two."""
_FALL_STEP, _FALL_LEAST, _FALL_FINE = 1.5, 6, 9
"""rev/s² of the coarse grid of deceleration, its points at the least, and those of the fine one. Our choice,
likewise."""
_WIDTH_REV_S = 0.5
"""rev/s to either side of the predicted speed that are searched, and what the deceleration takes off over a hop as
well. Our choice."""
_FALLS, _FALL_MORE = (0.3, 2.5), 4.0
"""Least and most deceleration searched, as parts of the last one, and the most as so many rev/s² over it if that is
more. Our choice."""
_SPEED_PENALTY, _FALL_PENALTY = 0.04, 0.02
"""Coherence taken off at the edge of the search, with the square of the distance: of two speeds that fit alike the
nearer one. Our choice."""
_FALL_KEPT = 0.5
"""Weight of the deceleration predicted against the one found: single blocks tell it badly. Our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Speed in rev/s, deceleration in rev/s² and coherence (0 to 1) at the middle of each block, earliest first."""

    t_s: FloatArray
    rev_s: FloatArray
    fall_rev_s2: FloatArray
    coherence: FloatArray

    def speed(self, t_s: FloatArray) -> FloatArray:
        return np.asarray(PchipInterpolator(self.t_s, self.rev_s, extrapolate=True)(t_s))

    def turns(self, t_s: FloatArray) -> FloatArray:
        """Turns since the first block; at constant speed before it and after the last one."""
        curve = PchipInterpolator(self.t_s, self.rev_s)
        inside = np.clip(t_s, self.t_s[0], self.t_s[-1])
        turns = curve.antiderivative()(inside)
        turns += np.minimum(t_s - self.t_s[0], 0) * self.rev_s[0] + np.maximum(t_s - self.t_s[-1], 0) * self.rev_s[-1]
        return np.asarray(turns)


def coherence(z: ComplexArray, tau: FloatArray, rev_s: FloatArray, fall: FloatArray) -> FloatArray:
    """Part of a block's energy that turns at ``rev_s``, shape (f,), falling at ``fall`` rev/s², shape (d,).

    Shape (f, d), 0 to 1: Σ_n |Σ_t z_n exp(−2πi n (f τ − d τ²/2))|² over its largest possible value; ``z`` are the
    harmonics, shape (times, orders), at the seconds ``tau`` from the block's middle.
    """
    wave_f = np.exp(-2j * np.pi * rev_s[:, None] * tau)
    wave_d = np.exp(1j * np.pi * fall[:, None] * tau * tau)
    power_f, power_d = wave_f.copy(), wave_d.copy()
    total = np.zeros((len(rev_s), len(fall)))
    for order in range(z.shape[1]):
        total += np.abs((power_f * z[:, order]) @ power_d.T) ** 2
        power_f *= wave_f
        power_d *= wave_d
    return np.asarray(total / max(len(tau) * float(np.sum(np.abs(z) ** 2)), 1e-300))


CLEAR_TURNS = 0.03
"""Turns from its rest that no picture of a spool at rest wanders. Set on made films: a faint mark, compressed hard,
wanders by 0.02."""


@dataclass(frozen=True, slots=True)
class Rest:
    """When the picture was last seen to move, and how many turns it may still have crept after that, unseen."""

    moved_s: float
    unseen_turns: float
    clearly_s: float
    """When it last lay further than ``CLEAR_TURNS`` from its rest: a picture of a spool at rest wanders less."""


def rest_seen(z: ComplexArray, t_s: FloatArray, apart: int = 1) -> Rest | None:
    """When the picture last moved, if it has stood still since for ``STILL_S``; else None.

    ``apart``: frames over which a phase is smoothed, those from one to the next that it is compared with.

    The steadiest of the strong orders tells: a drifting light or a hand's roll moves some more than others. But the
    strongest must not turn either: at half a frame rate the second order seems to stand still.
    """
    z = uniform_filter1d(z, apart, axis=0)
    orders, last = np.arange(1, z.shape[1] + 1), t_s >= t_s[-1] - STILL_S
    off = np.abs(np.angle(z * np.conj(np.mean(z[last], axis=0)))) / (2 * np.pi * orders)
    off = median_filter(off, (_SMOOTHED_FRAMES, 1))
    power = np.sum(np.abs(z[-max(len(z) // _STRONGEST_PART, _STRONGEST_LEAST) :]) ** 2, axis=0)
    noises, strongest = np.median(off[last], axis=0), int(np.argmax(power))
    order = int(np.argmin(np.where(power >= _STRONG * power[strongest], noises, np.inf)))
    noise = float(noises[order])
    unseen = max(STILL_TURNS, _STILL_NOISE * noise)
    moved = np.flatnonzero(off[:, order] > unseen)
    if noise > STILL_TURNS or noises[strongest] > _HARDLY_TURNS / orders[strongest] or not len(moved):
        return None
    moved_s, clear = float(t_s[moved[-1]]), np.flatnonzero(off[:, order] > max(unseen, CLEAR_TURNS))
    return (
        Rest(moved_s, unseen, float(t_s[clear[-1]]) if len(clear) else moved_s)
        if t_s[-1] - moved_s >= STILL_S
        else None
    )


def track_back(z: ComplexArray, t_s: FloatArray, last_s: float, rev_s: float, fall: float) -> Track:
    """From ``last_s``, where the speed was ``rev_s`` falling at ``fall`` rev/s², back to where it is lost."""
    found: list[tuple[float, float, float, float]] = []
    half = max(BLOCK_S, (BLOCK_FRAMES + 1) * float(np.median(np.diff(t_s)))) / 2
    middle, lost = last_s, 0.0
    while middle - half >= t_s[0] - 1e-9 and lost < LOST_S:
        inside = np.abs(t_s - middle) <= half
        if inside.sum() >= BLOCK_FRAMES:
            tau = t_s[inside] - middle
            ahead = rev_s + fall * HOP_S if found else rev_s
            speed, rate, sure = _search(z[inside], tau, ahead, fall)
            if sure < COHERENT:
                speed, rate, lost = ahead, fall, lost + HOP_S
            else:
                lost = 0.0
            rev_s, fall = speed, _FALL_KEPT * fall + (1 - _FALL_KEPT) * rate if found else rate
            found.append((middle, rev_s, fall, sure))
        middle -= HOP_S
    while found and found[-1][3] < COHERENT:  # the blocks at the far end that were only predicted
        found.pop()
    table = np.array(found[::-1]).reshape(-1, 4)
    return Track(table[:, 0], table[:, 1], table[:, 2], table[:, 3])


def _search(z: ComplexArray, tau: FloatArray, ahead: float, fall: float) -> tuple[float, float, float]:
    """The best speed, deceleration and coherence near what was predicted: a coarse grid, then a fine one."""
    width = _WIDTH_REV_S + HOP_S * fall
    # a little below 0 and over the width, so that the ends themselves are on the grid
    speeds = np.arange(max(ahead - width, -0.05), ahead + width + 0.01, _SPEED_STEP)
    least, top = _FALLS[0] * fall, min(max(_FALLS[1] * fall, fall + _FALL_MORE), STEEPEST_REV_S2)
    falls = np.linspace(least, top, max(_FALL_LEAST, int(np.ceil((top - least) / _FALL_STEP))))
    score = coherence(z, tau, speeds, falls)
    score -= (
        _SPEED_PENALTY * ((speeds - ahead) / width)[:, None] ** 2
        + _FALL_PENALTY * ((falls - fall) / (top - least))[None, :] ** 2
    )
    i, j = np.unravel_index(int(score.argmax()), score.shape)
    step = falls[1] - falls[0]
    speeds = np.maximum(speeds[i] + np.linspace(-_SPEED_STEP, _SPEED_STEP, _SPEED_FINE), 0.0)
    falls = np.maximum(falls[j] + np.linspace(-step, step, _FALL_FINE), 0.0)
    score = coherence(z, tau, speeds, falls)
    i, j = np.unravel_index(int(score.argmax()), score.shape)
    return float(speeds[i]), float(falls[j]), float(score[i, j])
