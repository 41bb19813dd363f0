"""What a force log must and must not say, on logs simple enough to know the answer by eye."""

import json
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.codec import as_shown, as_stored, from_stored
from levelwind.core.errors import InputError, LevelwindError, NotDeterminedError
from levelwind.core.fitting import LinearFit, fit_linear
from levelwind.core.notes import Note
from levelwind.core.pull import Pull, PullResult, analyse, beside, level, turns
from levelwind.core.pull.options import PullOptions
from tests.core.pull.logs import HZ, drawn, one
from tests.full_size import cases


def test_a_plain_pull() -> None:
    pull = one(*drawn())
    assert pull.running_N.low < 20.0 < pull.running_N.high
    assert pull.running_N.value == pytest.approx(20.0, rel=0.005)  # noise of 0.03 N over a hundred readings
    assert pull.breakaway_N.low < 26.0 < pull.breakaway_N.high
    assert pull.breakaway_N.value == pytest.approx(26.0, rel=0.05)  # the ramp gains 2.6 N between readings
    assert pull.startup_ratio.low < 1.3 < pull.startup_ratio.high
    assert pull.wobble_N is None and not pull.stick_slip and pull.stick_slip_hz is None
    assert pull.fade_percent is not None and pull.fade_percent.low < 0.0 < pull.fade_percent.high
    assert pull.start_s == pytest.approx(1.05, abs=0.11) and pull.end_s == pytest.approx(7.5, abs=0.11)


def test_fade_is_what_was_lost_from_start_to_end() -> None:
    pull = one(*drawn(fade=0.2))  # 22 N at the start, 18 N at the end
    assert pull.fade_percent is not None
    assert pull.fade_percent.low < 100 * 4 / 22 < pull.fade_percent.high
    assert pull.fade_percent.value == pytest.approx(100 * 4 / 22, abs=1.0)
    assert pull.running_N.value == pytest.approx(20.0, rel=0.01)


def test_a_drag_that_stuck_only_once_runs_at_the_middle_of_its_swings() -> None:
    t = np.arange(0.0, 8.0, 0.02)
    climbs = np.where(t < 3.0, 30 * (t - 1), 20 + 10 * (t - 3.1))  # to 60 N, lets go to 20 N, climbs to 49 N
    pull = one(t, np.where((t > 1) & (t < 6), climbs, 0.0) + np.random.default_rng(1).normal(0, 0.03, len(t)))
    assert pull.stick_slip
    assert pull.running_N.low < pull.running_N.value == pytest.approx((60 + 20) / 2, rel=0.03)


@pytest.mark.parametrize("level", [24.0, 26.0, 40.0])
def test_the_peak_is_no_lower_than_an_average_of_it(level: float) -> None:
    """On stiff line, ten readings a second, a ramp that bends over to the running drag could pass for a low peak."""
    ramp = [0.0] * 12 + [1.0, 11.8, 25.4]
    slip = [level, level + 0.4, level - 0.3, level + 0.1] * 12
    force = np.array([*ramp, *slip, *[0.0] * 12]) + np.random.default_rng(3).normal(0, 0.05, 75)
    breakaway = one(np.arange(75) / 10, force).breakaway_N
    assert 0.98 * level < breakaway.low < breakaway.value < breakaway.high


@pytest.mark.parametrize("tare", [-3.0, 0.0, 4.0])
def test_the_scale_need_not_read_zero_at_rest(tare: float) -> None:
    result = analyse(*drawn(tare=tare))
    assert result.tare_N == pytest.approx(tare, abs=0.05)
    assert result.pulls[0].running_N.value == pytest.approx(20.0, rel=0.005)


def test_a_scale_that_calls_pulling_negative() -> None:
    t, force = drawn()
    result = analyse(t, -force)
    assert result.pulls[0].running_N.value == pytest.approx(20.0, rel=0.005)
    assert any("turned round" in str(note) for note in result.cautions)


def test_several_pulls_each_with_its_own_setting() -> None:
    logs = [drawn(running=level, breakaway=1.3 * level, seed=int(level)) for level in (4.0, 30.0, 12.0)]
    t = np.concatenate([log[0] + 9.0 * i for i, log in enumerate(logs)])
    pulls = analyse(t, np.concatenate([log[1] for log in logs])).pulls
    assert [round(pull.running_N.value) for pull in pulls] == [4, 30, 12]
    assert all(earlier.end_s < later.start_s for earlier, later in pairwise(pulls))  # type: ignore[operator]


