"""The proof sheet that went home stays as it was sent."""

import pytest

from levelwind.core import pull
from levelwind.core.codec import as_stored
from levelwind.documents import proof
from levelwind.shop.jobs.services.jobs import job_move
from levelwind.shop.models import Job, Reading, Stage
from levelwind.shop.papers.selectors.sent import proof_of
from levelwind.shop.papers.selectors.sheets import proof_sheet
from levelwind.shop.papers.services.sendings import reel_send_home
from levelwind.shop.readings.services.readings import reading_strike_out
from tests.jobs import a_job
from tests.shop.readings.reading_rows import CLEAN, DIRTY, a_pull, a_row, a_spin

pytestmark = pytest.mark.django_db


@pytest.fixture
def sent() -> Job:
    job = a_job(stage=Stage.BOXED, done_note="Washed.\nOiled.", complaint="Slow.")
    a_spin(job, "found", DIRTY, file_name="before.csv")
    a_spin(job, "left", CLEAN, file_name="after.csv")
    a_pull(job, "left", 42.0, 37.0)
    return reel_send_home(job=job)


def test_it_is_printed_byte_for_byte_as_it_was(sent: Job) -> None:
    before = proof.render(proof_sheet(sent))
    assert proof.render(proof_of(sent)) == before
    for reading in Reading.objects.filter(job=sent, moment="left"):
        reading_strike_out(reading=reading)
    a_row(sent, "pull", "left", as_stored(pull.typed(80.0, 60.0)))
    a_spin(sent, "left", (30.0, 1.0, 0.02, 0.0015))
    assert proof_sheet(sent) != proof_of(sent)
    assert proof.render(proof_of(sent)) == before


def test_while_the_reel_is_here_the_sheet_is_todays() -> None:
    job = a_job()
    a_pull(job, "left", 42.0, 37.0)
    assert proof_of(job) == proof_sheet(job)


def test_back_on_the_bench_it_is_todays_again(sent: Job) -> None:
    job = job_move(job=sent, stage=Stage.PROVED)
    a_row(job, "pull", "left", as_stored(pull.typed(80.0, 60.0)))
    assert proof_of(job) == proof_sheet(job)


def test_of_a_reel_sent_by_an_older_version_it_is_todays() -> None:
    job = a_job(stage=Stage.HOME)
    a_pull(job, "left", 42.0, 37.0)
    assert proof_of(job) == proof_sheet(job)
