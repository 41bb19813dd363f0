"""Spins from tables, the shape of a result, and the words made of it."""

import json

import numpy as np
import pytest

from levelwind.core.codec import as_shown, as_stored, from_stored
from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.spin import SpinResult, typed
from levelwind.core.spin.compare import compare
from levelwind.core.spin.figure import spin_figure
from levelwind.core.spin.law import Law, speed_after, time_between, turns_after
from levelwind.core.spin.options import SpinOptions
from levelwind.core.spin.report import as_text
from levelwind.core.spin.table import analyse_passes, analyse_speeds

LAW, START = Law(0.3, 0.05, 0.002), 25.0
STOP = float(time_between(LAW, START, 0.0))
DICE = np.random.default_rng


def _table(law: Law = LAW, start: float = START, step: float = 0.25) -> tuple[np.ndarray, np.ndarray]:
    t = np.arange(0.0, float(time_between(law, start, 0.0)) + 2, step)
    return t, np.round(speed_after(law, start, t), 2)


def test_a_table_of_speeds() -> None:
    result = analyse_speeds(*_table(), DICE(1))
    (spin,) = result.spins
    assert spin.spin_time_s and spin.losses and spin.energy_share
    assert spin.spin_time_s.low <= STOP <= spin.spin_time_s.high
    assert spin.losses.oil_per_s.value == pytest.approx(0.05, rel=0.05)
    assert spin.energy_share.dry.value + spin.energy_share.oil.value + spin.energy_share.air.value == pytest.approx(
        1, abs=0.02
    )


def test_a_flick_in_the_middle_makes_two_spins() -> None:
    t, f = _table()
    result = analyse_speeds(np.concatenate([t, t + t[-1] + 0.25]), np.concatenate([f, 0.7 * f]), DICE(1))
    assert len(result.spins) == 2
    assert tuple(map(str, result.cautions)) == ("2 flicks in one table: each is a spin of its own",)


def test_passes_of_two_marks() -> None:
    t = np.linspace(0, 0.95 * STOP, 4000)
    turns = turns_after(LAW, START, t)
    passes = np.interp(np.arange(0, turns[-1], 0.5), turns, t)
    spin = analyse_passes(passes, DICE(1), options=SpinOptions(marks=2)).spins[0]
    assert spin.initial_rev_s and spin.initial_rev_s.value == pytest.approx(START, rel=1e-3)


def test_a_million_rows_say_what_a_hundred_do() -> None:
    spins = [analyse_speeds(*_table(step=step), DICE(1)).spins[0] for step in (STOP / 1e6, 0.25)]
    many, few = (spin.spin_time_s for spin in spins)
    assert many and few and many.value == pytest.approx(few.value, rel=0.002)


@pytest.mark.parametrize(
    ("t", "f", "error"),
    [
        (np.arange(20.0), np.zeros(20), NotDeterminedError),
        (np.arange(20.0), np.full(20, 900.0), InputError),
        (np.zeros(20), np.ones(20), InputError),
        (np.arange(20.0), np.full(20, np.nan), InputError),
        (np.arange(4.0), np.arange(4.0)[::-1], NotDeterminedError),
    ],
)
def test_tables_that_tell_nothing(t: np.ndarray, f: np.ndarray, error: type[Exception]) -> None:
    with pytest.raises(error):
        analyse_speeds(t, f, DICE(1))


@pytest.mark.parametrize("moments", [np.arange(300) * 0.05, 60 * np.sqrt(np.arange(300) / 300)])
def test_passes_that_come_evenly_or_ever_faster_are_no_spin_running_down(moments: np.ndarray) -> None:
    with pytest.raises(NotDeterminedError, match="nothing slows"):
        analyse_passes(moments, np.random.default_rng(1))


def test_fifty_thousand_passes_say_what_the_law_does() -> None:
    moments = 100 - np.sqrt(10_000 - np.arange(49_000) * 0.2)  # 10 marks a turn, from 100 rev/s evenly to rest
    spin = analyse_passes(moments, np.random.default_rng(1), options=SpinOptions(marks=10)).spins[0]
    assert spin.initial_rev_s and spin.initial_rev_s.value == pytest.approx(100, rel=1e-3)


def test_the_json_is_the_designs() -> None:
    shape = json.loads(json.dumps(as_shown(analyse_speeds(*_table(), DICE(1)))))
    assert set(shape) == {"kind", "status", "source", "cautions", "spins"}
    (spin,) = shape["spins"]
    assert set(spin) == {
        "start_s",
        "end_s",
        "initial_rev_s",
        "spin_time_s",
        "speed",
        "losses",
        "energy_share",
        "cautions",
    }
    assert set(spin["losses"]) == {"dry_rev_s2", "oil_per_s", "air_per_rev", "oil_power"}
    assert set(spin["losses"]["oil_power"]) == {"value", "low", "high"}
    assert set(spin["energy_share"]) == {"dry", "oil", "air"}
    assert set(spin["energy_share"]["dry"]) == {"value", "low", "high"}
    assert len(spin["speed"]["t_s"]) == len(spin["speed"]["rev_s"])


@pytest.mark.parametrize("result", [typed(11.0), analyse_speeds(*_table(), DICE(1))], ids=["stop-watch", "table"])
def test_stored_and_read_back(result: SpinResult) -> None:
    assert from_stored(SpinResult, json.loads(json.dumps(as_stored(result)))) == result


def test_what_a_version_without_powers_stored_still_opens() -> None:
    stored = json.loads(json.dumps(as_stored(analyse_speeds(*_table(), DICE(1)))))
    for spin in stored["spins"]:
        del spin["draws"], spin["losses"]["oil_power"]
    (spin,) = from_stored(SpinResult, stored).spins
    assert spin.losses and spin.losses.oil_power is None and spin.draws is None
    assert "oil " in as_text(from_stored(SpinResult, stored))


def test_less_dry_friction_is_said() -> None:
    found, left = (analyse_speeds(*_table(Law(dry, 0.03, 0.002)), DICE(1)) for dry in (1.5, 0.3))
    said = compare(found, left)
    assert said.words().startswith("free spin")
    assert "dry friction takes less off the speed" in said.words()
    assert all(each.chance_real > 0.99 for each in said.changes[:2])


def test_the_same_spin_twice_is_no_change() -> None:
    one = analyse_speeds(*_table(), DICE(1))
    assert "27.1 to 27.1 s: no change (" in compare(one, one).words()


def test_figure_and_words() -> None:
    result = analyse_speeds(*_table(), DICE(1))
    (spin,) = result.spins
    assert 2 < len(spin.speed) <= 600
    drawn = spin_figure(result)
    assert drawn and [marker.kind for marker in drawn.markers] == ["flick", "half", "rest"]
    text = as_text(result)
    assert "dry friction" in text and "% (" in text
