"""Keeping the drag stack chosen for a job with what it was computed to do, and what its pulls said of its parts."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.db import transaction
from django.utils import timezone

import levelwind
from levelwind.core.codec import as_stored
from levelwind.core.drag.infer import remembered
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.quantities import in_words
from levelwind.shop.drag.selectors.drags import JobDrag, drag_computed
from levelwind.shop.drag.selectors.friction import kept_rows
from levelwind.shop.drag.selectors.plans import PARTS, plan_found, plan_latest, stack_now
from levelwind.shop.drag.selectors.pulls import Pulled, pull_of
from levelwind.shop.drag.selectors.reels import reel_of
from levelwind.shop.jobs.services.jobs import job_note
from levelwind.shop.models import DragPlan, Job, Part


class SomebodyElseError(LevelwindError):
    """Another stack was kept for the job while this page was open."""


MOST_LETTERS = 380
"""Letters of a source that are kept: what the core takes of it."""

NOTHING_KEPT = "nothing"
"""What a page says it was drawn from while the job has no plan."""


def plan_mark(plan: DragPlan | None) -> str:
    """A plan as a page that was drawn from it names it when it comes back."""
    return f"{plan.pk} {plan.at.isoformat()}" if plan else NOTHING_KEPT


@transaction.atomic
def drag_plan_save(
    *,
    job: Job,
    drag: JobDrag,
    found: Mapping[str, Any] | None = None,
    found_parts: Sequence[str] = (),
    drawn_from: str | None = None,
) -> DragPlan:
    """Keep a stack with what it was computed to do. The day's plan is written over; an earlier day's stays as it was.

    ``drawn_from`` is the mark of the plan the page was drawn from: if somebody has kept another meanwhile, this one is
    refused and nothing is lost; without a mark it is kept beside the others. ``found`` is the stack as found and
    ``found_parts`` the part each of its bodies is; where it is not said, the last one said stays.
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
    if found is not None:
        plan.found = {**found, PARTS: list(found_parts)} if any(found_parts) else dict(found)
    elif latest is not None:
        plan.found = latest.found
    plan.stack, plan.setup = drag.result.system.stack.as_dict(), as_stored(drag.setup)
    plan.computed, plan.core_version, plan.at = drag.kept(), levelwind.__version__, timezone.now()
    plan.full_clean()
    plan.save()
    return plan


@transaction.atomic
def part_friction_remember(*, job: Job, moment: str, by: str = "") -> tuple[Part, ...]:
    """Keep what a pull says of the friction of the shop's own parts that lay in the stack read, by its condition.

    The next pull with such a part starts from it, wherever it lies. Raises LevelwindError while there is no plan, no
    such part, or nothing new.
    """
    Job.objects.select_for_update().get(pk=job.pk)
    plan = plan_latest(job)
    if plan is None:
        raise LevelwindError("Keep the stack first: what a pull says belongs to the washers that lay in it.")
    pulled = pull_of(job, plan, moment)
    parts = [part for part in pulled.parts if part not in pulled.done]
    if not parts:
        raise LevelwindError(_nothing_to_keep(pulled))
    for part in parts:
        part.friction = {**part.friction, pulled.read.stack.condition: _entry(job, pulled, part)}
        part.full_clean()
        part.save(update_fields=["friction"])
    numbers = ", ".join(part.number for part in parts)
    mu, condition = in_words(pulled.here.coefficient.mu, ""), pulled.read.stack.condition
    job_note(job=job, text=f"Friction {mu}, {condition}, by the pull as {moment}, remembered for {numbers}.", by=by)
    return tuple(parts)


def _nothing_to_keep(pulled: Pulled) -> str:
    if pulled.parts:
        return "This pull is in the figure kept already. To read it afresh, forget the figure on the part's page first."
    if not pulled.read.known:
        return "Lay out the stack as found first: whose friction this is depends on what lay there."
    return f"None of the {pulled.material} washers read is a part of the shelf: lay them in from there first."


def _entry(job: Job, pulled: Pulled, part: Part) -> dict[str, Any]:
    """What is kept; ``before`` is the source it began from, ``readings`` all the pulls it rests on."""
    reading, condition = pulled.read.reading, pulled.read.stack.condition
    earlier = part.friction.get(condition, {}).get("readings", []) if pulled.sharpened else []
    kept = remembered(pulled.here, part.number)
    return {
        **as_stored(kept.mu),
        "source": kept.source[:MOST_LETTERS],
        "before": pulled.before.source[:MOST_LETTERS],
        "job": job.tag,
        "on": timezone.localdate().isoformat(),
        "material": part.material,
        "readings": [*earlier, *([reading.pk] if reading else [])],
    }


@transaction.atomic
def part_friction_forget(*, part: Part, condition: str, by: str = "") -> Part:
    """Let go of the figure kept for a part in one condition, and say so on the job it came from."""
    part = Part.objects.select_for_update().get(pk=part.pk)
    if condition not in part.friction:
        allowed = ", ".join(row.condition for row in kept_rows(part)) or "nothing, for nothing is kept"
        raise InputError("friction to forget", repr(condition[:20]), allowed)
    job = Job.objects.filter(tag=part.friction[condition].get("job", "")).first()
    part.friction = {key: entry for key, entry in part.friction.items() if key != condition}
    part.full_clean()
    part.save(update_fields=["friction"])
    if job is not None:
        job_note(job=job, text=f"Friction of {part.number}, {condition}, forgotten.", by=by)
    return part


@transaction.atomic
def drag_body_measured(*, job: Job, body: int, outer_mm: float, inner_mm: float, thickness_mm: float) -> DragPlan:
    """A washer's measured sizes laid into the job's stack in place of those of a body, counted from 1 at the far end.

    The part of the shelf that was said to lie there is let go: its own sizes no longer hold. Raises LevelwindError.
    """
    Job.objects.select_for_update().get(pk=job.pk)
    stack, setup = stack_now(job)
    if not 1 <= body <= len(stack.bodies):
        raise InputError("place in the stack", body, f"1 to {len(stack.bodies)}")
    measured = replace(
        stack.bodies[body - 1],
        outer_radius_m=outer_mm / 2000,
        inner_radius_m=inner_mm / 2000,
        thickness_m=thickness_mm / 1000,
    )
    bodies = (*stack.bodies[: body - 1], measured, *stack.bodies[body:])
    parts = tuple("" if n == body else part for n, part in enumerate(setup.parts or ("",) * len(bodies), start=1))
    laid, said = replace(stack, bodies=bodies), replace(setup, parts=parts)
    old = plan_found(plan_latest(job)) or stack
    return drag_plan_save(job=job, drag=drag_computed(stack=laid, setup=said, reel=reel_of(job), old=old))
