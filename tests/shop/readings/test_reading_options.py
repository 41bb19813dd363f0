"""What a person says of a recording is checked, kept, written into the history in words, and never edits a reading."""

import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from levelwind.cli.main import main
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.pull import PullOptions
from levelwind.core.spin import SpinOptions
from levelwind.shop.models import Reading, Shop, Work
from levelwind.shop.readings.selectors.options import options_joined
from levelwind.shop.readings.selectors.readings import readings_of
from levelwind.shop.readings.selectors.stored import LAWS
from levelwind.shop.readings.services.readings import (
    reading_correct,
    reading_read_again,
    reading_strike_out,
    reading_type,
    recording_upload,
)
from levelwind.shop.readings.services.work import work_start
from levelwind.web.readings.forms import PullForm, SpinForm
from tests.jobs import a_job
from tests.shop.readings.test_readings import a_log

NAN, INF = float("nan"), float("inf")
BEARING = {"balls": 7, "ball_mm": 1.588, "pitch_mm": 7.0}
UNIT, CAPACITY = (
    "one of N, kgf, lbf, ozf, gf",
    "the most the scale can read was {}; allowed is a number from 0.1 to 5000 N",
)
MARKS = "marks a turn was {}; allowed is a whole number from 1 to 60"
SLOWED = "how many times slower than life it plays was {}; allowed is a number from 1 to 100"
BALLS, PITCH = (
    "balls was {}; allowed is a whole number from 3 to 60",
    "pitch diameter was {}; allowed is a number from 1 to 150 mm",
)
REFUSED: list[tuple[str, str, Any, str]] = [
    ("pull", "unit", "stone", f"unit was 'stone'; allowed is {UNIT}"),
    ("pull", "unit", "kg", f"unit was 'kg'; allowed is {UNIT}"),
    ("pull", "capacity_N", 0.0, CAPACITY.format("0 N")),
    ("pull", "capacity_N", 9000.0, CAPACITY.format("9000 N")),
    ("pull", "spans_s", [[2.0, 1.0]], "the marked pull was 2 to 1 s; allowed is a start before its end"),
    ("pull", "spans_s", [[-1.0, 2.0]], "the marked pull was -1 s; allowed is a number from 0 to 86400 s"),
    (
        "pull",
        "spans_s",
        [[1.0, 3.0], [2.0, 4.0]],
        "the marked pull was from 2 s, within the one from 1 s; allowed is pulls side by side",
    ),
    ("spin", "marks", 0, MARKS.format(0)),
    ("spin", "marks", 61, MARKS.format(61)),
    ("spin", "slowed", 0.5, SLOWED.format(0.5)),
    ("spin", "slowed", 101.0, SLOWED.format(101)),
    ("spin", "slowed", NAN, SLOWED.format("nan")),
    ("spin", "between_s", [3.0, 2.0], "the part to look at was 3 to 2 s; allowed is a start before its end"),
    ("spin", "mark_at", [1.1, 0.0], "where the mark is was 1.1; allowed is a number from 0 to 1"),
    ("spin", "bearing", BEARING | {"balls": 2}, BALLS.format(2)),
    ("spin", "bearing", BEARING | {"pitch_mm": 200.0}, PITCH.format("200 mm")),
    (
        "spin",
        "bearing",
        BEARING | {"ball_mm": 6.5},
        "ball diameter was 6.5 mm; allowed is well below the pitch diameter of 7 mm",
    ),
    (
        "spin",
        "bearing",
        {"balls": 7},
        "the bearing was without ball diameter and pitch diameter; "
        "allowed is all three: balls, ball diameter and pitch diameter",
    ),
]
"""What cannot be said of a recording, and the one sentence that says so wherever it is said."""
OF_NO_USE: list[tuple[str, str, Any]] = [
    *[("pull", "unit", value) for value in ("", 1, ["N"], {}, True)],
    *[("pull", "capacity_N", value) for value in (-5, NAN, INF, 10**400, "500", True, [])],
    *[("pull", "spans_s", value) for value in ([], "1-2", [1, 2], [[1, 1]], [[1, NAN]], [[1, 2, 3]])],
    ("pull", "spans_s", [[i, i + 0.5] for i in range(51)]),
    *[("spin", "marks", value) for value in (2.5, "4", True, NAN, [4])],
    *[("spin", "slowed", value) for value in (0, "8", INF)],
    *[("spin", "between_s", value) for value in ([2, 2], [-1, 2], [1], "1,2", [0, 1e9], [True, 2])],
    *[("spin", "mark_at", value) for value in ([0, -0.1], [0.5], "0.5,0.5", [NAN, 0], {"x": 0, "y": 1})],
    *[("spin", "bearing", value) for value in (7, {}, BEARING | {"grease": 1}, BEARING | {"balls": 7.5})],
    *[("spin", "bearing", BEARING | {"pitch_mm": NAN}), ("spin", "bearing", BEARING | {"ball_mm": "1.588"})],
    *[("pull", key, 1) for key in ("marks", "slowed", "pk", "__class__", "")],
    *[("spin", key, 1) for key in ("unit", "capacity_N", "spans_s", "struck_out")],
]
"""What only a program could send."""
refused = pytest.mark.parametrize(("kind", "name", "value", "sentence"), REFUSED)


