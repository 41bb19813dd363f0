"""What a person tells of a recording on its page: read again, both versions kept; nothing that is sent is a fault."""

import re

import pytest
from django.test import Client

from levelwind.core.pull.model import LAW
from levelwind.shop.models import Job, Reading
from levelwind.shop.readings.services.readings import reading_type
from tests.jobs import a_job, a_pattern
from tests.web.recorded import a_pull, a_spin, with_still
from tests.web.test_result import seen, url

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]


@pytest.fixture
def job() -> Job:
    return a_job()


def told(client: Client, reading: Reading, **said: object) -> Reading:
    """The new reading to whose page the answer leads."""
    answer = client.post(url(reading, "tell/"), {name.replace("__", "."): value for name, value in said.items()})
    assert answer.status_code == 302, answer.content.decode()
    again = Reading.objects.get(pk=int(answer.url.rstrip("/").rsplit("/", 1)[1]))
    assert again.corrects == reading
    return again


def test_a_missing_unit_is_asked_for_and_answered_by_a_button(client: Client, job: Job) -> None:
    reading = a_pull(job, header="time (s),force")
    page = seen(client, reading)
    assert '<details class="right">' in page, "the question alone is enough"
    assert "In which unit are the forces?" in page
    assert re.findall(r'name="value"\s+value="(\w+)"', page)[:4] == ["N", "kgf", "lbf", "ozf"]
    again = told(client, reading, about="unit", value="kgf")
    assert again.options == {"unit": "kgf"}
    assert "now it gives a number" in seen(client, again)


def test_what_an_earlier_version_read_is_read_again_and_compared(client: Client, job: Job) -> None:
    reading = a_pull(job)
    assert "Read it again with this version" not in seen(client, reading)
    Reading.objects.filter(pk=reading.pk).update(core_version="0.0.1")
    assert "Read it again with this version" in seen(client, reading)
    answer = client.post(url(reading, "act/afresh/"))
    again = Reading.objects.get(corrects=reading)
    assert answer["Location"] == url(again) and again.core_version != "0.0.1"
    assert "no number changed" in seen(client, again)


def test_the_law_that_read_it_is_shown_and_an_earlier_one_offers_todays(client: Client, job: Job) -> None:
    reading = a_pull(job)
    page = seen(client, reading)
    assert f"read by law {LAW}" in page and "today’s is law" not in page
    analysis = {key: value for key, value in reading.analysis.items() if key != "law"}
    Reading.objects.filter(pk=reading.pk).update(analysis=analysis)
    page = seen(client, reading)
    assert f"Read by law 1; today’s is law {LAW}" in page and "Read it again with this version" in page
    client.post(url(reading, "act/afresh/"))
    again = Reading.objects.get(corrects=reading)
    page = " ".join(seen(client, again).split())
    assert again.analysis["law"] == LAW and "as it came, by law 1" in page and f"read again, by law {LAW}" in page


def test_what_was_typed_was_read_by_no_law(client: Client, job: Job) -> None:
    typed = reading_type(job=job, kind="spin", moment="found", typed={"spin_time_s": 9.0})
    assert "by law" not in seen(client, typed)


def test_a_pull_is_ignored_and_the_earlier_version_taken_back(client: Client, job: Job) -> None:
    first = a_pull(job, pulls=3)
    again = told(client, first, about="span", what="ignore", pull=2)
    spans = [(pull["start_s"], pull["end_s"]) for pull in first.analysis["pulls"]]
    assert again.options["spans_s"] == [list(spans[0]), list(spans[2])]
    assert len(again.analysis["pulls"]) == 2
    page = seen(client, again)
    assert "with 2 pulls marked by hand" in page
    client.post(url(first, "act/restore/"))
    assert [Reading.objects.get(pk=each.pk).struck_out for each in (first, again)] == [False, True]


def test_what_was_told_is_taken_back(client: Client, job: Job) -> None:
    again = told(client, told(client, a_pull(job), about="span", what="ignore", pull=2), about="capacity", value=90)
    page = seen(client, again)
    assert "It was read with 2 pulls marked by hand." in page
    as_it_was = told(client, again, about="span", what="forget")
    assert list(as_it_was.options) == ["capacity_N"]
    assert len(as_it_was.analysis["pulls"]) == 3
    assert "marked by hand.</p>" not in seen(client, as_it_was)


def test_of_the_versions_of_a_file_only_the_newest_counts(client: Client, job: Job) -> None:
    first = a_spin(job)
    second = told(client, first, about="marks", value="2")
    third = told(client, first, about="marks", value="4")
    assert [Reading.objects.get(pk=each.pk).struck_out for each in (first, second, third)] == [True, True, False]


def test_of_a_file_sent_twice_the_newer_counts(client: Client, job: Job) -> None:
    first, again = a_spin(job), a_spin(job)
    for reading in (first, again):
        page = seen(client, reading)
        assert page.count("<strong>counts</strong>") == 1
        assert page.index("<strong>counts</strong>") > page.index("</li>", page.index('class="versions"'))


