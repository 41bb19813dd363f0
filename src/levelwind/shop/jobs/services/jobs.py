"""Moving a job along its way or to another end, changing its owner, and writing down that it was done."""

from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.writing import day_in_words
from levelwind.shop.jobs.life import CLOSED, OTHER_ENDS, named, reached
from levelwind.shop.jobs.selectors.agreed import stage_by_word
from levelwind.shop.jobs.selectors.closed_jobs import lesson_of
from levelwind.shop.jobs.selectors.jobs import parts_on_order, passes_over, proved_reading, reel_is_open, turn_words
from levelwind.shop.models import ENDED, Bill, BoneReel, Job, JobEvent, Lesson, MoneyEntry, Owner, Promise, Stage, Turn

BACK_FROM = {Stage.HOME: "take it back, or book it in again", Stage.SOLD: "bring it back on its bill"}


def job_hold(job: Job) -> Job:
    """Lock the job until the transaction ends and bring it up to date: two pairs of hands then take turns."""
    job.refresh_from_db(from_queryset=Job.objects.select_for_update())
    return job


def job_note(*, job: Job, text: str, by: str = "") -> JobEvent:
    """Add a sentence to the job's history."""
    return JobEvent.objects.create(job=job, text=text[:300], by=by)


def job_still_here(job: Job) -> Job:
    """The job, held. Raises LevelwindError where it ended: nothing is done to a reel that is not on the bench."""
    if job_hold(job).is_over:
        way = BACK_FROM.get(Stage(job.stage), "take it up again")
        raise LevelwindError(f"{job.tag} is {job.get_stage_display()}: {way} first.")
    return job


@transaction.atomic
def job_move(*, job: Job, stage: Stage, turn: Turn = Turn.MINE, by: str = "") -> Job:
    """Put the job at a stage. Any stage may follow any other: a person may enter late, skip and go back.

    What is passed over on the way forward stands in the history.
    """
    if stage not in Stage.values:
        raise InputError("stage", stage, "one of " + ", ".join(Stage.values))
    if job.stage == Stage.SOLD != stage and job.sold_for_id:
        raise LevelwindError(f"{job.tag} is sold: {BACK_FROM[Stage.SOLD]} first.")
    moved, over = stage != job.stage, passes_over(job, Stage(stage))
    straight = f", straight from {job.get_stage_display()}: passed over {named(over)}" if over else ""
    if stage not in ENDED:
        job.ended_from = ""
    elif not job.is_over:
        job.ended_from = job.stage
    waits = _turn_over(job, Turn.MINE if stage in ENDED else turn, ended=stage in ENDED, by=by)
    job.stage = stage
    job.short_of = "" if job.turn == Turn.MINE else job.short_of
    if moved:
        job.stage_since = timezone.now()
        job_note(job=job, text=f"Now {Stage(stage).label}{straight}.", by=by)
    job.save(update_fields=["stage", "ended_from", "stage_since", "short_of", *waits])
    if moved and stage in ENDED:
        _lesson_keep(job)
    return job


def _lesson_keep(job: Job) -> None:
    """What the reel taught is written down once, as it ends."""
    Lesson.objects.filter(job=job).delete()
    if lesson := lesson_of(job):
        lesson.save()


def job_advance(*, job: Job, stage: Stage, turn: Turn = Turn.MINE, by: str = "") -> Job:
    """Like ``job_move``, but never back: what is already further stays where it is, only whose turn it is is set."""
    return job_move(job=job, stage=Stage(job.stage) if reached(job.stage, stage) else stage, turn=turn, by=by)


@transaction.atomic
def job_step_back(*, job: Job, by: str = "") -> Job:
    """The last call was not so after all: the stage before it, or where the reel is.

    For what a press alone called so: looked over, together, proved, boxed. What is sent, said, ticked or ended has its
    own way back.
    """
    stage = job_hold(job).stage
    if stage == Stage.BOXED:
        job.pieces.update(fate="")
    back = {
        Stage.LOOKED_OVER: Stage.BOOKED_IN,
        Stage.TOGETHER: Stage.APART,
        Stage.PROVED: _where_it_is(job, Stage.TOGETHER),
        Stage.BOXED: _where_it_is(job, Stage.PROVED if proved_reading(job) else Stage.TOGETHER),
    }
    if stage not in back:
        raise LevelwindError(f"{job.tag} is {job.get_stage_display()}: no press called it so, and none takes it back.")
    return job_move(job=job, stage=back[Stage(stage)], turn=Turn(job.turn), by=by)