@pytest.mark.parametrize(("kind", "name", "value"), [*(each[:3] for each in REFUSED), *OF_NO_USE])
def test_what_cannot_be_is_refused_in_a_sentence(kind: str, name: str, value: Any) -> None:
    with pytest.raises(InputError, match="allowed is") as refusal:
        options_joined(kind, {}, {name: value})
    assert len(str(refusal.value)) < 300


@refused
def test_core_refuses_it(kind: str, name: str, value: Any, sentence: str) -> None:
    with pytest.raises(InputError, match=f"^{re.escape(sentence)}$"):
        (PullOptions if kind == "pull" else SpinOptions)(**{name: value})


TYPED = {"unit": "--unit={}", "capacity_N": "--capacity={}N", "marks": "--marks={}", "slowed": "--slowed={}"}
"""How each stands on the command line; the others are said on the reading's page alone."""


@pytest.mark.parametrize(("kind", "name", "value", "sentence"), [each for each in REFUSED if each[1] in TYPED])
def test_so_does_the_command_line(
    kind: str, name: str, value: Any, sentence: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as end:
        main([kind, "x.csv", TYPED[name].format(value)])
    assert end.value.code == 2
    assert capsys.readouterr().err.rstrip().endswith(f": {sentence}")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("kind", "name", "value", "sentence"),
    [each for each in REFUSED if each[1] in (*TYPED, "bearing") and each[2] is not NAN],
)
def test_so_does_the_page_where_a_recording_is_sent(kind: str, name: str, value: Any, sentence: str) -> None:
    Shop.objects.update_or_create(pk=1, defaults={"force_unit": "N"})
    sent = value if name == "bearing" else {name: value}
    form = (PullForm if kind == "pull" else SpinForm)(sent, {"recording": SimpleUploadedFile("a.csv", b"0,1")})
    assert not form.is_valid()
    assert [each for errors in form.errors.values() for each in errors] == [f"{sentence}."]


@pytest.mark.django_db
@refused
def test_so_does_the_reading_s_page_and_nothing_is_kept(kind: str, name: str, value: Any, sentence: str) -> None:
    reading = Reading.objects.create(job=a_job(), kind=kind, moment="found", file="a", core_version="0")
    with pytest.raises(InputError, match=f"^{re.escape(sentence)}$"):
        reading_correct(reading=reading, options={name: value})
    assert [row.struck_out for row in Reading.objects.all()] == [False]


@pytest.mark.django_db
@pytest.mark.parametrize(("kind", "name", "value", "sentence"), [each for each in REFUSED if each[2] is not NAN])
def test_so_does_the_worker_of_a_row_that_holds_it(kind: str, name: str, value: Any, sentence: str) -> None:
    row = {"core_version": "0", "file": "a", "work": Work.WAITING, "options": {name: value}}
    reading = Reading.objects.create(job=a_job(), kind=kind, moment="found", **row)
    work_start(reading.pk)
    reading.refresh_from_db()
    assert (reading.work, reading.refused) == (Work.READ, sentence)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.dictionaries(
        st.sampled_from(["marks", "slowed", "between_s", "mark_at", "bearing", "unit", "spans_s"]) | st.text(),
        st.recursive(
            st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
            lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
            max_leaves=6,
        ),
        max_size=3,
    )
)
def test_hostile_words_are_refused_or_kept_and_never_a_fault(said: dict[str, Any]) -> None:
    for kind in ("pull", "spin"):
        try:
            kept = options_joined(kind, {}, said)
        except InputError as refusal:
            assert len(str(refusal)) < 2000
        else:
            assert options_joined(kind, {}, kept) == kept