def test_a_second_pull_before_the_line_went_slack_is_a_pull_of_its_own() -> None:
    (t, force), (_, again) = drawn(), drawn(seed=2)
    between = np.maximum(again, 3.0)  # eased to 3 N, not let go
    both = np.concatenate([np.where(t > 3.0, np.maximum(force, 3.0), force), between])
    pulls = analyse(np.arange(len(both)) / HZ, both).pulls
    assert len(pulls) == 2
    assert all(pull.breakaway_N.value == pytest.approx(26.0, rel=0.06) for pull in pulls)


def test_a_spike_is_neither_breakaway_nor_running_drag() -> None:
    t, force = drawn()
    force[[10, 80, 120]] += (30.0, 60.0, -20.0)
    result = analyse(t, force)
    (pull,) = result.pulls
    assert pull.breakaway_N.value == pytest.approx(26.0, rel=0.06)
    assert pull.running_N.value == pytest.approx(20.0, rel=0.005)
    assert "3 readings that jump away and back are left out" in map(str, result.cautions)


def test_a_short_tug_is_left_out_and_named() -> None:
    t, force = drawn()
    force[2:9] += np.array([4, 9, 12, 12, 9, 4, 1])
    result = analyse(t, force)
    assert len(result.pulls) == 1
    assert any("the tug at 0.1 s is left out" in str(note) for note in result.cautions)


def test_a_pull_under_way_when_the_log_begins_has_no_start_up() -> None:
    t, force = drawn()
    with pytest.raises(NotDeterminedError, match="already under way"):
        analyse(t[50:], force[50:])


def test_without_slack_the_zero_is_the_scales_own_and_that_is_said() -> None:
    t, force = drawn(tare=0.0)
    keep = (t > 1.0) & (t < 7.4)
    result = analyse(t[keep], force[keep])
    assert result.tare_N == 0.0
    assert any("never slack" in str(note) for note in result.cautions)
    assert result.pulls[0].running_N.low < 20.0 < result.pulls[0].running_N.high


def test_pulls_can_be_marked_by_hand() -> None:
    t, force = drawn(seconds=9.0)
    pull = one(t, force, options=PullOptions(spans_s=[(1.0, 5.0)]))
    assert pull.end_s == pytest.approx(5.0, abs=0.06)
    with pytest.raises(InputError, match="the marked pull was 5 to 4 s"):
        analyse(t, force, options=PullOptions(spans_s=[(5.0, 4.0)]))


def three_pulls() -> tuple[np.ndarray, np.ndarray]:
    parts = [drawn(running=level, breakaway=1.3 * level, seed=seed) for seed, level in enumerate((20.0, 26.0, 14.0))]
    t = np.concatenate([t + 9.0 * i for i, (t, _) in enumerate(parts)])
    return t, np.concatenate([force for _, force in parts])


def test_the_pulls_found_are_the_same_when_marked_as_they_were_found() -> None:
    t, force = three_pulls()
    found = analyse(t, force)
    spans = [(pull.start_s, pull.end_s) for pull in found.pulls]
    assert analyse(t, force, options=PullOptions(spans_s=spans)).pulls == found.pulls and len(spans) == 3


def test_a_pull_is_left_out_by_keeping_the_others() -> None:
    t, force = three_pulls()
    first, _, third = found = analyse(t, force).pulls
    kept = analyse(t, force, options=PullOptions(spans_s=[(third.start_s, third.end_s), (first.start_s, first.end_s)]))
    assert kept.pulls == (found[0], found[2])


@pytest.mark.parametrize("late_s", [-0.4, -0.1, 0.1, 0.3, 0.45])
def test_a_start_marked_a_little_off_changes_nothing(late_s: float) -> None:
    t, force = three_pulls()
    found = analyse(t, force).pulls[0]
    (pull,) = analyse(t, force, options=PullOptions(spans_s=[(found.start_s + late_s, found.end_s)])).pulls
    assert pull.breakaway_N.value == pytest.approx(found.breakaway_N.value, rel=0.01)
    assert pull.running_N.value == pytest.approx(found.running_N.value, rel=0.001)