def test_the_only_pull_cannot_be_ignored(client: Client, job: Job) -> None:
    reading = a_pull(job, pulls=1)
    assert "Ignore this pull" not in seen(client, reading)
    answer = client.post(url(reading, "tell/"), {"about": "span", "what": "ignore", "pull": "1"})
    assert answer.status_code == 422
    assert "strike the reading out instead" in answer.content.decode()


def test_a_pulls_ends_are_moved_and_what_that_changed_is_said(client: Client, job: Job) -> None:
    first = a_pull(job, pulls=2)
    start = first.analysis["pulls"][0]["start_s"]
    again = told(
        client, first, about="span", what="move", pull=1, from_s=f"{start:.2f}".replace(".", ","), to_s=start + 3
    )
    assert again.analysis["pulls"][0]["end_s"] == pytest.approx(start + 3, abs=0.1)
    assert again.analysis["pulls"][1]["end_s"] == pytest.approx(first.analysis["pulls"][1]["end_s"], abs=0.1)
    assert re.search(r"running \d[\d.]* to \d[\d.]* lbf[;.]|no number changed", seen(client, again))


def test_another_pull_is_taken_in(client: Client, job: Job) -> None:
    first = a_pull(job, pulls=2)
    only = told(client, first, about="span", what="ignore", pull=2)
    lost = first.analysis["pulls"][1]
    again = told(client, only, about="span", what="add", from_s=lost["start_s"], to_s=lost["end_s"])
    assert len(again.analysis["pulls"]) == 2


def test_a_spin_starts_and_ends_where_a_person_says(client: Client, job: Job) -> None:
    again = told(client, a_spin(job), about="between", from_s="3", to_s="12")
    assert again.options == {"between_s": [3.0, 12.0]}
    assert again.analysis["spins"][0]["start_s"] >= 3
    assert 'value="3.00"' in seen(client, again)


def test_the_scales_most_is_told_in_the_shops_unit(client: Client, job: Job) -> None:
    again = told(client, a_pull(job), about="capacity", value="100")
    assert again.options["capacity_N"] == pytest.approx(444.82, abs=0.01)


def test_a_tap_on_the_still_is_told_in_parts_of_it(client: Client, job: Job) -> None:
    reading = with_still(a_spin(job))
    assert 'type="image"' in seen(client, reading)
    again = told(client, reading, about="mark_at", at__x=72, at__y=162, shown_wide=288, shown_high=216)
    assert again.options == {"mark_at": [0.25, 0.75]}


def test_the_mark_is_told_by_two_numbers_as_well(client: Client, job: Job) -> None:
    again = told(client, with_still(a_spin(job)), about="mark_at", across="25", down="75")
    assert again.options == {"mark_at": [0.25, 0.75]}


def test_marks_and_slow_motion_are_told_by_number(client: Client, job: Job) -> None:
    again = told(client, with_still(a_spin(job)), about="marks", value="4")
    assert told(client, again, about="slowed", value="8").options == {"marks": 4, "slowed": 8.0}
    assert "Spin as found read again with 4 marks a turn." in client.get(f"/jobs/{job.tag}/").content.decode()


def test_the_bearing_of_the_pattern_stands_in_its_form(client: Client) -> None:
    job = a_job(pattern=a_pattern(bearing_balls=9, bearing_ball_mm=1.588, bearing_pitch_mm=7.5))
    reading = a_spin(job)
    reading.analysis = {**reading.analysis, "source": "sound"}
    reading.save(update_fields=["analysis"])
    page = seen(client, reading)
    assert re.search(r'id="balls"[^>]*value="9"', page)
    assert re.search(r'id="ball-mm"[^>]*value="1.588"', page)


def test_a_number_that_reads_the_same_is_no_change(client: Client, job: Job) -> None:
    reading = a_spin(job)
    again = told(client, reading, about="between", from_s="0", to_s="14")
    spin = reading.analysis["spins"][0]
    wider = spin | {"spin_time_s": spin["spin_time_s"] | {"low": spin["spin_time_s"]["low"] - 1.0}}
    Reading.objects.filter(pk=again.pk).update(analysis=reading.analysis | {"spins": [wider]})
    assert "no number changed" in seen(client, again)


def test_a_sound_without_a_spin_asks_for_no_bearing(client: Client, job: Job) -> None:
    reading = a_spin(job)
    told_it = {"refused": "nothing ticks", "analysis": {"source": "sound", "given": {}}}
    Reading.objects.filter(pk=reading.pk).update(**told_it)
    page = seen(client, reading)
    assert "Where the spin starts and ends" in page and "Listen for a bearing" not in page


