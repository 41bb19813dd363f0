"""The job's own page: every booking field saves as you go, whose turn, the other ends, the parcel and the tags."""

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from levelwind.core.quantities import NEWTONS_PER
from levelwind.shop.jobs.services.booking import job_book_in
from levelwind.shop.models import Job, Owner, Parcel, Pattern, Shop, Stage
from levelwind.shop.takedown.services.pieces import job_pattern_choose
from tests.pages import last_press, typed_into

pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}


@pytest.fixture
def crate() -> list[Job]:
    reels = [Job(reel=f"trolling reel {number}", complaint="drag slips") for number in range(3)]
    owner = Owner(name="Charter boat Merrow", address="Pier 4\nSaltwick")
    return job_book_in(owner=owner, parcel=Parcel(carrier="Coast Post"), reels=reels)


@pytest.fixture
def job(crate: list[Job]) -> Job:
    return crate[0]


def address(job: Job) -> str:
    return f"/jobs/{job.tag}/"


def test_every_field_is_saved_without_javascript(client: Client, job: Job) -> None:
    pattern = Pattern.objects.create(maker="Skellan", model="Corvane", size="30", family="star_drag")
    typed = typed_into(
        client.get(address(job)),
        reel="big trolling reel",
        pattern=str(pattern.pk),
        serial="A 17",
        complaint="slips\nwhen hot",
        came_with="pouch",
        looked_like="salt",
        declared_minor="80",
        line_name="braid",
        line_strength_N="50",
        line_diameter_mm="0.4",
        parcel__carrier="Harbour van",
        parcel__note="box wet",
    )
    answer = client.post(address(job), typed)
    assert (answer.status_code, answer["Location"]) == (302, address(job))
    job = Job.objects.get(pk=job.pk)
    assert (job.reel, job.pattern, job.serial, job.complaint) == (
        "big trolling reel",
        pattern,
        "A 17",
        "slips\nwhen hot",
    )
    assert (job.came_with, job.looked_like, job.declared_minor) == ("pouch", "salt", 8000)
    assert (job.line_name, job.line_diameter_mm) == ("braid", 0.4)
    assert job.line_strength_N == pytest.approx(222.4111, abs=1e-4)  # 50 lbf, NIST SP 811 (2008), B.8
    assert (job.parcel.carrier, job.parcel.note) == ("Harbour van", "box wet")


@pytest.mark.parametrize("unit", ["N", "kgf", "lbf"])
def test_a_strength_kept_in_newtons_is_changed_in_the_shop_s_unit_without_a_false_clash(
    client: Client, job: Job, unit: str
) -> None:
    Shop.objects.create(pk=1, name="Bench", force_unit=unit)
    Job.objects.filter(pk=job.pk).update(line_strength_N=133.44664845)
    page = client.get(address(job))
    assert f"Line strength, {unit}" in page.content.decode()
    answer = client.post(address(job), typed_into(page, line_strength_N="40"), headers=HTMX)
    assert "Somebody saved" not in answer.content.decode()
    assert Job.objects.get(pk=job.pk).line_strength_N == pytest.approx(40 * NEWTONS_PER[unit])


def test_the_tippet_is_asked_of_a_fly_reel_alone(client: Client, job: Job) -> None:
    assert "Tippet strength" not in client.get(address(job)).content.decode()
    job_pattern_choose(job=job, pattern=Pattern.objects.create(maker="Skellan", model="Rill", size="5", family="fly"))
    page = client.get(address(job))
    assert "Tippet strength, lbf" in page.content.decode()
    client.post(address(job), typed_into(page, tippet_strength_N="6"), headers=HTMX)
    assert Job.objects.get(pk=job.pk).tippet_strength_N == pytest.approx(6 * NEWTONS_PER["lbf"])


def test_a_strength_may_bring_its_own_unit(client: Client, job: Job) -> None:
    client.post(address(job), typed_into(client.get(address(job)), line_strength_N="10 kg"))
    assert Job.objects.get(pk=job.pk).line_strength_N == pytest.approx(98.0665)


