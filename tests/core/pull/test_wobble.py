"""What comes round with the spool, what sticks and what is neither, on logs simple enough to know by eye."""

import numpy as np
import pytest

from levelwind.core.pull import ridge
from levelwind.core.pull.beside import find_beside
from levelwind.core.pull.ridge import follow_line
from tests.core.pull.logs import HZ, drawn, one


def test_wobble_is_half_of_peak_to_trough_with_its_period() -> None:
    pull = one(*drawn(wobble=1.5))
    assert pull.wobble_N is not None and pull.wobble_period_s is not None
    assert pull.wobble_N.value == pytest.approx(1.5, rel=0.1)
    assert pull.wobble_period_s == pytest.approx(1.1, rel=0.03)
    assert pull.running_N.value == pytest.approx(20.0, rel=0.01)
    assert not pull.stick_slip


def test_wobble_is_followed_through_a_changing_speed() -> None:
    t, force = drawn(seconds=8.0)
    since = t - 1.5
    turns = since / 1.1 + 0.35 / 1.1 * (since**2 / 8.0 - since)  # from 35 % slower than the mean to 35 % faster
    force = np.where((since > 0) & (since < 8.0), force + 1.5 * np.sin(2 * np.pi * turns), force)
    pull = one(t, force)
    assert pull.wobble_N is not None and pull.wobble_N.value == pytest.approx(1.5, rel=0.1)


def test_a_line_followed_a_few_rates_at_a_time_is_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a long pull does, so as not to hold the transforms of all rates at once."""
    t, force = drawn(wobble=1.5)
    slip = slice(40, 140)
    whole = follow_line(t[slip], force[slip] - force[slip].mean())
    monkeypatch.setattr(ridge, "AT_A_TIME", 2000)
    parts = follow_line(t[slip], force[slip] - force[slip].mean())
    assert whole is not None and parts is not None
    assert np.array_equal(whole.phase, parts.phase) and whole.half_N == parts.half_N


def test_wobble_follows_travel_where_the_log_has_it() -> None:
    t, force = drawn(seconds=8.0)
    speed = np.where(np.sin(t * 1.9) > 0, 0.16, 0.04)
    travel = np.concatenate([[0.0], np.cumsum(speed[:-1] / HZ)])
    slipping = (t > 1.5) & (t < 9.5)
    force = np.where(slipping, force + 1.5 * np.sin(2 * np.pi * travel / 0.12), force)
    pull = one(t, force, travel_m=travel)
    assert pull.wobble_N is not None and pull.wobble_N.value == pytest.approx(1.5, rel=0.1)


def test_wobble_is_followed_while_a_hand_runs_ahead_and_lags() -> None:
    t, force = drawn(seconds=10.0)
    since = t - 1.5
    turns = since / 0.9 + 0.2 * np.sin(2 * np.pi * since / 3.0) + 0.12 * np.sin(2 * np.pi * since / 4.3 + 1)
    force = np.where((since > 0) & (since < 10.0), force + 1.5 * np.sin(2 * np.pi * turns), force)
    pull = one(t, force)
    assert pull.wobble_N is not None and pull.wobble_N.value == pytest.approx(1.5, rel=0.07)


def test_wobble_on_soft_line_is_that_of_the_washer() -> None:
    """The hand goes t, the spool t - F / slope: tension is a sine of the spool's travel, leaning in time."""
    t = np.arange(0.0, 11.0, 1 / HZ)
    slope, size = 40.0, 3.0
    travel = np.linspace(0.0, 8.0, 4000)
    tension = 20.0 + size * np.sin(2 * np.pi * travel / 1.1)
    clock = 2.0 + travel + (tension - tension[0]) / slope
    force = np.where(t < 1.5, 0.0, np.where(t < 2.0, slope * (t - 1.5), np.interp(t, clock, tension)))
    force = np.where(t > 9.9, 0.0, force) + np.random.default_rng(1).normal(0, 0.03, len(t))
    pull = one(t, force)
    assert pull.wobble_N is not None and not pull.stick_slip
    assert pull.wobble_N.value == pytest.approx(size, rel=0.02)
    assert pull.running_N.value == pytest.approx(20.0, rel=0.005)  # a mean over the clock would be 20.1


