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
    stick_slip: bool
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
    trace = slip(drag, rig, path, unevenness(drag, float(path.max()) + 0.5, rng))
    time, force = _read(trace.force_N, scale, rng)
    return SimulatedLog(time, force, tuple(_truth(trace, span, drag) for span in spans))


def _hand_path(
    drag: DragCondition, rig: Rig, hand: Hand, rng: np.random.Generator
) -> tuple[FloatArray, list[tuple[int, int]]]:
    """The hand's place each millisecond, and when each pull begins and lets go (in ticks)."""
    speeds: list[FloatArray] = []
    spans = []
    ticks = 0
    for _ in range(hand.pulls):
        slack = np.zeros(int(hand.slack_s * rng.uniform(0.7, 1.5) / TICK_S))
        pull = _pull_speed(hand, rng)
        back = 1.3 * drag.running_N / rig.stiffness_N_m + rng.uniform(0.01, 0.03)
        release = np.sin(np.linspace(0, np.pi, int(rng.uniform(0.15, 0.35) / TICK_S)))
        release *= -back / (release.sum() * TICK_S)
        spans.append((ticks + len(slack), ticks + len(slack) + len(pull)))
        speeds += [slack, pull, release]
        ticks += len(slack) + len(pull) + len(release)
    speeds.append(np.zeros(int(hand.slack_s * rng.uniform(0.5, 1.0) / TICK_S)))
    return np.cumsum(np.concatenate(speeds)) * TICK_S - rng.uniform(0.002, 0.02), spans


def _pull_speed(hand: Hand, rng: np.random.Generator) -> FloatArray:
    """Speed through one pull: it gathers way, wanders, and slows before it lets go."""
    n = int(hand.pull_s * rng.uniform(0.8, 1.2) / TICK_S)
    kernel = np.exp(-np.arange(2000) / 400.0)
    wander = np.convolve(rng.normal(size=n + 2000), kernel, "full")[2000 : 2000 + n]
    along = np.arange(n) * TICK_S
    gather = 1 - np.exp(-along / rng.uniform(0.05, 0.2))
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


def _truth(trace: SlipTrace, span: tuple[int, int], drag: DragCondition) -> TruePull:
    begin, let_go = span
    slips = np.flatnonzero(trace.slipping[begin:let_go]) + begin
    first, last = int(slips[0]), int(slips[-1])
    peak = _first_peak(trace.force_N, first)
    settled = min(peak + 200, last - 100)
    stops = np.flatnonzero(np.diff(trace.slipping[settled : let_go - 200].astype(int)) == 1)
    seconds = (let_go - 200 - settled) * TICK_S
    sticks = len(stops) / seconds > 0.4 and len(stops) >= 4
    travel = trace.travel_m[last] - trace.travel_m[settled]
    running = float(np.mean(trace.force_N[settled:last]))
    smooth = trace.smooth_N
    head, tail = float(np.mean(smooth[settled : settled + 100])), float(np.mean(smooth[last - 100 : last]))
    return TruePull(
        start_s=begin * TICK_S,
        end_s=let_go * TICK_S,
        breakaway_N=float(trace.force_N[peak]),
        running_N=running,
        wobble_N=drag.wobble * running,
        wobble_period_s=float(drag.turn_m / travel * (last - settled) * TICK_S),
        stick_slip=sticks,
        stick_slip_hz=len(stops) / seconds if sticks else 0.0,
        fade_percent=100 * (1 - tail / head),
    )


def _first_peak(force: FloatArray, first: int) -> int:
    """The tick where the line is tightest before it gives half a percent, or 0.3 s after it first slips."""
    window = force[first : first + 300]
    given = np.flatnonzero(window < 0.995 * np.maximum.accumulate(window))
    return first + int(np.argmax(window[: given[0]] if len(given) else window))
