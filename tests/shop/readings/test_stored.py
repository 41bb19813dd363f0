"""Readings as older versions kept them are read by the one that knows their keys; what is damaged says where."""

import pytest

from levelwind.core.codec import as_stored
from levelwind.core.errors import InputError
from levelwind.core.pull import PullResult
from levelwind.core.quantities import Quantity
from levelwind.core.spin import SpinResult
from levelwind.core.spin.bearing import BearingHeard, PartHeard
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.stored import bearing_heard, gauged, pull_result, spin_result


def test_the_stop_watchs_first_shape() -> None:
    stored = {
        "kind": "spin",
        "status": "ok",
        "source": "stopwatch",
        "cautions": [],
        "spin_time_s": {"value": 9.0, "low": 8.0, "high": 10.0},
    }
    result = spin_result(Reading(kind="spin", analysis=stored))
    assert (result.source, result.spin_time_s) == ("stopwatch", Quantity(9.0, 8.0, 10.0))


def test_a_pull_that_kept_neither_its_tare_nor_where_it_let_go() -> None:
    force = {"value": 20, "low": 19.5, "high": 20.5}
    pull = {"start_s": 1.0, "end_s": 3.0, "breakaway_N": force, "running_N": force, "startup_ratio": force}
    stored = {"kind": "pull", "status": "ok", "unit_found": "kgf", "sample_hz": 20.0, "cautions": [], "pulls": [pull]}
    result = pull_result(Reading(kind="pull", analysis=stored))
    assert result.pulls[0].running_N == Quantity(20.0, 19.5, 20.5)
    assert (result.unit_found, result.tare_N, result.pulls[0].breakaway_s) == ("kgf", 0.0, None)


def test_one_that_was_refused_has_no_pulls_and_no_spins() -> None:
    assert pull_result(Reading(kind="pull", analysis={"figure": {"points": [], "marks": []}})) == PullResult()
    assert spin_result(Reading(kind="spin", analysis={"source": "video"})) == SpinResult(source="video")


def test_a_bearing_and_a_gauge() -> None:
    heard = BearingHeard((PartHeard("cage", 0.6, 0.4),), "perhaps something on the cage")
    older = {"kind": "bearing", **as_stored(heard)}
    assert bearing_heard(Reading(kind="spin", analysis={"bearing": older})) == heard
    assert bearing_heard(Reading(kind="spin", analysis={})) is None
    torque = {"kind": "turn", "status": "ok", "torque_Nm": {"value": 0.5, "low": 0.4, "high": 0.6}, "cautions": []}
    assert gauged(Reading(kind="turn", analysis=torque)) == Quantity(0.5, 0.4, 0.6)


def test_what_is_damaged_is_named() -> None:
    reading = Reading(kind="pull", moment="left", analysis={"pulls": [{"start_s": "soon"}]})
    with pytest.raises(InputError, match=r"what the book holds of the pull as left was .*\$\.pulls\[0\]"):
        pull_result(reading)