def test_two_people_saving_the_same_job_lose_nothing(client: Client, job: Job) -> None:
    one, other = (typed_into(client.get(address(job))) for _ in range(2))
    client.post(address(job), one | {"complaint": "it squeals", "serial": "A 17"}, headers=HTMX)
    answer = client.post(address(job), other | {"complaint": "it howls", "looked_like": "salt"})
    job = Job.objects.get(pk=job.pk)
    assert (job.complaint, job.serial, job.looked_like) == ("it squeals", "A 17", "salt")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Somebody saved “it squeals” here" in page
    assert "it howls</textarea>" in page


def test_a_refused_field_keeps_the_other_ones_saved(client: Client, job: Job) -> None:
    typed = typed_into(client.get(address(job)), declared_minor="-1", serial="A 17", reel="")
    answer = client.post(address(job), typed, headers=HTMX)
    assert "can be 0 or more" in answer.content.decode()
    assert "Not all of it is saved" in answer.content.decode()
    job = Job.objects.get(pk=job.pk)
    assert (job.serial, job.declared_minor, job.reel) == ("A 17", None, "trolling reel 0")


def test_whose_turn_it_is_is_noted(client: Client, job: Job) -> None:
    client.post(f"{address(job)}turn/", {"turn": "part", "short_of": " star spring "})
    job.refresh_from_db()
    assert (job.turn, job.short_of) == ("part", "star spring")
    assert "Short of a part: star spring" in client.get(address(job)).content.decode()
    client.post(f"{address(job)}turn/", {"turn": "owner"})
    client.post(f"{address(job)}turn/", {"turn": "mine", "short_of": "star spring"})
    job.refresh_from_db()
    assert (job.turn, job.short_of) == ("mine", "")
    page = client.get(address(job)).content.decode()
    for said in ("Short of a part: star spring.", "It is the owner&#x27;s turn.", "It is my turn."):
        assert said in page


def test_nobody_elses_turn_and_no_part_without_a_name(client: Client, job: Job) -> None:
    assert client.post(f"{address(job)}turn/", {"turn": "spring"}).status_code == 422
    answer = client.post(f"{address(job)}turn/", {"turn": "part", "short_of": "  "})
    assert answer.status_code == 422
    assert "Enter which part it is short of" in answer.content.decode()
    assert Job.objects.get(pk=job.pk).turn == "mine"


def test_a_job_ends_unmended_and_is_taken_up_again(client: Client, job: Job) -> None:
    client.post(f"{address(job)}end/", {"stage": "sent_back", "why": "frame cracked"})
    assert Job.objects.get(pk=job.pk).stage == Stage.SENT_BACK
    page = client.get(address(job)).content.decode()
    assert "Sent back unmended: frame cracked" in page
    client.post(f"{address(job)}take-back/", {"press": last_press(page)})
    assert Job.objects.get(pk=job.pk).stage == Stage.LOOKED_OVER


@pytest.mark.parametrize("typed", [{"stage": "home"}, {}, {"stage": "spares", "why": "x" * 201}])
def test_an_end_that_is_none_is_refused_on_the_page(client: Client, job: Job, typed: dict[str, str]) -> None:
    answer = client.post(f"{address(job)}end/", typed)
    assert answer.status_code == 422
    assert "errorlist" in answer.content.decode()
    assert Job.objects.get(pk=job.pk).stage == Stage.BOOKED_IN


def test_a_job_on_the_bench_is_not_taken_up_again(client: Client, job: Job) -> None:
    page = client.get(address(job)).content.decode()
    assert "Take it up again" not in page and "Done last: booked in" in page
    answer = client.post(f"{address(job)}take-back/", {"press": "send_back-0"}, follow=True)
    assert "Something was done with this reel since" in answer.content.decode()
    assert Job.objects.get(pk=job.pk).stage == Stage.BOOKED_IN


def test_the_page_shows_the_other_reels_of_the_crate(client: Client, crate: list[Job]) -> None:
    page = client.get(address(crate[1])).content.decode()
    assert address(crate[0]) in page
    assert address(crate[2]) in page


def test_tags_are_papers_that_open_in_the_browser(client: Client, crate: list[Job]) -> None:
    one = client.get(f"{address(crate[0])}tag.pdf")
    every = client.get(f"/parcels/{crate[0].parcel_id}/tags.pdf")
    for paper in (one, every):
        assert paper.content.startswith(b"%PDF")
        assert paper["Content-Disposition"].startswith("inline")


