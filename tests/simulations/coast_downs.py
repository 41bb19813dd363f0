"""Coast-downs made apart from the program: integrated over the angle, noise that keeps, rounded as instruments do.

Nothing of ``levelwind`` is used. Power of the oil's drag, a rise of dry friction towards rest (exp(−(f/f_s)^a), a = 1
or 2, as handbooks draw it either way), a lump on the spool and its once-a-turn swing are drawn.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TURN_PARTS = 48
"""Steps a turn, at the most."""


@dataclass(frozen=True, slots=True)
class Truth:
    dry: float
    oil: float
    air: float
    power: float
    rise: float
    rise_rev_s: float
    rise_shape: float
    lump: float
    start: float

    def terms(self, f: Array) -> tuple[Array, Array, Array]:
        rise = 1 + self.rise * np.exp(-((f / self.rise_rev_s) ** self.rise_shape))
        return self.dry * rise, self.oil * self.start * (f / self.start) ** self.power, self.air * f * f

    def shares(self, end: float) -> Array:
        """Of the energy lost from the first speed to ``end``, by the midpoint rule over speed."""
        edges = end + (self.start - end) * np.linspace(0, 1, 4001) ** 3
        f, step = (edges[1:] + edges[:-1]) / 2, np.diff(edges)
        terms = np.array(self.terms(f))
        parts = (terms / terms.sum(axis=0) * f * step).sum(axis=1)
        return np.asarray(parts / parts.sum())


@dataclass(frozen=True, slots=True)
class CoastDown:
    """To rest: times in s, speeds in rev/s and turns, close together."""

    truth: Truth
    t: Array
    speed: Array
    turns: Array

    @property
    def stop_s(self) -> float:
        return float(self.t[-1])


def drawn(rng: np.random.Generator, *, own_law: bool = False) -> Truth:
    """A spool of 8 to 45 rev/s; ``own_law``: power 1, no rise, no lump."""
    start = float(rng.uniform(8, 45))
    # parts of the loss at the first speed: dry friction may be little there and most near rest
    dry, oil, air = rng.dirichlet([1.2, 1.5, 1.0])
    dry = max(dry, 0.03)
    seconds = float(rng.uniform(5, 40))
    power = 1.0 if own_law else float(rng.uniform(0.5, 0.8))
    rise = 0.0 if own_law else float(rng.uniform(0.1, 0.9))
    truth = Truth(
        dry,
        oil / start,
        air / start**2,
        power,
        rise,
        float(np.exp(rng.uniform(*np.log([0.35, 2.5])))),
        float(rng.choice([1.0, 2.0])),
        0.0,
        start,
    )
    f = start * np.linspace(0, 1, 4001)[1:] ** 3
    f = np.concatenate([[0.0], f])
    middle = (f[1:] + f[:-1]) / 2
    whole = float((np.diff(f) / np.sum(truth.terms(middle), axis=0)).sum())
    scale = whole / seconds
    lump = 0.0 if own_law else float(rng.uniform(0, 0.3) * dry * scale)
    return Truth(
        dry * scale,
        oil / start * scale,
        air / start**2 * scale,
        power,
        rise,
        truth.rise_rev_s,
        truth.rise_shape,
        lump,
        start,
    )


def run(truth: Truth) -> CoastDown:
    """To rest, by the energy lost over each small angle (Heun), with a lump that lifts and falls once a turn."""
    energy, turns, t = truth.start**2 / 2, 0.0, 0.0
    rows = [(0.0, truth.start, 0.0)]

    def slows(f: float, at: float) -> float:
        rise = 1 + truth.rise * np.exp(-((f / truth.rise_rev_s) ** truth.rise_shape))
        return float(
            truth.dry * rise
            + truth.oil * truth.start * (f / truth.start) ** truth.power
            + truth.air * f * f
            + truth.lump * np.sin(2 * np.pi * at)
        )

    f = truth.start
    while True:
        step = min(1 / TURN_PARTS, 0.02 * f * f / truth.dry)
        before = slows(f, turns)
        there = energy - before * step
        if there <= 1e-7 * truth.start**2:
            break
        after = slows((2 * there) ** 0.5, turns + step)
        energy -= (before + after) / 2 * step
        if energy <= 1e-7 * truth.start**2:
            break
        turns += step
        then = (2 * energy) ** 0.5
        t += 2 * step / (f + then)
        f = then
        rows.append((t, f, turns))
    t += f / max(slows(f, turns), 1e-9)
    rows.append((t, 0.0, turns + f * (t - rows[-1][0]) / 2))
    return CoastDown(truth, *(np.array(column) for column in zip(*rows, strict=True)))


def keeping_noise(rng: np.random.Generator, count: int, size: float, keeps: float) -> Array:
    """Of Laplace steps, each of which keeps a part of the one before; standard deviation ``size``."""
    fresh = rng.laplace(0, size / 2**0.5 * (1 - keeps**2) ** 0.5, count)
    out = np.empty(count)
    last = 0.0
    for k, each in enumerate(fresh):
        last = keeps * last + each
        out[k] = last
    return out


def phases(made: CoastDown, rng: np.random.Generator, to_part: float) -> tuple[Array, Array]:
    """Times and turns of a mark seen 25 to 60 times a second, down to a part of the first speed."""
    end = float(np.interp(-to_part * made.truth.start, -made.speed, made.t))
    t = np.arange(0.0, end, 1 / rng.uniform(25, 60))
    turns = np.interp(t, made.t, made.turns) + keeping_noise(
        rng, len(t), rng.uniform(0.002, 0.006), rng.uniform(0, 0.6)
    )
    return t, turns


def passes(made: CoastDown, rng: np.random.Generator, to_part: float) -> Array:
    """Moments at which a mark went by, by an instrument that writes ten-thousandths of a second."""
    end = float(np.interp(-to_part * made.truth.start, -made.speed, made.turns))
    t = np.interp(np.arange(0.0, end, 1.0), made.turns, made.t)
    t = np.round(t + keeping_noise(rng, len(t), 0.0015 / np.sqrt(made.truth.start), 0.2), 4)
    return np.asarray(t[np.concatenate([[True], np.diff(t) > 0])])


def speeds(made: CoastDown, rng: np.random.Generator, to_part: float) -> tuple[Array, Array]:
    """A table of speeds, 4 to 20 a second, that scatter by some thousandths of the first and are written to 0.01."""
    end = float(np.interp(-to_part * made.truth.start, -made.speed, made.t))
    t = np.arange(0.0, end, 1 / rng.uniform(4, 20))
    f = np.interp(t, made.t, made.speed) + keeping_noise(
        rng, len(t), made.truth.start * rng.uniform(0.0005, 0.004), 0.3
    )
    return t, np.maximum(np.round(f, 2), 0.0)
