"""Following a speed backward through the zones of the frame rate, on harmonics made by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from levelwind.core.spin.film import _rest_time
from levelwind.core.spin.film_track import coherence, rest_seen, track_back
from levelwind.core.spin.law import Law

STOP_S = 5.0


def phasors(
    rate: float, start_rev_s: float, rng: np.random.Generator, *, noise: float = 0.3
) -> tuple[np.ndarray, np.ndarray]:
    """Four harmonics of a spool slowing evenly to rest at 5 s, filmed for a second more."""
    t = np.arange(0, STOP_S + 1.0, 1 / rate)
    left = np.maximum(STOP_S - t, 0)
    turns = -start_rev_s / STOP_S * left**2 / 2
    z = np.exp(2j * np.pi * turns[:, None] * np.arange(1, 5)) / np.arange(1, 5)
    return z + noise * (rng.standard_normal(z.shape) + 1j * rng.standard_normal(z.shape)) / 4, t


@pytest.mark.parametrize(("rate", "start"), [(60.0, 20.0), (30.0, 14.0), (30.0, 29.0), (30.0, 45.0), (24.0, 60.0)])
def test_speed_is_followed_past_the_frame_rate(rate: float, start: float) -> None:
    z, t = phasors(rate, start, np.random.default_rng(4))
    rest = rest_seen(z, t)
    assert rest and rest.moved_s == pytest.approx(STOP_S, abs=0.3)
    track = track_back(z, t, rest.moved_s + 0.05, 0.0, 3.0)
    assert track.t_s[0] < 0.3
    true = np.maximum(start * (1 - track.t_s / STOP_S), 0)
    assert np.median(np.abs(track.rev_s - true)) < 0.1
    assert np.max(np.abs(track.rev_s - true)) < 0.8


def test_a_picture_that_wanders_once_the_spool_rests_does_not_put_the_stop_off() -> None:
    """Slowed film of a faint mark: for two seconds after rest the picture lies 0.018 turns off where it ends."""
    t = np.arange(0, 9.0, 1 / 30)
    wanders = 0.018 * np.clip((7.5 - t) / 0.5, 0, 1) * (t > STOP_S)
    turns = 0.05 * np.maximum(STOP_S - t, 0) ** 2 / 2 + np.maximum(wanders, 0.018 * (t <= STOP_S))
    rest = rest_seen(np.exp(2j * np.pi * turns[:, None] * np.arange(1, 5)) / np.arange(1, 5), t)
    assert rest is not None and rest.moved_s > 7.0 and rest.clearly_s < STOP_S
    law = SimpleNamespace(law=Law(0.05, 0.0, 0.0), start_s=0.0, stop_s=9.0, time_s=t)
    told = _rest_time(SimpleNamespace(fit=law), rest, None)  # type: ignore[arg-type]
    assert told.low < STOP_S < told.high and told.value == pytest.approx(STOP_S, abs=0.5)


def test_a_film_cut_before_rest_has_no_rest() -> None:
    z, t = phasors(30.0, 20.0, np.random.default_rng(4))
    cut = t < 4.2
    assert rest_seen(z[cut], t[cut]) is None


def test_speeds_a_frame_rate_apart_look_alike_at_even_times_and_not_at_uneven_ones() -> None:
    rng = np.random.default_rng(6)
    for uneven, alike in ((0.0, True), (0.006, False)):
        t = np.arange(-5, 6) / 30 + rng.uniform(-uneven, uneven, 11)
        z = np.exp(2j * np.pi * np.outer(12.0 * t, [1, 2]))
        here, there = coherence(z, t, np.array([12.0, 42.0]), np.array([0.0]))[:, 0]
        assert here == pytest.approx(1.0)
        assert bool(there > 0.99) is alike