def test_what_is_said_is_kept_as_the_book_can_hold_it() -> None:
    spoken = {"spans_s": [(7, 9), (1.5, 3)], "unit": "kgf", "capacity_N": 490}
    assert options_joined("pull", {}, spoken) == {
        "spans_s": [[1.5, 3.0], [7.0, 9.0]],
        "unit": "kgf",
        "capacity_N": 490.0,
    }
    spoken = {"marks": 4.0, "slowed": 8, "mark_at": (0.25, 1), "bearing": BEARING}
    assert options_joined("spin", {}, spoken)["marks"] == 4
    assert options_joined("spin", {}, {"bearing": BEARING})["bearing"] == BEARING


def test_none_takes_back_what_was_said() -> None:
    earlier = {"marks": 3, "between_s": [1.0, 2.0]}
    assert options_joined("spin", earlier, {"marks": None, "slowed": 4}) == {"between_s": [1.0, 2.0], "slowed": 4.0}


def a_reading(header: str = "time (s),force (N)") -> Reading:
    return recording_upload(job=a_job(), kind="pull", moment="found", file=a_log(header))


def _notes(reading: Reading) -> list[str]:
    return list(reading.job.events.order_by("pk").values_list("text", flat=True))


@pytest.mark.django_db
def test_a_correction_is_another_reading_and_both_stay() -> None:
    reading = a_reading("time (s),force")
    in_kilograms = reading_correct(reading=reading, options={"unit": "kgf"}, by="Ansa")
    held = reading_correct(reading=in_kilograms, options={"spans_s": [[1.0, 8.0]]}, by="Ansa")
    assert held.options == {"unit": "kgf", "spans_s": [[1.0, 8.0]]}
    assert (held.corrects, in_kilograms.corrects, held.file.name) == (in_kilograms, reading, reading.file.name)
    assert list(Reading.objects.order_by("pk").values_list("struck_out", flat=True)) == [True, True, False]
    assert readings_of(reading.job).latest[("pull", "found")] == held
    assert held.analysis["pulls"][0]["running_N"]["value"] == pytest.approx(30.2 * 9.80665, rel=0.02)
    assert _notes(reading) == [
        "pull as found kept.",
        "pull as found gives no number: The unit of force is not written in scale.csv: say which it is.",
        "pull as found read again in kilograms.",
        "pull as found read again with 1 pull marked by hand.",
    ]


@pytest.mark.django_db
def test_a_part_outside_the_log_is_kept_refused_and_can_be_taken_back() -> None:
    reading = a_reading()
    outside = reading_correct(reading=reading, options={"spans_s": [[400.0, 500.0]]})
    assert "the marked pull was 400 to 500 s" in outside.refused
    assert outside.analysis["figure"]["points"]
    back = reading_correct(reading=outside, options={"spans_s": None})
    assert (back.refused, back.options) == ("", {})
    assert back.analysis == reading.analysis


@pytest.mark.django_db
def test_what_is_refused_changes_nothing() -> None:
    reading = a_reading()
    with pytest.raises(InputError):
        reading_correct(reading=reading, options={"marks": 4})
    assert [row.struck_out for row in Reading.objects.all()] == [False]


@pytest.mark.django_db
def test_read_again_by_the_core_of_today_is_a_correction_like_any_other() -> None:
    reading = a_reading()
    Reading.objects.filter(pk=reading.pk).update(core_version="0.0.1")
    again = reading_read_again(reading=reading)
    assert (again.corrects, again.options, again.analysis) == (reading, reading.options, reading.analysis)
    assert again.core_version != "0.0.1"
    assert _notes(reading)[-1] == f"pull as found read again by law {LAWS['pull']} of version {again.core_version}."


@pytest.mark.django_db
def test_what_was_typed_cannot_be_read_again() -> None:
    typed = reading_type(job=a_job(), kind="spin", moment="found", typed={"spin_time_s": 9.0})
    with pytest.raises(LevelwindError, match="no file to read again"):
        reading_correct(reading=typed, options={"marks": 2})
    typed = reading_strike_out(reading=typed)
    assert typed.struck_out