@pytest.mark.parametrize("seed", range(20))
def test_noise_alone_is_no_wobble(seed: int) -> None:
    """One in a hundred may pass (FALSE_ALARM); these twenty were not chosen."""
    assert one(*drawn(noise=0.8, hz=10.0, seed=seed)).wobble_N is None


def test_what_is_quicker_than_any_spool_is_the_hand_s_and_that_is_said() -> None:
    t, force = drawn(seconds=8.0, hz=60.0)
    slipping = (t > 1.6) & (t < 9.5)
    pull = one(t, np.where(slipping, force + 0.6 * np.sin(2 * np.pi * 7.5 * t), force))
    assert pull.wobble_N is None and pull.wobble_period_s is None and pull.stick_slip is False
    assert [str(note) for note in pull.cautions if note.key == "hand_trembles"] == [
        "tension comes and goes 7.5 times a second, as it does when a hand trembles: whether a washer is warped is not "
        "told from that; pull again, with the elbow held to your side"
    ]


def test_a_turn_and_a_half_is_too_few_and_that_is_said() -> None:
    pull = one(*drawn(wobble=2.0, period=4.0))
    assert pull.wobble_N is None and pull.wobble_period_s is None
    assert any("fewer than two turns" in str(note) for note in pull.cautions)


def test_stick_slip_and_its_rate() -> None:
    t, force = drawn(breakaway=24.0, seconds=7.0)
    since = t - 1.5
    saw = 16.0 + 48.0 * (since % 0.25) * (since % 0.25 < 0.2)  # climbs as the take-up does, 48 N a second, and lets go
    force = np.where((since > 0.1) & (since < 6.9), saw, force)
    pull = one(t, force)
    assert pull.stick_slip
    assert pull.stick_slip_hz == pytest.approx(4.0, rel=0.1)
    assert pull.wobble_N is None
    assert "wave_hidden" in [note.key for note in pull.cautions], "it may come round as often as it sticks"


def test_a_wave_that_climbs_slowly_and_falls_at_once_is_sticking_even_on_stiff_line() -> None:
    t, force = drawn(hz=40.0)
    since = t - 1.5
    saw = 1.2 * ((since * 1.5) % 1.0)
    pull = one(t, np.where((since > 0) & (since < 6), force + saw, force))
    assert pull.stick_slip and pull.stick_slip_hz == pytest.approx(1.5, rel=0.1)


def test_an_even_wave_is_no_sticking_even_if_the_take_up_was_slow() -> None:
    t, force = drawn(hz=40.0, wobble=3.0, period=0.3)
    assert one(t, force).stick_slip is False


def test_what_lies_between_sticking_and_wobble_is_said_to() -> None:
    t, force = drawn()
    since = np.clip(t - 1.6, 0, 5.8)
    here = (since > 0) & (since < 5.8)
    comes_and_goes = np.sin(2 * np.pi * (since / 0.42 + 0.4 * np.sin(3.1 * since))) * np.sign(np.sin(1.3 * since))
    pull = one(t, force + 2.0 * here * comes_and_goes)  # climbs 4 N in 0.42 s of a take-up of 52 N a second: 0.18
    assert any("not told for sure" in str(note) for note in pull.cautions)
    sure = one(*drawn(wobble=2.0, period=0.42))  # climbs as much, and keeps to one wave
    assert sure.stick_slip is False and not any("not told for sure" in str(note) for note in sure.cautions)


@pytest.mark.parametrize("rate_hz", [1.0, 2.5, 5.0])
def test_a_plain_wave_is_found_at_any_pace_of_the_spool(rate_hz: float) -> None:
    """Seven per cent of 20 N at a steady hand. At 5 Hz it climbs by 44 N a second, the take-up by 52."""
    pull = one(*drawn(wobble=1.4, period=1 / rate_hz, hz=100.0))
    assert pull.wobble_N is not None and pull.wobble_N.value == pytest.approx(1.4, rel=0.01)
    assert pull.wobble_period_s == pytest.approx(1 / rate_hz, rel=0.01)
    assert pull.stick_slip is False


