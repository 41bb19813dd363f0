"""Force logs whose start-up dies away in other ways than one exponential; all values are invented.

The drag gives, and what it held more than in running dies away within 0.3 to 1 s to a fiftieth: as one exponential or
two, as a power of time, stretched, or in a straight line. What remains is the running drag with a straight fade, a wave
or none, and roughness that hangs together.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray

TICK_S = 0.002
GONE = 0.02
"""What is left of the start-up's excess when it counts as died away."""


@dataclass(frozen=True, slots=True, eq=False)
class Decayed:
    """A log, and the running drag half way through its slip."""

    time_s: FloatArray
    force_N: FloatArray
    running_N: float
    slip_s: float
    decay: str


def _one(dice: np.random.Generator, part: FloatArray) -> FloatArray:
    """``part`` is time over that after which a fiftieth is left."""
    return np.asarray(GONE**part)


def _two(dice: np.random.Generator, part: FloatArray) -> FloatArray:
    quick = dice.uniform(0.3, 0.8)
    return np.asarray(quick * GONE ** (4 * part) + (1 - quick) * (GONE / (1 - quick)) ** part)


def _power(dice: np.random.Generator, part: FloatArray) -> FloatArray:
    power = dice.uniform(1.5, 3.0)
    return np.asarray((1 + part * (GONE ** (-1 / power) - 1)) ** -power)


def _stretched(dice: np.random.Generator, part: FloatArray) -> FloatArray:
    return np.asarray(GONE**part ** dice.uniform(0.6, 1.5))


def _straight(dice: np.random.Generator, part: FloatArray) -> FloatArray:
    return np.asarray(np.maximum(1 - part * (1 - GONE), 0.0))


DECAYS: dict[str, Callable[[np.random.Generator, FloatArray], FloatArray]] = {
    "one exponential": _one,
    "two exponentials": _two,
    "a power of time": _power,
    "stretched": _stretched,
    "a straight line": _straight,
}


def draw(seed: int, number: int) -> Decayed:
    """Logs take their decays in turn."""
    dice = np.random.default_rng([seed, number])
    name = list(DECAYS)[number % len(DECAYS)]
    hz = float(np.exp(dice.uniform(*np.log((8, 100)))))
    running, ramp, slip_s = dice.uniform(8, 60), dice.uniform(20, 150), dice.uniform(2.5, 12.0)
    at = np.arange(0.0, slip_s, TICK_S)
    part = at / slip_s
    excess = dice.uniform(0.05, 0.5) * DECAYS[name](dice, at / dice.uniform(0.3, 1.0))
    fade = dice.uniform(-0.02, 0.12) * (0.5 - part)
    turns_s = dice.uniform(1.0, 5.0) if dice.uniform() < 0.5 and hz > 15 else 0.0
    wave = dice.uniform(0.02, 0.08) * np.sin(2 * np.pi * (turns_s * at + dice.uniform())) * (turns_s > 0)
    force = running * (1 + fade + excess + wave + dice.uniform(0.002, 0.012) * _slow(dice, len(at), 0.08))
    up = np.arange(0.0, force[0], ramp * TICK_S)
    slack = np.zeros(int(dice.uniform(1.0, 2.0) / TICK_S))
    whole = np.concatenate([slack, up, force, np.linspace(force[-1], 0, 40), slack])
    times = np.arange(dice.uniform(0, 1 / hz), (len(whole) - 2) * TICK_S, 1 / hz)
    times = np.sort(np.clip(times + dice.uniform(-0.1, 0.1, len(times)) / hz, 0, None))
    read = np.interp(times, np.arange(len(whole)) * TICK_S, whole)
    read += dice.normal(0, dice.uniform(0.01, 0.1), len(times)) + dice.choice([0.0, dice.uniform(-2, 3)])
    return Decayed(np.round(times, 3), np.round(read / 0.05) * 0.05, running, slip_s, name)


def _slow(dice: np.random.Generator, count: int, seconds: float) -> FloatArray:
    """Noise that hangs together over so many seconds, of deviation 1."""
    knots = max(int(count * TICK_S / seconds) + 2, 4)
    noise = np.interp(np.linspace(0, knots, count), np.arange(knots + 1), dice.normal(size=knots + 1))
    return np.asarray(noise / noise.std())
