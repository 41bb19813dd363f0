"""The page of one reading: its picture, its numbers, its state while it is read, its files, and whom it opens to."""

import json
import re
from datetime import timedelta
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.test import Client
from django.utils import timezone
from pytest_django import Settings
from pytest_django.fixtures import DjangoAssertNumQueries

from levelwind.cli.main import main
from levelwind.shop.models import Job, Reading, Shop, Work
from levelwind.shop.readings.selectors.stored import cautions_of
from levelwind.shop.readings.services.readings import reading_type, recording_upload
from levelwind.web import phone_codes
from levelwind.web.readings.spot import token_for
from tests.jobs import a_job, a_pattern
from tests.web.recorded import a_pull, a_spin, in_pounds, log_of, with_still

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]
HTMX = {"HX-Request": "true"}


@pytest.fixture
def job() -> Job:
    return a_job()


def url(reading: Reading, more: str = "") -> str:
    return f"/jobs/{reading.job.tag}/readings/{reading.moment}/reading/{reading.pk}/{more}"


def seen(client: Client, reading: Reading) -> str:
    answer = client.get(url(reading))
    assert answer.status_code == 200
    return answer.content.decode()


def test_three_pulls_are_three_stretches_each_with_its_marks(client: Client, job: Job) -> None:
    page = seen(client, a_pull(job, pulls=3))
    assert page.count('class="stretch"') == 3
    assert len(re.findall(r'class="dot breakaway"\s+x=', page)) == 3
    assert [f"Pull {n}, running level" in page for n in (1, 2, 3, 4)] == [True, True, True, False]


def test_what_is_marked_lies_where_it_was_found(client: Client, job: Job) -> None:
    reading = a_pull(job, pulls=2)
    page = seen(client, reading)
    whole = re.search(r'data-plot\s+data-from="([\d.]+)"\s+data-to="([\d.]+)"', page)
    stretches = re.findall(r'class="stretch"\s+x="([\d.]+)%"\s+width="([\d.]+)%"', page)
    assert whole and len(stretches) == 2
    first, last = (float(each) for each in whole.groups())
    for (x, width), pull in zip(stretches, reading.analysis["pulls"], strict=True):
        assert first + float(x) / 100 * (last - first) == pytest.approx(pull["start_s"], abs=0.01)
        assert float(width) / 100 * (last - first) == pytest.approx(pull["end_s"] - pull["start_s"], abs=0.01)


def test_forces_stand_in_the_shops_unit(client: Client, job: Job) -> None:
    Shop.objects.create(pk=1, name="Bench", force_unit="lbf")
    page = seen(client, a_pull(job, pulls=1, running_N=in_pounds(10.0)))
    assert re.search(r"Running drag, as it slips</dt>\s*<dd>\s*<span class=\"quantity\">(9\.9|10\.0)\d* lbf", page)
    assert re.search(r"breakaway 1[23][.\d]* lbf", page)


def test_cautions_speak_the_shops_unit_too(client: Client, job: Job) -> None:
    Shop.objects.create(pk=1, name="Bench", force_unit="lbf", scale_most_N=45.0)
    reading = a_pull(job, pulls=1)
    assert any(note.key == "limit_reached" and "of 45 N" in str(note) for note in cautions_of(reading))
    assert "its limit of 10 lbf" in seen(client, reading)


def test_a_doubted_peak_stands_in_the_shops_unit_whatever_its_size(client: Client, job: Job) -> None:
    """A ramp of 148 kgf times 1.25 is 185 kgf: 1814 N, 408 lbf (by the definitions of the units)."""
    Shop.objects.create(pk=1, name="Bench", force_unit="lbf")
    reading = a_pull(job, pulls=1, running_N=148.0, header="time (s),force (kgf)")
    page = seen(client, reading)
    assert "A peak of 408 lbf is hard to believe: are the forces really in kgf?" in page
    assert "the peak would be 408 lbf if the forces are in kgf" in page
    assert "e+" not in page


def test_a_level_log_is_refused_in_the_shops_unit_on_its_page_and_on_prove(client: Client, job: Job) -> None:
    Shop.objects.create(pk=1, name="Bench", force_unit="kgf")
    level = "\n".join(["time (s),force (N)", *(f"{n / 20},49.03325" for n in range(60))]).encode()
    reading = recording_upload(job=job, kind="pull", moment="left", file=ContentFile(level, name="scale.csv"))
    assert reading.refused.startswith("every force in the log is 49.0333 N")
    for page in (seen(client, reading), client.get(f"/jobs/{job.tag}/prove/").content.decode()):
        assert "very force in the log is 5.00 kgf: nothing was pulled" in page and "49.0333" not in page