def test_a_hand_that_goes_on_quicker_than_it_took_up_makes_no_warp_stick() -> None:
    t, force = drawn(wobble=2.0, period=0.25, hz=60.0, seconds=7.0)
    slow = np.where((t > 0.0) & (t < 1.518), np.clip(26.0 + 20.0 * (t - 1.518), 0, None), force)  # took up at 20 N/s
    pull = one(t, slow)
    assert pull.stick_slip is False
    assert pull.wobble_N is not None and pull.wobble_N.value == pytest.approx(2.0, rel=0.05)


def test_travel_in_metres_bounds_no_turns_a_second() -> None:
    """Half a metre a second on a small spool: 4 turns a second, 8 a metre."""
    t, force = drawn(hz=50.0, seconds=8.0, wobble=1.4, period=0.25)
    pull = one(t, force, travel_m=0.5 * t)
    assert pull.wobble_N is not None and pull.wobble_N.value == pytest.approx(1.4, rel=0.05)
    assert pull.wobble_period_s == pytest.approx(0.25, rel=0.02)


def test_sticking_and_a_wave_are_both_told() -> None:
    t, force = drawn(hz=80.0, seconds=10.0, breakaway=25.0)
    since = t - 1.5
    saw = 8.0 * ((since * 4.0) % 1.0) / 0.85 * ((since * 4.0) % 1.0 < 0.85)
    wave = 1.6 * np.sin(2 * np.pi * since / 1.7)
    pull = one(t, np.where((since > 0.1) & (since < 9.9), 16.0 + saw + wave, force))
    assert pull.stick_slip is True and pull.stick_slip_hz == pytest.approx(4.0, rel=0.1)
    assert pull.wobble_N is not None and pull.wobble_N.value == pytest.approx(1.6, rel=0.2)
    assert pull.wobble_period_s == pytest.approx(1.7, rel=0.1)
    assert "wave_hidden" not in [note.key for note in pull.cautions]


@pytest.mark.parametrize("wave_N", [0.0, 1.0])
def test_peaks_and_troughs_alone_show_a_wave_slower_than_the_sticking(wave_N: float) -> None:
    """Thirty uneven cycles, and nothing between; a wave raises where the spool lets go and where it catches."""
    dice = np.random.default_rng(7)
    climbs = dice.uniform(0.15, 0.35, 30)
    at = np.cumsum(np.column_stack([climbs, np.full(30, 0.05)]).ravel())
    swings = np.column_stack([18.0 + 40.0 * climbs, dice.normal(18.0, 0.2, 30)]).ravel()
    force = swings + wave_N * np.sin(2 * np.pi * at / 0.93)
    wave, seconds = find_beside(at, force, [(i, i + 1) for i in range(0, 60, 2)])
    assert (wave is not None) is (wave_N > 0)
    if wave is not None:
        assert wave.half_span()[0] == pytest.approx(1.0, rel=0.15)
        assert seconds / wave.turns == pytest.approx(0.93, rel=0.03)


@pytest.mark.parametrize("seed", range(6))
def test_a_tremor_of_the_hand_is_no_sticking(seed: int) -> None:
    t, force = drawn(hz=40.0, noise=0.25, seed=seed)
    pull = one(t, force + np.where((t > 1.6) & (t < 7.4), 0.14 * np.sin(2 * np.pi * 8.0 * t), 0.0))
    assert pull.stick_slip is False


def test_a_wave_read_too_seldom_is_not_told_and_that_is_said() -> None:
    pull = one(*drawn(hz=8.0, seconds=8.0))
    assert pull.wobble_N is None
    assert any("more than 3.3 times a second would not show at 8.0 readings" in str(note) for note in pull.cautions)


