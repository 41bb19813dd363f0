"""A run: line drawn off at a speed, as steps of time and of spool angle."""

import numpy as np

from levelwind.core.errors import InputError
from levelwind.core.line.model import Filled
from levelwind.core.line.radius import Floats, radius_at_length_m
from levelwind.core.writing import written


def run_steps(filled: Filled, left_m: float, run_m: float, speed_m_s: float, steps: int = 60) -> tuple[Floats, Floats]:
    """Seconds and spool angle in rad of ``steps`` equal lengths drawn off from ``left_m`` on the spool, each (steps,).

    The angle of a step is its length over the radius halfway through it.

    >>> from levelwind.core.line.model import Line, Spool
    >>> filled = Filled(Spool(0.010, 0.025, 0.030), Line("0.40 mm nylon", 0.40e-3, 75.6), 200.0)
    >>> seconds, angle = run_steps(filled, 200.0, 100.0, 5.0)
    >>> float(seconds.sum()), float(angle.sum())
    (20.0, 5349.0)
    """
    if not 0 < left_m <= filled.length_m:
        raise InputError(
            "line left at the start of the run",
            f"{written(left_m)} m",
            f"over 0 and up to {written(filled.length_m)} m",
        )
    if not 0 < run_m <= left_m:
        raise InputError(
            "length of the run", f"{written(run_m)} m", f"over 0 and up to the {written(left_m)} m left on the spool"
        )
    if not 0.001 <= speed_m_s <= 40:
        raise InputError("speed of the run", f"{written(speed_m_s)} m/s", "from 0.001 to 40 m/s")
    length = run_m / steps
    halfway = np.asarray(left_m - length * (np.arange(steps) + 0.5), float)
    return np.full(steps, length / speed_m_s), length / radius_at_length_m(filled, halfway)
