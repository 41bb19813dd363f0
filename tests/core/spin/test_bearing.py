"""Which bearing ticks, in made recordings."""

import json

import numpy as np
import pytest

from levelwind.core.codec import as_shown
from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.spin.bearing import PARTS, BearingHeard, defect_rates, listen
from levelwind.core.spin.law import Law, speed_after, time_between, turns_after
from levelwind.core.spin.model import SpeedCurve, Spin
from levelwind.core.spin.options import Bearing
from tests.core.spin.sounds import SAMPLE_HZ, ticking

BEARING = Bearing(9, 7.94, 39.04)
LAW, START = Law(0.5, 0.06, 0.002), 24.0
STOP = float(time_between(LAW, START, 0.0))


def _heard(part: str | None, seed: int = 1) -> BearingHeard:
    rng = np.random.default_rng(seed)
    t = np.linspace(0, STOP, 8000)
    turns, speed = turns_after(LAW, START, t), speed_after(LAW, START, t)

    def train(rate: float) -> np.ndarray:
        times = np.interp(np.arange(1, turns[-1] * rate) / rate, turns, t)
        return ticking(times + rng.normal(0, 0.0002, len(times)), np.interp(times, t, speed) / START, STOP, 1, rng)

    samples = train(1.0) + rng.normal(0, 0.02, int(STOP * SAMPLE_HZ))
    if part:
        samples += 0.3 * train(defect_rates(BEARING).strikes[PARTS.index(part)] * 1.007)
    spin = Spin(0.0, STOP, None, None, SpeedCurve(tuple(t[::40].tolist()), tuple(speed[::40].tolist())))
    return listen(samples.astype(np.float32), float(SAMPLE_HZ), spin, BEARING)


@pytest.mark.parametrize("part", ["outer ring", "inner ring", "ball"])
def test_a_fault_is_found_though_the_balls_slip(part: str) -> None:
    heard = _heard(part)
    assert heard.parts[0].part == part
    assert heard.parts[0].chance > 0.9
    assert str(heard.words).startswith(f"something on the {part}")


def test_a_sound_bearing_is_left_alone() -> None:
    """Over six recordings without a fault none is accused with more than 90 %."""
    assert max(_heard(None, seed).parts[0].chance for seed in range(6)) < 0.9


@pytest.mark.parametrize("sizes", [(2, 1.0, 5.0), (9, 5.0, 5.0), (9, 4.2, 5.0), (9, 1.0, 500.0), (9, -1.0, 5.0)])
def test_no_such_bearing(sizes: tuple[int, float, float]) -> None:
    with pytest.raises(InputError):
        Bearing(*sizes)


def test_without_speeds_nothing_can_be_followed() -> None:
    with pytest.raises(NotDeterminedError, match="speed"):
        listen(
            np.random.default_rng(1).normal(size=50_000).astype(np.float32), 24_000.0, Spin(0, 2, None, None), BEARING
        )


def test_what_was_heard_is_stored_as_plain_values() -> None:
    stored = json.loads(json.dumps(as_shown(_heard("outer ring"))))
    assert stored["kind"] == "bearing" and stored["words"].startswith("something on the outer ring")
    assert [set(part) for part in stored["parts"]] == [{"part", "chance", "strikes_a_turn"}] * 4
    assert stored["parts"][0]["chance"] > 0.9 and stored["cautions"] == []
