"""What is heard in made recordings whose truth is known, and what is refused."""

import numpy as np
import pytest

from levelwind.core.errors import NotDeterminedError
from levelwind.core.spin import sound_envelope
from levelwind.core.spin.law import Law, speed_after, turns_after
from levelwind.core.spin.model import SpinResult
from levelwind.core.spin.options import SpinOptions
from levelwind.core.spin.sound import analyse_sound
from tests.core.spin.sounds import SAMPLE_HZ, Made, recording, ticking, unturned


def _analysed(made: Made, marks: int | None) -> SpinResult:
    return analyse_sound(made.samples, float(SAMPLE_HZ), np.random.default_rng(1), options=SpinOptions(marks=marks))


def _errors(made: Made, result: SpinResult) -> np.ndarray:
    times, speeds = (np.array(x) for x in zip(*result.spins[0].speed, strict=True))
    inside = (times > made.time_s[0]) & (times < made.time_s[-1])
    truth = np.interp(times[inside], made.time_s, made.rev_s)
    return np.abs(speeds[inside] / truth - 1)


@pytest.mark.parametrize(("seed", "codec"), [(14, None), (10, "aac"), (8, "clip"), (20, None)])
def test_speed_from_flick_to_rest(seed: int, codec: str | None) -> None:
    """The issue's target is 1e-3 for the median and 1e-2 for the 95th percentile of each recording."""
    made = recording(seed, codec=codec)
    result = _analysed(made, made.marks)
    error = _errors(made, result)
    assert np.median(error) < 1e-3
    assert np.quantile(error, 0.95) < 1e-2
    spin = result.spins[0]
    assert spin.start_s == pytest.approx(made.flick_s, abs=0.3)
    assert spin.initial_rev_s and spin.spin_time_s
    assert spin.spin_time_s.value == pytest.approx(made.stop_s - made.flick_s, rel=0.05)


def test_a_spool_that_breaks_the_law_is_still_followed() -> None:
    made = recording(6)
    assert made.broken
    error = _errors(made, _analysed(made, made.marks))
    assert np.median(error) < 1e-3
    assert np.quantile(error, 0.95) < 1e-2


def test_marks_nobody_named_are_asked_for() -> None:
    made = recording(14)
    result = _analysed(made, None)
    assert result.questions[0].about == "marks"
    assert made.marks in result.questions[0].answers
    assert any("one tick a turn" in str(note) for note in result.cautions)
    assert np.median(np.abs(np.array(result.spins[0].speed)[:9, 1] / np.interp(
        np.array(result.spins[0].speed)[:9, 0], made.time_s, made.rev_s) / made.marks - 1)) < 1e-2  # fmt: skip


@pytest.mark.parametrize(("seed", "named"), [(14, True), (42, False)])
def test_a_number_of_marks_that_the_sound_does_not_show_is_named(seed: int, named: bool) -> None:
    made = recording(seed)
    assert (made.marks > 1) is named
    said = f"read with {made.marks} ticks a turn, which the ticks"
    assert any(str(note).startswith(said) for note in _analysed(made, made.marks).cautions) is named


def test_two_ticks_set_unevenly_are_not_taken_for_one_a_turn_at_half_the_speed() -> None:
    """They fall out of step at high multiples of the turn, where the turn's own lines are as strong as the ticks'."""
    made = recording(188)
    assert made.marks == 2
    assert np.median(_errors(made, _analysed(made, 2))) < 1e-3


def test_a_run_that_fades_and_is_heard_again_is_one_flick() -> None:
    made = recording(21, codec=None)
    assert len(_analysed(made, made.marks).spins) == 1


UNLIKE = Law(0.6, 0.05, 0.002)


def _unlike(loudness: list[float], seed: int) -> np.ndarray:
    """A spool flicked at 0.3 s to 22 rev/s, with ticks of these loudnesses in each turn."""
    rng, stop = np.random.default_rng(seed), 14.0
    t = np.linspace(0.0, stop, 6000)
    turns = turns_after(UNLIKE, 22.0, t)
    samples = rng.normal(0, 0.02, int((stop + 1) * SAMPLE_HZ))
    for place, loud in enumerate(loudness):
        times = np.interp(np.arange(0, int(turns[-1])) + place / len(loudness) + 0.05, turns, t) + 0.3
        same = np.random.default_rng(7)
        samples += loud * ticking(times, np.ones(len(times)), stop + 1, 1, same)
    return samples.astype(np.float32)


