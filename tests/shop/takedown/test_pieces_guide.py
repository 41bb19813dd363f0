"""The takedown guide says what the page says: the same steps, cells and cautions ahead."""

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.reference.cautions import cautions
from levelwind.shop.papers.selectors.takedown_guide import takedown_sheet
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import reach_choose, takedown_step_done
from tests.shop.takedown.pieces_jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return a_job(a_pattern(), reach=("friction_1",))


def test_steps_stand_in_the_order_of_least_work(job):
    plan = job_work(job).plan
    guide = takedown_sheet(job)
    assert [step.what for step in guide.steps] == [step.do for step in plan.steps]
    assert sum(step.minutes for step in guide.steps) == pytest.approx(plan.minutes, abs=1e-9)
    assert guide.reach == "first drag washer"


def test_cells_are_those_the_ticks_will_fill_and_stay_when_some_are_ticked(job):
    before = [step.cell for step in takedown_sheet(job).steps]
    assert before[0] == "1" and " to " in before[-1]
    takedown_step_done(job=job, step="undo_head_screws")
    assert [step.cell for step in takedown_sheet(job).steps] == before


def test_a_spring_step_carries_its_caution_in_full(job):
    bridge = next(step for step in takedown_sheet(job).steps if "yoke springs" in step.what)
    springs = cautions()["springs"]
    assert bridge.cautions == (f"{springs.headline}. {springs.text}",)


def test_the_whole_reel_is_called_that(job):
    reach_choose(job=job, places=[place.key for place in job_work(job).layout.places])
    assert takedown_sheet(job).reach == "the whole reel"


def test_nothing_chosen_prints_nothing():
    with pytest.raises(LevelwindError, match="Choose first"):
        takedown_sheet(a_job(a_pattern()))
