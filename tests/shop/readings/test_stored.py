"""Readings as older versions kept them are read by the one that knows their keys; what is damaged says where."""

import pytest

from levelwind.core.codec import as_stored
from levelwind.core.errors import InputError
from levelwind.core.notes import AS_WRITTEN, Note, Question, newtons
from levelwind.core.pull import PullResult, typed
from levelwind.core.quantities import Quantity
from levelwind.core.spin import SpinResult
from levelwind.core.spin.bearing import BearingHeard, PartHeard
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.stored import (
    bearing_heard,
    cautions_of,
    gauged,
    pull_result,
    questions_of,
    refusal_of,
    spin_result,
)
from tests.jobs import a_job


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
    heard = BearingHeard((PartHeard("cage", 0.6, 0.4),), Note.as_written("perhaps something on the cage"))
    older = {"kind": "bearing", **as_stored(heard), "words": "perhaps something on the cage"}
    assert bearing_heard(Reading(kind="spin", analysis={"bearing": older})) == heard
    assert bearing_heard(Reading(kind="spin", analysis={})) is None
    torque = {"kind": "turn", "status": "ok", "torque_Nm": {"value": 0.5, "low": 0.4, "high": 0.6}, "cautions": []}
    assert gauged(Reading(kind="turn", analysis=torque)) == Quantity(0.5, 0.4, 0.6)


def test_cautions_and_questions_that_were_strings_still_speak_the_shops_unit() -> None:
    force = {"value": 20, "low": 19.5, "high": 20.5}
    said = "the scale reached its limit of 200 N: breakaway is at least what is shown"
    pull = {"start_s": 1.0, "end_s": 3.0, "breakaway_N": force, "running_N": force, "startup_ratio": force}
    asked = {"about": "unit", "words": "A peak of 1.81e+03 N is hard to believe", "answers": ["kgf", "lbf"]}
    stored = {"cautions": [said], "pulls": [pull | {"cautions": ["a {brace} of 12 N m"]}], "questions": [asked]}
    reading = Reading(kind="pull", analysis=stored, refused="every force in the log is 3 N")
    result = pull_result(reading)
    assert [str(note) for note in result.cautions] == [said]
    assert [note.words("lbf") for note in result.cautions] == [said.replace("200 N", "45.0 lbf")]
    assert [note.words("lbf") for note in result.pulls[0].cautions] == ["a {brace} of 12 N m"]
    assert [note.key for note in (*result.cautions, *cautions_of(reading), refusal_of(reading))] == [AS_WRITTEN] * 3
    (question,) = questions_of(reading)
    assert (str(question.words), question.answers) == ("A peak of 1810 N is hard to believe", ("kgf", "lbf"))
    assert question.words.words("kgf") == "A peak of 185 kgf is hard to believe"
    assert refusal_of(reading).words("lbf") == "every force in the log is 0.67 lbf"
    reading.file_name, reading.refused = "hook 5 N.csv", "hook 5 N.csv was empty; allowed is a table"
    assert refusal_of(reading).words("lbf") == "hook 5 N.csv was empty; allowed is a table"


@pytest.mark.django_db
def test_notes_come_back_from_the_book_and_speak_the_shops_unit() -> None:
    limit = Note.of("limit_reached", "the scale reached its limit of {most}", most=newtons(200.0))
    doubt = Question("unit", Note.of("peak_doubted", "a peak of {peak}", peak=newtons(1814.2, figures=3)), ("kgf",))
    result = PullResult(typed(30.0, 20.0).pulls, (limit,))
    level = Note.of("level_log", "every force in the log is {force}", force=newtons(3.0))
    analysis = as_stored(result) | as_stored({"questions": (doubt,), "refused": level})
    row = Reading.objects.create(job=a_job(), kind="pull", moment="found", analysis=analysis)
    kept = Reading.objects.get(pk=row.pk)
    assert pull_result(kept) == result and cautions_of(kept) == (limit,) and questions_of(kept) == (doubt,)
    assert cautions_of(kept)[0].words("kgf") == "the scale reached its limit of 20.4 kgf"
    assert questions_of(kept)[0].words.words("lbf") == "a peak of 408 lbf"
    assert refusal_of(kept).words("lbf") == "every force in the log is 0.67 lbf"


def test_what_is_damaged_is_named() -> None:
    reading = Reading(kind="pull", moment="left", analysis={"pulls": [{"start_s": "soon"}]})
    with pytest.raises(InputError, match=r"what the book holds of the pull as left was .*\$\.pulls\[0\]"):
        pull_result(reading)