def test_a_typed_pull_is_refused_in_the_shops_unit(client: Client, job: Job) -> None:
    Shop.objects.create(pk=1, name="Bench", force_unit="kgf")
    typed = {"pull-breakaway_N": "5", "pull-running_N": "20"}
    page = client.post(f"/jobs/{job.tag}/readings/found/type/pull/", typed).content.decode()
    assert "breakaway was 5.00 kgf; allowed is no less than the running drag of 20.0 kgf." in page


def test_without_a_script_the_whole_plot_stands_and_what_needs_one_is_hidden(client: Client, job: Job) -> None:
    page = seen(client, a_pull(job))
    assert 'viewBox="0 0 1000 100"' in page
    assert '<div class="plot-keys row" hidden>' in page


def test_a_spin_that_falls_evenly_is_worked_out_as_the_textbook_has_it(client: Client, job: Job) -> None:
    """Constant deceleration: t = n/a. At 10 turns a second and 2/3 turns/s² it takes 15 s."""
    page = seen(client, a_spin(job))
    assert re.search(r"Free spin, to rest</dt>\s*<dd>\s*<span class=\"quantity\">1(4\.9|5\.0)", page)
    # A number has the figures of its interval in the working as in its own row.
    first = re.search(r"First speed</dt>\s*<dd>\s*<span class=\"quantity\">([\d.]+) rev/s", page)
    assert first
    assert re.search(rf"from 0 to {re.escape(first[1])} = 1(4\.9\d|5\.0\d) s; seen", page)
    assert "mostly dry friction" in page.lower()
    assert all(f'class="dot {kind}"' in page for kind in ("flick", "half", "rest"))


def test_typed_numbers_have_a_page_without_a_picture(client: Client, job: Job) -> None:
    for kind, typed in (
        ("pull", {"breakaway_N": 70.0, "running_N": 50.0}),
        ("spin", {"spin_time_s": 11.0}),
        ("end_float", {"end_float_mm": 0.4}),
        ("turn", {"torque_Nm": 0.2}),
    ):
        page = seen(client, reading_type(job=job, kind=kind, moment="found", typed=typed))
        assert "data-plot" not in page
        assert "Put it right" not in page


@pytest.mark.parametrize(
    ("kind", "typed", "how"),
    [
        ("pull", {"breakaway_N": 70.0, "running_N": 50.0}, "breakaway ÷ running drag = 1.40"),
        ("spin", {"spin_time_s": 11.0}, "= ± 0.6 s"),
        ("end_float", {"end_float_mm": 0.4}, "as typed, ± 0.05 mm"),
        ("turn", {"torque_Nm": 0.2}, "the handle’s length, ± 10 %"),
    ],
)
def test_a_typed_number_says_how_wide_it_is_and_why(
    client: Client, job: Job, kind: str, typed: dict[str, float], how: str
) -> None:
    page = seen(client, reading_type(job=job, kind=kind, moment="found", typed=typed))
    assert how in page.partition("How was this worked out?")[2]


def test_several_pulls_are_told_together_and_each_is_folded_away(client: Client, job: Job) -> None:
    page = seen(client, a_pull(job, pulls=3))
    together, _, each = page.partition('<details class="sheet part">')
    assert "All 3 pulls" in together and "the sum over the 3 pulls ÷ 3" in together
    assert together.count("Running drag, as it slips") == 1 and each.count("Running drag, as it slips") == 3
    assert len(re.findall(r"Pull \d by itself: [\d.]+ lbf to start, [\d.]+ lbf to run", each)) == 3
    assert page.count("In brackets:") == 1


def test_what_sticking_hides_is_not_told_and_what_was_found_is_no_gap(client: Client, job: Job) -> None:
    reading = a_pull(job, pulls=1)
    assert "<span>none seen</span>" in seen(client, reading)
    pull = reading.analysis["pulls"][0] | {"stick_slip": True, "stick_slip_hz": 2.0, "wobble_N": None}
    Reading.objects.filter(pk=reading.pk).update(analysis=reading.analysis | {"pulls": [pull]})
    page = seen(client, reading)
    assert "<span>yes, 2 times a second</span>" in page
    assert "not told while it sticks" in page and "nothing stands out" not in page


