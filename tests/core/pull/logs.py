"""A force log simple enough to know the answer by eye, drawn and read."""

import numpy as np

from levelwind.core.pull import Pull, analyse

HZ = 20.0


def drawn(
    *,
    breakaway: float = 26.0,
    running: float = 20.0,
    wobble: float = 0.0,
    period: float = 1.1,
    fade: float = 0.0,
    seconds: float = 6.0,
    hz: float = HZ,
    noise: float = 0.03,
    tare: float = 0.0,
    seed: int = 1,
) -> tuple[np.ndarray, np.ndarray]:
    """Slack, a straight ramp of half a second, a fall, level slip with a sine on it and a straight fade, slack."""
    t = np.arange(0.0, seconds + 3.0, 1 / hz)
    since = t - 1.518
    level = running * (1 - fade * (since - seconds / 2) / seconds) + wobble * np.sin(2 * np.pi * since / period)
    slip = level + (breakaway - running) * np.exp(-np.maximum(since, 0) / 0.05)
    force = np.where(since < -0.5, 0.0, np.where(since < 0, breakaway * (since + 0.5) / 0.5, slip))
    force = np.where(since > seconds, 0.0, force)
    return t, force + tare + np.random.default_rng(seed).normal(0, noise, len(t))


def one(t: np.ndarray, force: np.ndarray, **said: object) -> Pull:
    (pull,) = analyse(t, force, **said).pulls  # type: ignore[arg-type]
    return pull
