"""What a person says of a recording is checked, kept, written into the history in words, and never edits a reading."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.readings import readings_of
from levelwind.shop.readings.services.readings import (
    reading_read_again,
    reading_strike_out,
    reading_tell,
    reading_type,
    recording_upload,
)
from levelwind.shop.readings.services.told import told_checked, told_joined
from tests.jobs import a_job
from tests.shop.readings.test_readings import a_log

NAN, INF = float("nan"), float("inf")
BEARING = {"balls": 7, "ball_mm": 1.588, "pitch_mm": 7.0}
WRONG: list[tuple[str, str, Any]] = [
    *[("pull", "unit", value) for value in ("stone", "", "kg", 1, ["N"], {}, True)],
    *[("pull", "capacity_N", value) for value in (0, -5, NAN, INF, 1e9, "500", True, [])],
    *[
        ("pull", "spans_s", value)
        for value in ([], "1-2", [1, 2], [[2, 1]], [[1, 1]], [[-1, 2]], [[1, 3], [2, 4]], [[1, NAN]], [[1, 2, 3]])
    ],
    ("pull", "spans_s", [[i, i + 0.5] for i in range(51)]),
    *[("spin", "marks", value) for value in (0, 61, 2.5, "4", True, NAN, [4])],
    *[("spin", "slowed", value) for value in (0, 0.5, 101, "8", INF)],
    *[("spin", "between_s", value) for value in ([3, 2], [2, 2], [-1, 2], [1], "1,2", [0, 1e9], [True, 2])],
    *[("spin", "mark_at", value) for value in ([1.1, 0], [0, -0.1], [0.5], "0.5,0.5", [NAN, 0], {"x": 0, "y": 1})],
    *[
        ("spin", "bearing", value)
        for value in (
            7,
            {},
            {"balls": 7},
            BEARING | {"grease": 1},
            BEARING | {"balls": 2},
            BEARING | {"balls": 7.5},
            BEARING | {"ball_mm": 6.5},
            BEARING | {"pitch_mm": NAN},
            BEARING | {"ball_mm": "1.588"},
        )
    ],
    *[("pull", key, 1) for key in ("marks", "slowed", "pk", "__class__", "")],
    *[("spin", key, 1) for key in ("unit", "capacity_N", "spans_s", "struck_out")],
]


@pytest.mark.parametrize(("kind", "key", "value"), WRONG)
def test_what_cannot_be_is_refused_in_a_sentence(kind: str, key: str, value: Any) -> None:
    with pytest.raises(InputError, match="allowed is"):
        told_checked(kind, {key: value})


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
def test_hostile_words_are_refused_or_kept_and_never_a_fault(told: dict[str, Any]) -> None:
    for kind in ("pull", "spin"):
        try:
            kept = told_checked(kind, told)
        except InputError as refusal:
            assert len(str(refusal)) < 2000
        else:
            assert told_checked(kind, kept) == kept


def test_what_is_said_is_kept_as_the_book_can_hold_it() -> None:
    spoken = {"spans_s": [(7, 9), (1.5, 3)], "unit": "kgf", "capacity_N": 490}
    assert told_checked("pull", spoken) == {"spans_s": [[1.5, 3.0], [7.0, 9.0]], "unit": "kgf", "capacity_N": 490.0}
    spoken = {"marks": 4.0, "slowed": 8, "mark_at": (0.25, 1), "bearing": BEARING}
    assert told_checked("spin", spoken)["marks"] == 4
    assert told_checked("spin", {"bearing": BEARING})["bearing"] == BEARING


def test_none_takes_back_what_was_said() -> None:
    told = told_checked("spin", {"marks": None, "slowed": 4})
    assert told_joined({"marks": 3, "between_s": [1.0, 2.0]}, told) == {"between_s": [1.0, 2.0], "slowed": 4.0}


def a_reading(header: str = "time (s),force (N)") -> Reading:
    return recording_upload(job=a_job(), kind="pull", moment="found", file=a_log(header))


def _notes(reading: Reading) -> list[str]:
    return list(reading.job.events.order_by("pk").values_list("text", flat=True))


@pytest.mark.django_db
def test_a_correction_is_another_reading_and_both_stay() -> None:
    reading = a_reading("time (s),force")
    in_kilograms = reading_tell(reading=reading, told={"unit": "kgf"}, by="Ansa")
    held = reading_tell(reading=in_kilograms, told={"spans_s": [[1.0, 8.0]]}, by="Ansa")
    assert held.told == {"unit": "kgf", "spans_s": [[1.0, 8.0]]}
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
    outside = reading_tell(reading=reading, told={"spans_s": [[400.0, 500.0]]})
    assert "the marked pull was 400 to 500 s" in outside.refused
    assert outside.analysis["figure"]["points"]
    back = reading_tell(reading=outside, told={"spans_s": None})
    assert (back.refused, back.told) == ("", {})
    assert back.analysis == reading.analysis


@pytest.mark.django_db
def test_what_is_refused_changes_nothing() -> None:
    reading = a_reading()
    with pytest.raises(InputError):
        reading_tell(reading=reading, told={"marks": 4})
    assert [row.struck_out for row in Reading.objects.all()] == [False]


@pytest.mark.django_db
def test_read_again_by_the_core_of_today_is_a_correction_like_any_other() -> None:
    reading = a_reading()
    Reading.objects.filter(pk=reading.pk).update(core_version="0.0.1")
    again = reading_read_again(reading=reading)
    assert (again.corrects, again.told, again.analysis) == (reading, reading.told, reading.analysis)
    assert again.core_version != "0.0.1"
    assert _notes(reading)[-1] == f"pull as found read again by version {again.core_version}."


@pytest.mark.django_db
def test_what_was_typed_cannot_be_read_again() -> None:
    typed = reading_type(job=a_job(), kind="spin", moment="found", typed={"spin_time_s": 9.0})
    with pytest.raises(LevelwindError, match="no file to read again"):
        reading_tell(reading=typed, told={"marks": 2})
    typed = reading_strike_out(reading=typed)
    assert typed.struck_out