def test_of_two_spins_the_longest_comes_first(client: Client, job: Job) -> None:
    reading = a_spin(job)
    long = reading.analysis["spins"][0]
    short = long | {"end_s": long["start_s"] + 2.0, "spin_time_s": None}
    Reading.objects.filter(pk=reading.pk).update(analysis=reading.analysis | {"spins": [short, long]})
    page = seen(client, reading)
    assert "Spin 2, the longest: it counts" in page
    assert re.search(r"<summary>\s*Spin 1 by itself: first speed [\d.]+", page.partition("Spin 2, the longest")[2])


def test_end_float_is_held_against_what_the_pattern_allows(client: Client) -> None:
    job = a_job(pattern=a_pattern(end_float_low_mm=0.1, end_float_high_mm=0.3))
    reading = reading_type(job=job, kind="end_float", moment="found", typed={"end_float_mm": 0.5})
    assert "Too much: the pattern allows 0.1 to 0.3 mm" in seen(client, reading)


def test_a_refused_file_says_why_and_is_kept(client: Client, job: Job) -> None:
    reading = a_pull(job, header="time (s),colour")
    assert reading.refused
    page = seen(client, reading)
    assert "It gives no number" in page
    assert "The file is kept" in page
    assert "Put it right" not in page, "nothing of it could be read"
    assert 'href="/jobs/26-0001/readings/found/pull/">Send another</a>' in " ".join(page.split())
    assert b"".join(client.get(url(reading, "file/")).streaming_content) == log_of(header="time (s),colour")


def test_as_found_lies_under_as_left_with_the_difference_in_words(client: Client, job: Job) -> None:
    found = a_pull(job, pulls=1, running_N=40.0)
    assert "As found against as left" not in seen(client, found)
    left = a_pull(job, pulls=1, moment="left", running_N=30.0)
    for reading in (found, left):
        page = seen(client, reading)
        assert 'class="line as-found"' in page
        assert 'class="line as-left"' in page
        assert re.search(r"Running drag \d[\d.]* to \d[\d.]* lbf: down by 2\.\d+ lbf", page)


def test_what_a_change_comes_to_is_said_first_and_the_readings_own_cautions_are_folded(
    client: Client, job: Job
) -> None:
    found, left = a_spin(job, loss_rev_s2=1.0), a_spin(job, moment="left", loss_rev_s2=0.5)
    analysis = found.analysis | {"cautions": ["the film breaks off"]}
    Reading.objects.filter(pk=found.pk).update(analysis=analysis)
    page = seen(client, left).partition("As found against as left")[2]
    assert '<p class="verdict">Dry friction takes less off the speed each second.</p>' in page
    assert "Caution: as found: the film breaks off" not in page
    assert "As found: the film breaks off." in page.partition("of the two readings</summary>")[2]


def test_a_struck_out_reading_says_so_and_is_not_set_against_another(client: Client, job: Job) -> None:
    found, left = a_spin(job), a_spin(job, moment="left", loss_rev_s2=0.5)
    client.post(url(found, "act/strike/"))
    assert "it counts for nothing" in seen(client, found)
    assert "As found against as left" not in seen(client, left)
    client.post(url(found, "act/restore/"))
    assert "it counts for nothing" not in seen(client, found)