def test_the_code_on_a_tag_opens_the_job(client: Client, job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[str] = []
    monkeypatch.setattr(
        "levelwind.documents.square_code.svg",
        lambda url: seen.append(url) or b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    )  # type: ignore[func-returns-value]
    client.get(f"{address(job)}tag.pdf", headers={"host": "localhost:8017"})
    assert seen == [f"http://localhost:8017{address(job)}"]


@pytest.mark.parametrize("there", ["/parcels/99/", "/parcels/99/tags.pdf", "/jobs/99-9999/tag.pdf", "/jobs/99-9999/"])
def test_what_is_not_in_the_book_is_not_found(client: Client, there: str) -> None:
    assert client.get(there).status_code == 404


def test_a_crate_of_many_asks_the_book_no_more(
    client: Client, crate: list[Job], django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(8):  # one of them for the latest note
        client.get(address(crate[0]))
    with django_assert_max_num_queries(4):
        client.get(f"/parcels/{crate[0].parcel_id}/")


def test_a_reel_booked_in_for_the_wrong_owner_is_put_right(client: Client, crate: list[Job]) -> None:
    owner = Owner.objects.create(name="Ines Vasterholm")
    page = client.get(address(crate[0]), {"owner": "vaster"}).content.decode()
    assert f'name="owner" value="{owner.pk}"' in " ".join(page.split())
    client.post(f"{address(crate[0])}owner/", {"owner": owner.pk})
    assert [job.owner.name for job in Job.objects.order_by("tag")].count("Ines Vasterholm") == 1
    client.post(f"{address(crate[0])}owner/", {"owner": owner.pk, "whole_parcel": "on"})
    assert {job.owner for job in Job.objects.all()} == {Parcel.objects.get().owner} == {owner}
    assert (
        "Owner put right: Ines Vasterholm, not Charter boat Merrow." in client.get(address(crate[2])).content.decode()
    )
    assert client.post(f"{address(crate[0])}owner/", {"owner": "999"}).status_code == 422


def test_the_pattern_is_not_changed_while_pieces_lie_in_the_tray(client: Client, job: Job) -> None:
    first, other = (
        Pattern.objects.create(maker="Skellan", model=model, family=family)
        for model, family in [("Corvane", "star_drag"), ("Tarrow", "fixed_spool")]
    )
    job_pattern_choose(job=job, pattern=first)
    changed = typed_into(client.get(address(job)), pattern=str(other.pk))
    piece = job.pieces.get(place="star")
    piece.where, piece.cell = "cell", 4
    piece.save()
    answer = client.post(address(job), changed | {"serial": "A 17"})
    assert answer.status_code == 422
    assert "put them back before changing it" in answer.content.decode()
    job = Job.objects.get(pk=job.pk)
    assert (job.pattern, job.serial) == (first, "A 17")
    piece.where, piece.cell = "reel", None
    piece.save()
    assert client.post(address(job), changed | {"was-serial": "A 17", "serial": "A 17"}).status_code == 302
    assert Job.objects.get(pk=job.pk).pattern == other
    assert job.pieces.filter(place__contains="bail").exists()


def test_the_pattern_is_not_taken_away_from_under_its_pieces(client: Client, job: Job) -> None:
    pattern = Pattern.objects.create(maker="Skellan", model="Corvane", family="star_drag")
    job_pattern_choose(job=job, pattern=pattern)
    answer = client.post(address(job), typed_into(client.get(address(job)), pattern=""))
    assert "choose another, not none" in answer.content.decode()
    assert Job.objects.get(pk=job.pk).pattern == pattern


def test_urgent_is_one_press_and_taken_back_by_one(client: Client, job: Job) -> None:
    for urgent, shown in (("yes", "it goes ahead of all others"), ("no", "Put it ahead of all others")):
        for _ in range(2):
            answer = client.post(f"{address(job)}urgent/", {"urgent": urgent}, follow=True)
        assert shown in answer.content.decode()
        assert Job.objects.get(pk=job.pk).urgent == (urgent == "yes")
    assert job.events.filter(text="It goes ahead of all others.").count() == 1
