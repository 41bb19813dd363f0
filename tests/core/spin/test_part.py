"""What a person may correct: where a recording begins and ends, and which spool is meant."""

import pickle
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.spin.film import NotFollowedError, watch
from levelwind.core.spin.options import SpinOptions
from levelwind.core.spin.sound import analyse_sound
from levelwind.core.spin.table import analyse_passes, analyse_speeds
from tests.core.spin.films import Scene, filmed, stop_after
from tests.core.spin.sounds import SAMPLE_HZ, recording

CALM = stop_after(replace(Scene(), frames_per_s=30.0, shake=0.0, roll=0.0, lamp_depth=0.0), 4.0)
LEFT = replace(CALM, radius=60.0, centre=(78.0, 120.0))
RIGHT = stop_after(replace(CALM, start_rev_s=12.0, radius=45.0, centre=(250.0, 100.0)), 4.2)


def dice() -> np.random.Generator:
    return np.random.default_rng(1)


@cache
def two_spools() -> tuple[np.ndarray, np.ndarray]:
    left, right = filmed(LEFT), filmed(RIGHT)
    n = min(len(left.frames), len(right.frames))
    return np.concatenate([left.frames[:n, :, :80], right.frames[:n, :, 80:]], axis=2), left.t_s[:n]


@pytest.mark.parametrize(("at", "scene"), [((0.30, 0.45), LEFT), ((0.75, 0.45), RIGHT)])
def test_a_tap_chooses_between_two_spools(at: tuple[float, float], scene: Scene) -> None:
    seen = watch(*two_spools(), rng=dice(), options=SpinOptions(mark_at=at))
    assert seen.centre == pytest.approx((scene.centre[0] / 320, scene.centre[1] / 240), abs=0.02)
    assert seen.radius == pytest.approx(scene.radius / 320, rel=0.1)
    (spin,) = seen.result.spins
    assert spin.start_s is not None and spin.initial_rev_s is not None
    true = filmed(scene).speed_at(np.array([spin.start_s]))[0]
    assert spin.initial_rev_s.value == pytest.approx(true, rel=0.01)
    assert not any("more than one" in str(note) for note in seen.result.cautions)


def test_two_spools_are_named_where_nobody_chose() -> None:
    seen = watch(*two_spools(), rng=dice())
    assert seen.centre[0] < 0.5
    assert any("more than one spool" in str(note) for note in seen.result.cautions)
    alone = filmed(LEFT)
    assert not watch(alone.frames, alone.t_s, rng=dice()).result.cautions


def test_a_tap_beside_the_spool_is_refused() -> None:
    with pytest.raises(NotDeterminedError, match="pointed out"):
        watch(*two_spools(), rng=dice(), options=SpinOptions(mark_at=(0.5, 0.95)))


@pytest.mark.parametrize("at", [(-0.1, 0.5), (0.5, 1.2), (float("nan"), 0.5)])
def test_a_tap_outside_the_picture_is_refused(at: tuple[float, float]) -> None:
    with pytest.raises(InputError, match="where the mark is"):
        watch(*two_spools(), rng=dice(), options=SpinOptions(mark_at=at))


def test_only_the_marked_part_of_a_film_is_looked_at() -> None:
    film = filmed(LEFT)
    begins = film.flick_s + 1.0
    result = watch(
        film.frames, film.t_s, rng=dice(), options=SpinOptions(between_s=(begins, film.t_s[-1] + 0.03))
    ).result
    (spin,) = result.spins
    assert spin.start_s == pytest.approx(begins, abs=0.2) and spin.initial_rev_s is not None
    assert spin.start_s >= begins
    assert spin.initial_rev_s.value == pytest.approx(film.speed_at(np.array([spin.start_s]))[0], rel=0.01)
    assert any(str(note).startswith("only 1.") for note in result.cautions)
    assert not any("after the flick" in str(note) for note in spin.cautions)


def test_a_spool_that_was_seen_is_told_where_it_cannot_be_followed() -> None:
    film = filmed(stop_after(replace(Scene(), centre=(30.0, 60.0)), 5.0))
    with pytest.raises(NotFollowedError, match=r"could (not )?be followed") as caught:
        watch(film.frames, film.t_s, rng=dice())
    again = pickle.loads(pickle.dumps(caught.value))
    for error in (caught.value, again):
        assert error.centre[0] < 0.3 and 0.05 < error.radius < 0.5
        assert "\n" not in str(error)


def test_only_the_marked_part_of_a_sound_is_heard() -> None:
    made = recording(14)
    begins, ends = made.flick_s + 1.5, made.stop_s + 0.2
    result = analyse_sound(
        made.samples, float(SAMPLE_HZ), dice(), options=SpinOptions(marks=made.marks, between_s=(begins, ends))
    )
    (spin,) = result.spins
    assert spin.start_s is not None and begins <= spin.start_s < begins + 0.5
    assert spin.end_s is not None and spin.end_s <= ends
    times, speeds = np.array(spin.speed).T
    truth = np.interp(times, made.time_s, made.rev_s)
    early = times < (begins + ends) / 2
    assert np.median(np.abs(speeds[early] / truth[early] - 1)) < 2e-3
    assert any(str(note).startswith("only ") for note in result.cautions)
    assert not any("after the flick" in str(note) for note in spin.cautions)


T = np.arange(0.0, 20.0, 0.25)


def test_only_the_marked_rows_of_a_table_count() -> None:
    hand_at_the_end = np.where(T < 9.0, 20 - T, np.maximum(11 - 6 * (T - 9.0), 0.0))
    (spin,) = analyse_speeds(T, hand_at_the_end, dice(), options=SpinOptions(between_s=(2.0, 8.9))).spins
    assert spin.start_s == 2.0 and spin.end_s is not None and spin.end_s <= 8.9
    assert spin.losses is not None and spin.losses.dry_rev_s2.value == pytest.approx(1.0, rel=0.02)


def test_only_the_marked_passes_count() -> None:
    passes = 20 - np.sqrt(400 - 2 * np.arange(0.0, 190.0))
    result = analyse_passes(passes, dice(), options=SpinOptions(between_s=(3.0, 15.0)))
    (spin,) = result.spins
    assert spin.start_s is not None and 3.0 <= spin.start_s < 3.1 and spin.initial_rev_s is not None
    assert spin.initial_rev_s.value == pytest.approx(20 - spin.start_s, rel=1e-3)


OUTSIDE = [(-3.0, 5.0), (4.0, 99.0), (6.0, 4.0), (5.0, 5.0), (float("nan"), 5.0), (30.0, 40.0)]
TOO_SHORT = (1.0, 1.6)
REFUSED = [*((between, "the part to look at") for between in OUTSIDE), (TOO_SHORT, "at least")]


@pytest.mark.parametrize(("between", "why"), REFUSED)
def test_a_part_outside_or_too_short_is_refused_in_every_kind(between: tuple[float, float], why: str) -> None:
    film, noise = filmed(LEFT), np.zeros(6 * SAMPLE_HZ, np.float32)
    for analyse in (
        lambda: watch(film.frames, film.t_s, rng=dice(), options=SpinOptions(between_s=between)),
        lambda: analyse_sound(noise, float(SAMPLE_HZ), dice(), options=SpinOptions(between_s=between)),
        lambda: analyse_speeds(T, 20 - T, dice(), options=SpinOptions(between_s=between)),
        lambda: analyse_passes(T, dice(), options=SpinOptions(between_s=between)),
    ):
        with pytest.raises(InputError, match=why):
            analyse()