def test_what_was_heard_of_a_bearing_is_shown_part_by_part(client: Client, job: Job) -> None:
    reading = a_spin(job)
    parts = [{"part": "outer ring", "chance": 0.93, "strikes_a_turn": 3.585}]
    heard = {"kind": "bearing", "words": "something on the outer ring", "parts": parts, "cautions": ["short"]}
    reading.analysis = {**reading.analysis, "bearing": heard}
    reading.save(update_fields=["analysis"])
    page = seen(client, reading)
    assert "Something on the outer ring." in page
    assert "93\N{NO-BREAK SPACE}%" in page
    assert "Caution: short." in page


HOSTILE = [
    {},
    {"about": "moon"},
    {"about": "__class__"},
    {"about": "unit", "value": "stone"},
    {"about": "unit"},
    {"about": "marks", "value": "nan"},
    {"about": "marks", "value": "1" + "0" * 400},
    {"about": "marks", "value": "9" * 5000},
    {"about": "marks", "value": "2.5"},
    {"about": "marks", "value": "-1"},
    {"about": "slowed", "value": "inf"},
    {"about": "slowed", "value": "0"},
    {"about": "between", "from_s": "5", "to_s": "1"},
    {"about": "between", "from_s": "1", "to_s": "1e300"},
    {"about": "between", "from_s": "", "to_s": ""},
    {"about": "between", "from_s": "0x10", "to_s": "\x00"},
    {"about": "span", "what": "move", "pull": "1e9", "from_s": "1", "to_s": "2"},
    {"about": "span", "what": "eat", "pull": "1"},
    {"about": "span", "what": "add", "from_s": "nan", "to_s": "2"},
    {"about": "capacity", "value": "-4"},
    {"about": "mark_at", "at.x": "1", "at.y": "1", "shown_wide": "0", "shown_high": "nan"},
    {"about": "mark_at", "at.x": "1", "at.y": "1", "shown_wide": "0", "shown_high": "5"},
    {"about": "mark_at", "at.x": "1", "at.y": "1", "shown_wide": "-3", "shown_high": "2"},
    {"about": "mark_at", "at.x": "900", "at.y": "1", "shown_wide": "288", "shown_high": "216"},
    {"about": "mark_at", "at.x": "0"},
    {"about": "mark_at", "across": "101", "down": "4"},
    {"about": "bearing", "balls": "8", "ball_mm": "7", "pitch_mm": "7"},
    {"about": "bearing", "balls": "1e18", "ball_mm": "1", "pitch_mm": "7"},
    {"about": "bearing", "balls": "x" * 100_000},
]


@pytest.mark.parametrize("make", [a_pull, a_spin])
def test_what_cannot_be_is_refused_in_words_and_changes_nothing(client: Client, job: Job, make: object) -> None:
    reading = make(job)  # type: ignore[operator]
    for sent in HOSTILE:
        answer = client.post(url(reading, "tell/"), sent)
        assert answer.status_code == 422, sent
        assert re.search(r'<p class="refusal big" role="alert">\s*\S', answer.content.decode()), sent
        assert not Reading.objects.get().struck_out, sent


def test_a_refused_number_stands_in_its_field_again(client: Client, job: Job) -> None:
    reading = a_spin(job)
    answer = client.post(url(reading, "tell/"), {"about": "between", "from_s": "5", "to_s": "<1"})
    page = answer.content.decode()
    assert 'value="5"' in page
    assert 'value="&lt;1"' in page
    assert re.search(r"<details open>\s*<summary>Where the spin starts and ends", page), "or nobody sees it"
    assert "It was “&lt;1”" in page


def test_of_several_pulls_the_refused_one_stays_open(client: Client, job: Job) -> None:
    sent = {"about": "span", "what": "move", "pull": "2", "from_s": "9", "to_s": "8"}
    page = client.post(url(a_pull(job, pulls=3), "tell/"), sent).content.decode()
    assert re.findall(r"<details open>\s*<summary>(Pull \d)", page) == ["Pull 2"]


def test_what_a_version_was_told_stands_in_the_shops_unit(client: Client, job: Job) -> None:
    again = told(client, a_pull(job), about="capacity", value="110")
    assert "read on a scale that reads up to 110 lbf" in seen(client, again).partition("Versions of this file")[2]


@pytest.mark.parametrize("more", ["act/eat/", "act/again/"])
def test_nothing_else_can_be_done_to_it(client: Client, job: Job, more: str) -> None:
    assert client.post(url(a_spin(job), more)).status_code == 404


def test_reading_it_only_is_never_a_change(client: Client, job: Job) -> None:
    reading = a_spin(job)
    for more in ("tell/", "stop/", "act/strike/", "act/go-on/"):
        assert client.get(url(reading, more)).status_code == 405
    assert not Reading.objects.get().struck_out


def test_telling_of_typed_numbers_is_refused(client: Client, job: Job) -> None:
    reading = a_spin(job)
    Reading.objects.filter(pk=reading.pk).update(file="", typed={"spin_time_s": 11})
    assert client.post(url(reading, "tell/"), {"about": "marks", "value": "2"}).status_code == 422