def _where_it_is(job: Job, stage: Stage) -> Stage:
    return Stage.APART if reel_is_open(job) else stage


@transaction.atomic
def job_settle(*, job: Job, by: str = "") -> Job:
    """Where the reel is, after a tick was set or taken off: opened it is apart, and closed again it never was."""
    if job.stage in CLOSED:
        return job_move(job=job, stage=Stage.APART, turn=Turn(job.turn), by=by)
    if job.stage == Stage.APART and not job.steps_done.filter(phase="apart").exists():
        return job_move(job=job, stage=stage_by_word(job), turn=Turn(job.turn), by=by)
    return job


def _turn_over(job: Job, turn: Turn, *, ended: bool = False, by: str = "") -> tuple[str, ...]:
    """Whose turn it is from now on; the fields that changes. Mine again, the promise moves by the days it waited."""
    if turn == job.turn:
        return ("turn",)
    now = timezone.now()
    job.turn, job.waiting_since = turn, None if turn == Turn.MINE else now
    if turn != Turn.MINE:
        job.paused_since = job.paused_since or now
    elif job.paused_since:
        days = (timezone.localdate(now) - timezone.localdate(job.paused_since)).days
        job.paused_since = None
        if days > 0 and job.promised_on and not ended:
            job.promised_on += timedelta(days=days)
            Promise.objects.create(job=job, day=job.promised_on, chance=job.promise_chance, moved=True)
            day = day_in_words(job.promised_on, long=True)
            words = f"The promise waited {days} day{'' if days == 1 else 's'}: it is {day} now."
            job_note(job=job, text=words, by=by)
    return ("turn", "waiting_since", "paused_since", "promised_on")


@transaction.atomic
def job_asked_again(*, job: Job, by: str = "") -> Job:
    """The owner was asked once more: the days until the next time begin anew."""
    if job_still_here(job).turn != Turn.OWNER:
        raise LevelwindError("It is not the owner's turn: nobody is waited for.")
    job.waiting_since = timezone.now()
    job.save(update_fields=["waiting_since"])
    job_note(job=job, text="The owner was asked again.", by=by)
    return job


@transaction.atomic
def job_turn(*, job: Job, turn: Turn, short_of: str = "", by: str = "") -> Job:
    """Say whose turn it is; short of a part, which one, where no order of this job says it."""
    short_of = short_of.strip() if turn == Turn.PART else ""
    if turn == Turn.PART and not short_of and not parts_on_order(job):
        raise LevelwindError("Enter which part it is short of: nothing is on order for this reel.")
    waits, job.short_of = _turn_over(job, turn, by=by), short_of
    job.full_clean()
    job.save(update_fields=["short_of", *waits])
    words = turn_words(job)
    job_note(job=job, text=f"{words[:1].upper()}{words[1:]}." if turn == Turn.PART else f"It is {words}.", by=by)
    return job


@transaction.atomic
def job_urgent(*, job: Job, urgent: bool, by: str = "") -> Job:
    """Ahead of all others on the bench, or no more. Said twice it is said once."""
    if job_hold(job).urgent != urgent:
        job.urgent = urgent
        job.save(update_fields=["urgent"])
        job_note(job=job, text="It goes ahead of all others." if urgent else "It waits its turn.", by=by)
    return job


