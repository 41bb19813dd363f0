"""Two people at one bench: the same button pressed at the same moment changes the book once."""

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Piece, StepDone
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import takedown_step_done
from levelwind.shop.takedown.services.pieces import piece_renew, pieces_lay_out
from levelwind.shop.takedown.services.together import rebuild_step_done
from tests.emptied import emptied_afterwards, triggers_back
from tests.shop.at_once import at_once
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, take_apart

__all__ = ["emptied_afterwards", "triggers_back"]
pytestmark = pytest.mark.usefixtures("emptied_afterwards")


def test_one_step_ticked_by_all():
    job = a_job(a_pattern(), reach=("pinion",))
    assert at_once(job, lambda own: takedown_step_done(job=own, step="undo_handle_screw")) == []
    assert StepDone.objects.filter(job=job, step="undo_handle_screw").count() == 1
    assert job_work(job).here["handle_screw"].cell == 1


def test_one_reel_laid_out_by_all():
    job = a_job(a_pattern())
    assert at_once(job, lambda own: pieces_lay_out(job=own)) == []
    assert Piece.objects.filter(job=job).count() == len(job_work(job).layout.places)


def test_one_step_of_the_way_back_ticked_by_all():
    job = a_job(a_pattern(), reach=("pinion",))
    take_apart(job)
    first = job_work(job).way_back.steps[0].step.key
    assert at_once(job, lambda own: rebuild_step_done(job=own, step=first)) == []
    assert StepDone.objects.filter(job=job, phase="together").count() == 1


def test_one_piece_renewed_by_all_gets_one_new_one():
    job = a_job(a_pattern(), reach=("pinion",))
    take_apart(job)
    refused = at_once(job, lambda own: piece_renew(piece=own.pieces.get(place="pinion", replaces__isnull=True)))
    assert Piece.objects.filter(job=job, place="pinion", replaces__isnull=False).count() == 1
    assert len(refused) == 7
    assert all(isinstance(one, LevelwindError) and "has a new one already" in str(one) for one in refused)
