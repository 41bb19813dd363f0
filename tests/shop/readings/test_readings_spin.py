"""Spins from films, sounds and tables beside those by stop-watch: pairs, shares, verdict, cautions, curves."""

import pytest

from levelwind.core import spin
from levelwind.core.codec import as_stored
from levelwind.core.quantities import Quantity
from levelwind.core.spin.model import Question, SpinResult
from levelwind.core.spin.model import Spin as OneSpin
from levelwind.shop.models import Work
from levelwind.shop.readings.selectors.figures import compared
from levelwind.shop.readings.selectors.readings import readings_of
from tests.jobs import a_job
from tests.shop.readings.reading_rows import CLEAN, DIRTY, a_pull, a_row, a_spin

pytestmark = pytest.mark.django_db


def test_a_table_as_found_and_as_left_gives_its_time_and_what_took_the_speed_away() -> None:
    job = a_job()
    a_spin(job, "found", DIRTY)
    a_spin(job, "left", CLEAN)
    readings = readings_of(job)
    names = [pair.name for pair in readings.pairs]
    shares = ["Lost to dry friction", "Lost to oil", "Lost to air"]
    assert names == ["Spin time from 30.0 rev/s", "First speed", *shares]
    time, dry = readings.pair("spin_time"), readings.pair("dry friction")
    assert time and time.found and time.left and time.found.value < 11 < 20 < time.left.value
    assert dry and dry.found and dry.left and 100 > dry.found.value > dry.left.value > 0
    assert dry.unit == "%" and " points " in dry.difference
    first = readings.pair("first_speed")
    assert first and first.difference == "the flick's, not the reel's"
    assert "free spin" in readings.verdict and "dry friction takes less off the speed" in readings.verdict
    assert list(readings.apart) == ["found", "left"]


def test_the_shares_are_a_pair_only_where_both_recordings_tell_them() -> None:
    job = a_job()
    a_row(job, "spin", "found", as_stored(spin.typed(11.0)))
    a_spin(job, "left")
    readings = readings_of(job)
    assert "Lost to oil" not in [pair.name for pair in readings.pairs]
    assert list(readings.apart) == ["left"]
    time = readings.pair("spin_time")
    assert time and time.found and time.left and time.difference == "each of its own flick"
    assert readings.verdict == ""
    assert any("spin: timed by hand as found, no watch tells" in note for note in readings.cautions)


def test_a_spin_that_tells_no_time_is_no_pair_and_says_why() -> None:
    job = a_job()
    a_spin(job, "found", until=0.3)
    a_row(job, "spin", "left", as_stored(spin.typed(34.0)))
    readings = readings_of(job)
    time = readings.pair("spin_time")
    assert time and time.found is None and time.left
    assert any("spin as found: the stop was not seen" in note for note in readings.cautions)
    assert any("spin: timed by hand as left, no watch tells" in note for note in readings.cautions)
    assert ("spin", "found") in readings.latest


def test_one_alone_that_tells_no_time_is_a_caution_and_no_row() -> None:
    job = a_job()
    a_row(job, "spin", "left", as_stored(SpinResult((OneSpin(0.0, 3.0, None, None),), (), "sound")))
    readings = readings_of(job)
    assert readings.pairs == () and readings.verdict == ""
    assert readings.cautions == ("spin as left: this recording does not tell how long the spool would have run",)


def test_pull_and_spin_are_both_in_the_verdict() -> None:
    job = a_job()
    a_pull(job, "found", 60.0, 37.0)
    a_pull(job, "left", 42.0, 37.0)
    a_row(job, "spin", "found", as_stored(spin.typed(11.0)))
    a_row(job, "spin", "left", as_stored(spin.typed(34.0)))
    readings = readings_of(job)
    assert [words.split(" ")[0] for words in readings.verdicts] == ["start-up", "free"]
    assert readings.verdict == "; ".join(readings.verdicts)


@pytest.mark.parametrize("work", [Work.WAITING, Work.UNDER_WAY, Work.STOPPED])
def test_what_is_not_read_to_its_end_never_counts(work: str) -> None:
    job = a_job()
    kept = a_spin(job, "left")
    newer = a_row(job, "spin", "left", as_stored(spin.typed(99.0)), work=work)
    readings = readings_of(job)
    assert readings.latest["spin", "left"] == kept
    assert readings.unread == (newer,)


@pytest.mark.parametrize(
    "analysis", [{}, {"kind": "spin", "status": "ok", "source": "sound", "cautions": ["only a voice"], "spins": []}]
)
def test_a_newer_recording_without_a_spin_leaves_the_earlier_one_standing(analysis: dict[str, object]) -> None:
    job = a_job()
    kept = a_spin(job, "left")
    a_row(job, "spin", "left", analysis)
    assert readings_of(job).latest["spin", "left"] == kept


def test_what_the_recording_asks_is_told_as_a_caution() -> None:
    job = a_job()
    asked = Question("marks", "How many ticks in one turn?", (1.0, 2.0))
    time = Quantity(20.0, 19.0, 21.0)
    a_row(job, "spin", "left", as_stored(SpinResult((OneSpin(0.0, 20.0, None, time),), (), "sound", (asked,))))
    assert readings_of(job).cautions == ("spin as left, to be answered: How many ticks in one turn?",)


def test_a_harder_flick_is_not_taken_for_better_work() -> None:
    job = a_job()
    a_spin(job, "found", (15.0, *CLEAN[1:]))
    a_spin(job, "left", (30.0, *CLEAN[1:]))
    readings = readings_of(job)
    (said,) = [note for note in readings.cautions if "flicked" in note]
    assert said.startswith("flicked at 15.0 rev/s as found and 30.0 rev/s as left: both are told from 15.0 rev/s")
    assert not any(pair.change.real for pair in readings.pairs if pair.change)
    time = readings.pair("spin_time")
    assert time and time.found and time.left and time.found.value == pytest.approx(time.left.value, rel=0.02)


def test_the_curves_begin_at_the_speed_in_common() -> None:
    job = a_job()
    a_spin(job, "found", (15.0, *CLEAN[1:]))
    a_spin(job, "left", (30.0, *CLEAN[1:]))
    readings = readings_of(job)
    figure, time = compared(readings, "spin", "N"), readings.pair("spin_time")
    assert figure and time and time.found and time.left
    for line in figure.lines:
        assert line.points[0] == (pytest.approx(0.0, abs=0.01), pytest.approx(15.0, rel=0.01)), line.role
    assert [marker.x for marker in figure.markers] == [time.found.value, time.left.value]


def test_the_same_flick_is_not_remarked_on() -> None:
    job = a_job()
    a_spin(job, "found", DIRTY)
    a_spin(job, "left", CLEAN)
    assert not [note for note in readings_of(job).cautions if "flicked" in note]


def test_the_speeds_are_drawn_from_the_flick_with_rest_where_it_is_told() -> None:
    job = a_job()
    a_spin(job, "left")
    a_row(job, "spin", "found", as_stored(spin.typed(11.0)))
    figure = compared(readings_of(job), "spin", "N")
    assert figure is not None and [line.role for line in figure.lines] == ["as-left"]
    assert figure.lines[0].points[0] == (0.0, pytest.approx(30.0, rel=0.01))
    assert figure.lines[0].says.endswith(" s to rest")
    assert [(marker.kind, marker.role, marker.y) for marker in figure.markers] == [("rest", "as-left", 0.0)]


def test_a_stop_watch_alone_draws_nothing() -> None:
    job = a_job()
    a_row(job, "spin", "left", as_stored(spin.typed(11.0)))
    assert compared(readings_of(job), "spin", "N") is None
