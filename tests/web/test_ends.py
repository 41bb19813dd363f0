"""Going home, sent back and kept for spares ask first what becomes of what lies about; home can be taken back."""

import pytest
from django.contrib.auth.models import User
from django.test import Client

from levelwind.core import spin
from levelwind.core.codec import as_stored
from levelwind.shop.models import Job, Piece, Sending, Stage
from levelwind.shop.papers.selectors.sheets import proof_sheet
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import takedown_step_done
from tests.jobs import a_job as a_bare_job
from tests.pages import last_press, typed_into
from tests.shop.readings.reading_rows import a_row
from tests.shop.takedown.pieces_jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db
JOB = "/jobs/26-0001/"
PRESSES = [
    (Stage.HOME, "box/do/home/", {}),
    (Stage.SENT_BACK, "end/", {"stage": "sent_back", "why": "too dear"}),
    (Stage.SPARES, "end/", {"stage": "spares", "why": "too dear"}),
]


@pytest.fixture
def half_apart(client: Client) -> Job:
    """Four steps done, their pieces in the tray, a reading as found; somebody by name at the bench."""
    client.force_login(User.objects.create(username="merle"))
    job = a_job(a_pattern(), reach=("pinion",))
    plan = job_work(job).plan
    assert plan is not None
    for step in plan.steps[:4]:
        takedown_step_done(job=job, step=step.key)
    a_row(job, "spin", "found", as_stored(spin.typed(11.0)))
    return job


def _history(job: Job) -> list[tuple[str, str]]:
    return [(event.text, event.by) for event in job.events.order_by("pk")]


@pytest.mark.parametrize(("stage", "address", "typed"), PRESSES)
def test_pieces_in_the_tray_are_asked_for_first(
    client: Client, half_apart: Job, stage: Stage, address: str, typed: dict[str, str]
) -> None:
    asked = client.post(JOB + address, typed, follow=True)
    page, ask = asked.content.decode(), asked.redirect_chain[-1][0]
    half_apart.refresh_from_db()
    assert half_apart.stage == Stage.APART
    assert "In the tray: handle locking screw, handle nut, handle arm, star. Choose what becomes of each." in page
    for told in (
        "Nothing is measured as left: there is no proof.",
        "Measured as found and not as left: spin.",
        "The rebuild is not finished.",
    ):
        assert told in page
    star = half_apart.pieces.get(place="star")
    refused = client.post(ask, {f"fate_{star.pk}": "spares"})
    assert refused.status_code == 422 and "Choose what becomes of each" in refused.content.decode()
    assert not half_apart.pieces.exclude(fate="").exists()
    client.post(ask, typed_into(asked) | {"rest": "bag", f"fate_{star.pk}": "spares"})
    half_apart.refresh_from_db()
    assert half_apart.stage == stage
    assert set(half_apart.pieces.filter(where="cell").values_list("fate", flat=True)) == {"bag", "spares"}
    assert ("Goes home in a bag as it is: handle locking screw, handle nut, handle arm.", "merle") in _history(
        half_apart
    )
    assert ("Kept for spares: star.", "merle") in _history(half_apart)
    assert any("there is no proof" in text and by == "merle" for text, by in _history(half_apart))
    if typed:
        assert any("too dear" in text for text, _ in _history(half_apart))


def test_the_sheet_says_what_became_of_each_piece(client: Client, half_apart: Job) -> None:
    client.post(JOB + "ends/home/", {"rest": "bag"})
    start = "Opened, and not put together. Goes home in a bag as it is: handle locking screw, handle nut"
    assert proof_sheet(half_apart).done == (f"{start}, handle arm, star.",)


@pytest.mark.parametrize(("said", "bagged"), [("bagged", True), ("refused", False)])
def test_old_parts_are_bagged_or_refused(client: Client, said: str, bagged: bool) -> None:
    """Replaced parts go back to the owner unless they do not want them. Common practice of the trade, no source."""
    job = a_bare_job()
    Piece.objects.create(job=job, place="drag_washer_1", name="first drag washer", where="scrap", state="worn")
    page = client.post(JOB + "box/do/home/", follow=True).content.decode()
    assert "Old parts are in the scrap bag: bagged for the owner, or refused?" in page and "In the tray" not in page
    assert client.post(JOB + "ends/home/", {"old_parts": ""}).status_code == 422
    client.post(JOB + "ends/home/", {"old_parts": said})
    job.refresh_from_db()
    assert (job.stage, job.sending.old_parts_bagged, job.sending.old_parts_refused) == (Stage.HOME, bagged, not bagged)


@pytest.mark.parametrize("stage", ["together", "cellar"])
def test_only_an_end_is_asked_about(client: Client, half_apart: Job, stage: str) -> None:
    assert client.get(f"{JOB}ends/{stage}/").status_code == 404


def test_home_is_taken_back_until_it_is_handed_over(client: Client, half_apart: Job) -> None:
    client.post(JOB + "ends/home/", {"rest": "bag"})
    assert "Enter in a sentence why" in client.post(JOB + "box/do/back/", {"why": " "}, follow=True).content.decode()
    page = client.post(JOB + "box/do/back/", {"why": "wrong reel"}, follow=True).content.decode()
    assert "Taken back: it is apart again." in page
    half_apart.refresh_from_db()
    sending = Sending.objects.get()
    assert (half_apart.stage, half_apart.ended_from, sending.sent_at, sending.proof) == (Stage.APART, "", None, {})
    assert half_apart.pieces.filter(where="cell", fate="").count() == 4
    assert ("Not on its way home after all: wrong reel", "merle") in _history(half_apart)


def test_handed_over_it_stays_gone(client: Client) -> None:
    job = a_bare_job(stage=Stage.BOXED)
    assert "Send it home first" in client.post(JOB + "box/do/handed-over/", follow=True).content.decode()
    client.post(JOB + "box/do/home/")
    for _ in range(2):
        client.post(JOB + "box/do/handed-over/")
    page = client.post(JOB + "box/do/back/", {"why": "no"}, follow=True).content.decode()
    assert "The parcel is handed over" in page and "Take it back" not in page
    job.refresh_from_db()
    assert job.stage == Stage.HOME
    assert job.events.filter(text="Handed over.").count() == 1


def test_taken_up_again_it_is_where_it_was_with_its_tray(client: Client, half_apart: Job) -> None:
    client.post(JOB + "ends/sent_back/", {"rest": "bag"})
    client.post(JOB + "take-back/", {"press": last_press(client.get(JOB).content.decode())})
    half_apart.refresh_from_db()
    assert half_apart.stage == Stage.APART
    assert half_apart.pieces.filter(where="cell", fate="").count() == 4
