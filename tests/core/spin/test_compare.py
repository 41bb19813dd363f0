"""Two spins like for like, from one common speed."""

import re
from dataclasses import replace

import numpy as np
import pytest

from levelwind.core.codec import as_shown, as_stored, from_stored
from levelwind.core.errors import NotDeterminedError
from levelwind.core.spin.compare import LOSS_KEYS, SpinsCompared, compare
from levelwind.core.spin.law import Law, energy_shares, speed_after, time_between
from levelwind.core.spin.model import SpinResult
from levelwind.core.spin.table import analyse_speeds
from levelwind.core.spin.typed import typed

DIRTY, CLEAN = Law(1.5, 0.1, 0.004), Law(0.3, 0.1, 0.004)


def table(law: Law, start_rev_s: float = 20.0, seed: int = 3, down_to: float = 0.0) -> SpinResult:
    """Speeds ten times a second, to rest or to a last speed."""
    stop = float(time_between(law, start_rev_s, down_to))
    t = np.arange(0.0, stop + (0.6 if down_to == 0 else 0.0), 0.1)
    noise = np.random.default_rng(seed).normal(0, 0.02, len(t))
    speed = speed_after(law, start_rev_s, t)
    return analyse_speeds(t, np.where(speed > 0, np.maximum(speed + noise, 0.0), 0.0), np.random.default_rng(1))


@pytest.fixture(scope="module")
def two_flicks() -> SpinsCompared:
    """One spool, flicked at 12 and at 18 rev/s."""
    return compare(table(CLEAN, 12.0), table(CLEAN, 18.0, seed=4))


@pytest.fixture(scope="module")
def cleaned() -> SpinsCompared:
    return compare(table(DIRTY, 20.0), table(CLEAN, 24.0, seed=4))


def test_one_law_flicked_harder_is_told_as_no_change(two_flicks: SpinsCompared) -> None:
    assert [each.key for each in two_flicks.changes] == ["spin_time_s", *LOSS_KEYS]
    assert not any(each.real for each in two_flicks.changes)
    assert "real" not in two_flicks.words() and two_flicks.so == ()


def test_both_are_told_from_the_lower_first_speed(two_flicks: SpinsCompared) -> None:
    from_rev_s, to_rev_s = two_flicks.from_rev_s, two_flicks.to_rev_s
    assert from_rev_s is not None and to_rev_s is not None
    assert from_rev_s == pytest.approx(12.0, abs=0.05) and to_rev_s < 0.5
    time = two_flicks.change("spin_time_s")
    stop = float(time_between(CLEAN, from_rev_s, 0.0))
    assert time and time.found.value == pytest.approx(stop, rel=0.01)
    assert time.left.value == pytest.approx(stop, rel=0.01)
    for key, true in zip(LOSS_KEYS, energy_shares(CLEAN, from_rev_s, to_rev_s), strict=True):
        share = two_flicks.change(key)
        assert share and share.found.low / 100 - 0.02 <= true <= share.found.high / 100 + 0.02, key
        assert share.left.low / 100 - 0.02 <= true <= share.left.high / 100 + 0.02, key


def test_what_was_flicked_at_the_common_speed_has_the_time_that_it_is_told_with_alone() -> None:
    slower = table(CLEAN, 12.0)
    time = compare(slower, table(CLEAN, 18.0, seed=4)).change("spin_time_s")
    assert time and time.found == slower.spin_time_s


def test_the_words_say_which_speed(two_flicks: SpinsCompared) -> None:
    assert two_flicks.words().startswith("free spin, from 12.0 rev/s, ")
    said = [str(note) for note in two_flicks.compared]
    assert any(note.startswith("flicked at 12.0 rev/s as found and 18.0 rev/s as left: both are told") for note in said)


def test_shares_in_words_add_up_to_the_whole(cleaned: SpinsCompared) -> None:
    ends = [cleaned.change(key).ends for key in LOSS_KEYS]  # type: ignore[union-attr]
    numbers = [re.findall(r"[\d.]+", end) for end in ends]
    assert [round(sum(map(float, moment)), 6) for moment in zip(*numbers, strict=True)] == [100.0, 100.0], ends
    assert len({len(number.partition(".")[2]) for row in numbers for number in row}) == 1, f"unlike figures: {ends}"


