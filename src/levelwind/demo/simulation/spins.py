"""A simulated spool running down: how long it turns, and the table of speeds an invented counter would save."""

from dataclasses import dataclass
from math import atan, log, sqrt

import numpy as np

from levelwind.demo.simulation.slip import FloatArray

STEP_S = 0.005
"""Of the integration: at this step it is off by far less than the counter's last digit."""


def spin_time(start_rev_s: float, dry_rev_s2: float, oil_per_s: float, air_per_rev: float) -> float:
    """Seconds from ``start_rev_s`` to rest under dn/dt = -(dry + oil n + air n^2), by the integral of dn over the law.

    Needs ``dry_rev_s2`` above zero: without dry friction a spool never quite stops.

    >>> spin_time(20.0, 2.0, 0.0, 0.0)
    10.0
    >>> spin_time(20.0, 0.5, 0.05, 0.002)
    19.08
    """
    a, b, c = air_per_rev, oil_per_s, dry_rev_s2
    if a == 0:
        return start_rev_s / c if b == 0 else log(1 + b * start_rev_s / c) / b
    square = 4 * a * c - b * b
    if square > 0:
        root = sqrt(square)
        return 2 / root * (atan((2 * a * start_rev_s + b) / root) - atan(b / root))
    if square == 0:
        return 2 / b - 2 / (2 * a * start_rev_s + b)
    root = sqrt(-square)
    top = (2 * a * start_rev_s + b - root) * (b + root)
    return log(top / ((2 * a * start_rev_s + b + root) * (b - root))) / root


@dataclass(frozen=True, slots=True)
class Spool:
    """What takes a spool's speed away: dn/dt = -(dry + oil n + air n^2), n in rev/s from ``start_rev_s``."""

    start_rev_s: float
    dry_rev_s2: float
    oil_per_s: float
    air_per_rev: float

    @property
    def spin_time_s(self) -> float:
        return spin_time(self.start_rev_s, self.dry_rev_s2, self.oil_per_s, self.air_per_rev)


@dataclass(frozen=True, slots=True, eq=False)
class SimulatedSpin:
    """Speeds of an invented counter, with the spool they came from."""

    time_s: FloatArray
    rev_s: FloatArray
    truth: Spool

    def as_csv(self) -> str:
        """The text a phone would save, its origin in the first line.

        >>> spool = Spool(20.0, 2.0, 0.0, 0.0)
        >>> print(SimulatedSpin(np.array([0.0, 0.25]), np.array([20.0, 19.5]), spool).as_csv())
        # invented: simulated by Levelwind, measured on no reel
        Time (s),Speed (rev/s)
        0.00,20.000
        0.25,19.500
        """
        rows = (f"{t:.2f},{n:.3f}" for t, n in zip(self.time_s, self.rev_s, strict=True))
        head = ("# invented: simulated by Levelwind, measured on no reel", "Time (s),Speed (rev/s)")
        return "\n".join((*head, *rows)) + "\n"


def spool_that_turns(seconds: float, *, start_rev_s: float, oil_per_s: float, air_per_rev: float) -> Spool:
    """With as much dry friction as lets it turn so long, by halving: the more of it, the shorter the spin.

    >>> spool_that_turns(10.0, start_rev_s=20.0, oil_per_s=0.0, air_per_rev=0.0).dry_rev_s2
    2.0
    """
    low, high = 1e-9, 1e3
    for _ in range(100):
        middle = sqrt(low * high)
        longer = spin_time(start_rev_s, middle, oil_per_s, air_per_rev) > seconds
        low, high = (middle, high) if longer else (low, middle)
    return Spool(start_rev_s, middle, oil_per_s, air_per_rev)


def simulate_spin(
    spool: Spool, rng: np.random.Generator, *, sample_hz: float = 4.0, noise: float = 0.004
) -> SimulatedSpin:
    """From the flick to half a second after rest. ``noise`` is the counter's, as a share of the speed it reads."""
    steps = int((spool.spin_time_s + 0.5) / STEP_S) + 1
    fall: FloatArray = np.array(_falling(spool, steps))
    every = round(1 / (sample_hz * STEP_S))
    time, true = np.arange(0, steps, every, dtype=np.float64) * STEP_S, fall[::every]
    read: FloatArray = np.maximum(0.0, true * (1 + rng.normal(0.0, noise, len(true))))
    return SimulatedSpin(time, read, spool)


def _falling(spool: Spool, steps: int) -> list[float]:
    """Its speed at every step, by the midpoint rule; at rest it stays."""
    speeds, n = [], spool.start_rev_s
    for _ in range(steps):
        speeds.append(n)
        half = n - STEP_S / 2 * _slows(spool, n)
        n = max(0.0, n - STEP_S * _slows(spool, half))
    return speeds


def _slows(spool: Spool, n: float) -> float:
    return spool.dry_rev_s2 + spool.oil_per_s * n + spool.air_per_rev * n * n
