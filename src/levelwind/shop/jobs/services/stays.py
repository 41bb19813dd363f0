"""Linking a reel's stays, and taking a wrong link off again."""

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.stays import is_free, may_come_back, stay_before, stays_of
from levelwind.shop.jobs.services.jobs import job_hold, job_note
from levelwind.shop.models import Job, Reel


@transaction.atomic
def stay_link(*, job: Job, earlier: Job, by: str = "") -> Reel:
    """The two are stays of one reel, and with them whatever each was linked to before. Said again, nothing is written.

    Raises LevelwindError where both stand on the bench at once, or came in one parcel: one reel is not there twice.
    """
    first, second = sorted((job, earlier), key=lambda one: one.pk)
    job_hold(first)
    job_hold(second)
    if job.pk == earlier.pk:
        raise LevelwindError("A reel's stay is linked to another stay, not to itself.")
    if job.parcel_id == earlier.parcel_id:
        raise LevelwindError(f"{job.tag} and {earlier.tag} came in one parcel: these are two reels.")
    left = job.history
    if left and left == earlier.history:
        return left
    here = [one.tag for one in (*stays_of(job), *stays_of(earlier)) if not one.is_over]
    if len(here) > 1:
        raise LevelwindError(f"{' and '.join(here)} are both on the bench: these are two reels.")
    reel = earlier.history or Reel.objects.create()
    if left:
        left.stays.update(history=reel)
        left.delete()
    for one in (job, earlier):
        one.history = reel
        one.save(update_fields=["history"])
    job_note(job=job, text=f"The same reel as {earlier.tag}.", by=by)
    job_note(job=earlier, text=f"Here again as {job.tag}.", by=by)
    return reel


@transaction.atomic
def stay_unlink(*, job: Job, by: str = "") -> None:
    """This stay was of another reel: it stands for itself again, and a comeback it is no longer.

    Raises LevelwindError where another stay came back under its guarantee: that one is taken off first.
    """
    reel = job_hold(job).history
    if reel is None:
        return
    back = Job.objects.filter(comeback_of=job).first()
    if back:
        raise LevelwindError(f"{back.tag} came back under its guarantee: undo that on its page first.")
    if job.comeback_of_id:
        comeback_take_back(job=job, by=by)
    job.history = None
    job.save(update_fields=["history"])
    job_note(job=job, text="Not the reel of the other stays after all.", by=by)
    if reel.stays.count() < 2:
        reel.stays.update(history=None)
        reel.delete()


@transaction.atomic
def comeback_say(*, job: Job, by: str = "") -> None:
    """The reel is here because of the same trouble: under the guarantee of its stay before. Said again, nothing is
    written. Free of charge where it came within the days the shop sets."""
    before = stay_before(job_hold(job))
    if job.comeback_of_id:
        return
    if before is None or not may_come_back(before):
        raise LevelwindError(f"No stay of this reel before {job.tag} went home, or another came back of it already.")
    job.comeback_of, job.free = before, is_free(before, timezone.localdate(job.booked_in_at))
    job.save(update_fields=["comeback_of", "free"])
    words = ", free of charge" if job.free else ""
    job_note(job=job, text=f"Came back under the guarantee of {before.tag}{words}.", by=by)


@transaction.atomic
def comeback_take_back(*, job: Job, by: str = "") -> None:
    """It did not come back under guarantee after all: an ordinary stay of the reel, charged as such."""
    first = job_hold(job).comeback_of
    if first is None:
        return
    job.comeback_of, job.free = None, False
    job.save(update_fields=["comeback_of", "free"])
    job_note(job=job, text=f"No comeback of {first.tag} after all.", by=by)


@transaction.atomic
def comeback_charge(*, job: Job, free: bool, by: str = "") -> None:
    """Whether a comeback is charged, where the shop decides otherwise than its days say."""
    if job_hold(job).comeback_of_id is None:
        raise LevelwindError("Only what came back under guarantee is free of charge.")
    if job.free != free:
        job.free = free
        job.save(update_fields=["free"])
        job_note(job=job, text="Free of charge." if free else "Charged after all.", by=by)
