"""Force logs of drags, hands and waves that nothing in the analysis was set on: a spool with mass on a springy line.

Friction is the demonstration's law of rate and state, so that sticking comes of itself; the waves are a triangle, one
high spot, two unlike lobes and a leaning one; the hand surges, eases and trembles. All values are invented.
"""

from collections.abc import Callable

import numpy as np

from levelwind.core.fitting import FloatArray
from levelwind.demo.simulation.conditions import DragCondition, Rig
from levelwind.demo.simulation.slip import TICK_S, SlipTrace, slip
from tests.simulations.pull_waves import Drawn

KINDS = ("wave", "plain", "sticking", "both")
STANDS, SLIPS = 0.2, 0.02
"""Shares of the time that the spool stands still: from the first on it sticks, up to the second it does not."""
LEAST_SHARE = 0.02
"""Part of the level that a wave is drawn at the least: the spool's speed evens some of it out."""
SETTLED_S = 1.0
EASES = 120
"""Ticks in which the hand stops before it lets go."""
ORDERS = np.arange(1, 9)
Paces = Callable[[np.random.Generator, int], FloatArray]
"""How much quicker than even the hand is at each of so many ticks, parts of its mean."""


def draw(seed: int, number: int, paces: Paces | None = None) -> Drawn:
    """Kinds take turns; a bench whose spool neither clearly sticks nor clearly slips is drawn again."""
    kind = KINDS[number % len(KINDS)]
    for again in range(200):
        drawn = _drawn(np.random.default_rng([seed, number, again]), kind, paces or surging)
        if drawn is not None:
            return drawn
    raise AssertionError(f"no {kind} bench in 200 draws")


def _drawn(dice: np.random.Generator, kind: str, paces: Paces) -> Drawn | None:
    sticks = kind in ("sticking", "both")
    hz = float(np.exp(dice.uniform(*np.log((8, 100)))))
    running, turn_m = dice.uniform(8, 60), dice.uniform(0.08, 0.35)
    speed = float(np.exp(dice.uniform(*np.log((0.05, 0.25) if sticks else (0.05, 0.6)))))
    rate = speed / turn_m
    stiffness = dice.uniform(20, 150) / speed
    seconds = float(np.clip(np.exp(dice.uniform(*np.log((3, 120)))) / rate, max(3.0, 3.2 / rate), 14.0))
    if not 0.3 < rate < min(6.0, hz / 2.7):
        return None
    uneven, steep = _unevenness(dice, turn_m, 1.6 * speed * seconds + 1.0)
    share = float(np.exp(dice.uniform(*np.log((0.03, 0.15))))) if kind in ("wave", "both") else 0.0
    share = min(share, 0.6 * stiffness / (steep * running))
    if kind in ("wave", "both") and share < LEAST_SHARE:
        return None
    drag = DragCondition(
        running,
        float(dice.uniform(1.25, 1.7) if sticks else dice.uniform(1.0, 1.35)),
        rest_s=float(dice.uniform(0.08, 0.3)),
        slip_m=float(np.exp(dice.uniform(*np.log((0.0004, 0.002) if sticks else (0.001, 0.005))))),
        viscous_share=0.0 if sticks else float(dice.uniform(0.0, 0.06)),
        turn_m=turn_m,
        fade=float(dice.uniform(0.0, 0.2)),
        heat_J=float(dice.uniform(30, 200)),
    )
    hand, let_go = _hand(dice, speed, running * drag.startup_ratio / stiffness, seconds, paces)
    rough = dice.uniform(0.002, 0.01) * _slow(dice, len(uneven), dice.uniform(4, 15))
    trace = slip(drag, Rig(stiffness, float(dice.uniform(0.06, 0.2))), hand, 1 + share * uneven + rough)
    return _told(dice, kind, hz, trace, turn_m, share, let_go)


def _told(
    dice: np.random.Generator, kind: str, hz: float, trace: SlipTrace, turn_m: float, share: float, let_go: int
) -> Drawn | None:
    first = int(np.argmax(trace.slipping)) + int(0.3 / TICK_S)
    last = let_go - EASES
    if last - first < 1.5 / TICK_S:
        return None
    slips = trace.slipping[first:last]
    stands = 1 - float(np.mean(slips))
    sticks = kind in ("sticking", "both")
    stops = int(np.sum(np.diff(slips.astype(int)) == 1))
    if stands < STANDS if sticks else stands > SLIPS:
        return None
    seconds = (last - first) * TICK_S
    sticks_hz = stops / seconds if sticks else 0.0
    if sticks and not 0.5 < sticks_hz < min(hz / 2.5, 12.0):
        return None
    calm = first + int((SETTLED_S - 0.3) / TICK_S)
    level, wobble = _level_and_wave(trace.force_N[calm:last], trace.travel_m[calm:last] / turn_m)
    if sticks:
        level = float(np.mean(trace.force_N[calm:last]))
        wobble = share * level
    wobble *= share > 0
    if 0 < wobble < LEAST_SHARE * level:
        return None
    turns = float(trace.travel_m[last] - trace.travel_m[first]) / turn_m
    time, read = _read(dice, trace.force_N, hz)
    return Drawn(time, read, kind, hz, level, wobble, turns / seconds, turns, sticks_hz, sticks_hz * seconds)