@pytest.mark.parametrize(("kind", "make"), [("pull", a_pull), ("spin", a_spin)])
def test_the_json_is_what_the_command_line_prints(
    client: Client, job: Job, kind: str, make: object, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    reading = make(job)  # type: ignore[operator]
    file = tmp_path / reading.file_name
    file.write_bytes(b"".join(client.get(url(reading, "file/")).streaming_content))
    assert main([kind, str(file), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert client.get(url(reading, "json/")).json() == printed
    assert f'download href="{url(reading, "json/")}"' in " ".join(seen(client, reading).split()), "a file is waited for"


def test_the_json_of_a_refused_reading_says_so(client: Client, job: Job) -> None:
    reading = a_pull(job, header="time (s),colour")
    assert client.get(url(reading, "json/")).json() == {"status": "refused", "reason": reading.refused}


def at_work(job: Job, work: Work = Work.UNDER_WAY) -> Reading:
    reading = a_spin(job)
    Reading.objects.filter(pk=reading.pk).update(work=work, part_done=0.43, doing="fitting the loss", analysis={})
    reading.refresh_from_db()
    return reading


def test_while_it_is_read_the_page_asks_again_and_can_be_left(client: Client, job: Job) -> None:
    reading = at_work(job)
    page = seen(client, reading)
    assert f'hx-get="{url(reading, "progress/")}"' in page
    assert "You can leave this page" in page
    fragment = client.get(url(reading, "progress/"), headers=HTMX).content.decode()
    assert "Fitting the loss, 43\N{NO-BREAK SPACE}%" in fragment
    assert f'hx-get="{url(reading, "progress/")}"' in fragment
    assert "<html" not in fragment


def test_once_it_is_read_the_page_is_drawn_again_by_itself(client: Client, job: Job) -> None:
    reading = a_spin(job)
    assert client.get(url(reading, "progress/"), headers=HTMX)["HX-Refresh"] == "true"
    assert client.get(url(reading, "progress/")).url == url(reading)


def test_stopped_and_read_after_all(client: Client, job: Job) -> None:
    reading = at_work(job)
    client.post(url(reading, "stop/"))
    assert "Read it after all" in seen(client, reading)
    client.post(url(reading, "act/go-on/"))
    assert "Free spin, to rest" in seen(client, reading)


def test_the_still_is_sent_as_a_picture(client: Client, job: Job) -> None:
    reading = a_spin(job)
    assert client.get(url(reading, "still/")).status_code == 404
    answer = client.get(url(with_still(reading), "still/"))
    assert answer["Content-Type"] == "image/jpeg"
    assert b"".join(answer.streaming_content).startswith(b"\xff\xd8")


def test_a_file_that_is_gone_is_no_fault(client: Client, job: Job) -> None:
    reading = a_spin(job)
    Path(reading.file.path).unlink()
    assert client.get(url(reading, "file/")).status_code == 404
    assert client.get(url(reading)).status_code == 200


def test_what_a_file_is_called_cannot_break_the_page(client: Client, job: Job) -> None:
    file = a_spin(job).file
    with file.open("rb") as stored:
        reading = recording_upload(job=job, kind="spin", moment="found", file=stored)
    Reading.objects.filter(pk=reading.pk).update(file_name='"><script>x</script>\r\nX: y.csv')
    assert "<script>x" not in seen(client, reading)
    assert "\n" not in client.get(url(reading, "file/"))["Content-Disposition"]


def test_another_jobs_or_moments_reading_is_not_shown(client: Client, job: Job) -> None:
    other = a_job(tag="26-0002")
    reading = a_spin(other)
    assert client.get(f"/jobs/{job.tag}/readings/found/reading/{reading.pk}/").status_code == 404
    assert client.get(f"/jobs/{other.tag}/readings/left/reading/{reading.pk}/").status_code == 404


def test_the_phone_sees_its_reading_without_signing_in_and_no_other(
    client: Client, job: Job, settings: Settings
) -> None:
    settings.NETWORK = "192.168.1.20"
    User.objects.create_user("ansa", password="x")
    mine, other = a_spin(job), a_spin(a_job(tag="26-0002"))
    door = f"/m/{token_for(job, 'found')}/reading/"
    page = client.get(f"{door}{mine.pk}/")
    assert "Free spin, to rest" in page.content.decode()
    assert "/jobs/" not in page.content.decode()
    for more in ("", "progress/", "still/"):
        assert client.get(f"{door}{other.pk}/{more}").status_code == 404
    for more in ("tell/", "stop/", "act/strike/"):
        assert client.post(f"{door}{other.pk}/{more}").status_code == 404
    assert client.get(url(mine)).status_code == 302


def test_an_old_code_opens_no_reading(client: Client, job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    reading = a_spin(job)
    door = f"/m/{token_for(job, 'found')}/reading/{reading.pk}/"
    monkeypatch.setattr(phone_codes, "GOOD_FOR", timedelta(seconds=-1))
    assert client.get(door).status_code == 410
    assert client.post(f"{door}act/strike/").status_code == 410
    assert not Reading.objects.get(pk=reading.pk).struck_out


def test_many_versions_cost_no_more_looks_into_the_book(
    client: Client, job: Job, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    first = a_spin(job)
    now = timezone.now()
    for n in range(10):
        Reading.objects.create(
            job=job, kind="spin", moment="found", file=first.file.name, sha256=first.sha256, core_version="0",
            analysis=first.analysis, options={"marks": n + 1}, corrects=first, struck_out=True, at=now + timedelta(n),
        )  # fmt: skip
    with django_assert_max_num_queries(8):
        client.get(url(first))
