"""Putting together: steps and gates of the way back, and calling the reel together when nothing is left over."""

from collections.abc import Collection
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.core.takedown import Refit
from levelwind.shop.jobs.services.jobs import job_advance, job_note, job_settle, job_still_here
from levelwind.shop.models import Job, Piece, Stage, StepDone, Turn
from levelwind.shop.takedown.selectors.pieces import Work, job_work
from levelwind.shop.takedown.services.pieces import pieces_put_in, pieces_take_off


@transaction.atomic
def rebuild_step_done(
    *, job: Job, step: str, all_the_same: bool = False, note: str = "", at: datetime | None = None, by: str = ""
) -> Job:
    """Tick a step of the way back: its pieces go from the tray into the reel. Ticked already is as good.

    Refused, in words, behind an unanswered gate, while something else must go in first, or while a piece is worn,
    broken, missing or bagged with no new one. The last is overruled by ``all_the_same`` with a note that says why.
    """
    job_still_here(job)
    work = job_work(job)
    refit = _refit(work, step)
    if refit is None:
        return job
    _refuse_too_early(work, refit)
    lacking = work.lacking(refit.places)
    note = note.strip()[:200]
    if lacking:
        _refuse_silently(lacking, all_the_same, note)
        _send_in_all_the_same(job, lacking, note, by)
    StepDone.objects.create(job=job, phase="together", step=step, note=note, at=at or timezone.now())
    pieces_put_in(work, refit.places)
    return job


@transaction.atomic
def rebuild_go_done(*, job: Job, steps: Collection[str], gates: Collection[str] = (), by: str = "") -> Job:
    """Tick the steps of one go and answer its gates with yes, with one press, in the order they are met.

    Refused whole, in words, where one of them would be refused alone.
    """
    job_still_here(job)
    work, now = job_work(job), timezone.now()
    for key in (*steps, *gates):
        work.step(key) if key in steps else work.gate(key)
    for refit in work.way_back.steps:
        for gate in (gate.key for gate in refit.step.gates if gate.ahead and gate.key in gates):
            gate_pass(job=job, gate=gate, at=now)
        if refit.step.key in steps:
            rebuild_step_done(job=job, step=refit.step.key, at=now, by=by)
        for gate in (gate.key for gate in refit.step.gates if not gate.ahead and gate.key in gates):
            gate_pass(job=job, gate=gate, at=now)
    for gate in (gate.key for gate in work.way_back.finish if gate.key in gates):
        gate_pass(job=job, gate=gate, at=now)
    return job


@transaction.atomic
def rebuild_last_undone(*, job: Job, by: str = "") -> Job:
    """Take back what the last press on Together ticked: a step, a gate, or a whole go with its gates."""
    job_still_here(job)
    last = job_work(job).last_in
    if not last:
        raise LevelwindError("Nothing is ticked that could be undone.")
    for row in reversed(last):
        if row.phase == "gate":
            gate_open(job=job, gate=row.step, by=by)
        else:
            rebuild_step_undone(job=job, step=row.step, by=by)
    return job


def _refit(work: Work, key: str) -> Refit | None:
    """The step of the way back; None where its pieces are in already."""
    step = work.step(key)
    if step.key not in work.taken:
        raise LevelwindError(f"“{step.do}” was never ticked on Apart, so there is nothing to put back.")
    if step.key in work.refitted:
        return None
    return next(refit for refit in work.way_back.steps if refit.step.key == key)


def _refuse_too_early(work: Work, refit: Refit) -> None:
    behind = work.held_out_by(refit.step)
    if behind:
        raise LevelwindError(f"Put in first: {', '.join(behind)}.")
    gate = work.gate_before(refit)
    if gate:
        raise LevelwindError(f"A gate stands before this step. Answer it first: {gate.ask}")


def _refuse_silently(lacking: tuple[tuple[Piece, str], ...], all_the_same: bool, note: str) -> None:
    said = "; ".join(f"the {piece.name} {why}" for piece, why in lacking)
    if any(piece.where == "order" for piece, _ in lacking):
        raise LevelwindError(f"Not yet: {said}. Say that it has arrived, or call the order off.")
    if not all_the_same:
        raise LevelwindError(f"Not without a word: {said}. Renew it, or say that it goes back all the same, and why.")
    if not note:
        raise LevelwindError(f"Enter why it goes back all the same: {said}.")


def _send_in_all_the_same(job: Job, lacking: tuple[tuple[Piece, str], ...], note: str, by: str) -> None:
    for piece, why in lacking:
        if piece.state == "missing" or piece.where == "scrap":
            StepDone.objects.update_or_create(job=job, phase="without", step=piece.place, defaults={"note": note})
        job_note(job=job, text=f"Closed all the same, though the {piece.name} {why}: {note}", by=by)


@transaction.atomic
def rebuild_step_undone(*, job: Job, step: str, by: str = "") -> Job:
    """Take a tick off again: its pieces are back in the tray, and its gates and the last ones are open again."""
    job_still_here(job)
    work = job_work(job)
    wanted = work.step(step)
    if wanted.key not in work.refitted:
        return job
    first = work.stands_before(wanted)
    if first:
        raise LevelwindError(f"Take off again first: {', '.join(first)}.")
    StepDone.objects.filter(job=job, phase="together", step=step).delete()
    gates = [gate.key for gate in (*wanted.gates, *work.layout.rules.finish)]
    StepDone.objects.filter(job=job, phase="gate", step__in=gates).delete()
    StepDone.objects.filter(job=job, phase="without", step__in=wanted.frees).delete()
    pieces_take_off(job_work(job), wanted.frees)
    return job_settle(job=job, by=by)


@transaction.atomic
def gate_pass(*, job: Job, gate: str, note: str = "", at: datetime | None = None) -> Job:
    """Answer a gate with yes. Refused while an earlier gate waits, or before the step it asks about is done."""
    job_still_here(job)
    work = job_work(job)
    asked = work.gate(gate)
    if gate in work.passed:
        return job
    first = work.way_back.waiting(frozenset(work.passed))
    if first is not None and first.key != gate:
        raise LevelwindError(f"Answer the gate before it first: {first.ask}")
    undone = work.undone_before(asked)
    if undone:
        raise LevelwindError(f"This can be answered once these are in: {', '.join(undone)}.")
    StepDone.objects.create(job=job, phase="gate", step=gate, note=note.strip()[:200], at=at or timezone.now())
    return job


@transaction.atomic
def gate_open(*, job: Job, gate: str, by: str = "") -> Job:
    """Take an answer back: the gate stands again before what is not done yet."""
    job_still_here(job)
    job_work(job).gate(gate)
    StepDone.objects.filter(job=job, phase="gate", step=gate).delete()
    return job_settle(job=job, by=by)


@transaction.atomic
def job_call_together(*, job: Job, gates: Collection[str] = (), by: str = "") -> Job:
    """Call the reel together; ``gates`` are answered with yes by the same press, or not at all if it is refused.

    Refused while a piece is unaccounted for, in the tray or on order, or a gate unanswered; it names every one of them.
    """
    job_still_here(job)
    if gates:
        rebuild_go_done(job=job, steps=(), gates=gates, by=by)
    if job.pattern:
        questions = job_work(job).questions
        if questions:
            raise LevelwindError(
                "Not together yet. " + " ".join(question[:1].upper() + question[1:] for question in questions)
            )
    return job_advance(job=job, stage=Stage.TOGETHER, turn=Turn(job.turn), by=by)
