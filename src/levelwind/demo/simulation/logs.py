"""A force log as a phone would save it, with the truth beside it."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.quantities import NEWTONS_PER
from levelwind.demo.simulation.conditions import DragCondition, Hand, Rig, Scale
from levelwind.demo.simulation.slip import TICK_S, FloatArray, SlipTrace, slip, unevenness


@dataclass(frozen=True, slots=True)
class TruePull:
    """What a perfect scale would have found. Shares and counts are of the steady part."""

    start_s: float
    end_s: float
    breakaway_N: float
    running_N: float
    wobble_N: float
    wobble_period_s: float
    turns: float
    stick_slip: bool
    """After breakaway the spool stands still again for 15 % of the time or more."""
    stick_slip_hz: float
    fade_percent: float

    @property
    def startup_ratio(self) -> float:
        return self.breakaway_N / self.running_N


@dataclass(frozen=True, slots=True, eq=False)
class SimulatedLog:
    """Readings of an invented scale."""

    time_s: FloatArray
    force_N: FloatArray
    truth: tuple[TruePull, ...]

    def as_csv(self, unit: str = "kgf") -> str:
        """The text a phone would save, its origin in the first line.

        >>> log = SimulatedLog(np.array([0.0, 0.05]), np.array([0.0, 19.6133]), ())
        >>> print(log.as_csv())
        # invented: simulated by Levelwind, measured on no reel
        Time (s),Force (kgf)
        0.000,0.000
        0.050,2.000
        """
        factor = NEWTONS_PER[unit]
        rows = (f"{t:.3f},{f / factor:.3f}" for t, f in zip(self.time_s, self.force_N, strict=True))
        head = ("# invented: simulated by Levelwind, measured on no reel", f"Time (s),Force ({unit})")
        return "\n".join((*head, *rows)) + "\n"


def simulate_log(drag: DragCondition, rng: np.random.Generator, *, rig: Rig, hand: Hand, scale: Scale) -> SimulatedLog:
    """Pull a drag by hand, as often as ``hand`` says, and read the scale."""
    path, spans = _hand_path(drag, rig, hand, rng)
    uneven = unevenness(drag, max(float(path.max()), drag.turn_m) + 0.5, rng)
    trace = slip(drag, rig, path, uneven)
    time, force = _read(trace.force_N, scale, rng)
    return SimulatedLog(time, force, tuple(_truth(trace, path, span, drag) for span in spans))


def _hand_path(
    drag: DragCondition, rig: Rig, hand: Hand, rng: np.random.Generator
) -> tuple[FloatArray, list[tuple[int, int]]]:
    """The hand's place each millisecond, and when each pull begins and lets go (in ticks)."""
    speeds: list[FloatArray] = []
    spans = []
    ticks = 0
    for _ in range(hand.pulls):
        slack = np.zeros(int(hand.slack_s * rng.uniform(0.7, 1.5) / TICK_S))
        pull = _pull_speed(hand, drag.running_N * drag.startup_ratio / rig.stiffness_N_m, rng)
        back = 1.3 * drag.running_N / rig.stiffness_N_m + rng.uniform(0.01, 0.03)
        release = np.sin(np.linspace(0, np.pi, int(rng.uniform(0.15, 0.35) / TICK_S)))
        release *= -back / (release.sum() * TICK_S)
        spans.append((ticks + len(slack), ticks + len(slack) + len(pull)))
        speeds += [slack, pull, release]
        ticks += len(slack) + len(pull) + len(release)
    speeds.append(np.zeros(int(hand.slack_s * rng.uniform(0.5, 1.0) / TICK_S)))
    return np.cumsum(np.concatenate(speeds)) * TICK_S - rng.uniform(0.002, 0.02), spans


def _pull_speed(hand: Hand, stretch_m: float, rng: np.random.Generator) -> FloatArray:
    """Speed through one pull: it gathers way, stretches the line, wanders, and slows before it lets go."""
    n = int((hand.pull_s * rng.uniform(0.8, 1.2) + stretch_m / hand.speed_m_s) / TICK_S)
    kernel = np.exp(-np.arange(2000) / 400.0)
    wander = np.convolve(rng.normal(size=n + 2000), kernel, "full")[2000 : 2000 + n]
    along = np.arange(n) * TICK_S
    gather = 1 - np.exp(-along / rng.uniform(0.1, 0.5))
    slow = 1 - np.exp(-(along[::-1]) / rng.uniform(0.02, 0.1))
    drift = 1 + 2 * hand.wander * rng.uniform(-1, 1) * np.linspace(-1, 1, n)
    speed = hand.speed_m_s * gather * slow * drift * (1 + hand.wander * wander / wander.std())
    never_back: FloatArray = np.maximum(speed, 0.1 * hand.speed_m_s * gather * slow)
    return never_back