def _level_and_wave(force_N: FloatArray, turns: FloatArray) -> tuple[float, float]:
    """Tension half way, and half of peak to trough of what comes round with the spool."""

    def waves(x: FloatArray) -> FloatArray:
        angle = 2 * np.pi * np.outer(x, ORDERS)
        return np.hstack([np.cos(angle), np.sin(angle)])

    part = np.linspace(-0.5, 0.5, len(turns))
    columns = np.column_stack([np.ones_like(part), part, part**2, waves(turns)])
    values = np.linalg.lstsq(columns, force_N, rcond=None)[0]
    return float(values[0]), float(np.ptp(waves(np.linspace(0, 1, 200)) @ values[3:])) / 2


def _slow(dice: np.random.Generator, count: int, ticks: float) -> FloatArray:
    knots = max(int(count / ticks) + 2, 4)
    noise = np.interp(np.linspace(0, knots, count), np.arange(knots + 1), dice.normal(size=knots + 1))
    return np.asarray(noise / noise.std())


def _unevenness(dice: np.random.Generator, turn_m: float, length_m: float) -> tuple[FloatArray, float]:
    """A wave along the travel, one value a millimetre, half of peak to trough 1; and how steep it is, per metre."""
    turns = np.arange(0.0, length_m, 0.001) / turn_m + dice.uniform()
    angle = 2 * np.pi * turns
    shape = dice.integers(4)
    if shape == 0:
        wave = np.arcsin(0.97 * np.sin(angle))  # nearly a triangle
    elif shape == 1:
        wave = np.exp(dice.uniform(0.5, 1.5) * np.cos(angle))  # one high spot
    elif shape == 2:
        wave = np.sin(angle) + dice.uniform(0.2, 0.45) * np.sin(2 * angle + dice.uniform(0, 2 * np.pi))
    else:
        wave = np.sin(angle + dice.uniform(0.2, 0.5) * np.sin(angle))  # leaning
    wave = (wave - wave.mean()) * 2 / np.ptp(wave)
    return wave, float(np.max(np.abs(np.diff(wave)))) / 0.001


def surging(dice: np.random.Generator, ticks: int) -> FloatArray:
    """Surges that die away, and a tremor of one rate."""
    surges = np.convolve(dice.normal(size=ticks + 3000), np.exp(-np.arange(3000) / dice.uniform(150, 700)), "full")
    surges = surges[3000:][:ticks]
    at = np.arange(ticks) * TICK_S
    return np.asarray(
        dice.uniform(0, 0.12) * surges / surges.std()
        + dice.uniform(0, 0.06) * np.sin(2 * np.pi * dice.uniform(4, 10) * at)
    )


def swaying(dice: np.random.Generator, ticks: int) -> FloatArray:
    """A sway of the whole body, strokes that differ, and a tremor that waxes, wanes and keeps no rate."""
    at = np.arange(ticks) * TICK_S
    sway = dice.uniform(0, 0.06) * np.sin(2 * np.pi * (dice.uniform(0.08, 0.25) * at + dice.uniform()))
    strokes = dice.uniform(0, 0.1) * _slow(dice, ticks, dice.uniform(250, 1200))
    rate = dice.uniform(4, 10) * (1 + dice.uniform(0.02, 0.15) * _slow(dice, ticks, 400))
    waxes = np.clip(1 + dice.uniform(0, 0.8) * _slow(dice, ticks, 900), 0, None)
    return np.asarray(sway + strokes + dice.uniform(0, 0.08) * waxes * np.sin(2 * np.pi * np.cumsum(rate) * TICK_S))


def _hand(
    dice: np.random.Generator, speed: float, stretch_m: float, seconds: float, paces: Paces
) -> tuple[FloatArray, int]:
    """The hand's place each tick, and when it lets go. It takes up, is uneven and eases, with a drift."""
    on = int((stretch_m / speed + seconds) / TICK_S)
    at = np.arange(on) * TICK_S
    uneven = paces(dice, on)
    drift = dice.uniform(-0.15, 0.15) * (at / at[-1] - 0.5)
    quicker = 1 + dice.uniform(0.0, 1.5) * (1 - np.exp(-np.maximum(at - 0.8 * stretch_m / speed, 0) / 0.3))
    goes = speed / quicker[-1] * quicker * np.maximum(1 + uneven + drift, 0.15) * (1 - np.exp(-at / 0.1))
    goes[-EASES:] *= np.linspace(1, 0, EASES)
    slack = np.zeros(int(dice.uniform(1.0, 2.0) / TICK_S))
    back = np.sin(np.linspace(0, np.pi, 200))
    back *= -(1.4 * stretch_m + 0.02) / (back.sum() * TICK_S)
    return np.cumsum(np.concatenate([slack, goes, back, slack])) * TICK_S - 0.005, len(slack) + on


def _read(dice: np.random.Generator, force: FloatArray, hz: float) -> tuple[FloatArray, FloatArray]:
    """Averaged over a part of a reading, at times uneven by up to 45 % of the step, noisy, in steps, off by a tare."""
    width = max(int(dice.uniform(0, 0.8) / hz / TICK_S), 1)
    whole = np.convolve(force, np.ones(width) / width, "same")
    times = np.arange(dice.uniform(0, 1 / hz), (len(whole) - 2) * TICK_S, 1 / hz)
    jitter = dice.choice([0.03, 0.2, 0.45], p=[0.6, 0.2, 0.2])
    times = np.sort(np.clip(times + dice.uniform(-jitter, jitter, len(times)) / hz, 0, (len(whole) - 2) * TICK_S))
    read = np.interp(times, np.arange(len(whole)) * TICK_S, whole) + dice.normal(0, dice.uniform(0.01, 0.1), len(times))
    return np.round(times, 3), np.round((read + dice.choice([0.0, dice.uniform(-2, 3)])) / 0.05) * 0.05
