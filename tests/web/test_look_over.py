"""Look over: ticks are kept one by one, hunches move, and nobody's tick is lost to another's page."""

import pytest
from django.test import Client

from levelwind.shop.models import Pattern, Piece, Seen, Stage
from levelwind.shop.money.services.prices import price_draft
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
URL = "/jobs/26-0001/look-over/"


def test_the_page_shows_the_next_look_and_why(client: Client) -> None:
    a_job(pattern=a_pattern())
    page = client.get(URL).content.decode()
    assert "Next look" in page and "of time" in page
    assert "read from the complaint" in page


def test_a_tick_is_answered_with_the_hunches(client: Client) -> None:
    a_job(pattern=a_pattern())
    answer = client.post(URL, {"seen-washers_thin": "yes"}, headers={"hx-request": "true"})
    assert 'id="hunches"' in answer.content.decode()
    assert Seen.objects.get().present


def test_a_hunch_says_how_many_closed_reels_its_start_rests_on(client: Client) -> None:
    a_job(pattern=a_pattern())
    assert "closed reel" not in client.get(URL).content.decode()
    for tag in ("26-0002", "26-0003"):
        gone = a_job(tag, pattern=Pattern.objects.first() or a_pattern(), stage=Stage.HOME)
        Piece.objects.create(job=gone, place="friction_1", name="first drag washer", state="worn", where="scrap")
    shown = client.get(URL).content.decode()
    assert "Starts at 58\N{NO-BREAK SPACE}%, from 2 closed reels of this family" in shown
    assert "judgements, each worth ten reels" in shown


def test_without_a_script_the_whole_page_is_saved(client: Client) -> None:
    a_job(pattern=a_pattern())
    fields = typed_into(client.get(URL), **{"seen-washers_thin": "yes"})
    assert client.post(URL, fields).status_code == 302
    kept = dict(Seen.objects.values_list("finding", "present"))
    assert kept["washers_thin"] is True
    assert all(kept.values())


def test_a_stale_page_does_not_undo_what_somebody_else_ticked(client: Client) -> None:
    job = a_job(pattern=a_pattern())
    stale = typed_into(client.get(URL), **{"seen-pull_weak": "yes"})
    Seen.objects.create(job=job, finding="washers_thin", present=True)
    client.post(URL, stale)
    assert set(Seen.objects.filter(present=True).values_list("finding", flat=True)) >= {"washers_thin", "pull_weak"}


@pytest.mark.parametrize("fields", [{"seen-moon": "yes"}, {"seen-washers_thin": "perhaps"}])
def test_nonsense_is_refused_in_words(client: Client, fields: dict[str, str]) -> None:
    a_job(pattern=a_pattern())
    answer = client.post(URL, fields)
    assert answer.status_code == 422
    assert "can be" in answer.content.decode()


def test_the_looks_are_those_of_the_reels_family(client: Client) -> None:
    a_job(pattern=a_pattern(family="fixed_spool"), complaint="")
    assert "bail" in client.get(URL).content.decode()


def test_calling_it_looked_over_leads_to_the_price(client: Client) -> None:
    job = a_job(pattern=a_pattern())
    assert client.post(URL + "done/").headers["Location"] == "/jobs/26-0001/price/"
    job.refresh_from_db()
    assert job.stage == Stage.LOOKED_OVER


def test_no_such_job(client: Client) -> None:
    answer = client.get("/jobs/99-0001/look-over/")
    assert answer.status_code == 404
    assert "nothing at this address" in answer.content.decode()


def test_what_explains_the_complaint_stands_apart_from_what_is_due_anyway(client: Client) -> None:
    a_job(complaint="The drag slips.", pattern=a_pattern())
    shown = client.get(URL).content.decode()
    explaining, due = shown.split("What explains the complaint")[1].split("What is due anyway")
    assert "Worn or glazed drag washers" in explaining and "Explains it:" in explaining
    assert "Old hardened grease" in due.split("How was this worked out")[0]


def test_what_was_not_understood_is_shown_in_the_owner_s_words(client: Client) -> None:
    job = a_job(complaint="The drag slips. My cousin plays the tuba", pattern=a_pattern())
    assert "Not understood, so it does not count below: my cousin plays the tuba" in client.get(URL).content.decode()
    booked = client.get(f"/parcels/{job.parcel_id}/").content.decode()
    assert "Understood: the owner says the drag slips" in booked
    assert "Not understood: my cousin plays the tuba" in booked


def test_a_look_made_is_settled_and_the_way_in_is_counted(client: Client) -> None:
    job = a_job(complaint="The drag slips.", pattern=a_pattern())
    assert "8.9 minutes with the way in" in client.get(URL).content.decode()
    for key in ("thin", "glued", "residue", "misplaced", "wet"):
        Seen.objects.create(job=job, finding=f"washers_{key}", present=False)
    for key in ("metals_dished", "stack_low"):
        Seen.objects.create(job=job, finding=key, present=False)
    shown = client.get(URL).content.decode()
    assert "Take off the handle, the star" in shown.split("<h2>Settled</h2>")[1]


def test_a_reel_that_nobody_has_named_is_not_looked_over_as_if_it_were_of_one_kind(client: Client) -> None:
    """The looks are those of any reel, the way to the naming comes first, and a price says what it cannot know."""
    job = a_job(complaint="The drag slips.")
    page = client.get("/jobs/26-0001/look-over/").content.decode()
    assert "star" not in page.lower().replace("start", "")
    assert page.index("/jobs/26-0001/name/") < page.index("Try every screw on the outside")
    assert "Until the reel is named nobody can tell what is wrong inside" in page
    assert "Counts for nothing until the reel is named: the drag slips" in page
    for key, status in (("washers_thin", 422), ("bloom", 200)):
        seen = client.post("/jobs/26-0001/look-over/", {f"seen-{key}": "yes"}, headers={"HX-Request": "true"})
        assert seen.status_code == status
    assert "/jobs/26-0001/name/" in client.get("/jobs/26-0001/price/").content.decode()
    price = price_draft(job=job)
    service, *mends = price.lines.all()
    assert "Kind not known" in service.because and service.high_minor > 2 * service.low_minor
    assert {line.place for line in mends} == {""} and any("salt" in line.text for line in mends)
    assert "Name the reel first" in client.get("/jobs/26-0001/price/").content.decode()
    job.pattern = a_pattern()
    job.save()
    assert "Name the reel first" not in client.get("/jobs/26-0001/price/").content.decode()