def _read(force: FloatArray, scale: Scale, rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    """What the scale sends: smoothed, sampled with jitter, noisy, in steps, clipped, off by its tare."""
    width = max(int(scale.smoothing_s / TICK_S), 1)
    smooth = np.convolve(np.concatenate([np.full(width - 1, force[0]), force]), np.ones(width) / width, "valid")
    period = 1 / scale.sample_hz
    at = np.arange(rng.uniform(0, period), (len(force) - 2) * TICK_S, period)
    at = np.clip(at + rng.normal(0, 0.03 * period, len(at)), 0, (len(force) - 2) * TICK_S)
    read = np.interp(at / TICK_S, np.arange(len(smooth)), smooth) + rng.normal(0, scale.noise_N, len(at)) + scale.tare_N
    read = np.clip(np.round(read / scale.step_N) * scale.step_N, -scale.capacity_N, scale.capacity_N)
    return np.round(at / scale.time_step_s) * scale.time_step_s, read


def _truth(trace: SlipTrace, path: FloatArray, span: tuple[int, int], drag: DragCondition) -> TruePull:
    begin, let_go = span
    slips = np.flatnonzero(trace.slipping[begin:let_go]) + begin
    first, last = int(slips[0]), int(slips[-1])
    peak = _first_peak(trace, path, first)
    settled = min(peak + 200, last - 100)
    steady = trace.slipping[settled : let_go - 200]
    stops = int(np.sum(np.diff(steady.astype(int)) == 1))
    sticks = float(np.mean(steady)) < 0.85
    travel = trace.travel_m[last] - trace.travel_m[settled]
    starts = np.flatnonzero(np.diff(steady.astype(int)) == 1) + settled
    force = trace.force_N
    running, wobble = _once_a_turn(force[settled:last], trace.travel_m[settled:last] / drag.turn_m)
    if sticks and len(starts) > 1:
        running = float(np.mean(force[starts[0] : starts[-1]]))
    elif sticks:
        running = float(np.mean([force[at] + force[at : at + 400].min() for at in (peak, *starts)])) / 2
    return TruePull(
        start_s=begin * TICK_S,
        end_s=let_go * TICK_S,
        breakaway_N=float(trace.force_N[peak]),
        running_N=running,
        wobble_N=wobble,
        wobble_period_s=float(drag.turn_m / travel * (last - settled) * TICK_S),
        turns=float(travel / drag.turn_m),
        stick_slip=sticks,
        stick_slip_hz=stops / (len(steady) * TICK_S) if sticks else 0.0,
        fade_percent=100 * (1 - float(trace.cool_share[last] / trace.cool_share[settled])),
    )


def _once_a_turn(force: FloatArray, turns: FloatArray) -> tuple[float, float]:
    """Level half way, and half of peak to trough of the part that goes with the turns (two harmonics)."""

    def waves(x: FloatArray) -> FloatArray:
        return np.column_stack([f(2 * np.pi * n * x) for n in (1, 2) for f in (np.cos, np.sin)])

    trend = np.column_stack([np.ones_like(turns), np.linspace(-0.5, 0.5, len(turns))])
    values = np.linalg.lstsq(np.hstack([trend, waves(turns)]), force, rcond=None)[0]
    return float(values[0]), float(np.ptp(waves(np.linspace(0, 1, 120)) @ values[2:])) / 2


def _first_peak(trace: SlipTrace, path: FloatArray, first: int) -> int:
    """The tick where the line is tightest before the spool first turns nearly as fast as the hand draws."""
    spool, hand = (np.diff(x[first : first + 1000]) for x in (trace.travel_m, path))
    caught_up = int(np.argmax(spool[: len(hand)] >= 0.8 * hand[: len(spool)]))
    return first + int(np.argmax(trace.force_N[first : first + caught_up + 1]))
