"""Keeping the drag stack chosen for a job, with what it was computed to do."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils import timezone

import levelwind
from levelwind.core.errors import LevelwindError
from levelwind.shop.models import DragPlan, Job
from levelwind.shop.selectors.drag_plans import plan_latest
from levelwind.shop.selectors.drags import Reckoning


class SomebodyElseError(LevelwindError):
    """Another stack was kept for the job while this page was open."""


NOTHING_KEPT = "nothing"
"""What a page says it was drawn from while the job has no plan."""


def plan_mark(plan: DragPlan | None) -> str:
    """A plan as a page that was drawn from it names it when it comes back."""
    return f"{plan.pk} {plan.at.isoformat()}" if plan else NOTHING_KEPT


@transaction.atomic
def drag_plan_save(
    *,
    job: Job,
    reckoning: Reckoning,
    found: Mapping[str, Any] | None = None,
    drawn_from: str | None = None,
) -> DragPlan:
    """Keep a stack with what it is reckoned to do. The day's plan is written over; an earlier day's stays as it was.

    ``drawn_from`` is the mark of the plan the page was drawn from: if somebody has kept another meanwhile, this one is
    refused and nothing is lost; without a mark it is kept beside the others. ``found`` is the stack as found; where it
    is not said, the last one said stays.
    """
    Job.objects.select_for_update().get(pk=job.pk)
    latest = plan_latest(job)
    if drawn_from is not None and drawn_from != plan_mark(latest):
        raise SomebodyElseError(
            "Somebody else kept another stack for this reel while this page was open. Yours stands on this page and is "
            "not kept yet: keep it as well, or load the page again to see theirs."
        )
    fresh = latest is None or drawn_from is None or timezone.localdate(latest.at) != timezone.localdate()
    plan = DragPlan(job=job) if fresh or latest is None else latest
    plan.found = dict(found) if found is not None else (latest.found if latest else {})
    plan.stack, plan.setup = reckoning.stack.as_dict(), reckoning.setup.as_dict()
    plan.computed, plan.core_version, plan.at = reckoning.as_dict(), levelwind.__version__, timezone.now()
    plan.full_clean()
    plan.save()
    return plan