def test_an_end_marked_by_hand_is_kept() -> None:
    t, force = drawn(fade=0.4, seconds=8.0)
    whole, part = one(t, force), one(t, force, options=PullOptions(spans_s=[(1.0, 5.0)]))
    assert part.steady_s is not None and part.steady_s[1] <= 5.0
    assert part.running_N.value > whole.running_N.value + 1.0


@pytest.mark.parametrize(
    ("spans", "sentence"),
    [
        ([], "the marked pulls was none"),
        ([(1.0, 40.0)], "the marked pull was 1 to 40 s"),
        ([(-2.0, 4.0)], "the marked pull was -2 s"),
        ([(1.0, float("nan"))], "the marked pull was nan s"),
        ([(1.0, 6.0), (4.0, 8.0)], "within the one from 1 s"),
    ],
)
def test_marks_that_cannot_be_are_refused(spans: list[tuple[float, float]], sentence: str) -> None:
    t, force = drawn()
    with pytest.raises(InputError, match=sentence):
        analyse(t, force, options=PullOptions(spans_s=spans))


def test_a_pull_marked_from_the_middle_of_its_slip_is_refused_with_the_reason() -> None:
    t, force = drawn()
    with pytest.raises(NotDeterminedError, match=r"the tug at 4.0 s is left out: it was already under way"):
        analyse(t, force, options=PullOptions(spans_s=[(4.0, 7.4)]))


def test_a_scale_at_its_limit_is_named_when_the_limit_is_known() -> None:
    t, force = drawn(breakaway=40.0)
    clipped = np.minimum(force, 25.0)
    assert any(
        "reached its limit of 25 N" in str(note)
        for note in analyse(t, clipped, options=PullOptions(capacity_N=25.0)).cautions
    )
    assert not any("limit" in str(note) for note in analyse(t, force, options=PullOptions(capacity_N=100.0)).cautions)


def test_a_slow_scale_gives_a_wide_breakaway_and_says_why() -> None:
    quick, slow = one(*drawn(hz=80.0)), one(*drawn(hz=8.5))
    width = [(p.breakaway_N.high - p.breakaway_N.low) / p.breakaway_N.value for p in (quick, slow)]
    assert width[1] > 2 * width[0]
    assert any("between two readings" in str(note) for note in slow.cautions)


@pytest.mark.parametrize(
    ("time", "force", "kind", "sentence"),
    [
        (np.arange(50.0), np.full(50, 3.0), NotDeterminedError, "every force in the log is 3 N"),
        (np.arange(5.0), np.arange(5.0), NotDeterminedError, "the log has 5 readings"),
        (np.arange(50.0)[::-1], np.arange(50.0), InputError, "running backwards"),
        (np.zeros(50), np.arange(50.0), InputError, "standing still"),
        (np.arange(50.0), np.arange(49.0), InputError, "one time for each reading"),
        (np.arange(50.0), np.full(50, np.nan), InputError, "not finite"),
        (np.arange(200.0) / 20, np.random.default_rng(0).normal(size=200), NotDeterminedError, "left out|no pull"),
    ],
)
def test_what_cannot_be_told_is_refused(
    time: np.ndarray, force: np.ndarray, kind: type[LevelwindError], sentence: str
) -> None:
    with pytest.raises(kind, match=sentence):
        analyse(time, force)


def test_the_work_grows_with_the_readings_and_no_faster(monkeypatch: pytest.MonkeyPatch) -> None:
    """Readings that least squares are done over, of one pull and of the same one three times over."""
    worked: list[int] = []

    def counted(columns: np.ndarray, y: np.ndarray, *, lag: int = 0) -> LinearFit:
        worked.append(len(y))
        return fit_linear(columns, y, lag=lag)

    for module in (turns, level, beside):
        monkeypatch.setattr(module, "fit_linear", counted)
    t, force = drawn()
    told: list[float] = []
    once = analyse(t, force)
    single = sum(worked)
    worked.clear()
    again = analyse(np.concatenate([t + n * (t[-1] + 0.05) for n in range(3)]), np.tile(force, 3), progress=told.append)
    assert [len(once.pulls), len(again.pulls)] == [1, 3]
    assert 0 < sum(worked) < 3.3 * single
    assert told == [0.0, 1 / 3, 2 / 3]


def test_a_million_readings_are_averaged_down() -> None:
    t, force = drawn(hz=100_000.0, noise=0.2)
    result = analyse(t, force)
    assert result.sample_hz == pytest.approx(100_000, rel=1e-3)
    assert result.pulls[0].breakaway_N.value == pytest.approx(26.0, rel=0.02)


