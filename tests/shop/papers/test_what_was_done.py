"""What was done to a reel is said by its pieces, never by a stage or by some steps ticked."""

import pytest
from django.test import Client

from levelwind.core import spin
from levelwind.core.codec import as_stored
from levelwind.shop.jobs.services.jobs import job_move
from levelwind.shop.models import Job, Stage
from levelwind.shop.papers.selectors.done import what_was_done
from levelwind.shop.papers.selectors.sheets import proof_sheet
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import takedown_step_done
from levelwind.shop.takedown.services.pieces import piece_arrived, piece_order
from tests.jobs import a_job as a_bare_job
from tests.shop.readings.reading_rows import a_row
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, answer_last_gates, put_back_until, take_apart

pytestmark = pytest.mark.django_db
WHOLE = "Taken apart, cleaned, oiled and greased, put together."


@pytest.fixture
def reel() -> Job:
    return a_job(a_pattern(), reach=("pinion",))


def _four_steps(job: Job) -> None:
    plan = job_work(job).plan
    assert plan is not None
    for step in plan.steps[:4]:
        takedown_step_done(job=job, step=step.key)


@pytest.mark.parametrize("stage", [Stage.APART, Stage.TOGETHER, Stage.PROVED, Stage.BOXED])
def test_a_reel_half_apart_is_never_said_to_be_put_together(reel: Job, stage: Stage) -> None:
    _four_steps(reel)
    job_move(job=reel, stage=stage)
    done = " ".join(proof_sheet(reel).done)
    assert WHOLE not in done and "cleaned" not in done
    assert done.startswith("Opened, and not put together. Out of the reel: handle locking screw, handle nut")


def test_a_new_piece_counts_once_it_is_in_the_reel(reel: Job) -> None:
    take_apart(reel)
    new = piece_order(piece=reel.pieces.get(place="pinion", replaces__isnull=True))
    assert what_was_done(reel)[0].endswith("On order: pinion.")
    piece_arrived(piece=new)
    assert not any("Renewed" in words for words in what_was_done(reel))
    put_back_until(reel)
    assert not any("put together." in words and "not" not in words for words in what_was_done(reel))
    answer_last_gates(reel)
    assert what_was_done(reel) == (
        "Opened in part, cleaned, oiled and greased there, put together.",
        "Renewed: pinion.",
    )


def test_all_of_it_apart_and_back_is_the_whole_service(reel: Job) -> None:
    reel.reach = list(job_work(reel).places)
    reel.save()
    take_apart(reel)
    put_back_until(reel)
    answer_last_gates(reel)
    assert what_was_done(reel) == (WHOLE,)


def test_nothing_opened_is_nothing_done(reel: Job) -> None:
    job_move(job=reel, stage=Stage.PROVED)
    assert what_was_done(reel) == () == what_was_done(a_bare_job("26-0009"))


def test_the_prove_page_shows_what_the_sheet_would_say(client: Client, reel: Job) -> None:
    _four_steps(reel)
    page = client.get("/jobs/26-0001/prove/").content.decode()
    assert "Left empty, it says: Opened, and not put together." in page and WHOLE not in page


def test_home_is_with_proof_only_where_there_is_a_reading_as_left(client: Client) -> None:
    for tag, measured in (("26-0001", False), ("26-0002", True)):
        job = a_bare_job(tag, stage=Stage.BOXED)
        a_row(job, "spin", "found", as_stored(spin.typed(11.0)))
        if measured:
            a_row(job, "spin", "left", as_stored(spin.typed(34.0)))
        page = client.post(f"/jobs/{tag}/box/do/home/", follow=True).content.decode()
        assert ("on its way home, with proof." in page) is measured
        assert ("on its way home, without a reading as left." in page) is not measured


def test_a_step_that_a_newer_layout_lacks_still_stands_open(reel: Job) -> None:
    """Ticked apart, then the reel was laid out anew without that step: nobody put back what it took off."""
    take_apart(reel)
    put_back_until(reel)
    answer_last_gates(reel)
    reel.steps_done.create(phase="apart", step="a_step_of_before")
    assert what_was_done(reel) == ("Opened, and not put together.",)
