"""Booking in what came back under guarantee, and taking away again what was booked in by mistake."""

from django.db import transaction

from levelwind.core.errors import LevelwindError
from levelwind.shop.editing import row_delete
from levelwind.shop.jobs.selectors.stays import may_come_back
from levelwind.shop.jobs.services.booking import job_book_in
from levelwind.shop.jobs.services.jobs import job_hold
from levelwind.shop.jobs.services.stays import comeback_say, stay_link, stay_unlink
from levelwind.shop.models import Job, Parcel, Stage

SAME_TROUBLE = "Came back with the same trouble"

OF_THE_REEL = (
    "owner",
    "pattern",
    "build",
    "reel",
    "serial",
    "leave",
    "leave_note",
    "water",
    "hours_a_year",
    "line_name",
    "line_strength_N",
    "tippet_strength_N",
    "line_diameter_mm",
)
"""What a reel brings along from its stay before."""


@transaction.atomic
def job_comes_back(*, job: Job, by: str = "") -> Job:
    """Book in a reel that came back under guarantee: a new job linked to the one that is home. Pressed again, that one.

    Free of charge where the shop's days are not over. Raises LevelwindError where the reel is not home.
    """
    job_hold(job)
    back = Job.objects.filter(comeback_of=job).first()
    if back:
        return back
    if not may_come_back(job):
        raise LevelwindError(f"{job.tag} is {job.get_stage_display()}: what is not home cannot come back.")
    complaint = f"{SAME_TROUBLE}: {job.complaint}" if job.complaint else f"{SAME_TROUBLE}."
    new = Job(**{name: getattr(job, name) for name in OF_THE_REEL}, complaint=complaint)
    job_book_in(owner=job.owner, parcel=Parcel(came_by=job.parcel.came_by), reels=[new], by=by)
    stay_link(job=new, earlier=job, by=by)
    comeback_say(job=new, by=by)
    return new


@transaction.atomic
def job_delete(*, job: Job, by: str = "") -> None:
    """Take away a job booked in by mistake. Raises LevelwindError where it went on, or anything hangs on it."""
    if job_hold(job).stage != Stage.BOOKED_IN:
        raise LevelwindError(f"{job.tag} is {job.get_stage_display()}: only what is just booked in can be taken away.")
    stay_unlink(job=job, by=by)
    parcel = job.parcel
    row_delete(instance=job, but=("events", "out_of_the_box"), what=job.tag)
    if not parcel.jobs.exists():
        parcel.delete()