@transaction.atomic
def job_end(*, job: Job, stage: Stage, why: str = "", by: str = "") -> Job:
    """Send the reel back unmended, or keep it for spares: then it lies in the bone box, whole."""
    if stage not in OTHER_ENDS:
        raise InputError("end of the job", stage, "sent back unmended or kept for spares")
    if job_hold(job).stage == stage:
        return job
    if job.stage not in OTHER_ENDS:
        job_still_here(job)
    job_move(job=job, stage=stage, by=by)
    if why:
        job_note(job=job, text=f"{stage.label.capitalize()}: {why}", by=by)
    if stage == Stage.SPARES and not job.bone_reels.exists():
        bones = BoneReel(job=job, pattern=job.pattern, reel=job.reel, condition=job.looked_like)
        bones.full_clean()
        bones.save(force_insert=True)
    if stage == Stage.SENT_BACK:
        _out_of_the_bone_box(job)
    return job


@transaction.atomic
def job_take_up_again(*, job: Job, by: str = "") -> Job:
    """Back on the bench where the reel is, at least looked over; what lay in the tray lies there again.

    Refused where the reel was stripped for its parts meanwhile.
    """
    if job_hold(job).stage not in OTHER_ENDS:
        raise LevelwindError("This job did not end: it is on the bench.")
    _out_of_the_bone_box(job)
    job.pieces.update(fate="")
    stage = _where_it_is(job, Stage(job.ended_from or stage_by_word(job)))
    return job_move(job=job, stage=stage if reached(stage, Stage.LOOKED_OVER) else Stage.LOOKED_OVER, by=by)


@transaction.atomic
def job_sell(*, job: Job, charge: MoneyEntry, by: str = "") -> Job:
    """A reel of the shop's own goes to whoever bought it, for a line of a bill.

    Raises LevelwindError where it is somebody else's, or while a piece of it lies in the tray with no fate.
    """
    if not job_still_here(job).is_own:
        raise LevelwindError(f"{job.tag} is not the shop's own: it belongs to {job.owner}.")
    if job.pieces.filter(where="cell", fate="").exists():
        raise LevelwindError(f"Pieces of {job.tag} lie in the tray: put it together, or box it and say where they go.")
    job.sold_for = charge
    job.save(update_fields=["sold_for"])
    job_move(job=job, stage=Stage.SOLD, by=by)
    if charge.bill:
        job_note(job=job, text=f"Sold to {charge.bill.owner} on bill {charge.bill.number}.", by=by)
    return job


@transaction.atomic
def job_bring_back(*, job: Job, why: str, by: str = "") -> Job:
    """A reel that was sold is the shop's again, where it stood before."""
    if job_hold(job).stage != Stage.SOLD:
        raise LevelwindError(f"{job.tag} is {job.get_stage_display()}, not sold.")
    job.sold_for = None
    job.save(update_fields=["sold_for"])
    job_note(job=job, text=f"Brought back: {why}", by=by)
    return job_move(job=job, stage=_where_it_is(job, Stage(job.ended_from or Stage.LOOKED_OVER)), by=by)


def _out_of_the_bone_box(job: Job) -> None:
    bones = job.bone_reels.all()
    if any(reel.stripped_on for reel in bones):
        raise LevelwindError("This reel lies stripped in the bone box: its parts are on the shelf.")
    bones.delete()


@transaction.atomic
def job_owner_change(*, job: Job, owner: Owner, whole_parcel: bool = False, by: str = "") -> None:
    """Put a job right that was booked in for the wrong owner; with ``whole_parcel`` every reel that came with it.

    Raises LevelwindError where a bill was made that still holds: the paper names the other owner.
    """
    jobs = job.parcel.jobs.exclude(owner=owner).select_related("owner")
    for other in jobs if whole_parcel else jobs.filter(pk=job.pk):
        bill = (
            other.bills.filter(voided_at=None).first()
            or Bill.objects.filter(entries__job=other, voided_at=None).first()
        )
        if bill:
            raise LevelwindError(f"Bill {bill.number} over {other.tag} is made out to {bill.owner}: void it first.")
        job_note(job=other, text=f"Owner put right: {owner}, not {other.owner}.", by=by)
        other.owner = owner
        other.full_clean()
        other.save(update_fields=["owner"])
    if not job.parcel.jobs.exclude(owner=owner).exists():
        job.parcel.owner = owner
        job.parcel.save(update_fields=["owner"])