def test_less_dry_friction_is_found_and_a_larger_share_does_not_pass_for_a_loss(cleaned: SpinsCompared) -> None:
    changes = {each.key: each for each in cleaned.changes}
    assert changes["spin_time_s"].real and changes["spin_time_s"].difference.value > 0
    assert changes["dry"].real and changes["dry"].unit == "%"
    assert changes["air"].difference.value > 0
    assert (
        "dry friction takes less off the speed" in cleaned.words()
        and "air takes more off the speed" not in cleaned.words()
    )


def test_json_has_the_shape_that_is_promised(cleaned: SpinsCompared) -> None:
    shape = as_shown(cleaned)
    keys = ["kind", "status", "of", "from_rev_s", "to_rev_s", "spin_time_s", "energy_share", "cautions"]
    assert list(shape) == keys and (shape["kind"], shape["of"]) == ("compare", "spin")
    assert list(shape["energy_share"]) == list(LOSS_KEYS)
    for figure in (shape["spin_time_s"], *shape["energy_share"].values()):
        assert list(figure) == ["found", "left", "change", "real"]
        assert list(figure["change"]) == ["value", "low", "high"]
        assert figure["change"]["value"] == pytest.approx(figure["left"]["value"] - figure["found"]["value"])
    assert sum(each["found"]["value"] for each in shape["energy_share"].values()) == pytest.approx(1.0, abs=0.05)


def test_the_other_way_round_the_change_is_turned_about(cleaned: SpinsCompared) -> None:
    back = compare(table(CLEAN, 24.0, seed=4), table(DIRTY, 20.0))
    for there in cleaned.changes:
        change = back.change(there.key)
        assert change and change.difference.value == pytest.approx(-there.difference.value)
        assert change.real == there.real


def test_times_end_at_the_last_common_speed_where_one_tells_no_rest() -> None:
    said = compare(table(CLEAN, 20.0), table(CLEAN, 18.0, seed=4, down_to=9.0))
    assert said.to_rev_s == pytest.approx(9.0, abs=0.2) and not said.to_rest
    time = said.change("spin_time_s")
    assert time and said.from_rev_s and said.to_rev_s
    assert time.found.value == pytest.approx(float(time_between(CLEAN, said.from_rev_s, said.to_rev_s)), rel=0.02)
    assert said.words().startswith("time from 18.0 to 9.1 rev/s, ")
    assert any(note.key == "time_to_last_speed" for note in said.compared)


def test_spins_without_speeds_in_common_are_not_compared() -> None:
    with pytest.raises(NotDeterminedError, match=r"followed from 30\.0 rev/s to 1.* too few speeds in common"):
        compare(table(CLEAN, 30.0, down_to=15.0), table(CLEAN, 12.0, seed=4))


def test_a_stop_watch_is_compared_only_with_another() -> None:
    with pytest.raises(NotDeterminedError, match="timed by hand as found, no watch tells from what speed"):
        compare(typed(11.0), table(CLEAN))
    with pytest.raises(NotDeterminedError, match="timed by hand as left"):
        compare(table(CLEAN), typed(11.0))


def test_two_times_by_hand_must_differ_by_more_than_two_flicks_do() -> None:
    """One law flicked at 12 and at 18 rev/s may take 10 and 15 s."""
    near, far = compare(typed(10.0), typed(15.0)), compare(typed(11.0), typed(34.0))
    assert not near.changes[0].real and far.changes[0].real
    assert [note.key for note in near.compared] == ["own_flicks"]
    shape = as_shown(near)
    assert (shape["from_rev_s"], shape["to_rev_s"], shape["energy_share"]) == (None, None, None)


def test_what_an_older_version_read_is_to_be_read_again() -> None:
    old = table(CLEAN)
    old = replace(old, spins=tuple(replace(spin, draws=None) for spin in old.spins))
    with pytest.raises(NotDeterminedError, match=r"as left it was read by an earlier version.* read it again"):
        compare(table(DIRTY), old)


def test_what_the_book_keeps_is_compared_alike(cleaned: SpinsCompared) -> None:
    kept = [from_stored(SpinResult, as_stored(each)) for each in (table(DIRTY, 20.0), table(CLEAN, 24.0, seed=4))]
    assert as_shown(compare(*kept)) == as_shown(cleaned)