def test_sticking_of_which_few_readings_are_left_is_not_told() -> None:
    pull = one(*drawn(wobble=1.4, period=0.2, hz=20.0))  # four readings a cycle: a saw would look the same
    assert pull.stick_slip is None
    assert pull.wobble_N is not None and pull.wobble_N.value == pytest.approx(1.4, rel=0.15)
    assert pull.wobble_N.low == 0.0, "it may all be sticking"


@pytest.mark.parametrize("quicker", [1.5, 2.5, 4.0])
def test_a_steep_warp_on_soft_line_is_no_sticking_however_quick_the_hand_goes_on(quicker: float) -> None:
    """Tension is a sine of the spool's travel; the hand goes on ``quicker`` than it took up, and the spool never stops.

    In time it leans to two thirds of climbing, as steep as the take-up and steeper: a warp all the same.
    """
    slope, size, rate_hz = 40.0, 2.0, 3.0 * quicker / 2.5
    travel = np.linspace(0.0, 8.0, 40_000)
    tension = 20.0 + size * np.sin(2 * np.pi * rate_hz * travel)
    clock = 2.0 + travel + (tension - tension[0]) / (slope * quicker)
    assert (np.diff(clock) > 0).all(), "the spool never stands still"
    t = np.arange(0.0, 11.0, 1 / 60)
    force = np.where(t < 1.5, 0.0, np.where(t < 2.0, slope * (t - 1.5), np.interp(t, clock, tension)))
    pull = one(t, np.where(t > 9.9, 0.0, force) + np.random.default_rng(2).normal(0, 0.03, len(t)))
    assert pull.stick_slip is False
    assert pull.wobble_N is not None and pull.wobble_N.value == pytest.approx(size, rel=0.1)
    assert pull.wobble_period_s == pytest.approx(1 / rate_hz, rel=0.05)


@pytest.mark.parametrize("hz", [10.0, 20.0, 33.0, 60.0, 100.0])
@pytest.mark.parametrize("noise", [0.1, 0.3])
def test_noise_and_a_tremor_are_no_sticking_at_any_rate(hz: float, noise: float) -> None:
    """A tremor of 0.7 % at 8 Hz; the noise comes with the pull, as the slack shows none of it."""
    t, force = drawn(hz=hz, noise=0.01)
    slips = (t > 1.6) & (t < 7.4)
    shaken = 0.14 * np.sin(2 * np.pi * 8.0 * t) + np.random.default_rng(4).normal(0, noise, len(t))
    assert one(t, force + slips * shaken).stick_slip is not True


def test_a_decay_is_no_part_of_a_turn() -> None:
    """Two or three seconds whose first holds a straight fall from the peak: as much as 0.7 of a turn explains."""
    t, force = drawn(seconds=4.0, hz=25.0)
    since = t - 1.518
    fall = np.where((since > 0) & (since < 1.0), 6.0 * (1.0 - since), 0.0)
    pull = one(t, np.where((since > 0) & (since < 4.0), 20.0 + fall, force))
    assert pull.running_N.value == pytest.approx(20.0, rel=0.005)


@pytest.mark.parametrize("seed", range(4))
def test_badly_irregular_times_widen_and_do_not_mislead(seed: int) -> None:
    """Times off by up to 45 % of the step, and a wave of 2.2 turns a second."""
    t, force = drawn(hz=20.0, seconds=7.0, noise=0.0)
    uneven = t + np.random.default_rng(seed).uniform(-0.45, 0.45, len(t)) / 20.0
    since = uneven - 1.518
    wave = np.where((since > 0) & (since < 7.0), 1.5 * np.sin(2 * np.pi * 2.2 * since), 0.0)
    force = np.interp(uneven, t, force) + wave
    pull = one(uneven, force + np.random.default_rng(seed).normal(0, 0.03, len(t)))
    assert pull.stick_slip is not True
    assert pull.wobble_N is not None and pull.wobble_N.value == pytest.approx(1.5, rel=0.15)
