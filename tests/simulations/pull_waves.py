"""Force logs with a wave, with sticking, with both or with neither: drawn from another law than the analysis fits.

A spool without mass hangs on a line that gives: where the line is stretched by what friction holds at the spool's
place, the spool stands there. All is counted in newtons of stretch, so the line's stiffness is in the hand's rate.
Sticking is drawn by the clock: climbs at the hand's rate, and quicker falls, no two alike. All values are invented.
"""

from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray

TICK_S = 0.001
KINDS = ("wave", "plain", "tremor", "sticking", "both")


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A log and what is true of it.

    ``running_N`` is the level half way. ``wobble_N`` is half of peak to trough of what comes round with the spool, 0
    where the washers are flat: in the tension, and beside sticking that hides it there, in the friction.
    """

    time_s: FloatArray
    force_N: FloatArray
    kind: str
    hz: float
    running_N: float
    wobble_N: float
    rate_hz: float
    turns: float
    sticks_hz: float
    cycles: float


def draw(seed: int, number: int) -> Drawn:
    """One log of every five is of each kind."""
    dice = np.random.default_rng([seed, number])
    kind = KINDS[number % len(KINDS)]
    hz = float(np.exp(dice.uniform(*np.log((8, 100)))))
    running, ramp = dice.uniform(8, 60), dice.uniform(20, 150)
    rate = ramp * np.exp(dice.uniform(*np.log((0.7, 4.0))))
    turns_s = float(np.exp(dice.uniform(*np.log((0.3, min(6.0, hz / 2.7))))))
    seconds = float(np.clip(np.exp(dice.uniform(*np.log((3, 120)))) / turns_s, max(2.0, 3.2 / turns_s), 40.0))
    share = np.exp(dice.uniform(*np.log((0.03, 0.15)))) if kind in ("wave", "both") else 0.0
    share = min(share, 0.8 * rate / (2 * np.pi * turns_s * running))  # a steeper wave stops the spool: that is no wave
    hand = _hand(dice, seconds, ramp, rate, running)
    sticks_hz = 0.0
    if kind in ("sticking", "both"):
        force, sticks_hz = _sticking(dice, hand, rate, running, share, turns_s)
    else:
        force = _slipping(dice, hand, rate, running, share, turns_s)
    at = np.arange(len(force)) * TICK_S
    if kind == "tremor":
        wander = np.cumsum(dice.normal(0, 0.02, len(at)))
        force += 0.007 * running * (force > 0.7 * running) * np.sin(2 * np.pi * dice.uniform(4, 10) * at + wander)
    time, read = _read(dice, force, hz)
    return Drawn(
        time, read, kind, hz, running, share * running, turns_s, turns_s * seconds, sticks_hz, sticks_hz * seconds
    )


def _slow(dice: np.random.Generator, count: int, ticks: float) -> FloatArray:
    """Noise that hangs together over so many ticks, of deviation 1."""
    knots = max(int(count / ticks) + 2, 4)
    noise = np.interp(np.linspace(0, knots, count), np.arange(knots + 1), dice.normal(size=knots + 1))
    return np.asarray(noise / noise.std())


def _hand(dice: np.random.Generator, seconds: float, ramp: float, rate: float, running: float) -> FloatArray:
    """Stretch in N that the hand has drawn: up the ramp, then on at its own rate, with its wander and its tremor."""
    up, on = int(1.5 * running / ramp / TICK_S), int(seconds / TICK_S)
    wander = dice.uniform(0, 0.12) * _slow(dice, on, dice.uniform(300, 1500))
    tremor = dice.uniform(0, 0.08) * np.sin(2 * np.pi * dice.uniform(4, 10) * np.arange(on) * TICK_S)
    goes = 1 - np.exp(-np.arange(on) / dice.uniform(50, 300))
    speed = (ramp + (rate - ramp) * goes) * np.maximum(1 + wander + tremor, 0.1)
    return np.cumsum(np.concatenate([np.full(up, ramp), speed])) * TICK_S


def _wave(dice: np.random.Generator, turns: FloatArray) -> FloatArray:
    """One of several shapes, half of peak to trough 1."""
    angle = 2 * np.pi * (turns + dice.uniform())
    shape = dice.integers(3)
    if shape == 0:
        wave = np.sin(angle)
    elif shape == 1:
        wave = np.sin(angle) + dice.uniform(0, 0.25) * np.sin(2 * angle + dice.uniform(0, 2 * np.pi))
    else:
        wave = np.tanh(dice.uniform(0.3, 1.0) * np.sin(angle))  # flattened, as of a washer that lies flat for a part
    return np.asarray(2 * wave / np.ptp(wave))


def _slipping(
    dice: np.random.Generator, hand: FloatArray, rate: float, running: float, share: float, turns_s: float
) -> FloatArray:
    place = np.arange(0.0, hand[-1] + 1.0, rate * TICK_S)
    part = place / place[-1]
    turns = place / rate * turns_s * (1 + dice.uniform(-0.15, 0.15) * (part - 0.5))
    fades = 1 + dice.uniform(-0.02, 0.15) * (np.exp(-2 * part) - np.exp(-1.0))
    rough = dice.uniform(0.002, 0.012) * _slow(dice, len(place), dice.uniform(15, 60))
    start = dice.uniform(0.0, 0.5) * np.exp(-place / rate / dice.uniform(0.03, 0.25))
    holds = running * (fades * (1 + share * _wave(dice, turns) + rough) + start)
    stands = np.interp(hand, np.maximum.accumulate(place + holds), place, left=0.0)
    return np.asarray(hand - stands)


def _sticking(
    dice: np.random.Generator, hand: FloatArray, rate: float, running: float, share: float, turns_s: float
) -> tuple[FloatArray, float]:
    rises, rate = dice.uniform(0.64, 0.92), rate * dice.uniform(0.7, 1.0)
    fewest, most = rate * rises / (0.7 * running), rate * rises / (0.05 * running)  # swings of the running drag
    sticks_hz = float(np.clip(np.exp(dice.uniform(*np.log((0.5, 6.0)))), fewest, most))
    swing = rate * rises / sticks_hz
    times, levels, now = [], [], 0.0
    while now < len(hand) * TICK_S + 1:
        cycle = dice.normal(1, dice.uniform(0.02, 0.12)) / sticks_hz
        low = running - swing / 2 * dice.normal(1, 0.05)
        times += [now, now + rises * cycle]
        levels += [low, low + rate * rises * cycle]
        now += cycle
    at = np.arange(len(hand)) * TICK_S
    slips = np.interp(at, times, levels)
    wave = 1 + share * _wave(dice, at * turns_s)
    force = np.minimum(hand, running + swing / 2)
    up = int(np.argmax(hand >= running + swing / 2))
    peak = int(np.argmax(slips[: int(2 / sticks_hz / TICK_S)]))
    later = slips[peak : peak + len(force) - up]
    force[up : up + len(later)] = later * wave[: len(later)]
    return force[: up + len(later)], sticks_hz


def _read(dice: np.random.Generator, force: FloatArray, hz: float) -> tuple[FloatArray, FloatArray]:
    """Slack, pull, let go and slack, averaged over a part of a reading, at uneven times, in steps, off by a tare."""
    width = max(int(dice.uniform(0, 0.6) / hz / TICK_S), 1)
    before, after = (np.zeros(int(dice.uniform(1.0, 2.0) / TICK_S)) for _ in range(2))
    down = np.linspace(force[-1], 0, 80)
    whole = np.convolve(np.concatenate([before, force, down, after]), np.ones(width) / width, "same")
    times = np.arange(dice.uniform(0, 1 / hz), (len(whole) - 2) * TICK_S, 1 / hz)
    jitter = dice.choice([0.02, 0.1, 0.45], p=[0.6, 0.3, 0.1])
    times = np.sort(np.clip(times + dice.uniform(-jitter, jitter, len(times)) / hz, 0, (len(whole) - 2) * TICK_S))
    read = np.interp(times, np.arange(len(whole)) * TICK_S, whole) + dice.normal(0, dice.uniform(0.01, 0.1), len(times))
    step = float(dice.choice([0.01, 0.05, 0.1]))
    return np.round(times, 3), np.round((read + dice.choice([0.0, dice.uniform(-2, 3)])) / step) * step