@settings(max_examples=cases(15, 40), deadline=None)
@given(st.floats(0.01, 200.0), st.floats(-50.0, 50.0), st.floats(0.0, 1e5))
def test_units_tare_and_clock_do_not_matter(scale: float, tare: float, clock: float) -> None:
    """A log in other units, off by a tare, begun at another time, says the same."""
    t, force = drawn(wobble=1.0, fade=0.1)
    plain = one(t, force)
    other = one(t + clock, (force + tare) * scale)
    assert other.running_N.value == pytest.approx(plain.running_N.value * scale, rel=2e-3)
    assert other.startup_ratio.value == pytest.approx(plain.startup_ratio.value, rel=5e-3)
    assert other.stick_slip == plain.stick_slip


@settings(max_examples=cases(20, 60), deadline=None)
@given(st.lists(st.floats(-1e6, 1e6), min_size=8, max_size=120), st.floats(0.5, 100.0))
def test_any_numbers_are_measured_or_refused(forces: list[float], hz: float) -> None:
    try:
        result = analyse(np.arange(len(forces)) / hz, forces)
    except LevelwindError:
        return
    assert all(pull.running_N.low <= pull.running_N.value for pull in result.pulls)


def test_the_json_is_the_designs_and_comes_back() -> None:
    result = analyse(*drawn(wobble=1.5), unit_found="kgf", cautions=[Note.of("reader", "a note from the reader")])
    stored = as_shown(result)
    assert list(stored) == ["kind", "status", "unit_found", "sample_hz", "cautions", "pulls"]
    assert (stored["kind"], stored["status"], stored["unit_found"]) == ("pull", "ok", "kgf")
    (pull,) = stored["pulls"]
    assert list(pull) == [
        "start_s", "end_s", "breakaway_N", "running_N", "startup_ratio", "wobble_N", "wobble_period_s",
        "stick_slip", "stick_slip_hz", "fade_percent", "cautions",
    ]  # fmt: skip
    assert set(pull["wobble_N"]) == {"value", "low", "high"}
    assert from_stored(PullResult, json.loads(json.dumps(as_stored(result)))) == result
    assert "a note from the reader" in stored["cautions"]


def test_the_rebound_after_a_pull_is_no_zero() -> None:
    """Two seconds at zero, a pull, and the scale's spring swings below zero for three seconds."""
    t, force = drawn(seconds=6.0)
    t, force = (
        np.concatenate([t - 2.0, [7.0 + 0.05 * i for i in range(60)]]),
        np.concatenate([force, np.full(60, -2.6)]),
    )
    result = analyse(t, force + np.random.default_rng(3).normal(0, 0.02, len(t)))
    assert result.tare_N == pytest.approx(0.0, abs=0.03)
    assert result.pulls[0].running_N.value == pytest.approx(20.0, rel=0.005)


def test_a_drag_that_starts_below_what_it_runs_at_is_said_to() -> None:
    def lower(pull: Pull) -> bool:
        return any("gave at less than it runs at" in str(note) for note in pull.cautions)

    t, force = drawn(hz=40.0, breakaway=20.0)
    grows = np.where((t > 1.518) & (t < 7.518), force + 4.0 * (1 - np.exp(-(t - 1.518) / 0.3)), force)
    grows = np.where((t > 1.518) & (t < 1.7), grows - 1.5, grows)
    assert lower(one(t, grows)) and not lower(one(*drawn()))


@pytest.mark.parametrize("lasts_s", [0.5, 1.0])
def test_the_running_drag_begins_when_the_start_up_has_died_away(lasts_s: float) -> None:
    """What the start-up holds more falls to a fiftieth in so long, and counts for nothing in the running drag."""
    t, force = drawn(seconds=7.0, hz=40.0, fade=0.06)
    since = t - 1.518
    decay = np.where((since > 0) & (since < 7.0), 6.0 * 0.02 ** (since / lasts_s), 0.0)
    pull = one(t, force - np.where(since > 0, 6.0 * np.exp(-since / 0.05), 0.0) * (since < 7.0) + decay)
    assert pull.running_N.value == pytest.approx(20.0, rel=0.002)
    assert pull.running_N.low < 20.0 < pull.running_N.high
    assert pull.fade_percent is not None and pull.fade_percent.value == pytest.approx(100 * 1.2 / 20.6, abs=1.0)
