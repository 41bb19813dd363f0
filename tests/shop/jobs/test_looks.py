"""What was seen is written down, and what the complaint says counts until a person says otherwise."""

import pytest

from levelwind.core.errors import InputError
from levelwind.shop.jobs.selectors.hunches import standing
from levelwind.shop.jobs.services.looks import finding_record, job_looked_over
from levelwind.shop.models import Seen
from levelwind.shop.people.selectors import shop_get
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


def test_a_sight_is_kept_changed_and_taken_back() -> None:
    job = a_job(pattern=a_pattern())
    finding_record(job=job, finding="washers_thin", sight="yes")
    finding_record(job=job, finding="washers_thin", sight="no")
    assert [row.present for row in Seen.objects.all()] == [False]
    finding_record(job=job, finding="washers_thin", sight="")
    assert not Seen.objects.exists()


def test_an_unknown_finding_or_sight_is_refused() -> None:
    with pytest.raises(InputError, match="finding was 'moon'"):
        finding_record(job=a_job(), finding="moon", sight="yes")
    with pytest.raises(InputError, match="sight was 'perhaps'"):
        finding_record(job=a_job("26-0002", pattern=a_pattern()), finding="washers_thin", sight="perhaps")


def test_the_complaint_counts_until_it_is_denied() -> None:
    job = a_job(complaint="the drag slips when a fish runs", pattern=a_pattern())
    state = standing(job, shop_get())
    assert state.suggested
    finding = next(iter(state.suggested))
    with_it = state.hunches
    finding_record(job=job, finding=finding, sight="no")
    without = standing(job, shop_get())
    assert finding not in without.suggested
    assert with_it is not None and without.hunches is not None
    assert with_it.of("washers_worn").probability > without.hunches.of("washers_worn").probability


def test_with_the_drag_as_the_complaint_the_washers_come_first() -> None:
    """When the drag is the complaint, look at the washers first. Common practice of the trade, no source."""
    state = standing(a_job(complaint="the drag slips", pattern=a_pattern()), shop_get())
    assert state.looks[0].look.key == "washers"
    assert state.hunches is not None
    assert "washers" in state.hunches.ranked[0].fault.key


def test_looked_over_never_moves_a_job_back() -> None:
    job = a_job(stage="apart", pattern=a_pattern())
    job_looked_over(job=job)
    assert job.stage == "apart"
