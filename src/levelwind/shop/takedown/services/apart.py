"""Taking apart: what must be reached, and each step ticked off with its pieces laid into the tray."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.takedown import Step
from levelwind.shop.jobs.life import CLOSED
from levelwind.shop.jobs.selectors.stuck import stuck_now
from levelwind.shop.jobs.services.jobs import job_advance, job_hold, job_note, job_settle, job_still_here
from levelwind.shop.models import Job, Stage, StepDone, Turn
from levelwind.shop.patterns.selectors.layouts import job_layers, job_layout
from levelwind.shop.takedown.selectors.pieces import Work, job_work
from levelwind.shop.takedown.services.pieces import pieces_lay_out, pieces_take_off


@transaction.atomic
def reach_choose(*, job: Job, places: Iterable[str], was: Iterable[str] | None = None) -> Job:
    """Say which places must be reached. ``was`` is what the page showed, so that what others added meanwhile stays."""
    job_hold(job)
    layout = job_layout(job)
    known, chosen, shown = set(layout.by_key()), set(places), set(job.reach if was is None else was)
    unknown = sorted(chosen - known)
    if unknown:
        raise InputError("place", repr(unknown[0][:60]), f"a place of a {job.pattern}")
    meant = (set(job.reach) | (chosen - shown)) - (shown - chosen)
    job.reach = [place.key for place in layout.places if place.key in meant]
    job.full_clean()
    job.save(update_fields=["reach"])
    pieces_lay_out(job=job)
    return job


@transaction.atomic
def takedown_step_done(*, job: Job, step: str, with_before: bool = False, note: str = "", by: str = "") -> Job:
    """Tick a step: what it frees goes from the reel into the tray. Ticked already is as good.

    With the first step the reel keeps its layout as it is, whatever the pattern learns later.
    ``with_before`` also ticks every step of the least-work order that stands before this one. Raises LevelwindError
    that names what must come off first.
    """
    pieces_lay_out(job=job_still_here(job))
    _keep_layout(job)
    work = job_work(job)
    wanted = work.step(step)
    _tick(job, work, [*(_before(work, wanted) if with_before else []), wanted], note, by)
    return job


def _keep_layout(job: Job) -> None:
    if job.layers is None:
        job.layers = job_layers(job)
        job.full_clean()
        job.save(update_fields=["layers"])


@transaction.atomic
def takedown_go_done(*, job: Job, steps: Sequence[str], by: str = "") -> Job:
    """Tick the steps of one go, in their order, with one press; those that are ticked already stay so."""
    pieces_lay_out(job=job_still_here(job))
    _keep_layout(job)
    work = job_work(job)
    _tick(job, work, [work.step(step) for step in steps], "", by)
    return job


def _tick(job: Job, work: Work, steps: Sequence[Step], note: str, by: str) -> None:
    """One press: every step of it bears the same moment, by which they are undone together."""
    now = timezone.now()
    _refuse_unanswered(job, steps)
    for step in steps:
        if step not in work.apart:
            _take_off(job, step, note if step is steps[-1] else "", now)
    _say_apart(job, work, by)


def _refuse_unanswered(job: Job, steps: Sequence[Step]) -> None:
    """A step whose piece will not come waits for the owner's word, where that was to be asked."""
    for stuck in stuck_now(job, [step.key for step in steps]):
        if not stuck.may_go_on:
            raise LevelwindError(
                f"{stuck.procedure.name.capitalize()}: {stuck.asked} The step is held until the owner agrees; "
                "if it came by itself, open what is done about it and say so."
            )


def _before(work: Work, wanted: Step) -> list[Step]:
    """What the plan does ahead of this step and nobody has ticked."""
    planned = list(work.plan.steps) if work.plan else []
    ahead = planned[: planned.index(wanted)] if wanted in planned else []
    return [step for step in ahead if step not in work.apart]


def _take_off(job: Job, step: Step, note: str, now: datetime) -> None:
    work = job_work(job)
    first = work.stands_before(step)
    if first:
        raise LevelwindError(f"Take off first: {', '.join(first)}.")
    StepDone.objects.filter(job=job, phase="apart", step=step.key).delete()
    StepDone.objects.create(job=job, phase="apart", step=step.key, note=note.strip()[:200], at=now)
    gates = [gate.key for gate in (*step.gates, *work.layout.rules.finish)]
    StepDone.objects.filter(job=job, phase="together", step=step.key).delete()
    StepDone.objects.filter(job=job, phase="gate", step__in=gates).delete()
    pieces_take_off(job_work(job), step.frees)


def _say_apart(job: Job, before: Work, by: str) -> None:
    if not before.taken:
        job_note(job=job, text="Taking apart begun.", by=by)
    if job.stage in CLOSED:
        job_settle(job=job, by=by)
    else:
        job_advance(job=job, stage=Stage.APART, turn=Turn(job.turn), by=by)


@transaction.atomic
def takedown_step_undone(*, job: Job, step: str, by: str = "") -> Job:
    """Take a tick off again: its pieces are in the reel, as if the step had not been done.

    Refused, with names, while something that came off later hangs on it, or a piece of it was renewed meanwhile.
    """
    job_still_here(job)
    work = job_work(job)
    wanted = work.step(step)
    if wanted not in work.apart:
        return job
    later = work.held_out_by(wanted)
    if later:
        raise LevelwindError(f"Put back first: {', '.join(later)}.")
    _refuse_changed(work, wanted)
    StepDone.objects.filter(job=job, phase="apart", step=wanted.key).delete()
    for piece in work.pieces_of(wanted.frees):
        if piece.where == "cell":
            piece.where, piece.cell = "reel", None
            piece.full_clean()
            piece.save(update_fields=["where", "cell"])
    return job_settle(job=job, by=by)


@transaction.atomic
def takedown_last_undone(*, job: Job, by: str = "") -> Job:
    """Take off what the last press ticked, one step or a whole go. Refused as one step's undoing is."""
    job_hold(job)
    last = job_work(job).last_off
    if not last:
        raise LevelwindError("Nothing is ticked that could be undone.")
    for step in reversed(last):
        takedown_step_undone(job=job, step=step.key, by=by)
    return job


def _refuse_changed(work: Work, step: Step) -> None:
    """A piece that was bagged, renewed or ordered since is no longer as it came off."""
    for piece in work.pieces_of(step.frees):
        if piece.where == "scrap" or piece.replaces_id is not None:
            raise LevelwindError(
                f"The {piece.name} was bagged or renewed since it came off: put it back by the rebuild, on Together."
            )