def test_unlike_ticks_tell_how_many_make_a_turn() -> None:
    result = analyse_sound(_unlike([1.0, 0.25, 0.6], 5), float(SAMPLE_HZ), np.random.default_rng(1))
    assert not result.questions
    assert tuple(map(str, result.cautions)) == (
        "read as 3 ticks a turn, because the ticks are not alike and come round so",
    )
    first_s, first_rev_s = result.spins[0].speed[0]
    assert first_rev_s == pytest.approx(float(speed_after(UNLIKE, 22.0, first_s - 0.3)), rel=1e-3)


@pytest.mark.parametrize(("a_turn", "turns"), [(1, 37), (4, 15)])
@pytest.mark.parametrize("told", [False, True])
def test_alike_ticks_never_tell_how_many_make_a_turn(a_turn: int, turns: int, told: bool) -> None:
    """At so few a second the followed cycle is half a tick: every other one is silent, and that is no unlike tick."""
    start, dry = 10.0, 50.0 / turns
    t = np.linspace(0.0, start / dry, 4000)
    ticks = np.interp(np.arange(0.2, turns, 1 / a_turn), start * t - dry * t * t / 2, t) + 0.4
    samples = np.random.default_rng(3).normal(0, 0.02, int((t[-1] + 1.6) * SAMPLE_HZ))
    samples += ticking(ticks, np.ones(len(ticks)), t[-1] + 1.6, 1, np.random.default_rng(9))[: len(samples)]
    result = analyse_sound(
        samples.astype(np.float32),
        float(SAMPLE_HZ),
        np.random.default_rng(1),
        options=SpinOptions(marks=a_turn if told else None),
    )
    (spin,) = result.spins
    assert spin.start_s is not None and spin.initial_rev_s
    truth = start - dry * (spin.start_s - 0.4)
    assert spin.initial_rev_s.value == pytest.approx(truth * (1 if told else a_turn), rel=0.02)
    assert [question.about for question in result.questions] == ([] if told else ["marks"])
    assert [note.key for note in result.cautions if note.key.startswith(("one_tick", "ticks"))] == (
        (["ticks_not_shown"] if a_turn > 1 else []) if told else ["one_tick"]
    )


def test_unlike_ticks_of_a_longer_round_do_not_pass_for_a_shorter_one() -> None:
    """Six ticks, every other one softer, and one louder than the rest: not two a turn."""
    result = analyse_sound(_unlike([1.0, 0.3, 1.0, 0.3, 2.0, 0.3], 5), float(SAMPLE_HZ), np.random.default_rng(1))
    assert [question.about for question in result.questions] == ["marks"]


def test_two_flicks_are_two_spins() -> None:
    one, other = recording(10, codec=None), recording(17, codec=None)
    assert one.marks == other.marks == 1
    both = np.concatenate([one.samples, other.samples])
    result = analyse_sound(both, float(SAMPLE_HZ), np.random.default_rng(1), options=SpinOptions(marks=1))
    assert len(result.spins) == 2
    assert any("2 flicks" in str(note) for note in result.cautions)
    first, second = result.spins
    assert first.end_s and second.start_s
    assert first.end_s < len(one.samples) / SAMPLE_HZ < second.start_s


def test_a_recording_cut_off_says_that_the_stop_was_not_seen() -> None:
    made = recording(14)
    short = made.samples[: int((made.flick_s + 0.4 * (made.stop_s - made.flick_s)) * SAMPLE_HZ)]
    spin = analyse_sound(
        short, float(SAMPLE_HZ), np.random.default_rng(1), options=SpinOptions(marks=made.marks)
    ).spins[0]
    assert spin.spin_time_s is None
    assert any("stop was not seen" in str(note) for note in spin.cautions)


@pytest.mark.parametrize("kind", ["voice", "hiss", "hum", "even"])
def test_what_is_no_spool_is_refused(kind: str) -> None:
    with pytest.raises(NotDeterminedError):
        analyse_sound(unturned(kind, 3), float(SAMPLE_HZ), np.random.default_rng(1))


@pytest.mark.parametrize(
    "samples", [np.zeros(5 * SAMPLE_HZ, np.float32), np.zeros(100, np.float32), np.empty(0, np.float32)]
)
def test_silence_is_named(samples: np.ndarray) -> None:
    with pytest.raises(NotDeterminedError, match="silence"):
        analyse_sound(samples, float(SAMPLE_HZ), np.random.default_rng(1))


def test_a_long_recording_taken_in_parts_has_the_envelope_of_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    samples = recording(14).samples[: 3 * SAMPLE_HZ]
    whole = sound_envelope.envelope_of(samples, float(SAMPLE_HZ)).at
    monkeypatch.setattr(sound_envelope, "FRAMES_AT_ONCE", 700)
    monkeypatch.setattr(sound_envelope, "SAMPLES_AT_ONCE", 5000)
    assert np.array_equal(sound_envelope.envelope_of(samples, float(SAMPLE_HZ)).at, whole)
