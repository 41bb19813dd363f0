"""Booking in: an owner, a parcel and its reels become jobs with tag numbers."""

from collections.abc import Sequence
from datetime import datetime

from django.db import IntegrityError, transaction
from django.db.models.functions import Length
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.selectors.drafts import draft_clear_family, draft_earlier, draft_seen
from levelwind.shop.jobs.services.drafts import draft_lock
from levelwind.shop.jobs.services.jobs import job_note
from levelwind.shop.jobs.services.stays import stay_link
from levelwind.shop.models import Draft, Job, Owner, Parcel, Photo, Sighting
from levelwind.shop.people.clock import clock_hold
from levelwind.shop.people.services import owner_add

TRIES = 8
"""How often to take the next number again when somebody else took it first."""


@transaction.atomic
def job_book_in(
    *, owner: Owner, parcel: Parcel, reels: Sequence[Job], at: datetime | None = None, by: str = ""
) -> list[Job]:
    """Book in the reels of a parcel: unsaved rows in, saved jobs out, each with its tag number and first history line.

    An owner not yet in the book is written down first. Raises InputError without a reel, and django's ValidationError
    where the models refuse a value, and LevelwindError while the machine's clock is behind the book.
    """
    if not reels:
        raise InputError("reels in the parcel", "none", "at least one")
    if owner.pk is None:
        owner_add(owner=owner)
    if at is None:
        clock_hold()
        at = timezone.now()
    parcel.owner, parcel.arrived_at = owner, at
    parcel.full_clean()
    parcel.save(force_insert=True)
    for job in reels:
        job.owner, job.parcel, job.booked_in_at, job.stage_since = owner, parcel, at, at
    _save_with_tags(reels, timezone.localtime(at).year)
    for job in reels:
        event = job_note(job=job, text=_how_it_came(parcel, len(reels)), by=by)
        event.at = at
        event.save(update_fields=["at"])
    return list(reels)


def _save_with_tags(jobs: Sequence[Job], year: int) -> None:
    """The constraint on tag numbers decides between two who book in at once; who comes second takes the next number."""
    for _ in range(TRIES):
        try:
            with transaction.atomic():
                for number, job in enumerate(jobs, last_number(year) + 1):
                    job.tag = tag_number(year, number)
                    job.full_clean(validate_unique=False)
                    job.save(force_insert=True)
            return
        except IntegrityError:
            for job in jobs:
                job.pk = None
    raise LevelwindError("Others are booking in at this very moment. Nothing is lost: press Book in once more.")


def tag_number(year: int, number: int) -> str:
    """The year and a running number.

    >>> tag_number(2026, 147)
    '26-0147'
    """
    return f"{year % 100:02d}-{number:04d}"


def last_number(year: int) -> int:
    """The highest running number given in a year, 0 before the first."""
    start, end = tag_number(year, 0)[:3], tag_number(year + 1, 0)[:3]
    tags = Job.objects.filter(tag__startswith=start, tag__gte=start).annotate(length=Length("tag"))
    tags = tags.filter(tag__lt=end) if start < end else tags  # an index has a year's tags between these
    longest = tags.order_by("-length", "-tag").values_list("tag", flat=True)
    return next((int(tag[3:]) for tag in longest.iterator(chunk_size=100) if tag[3:].isdecimal()), 0)


def _how_it_came(parcel: Parcel, count: int) -> str:
    way = "over the counter" if parcel.came_by == "counter" else "by post"
    with_what = f" with {parcel.carrier}" if parcel.carrier else ""
    crate = f", one of a crate of {count}" if count > 1 else ""
    return f"Booked in: came {way}{with_what}{crate}."


@transaction.atomic
def draft_book_in(*, draft: Draft, owner: Owner, parcel: Parcel, reels: dict[int, Job], by: str = "") -> list[Job]:
    """Book in what a draft holds, ``reels`` by their keys there; pictures and what was seen go to the jobs."""
    draft = draft_lock(draft=draft)
    for key, job in reels.items():
        job.clear_family = draft_clear_family(draft, key)
    jobs = job_book_in(owner=owner, parcel=parcel, reels=list(reels.values()), by=by)
    for key, was in draft_earlier(draft).items():
        if was.chosen and key in reels:
            stay_link(job=reels[key], earlier=was.chosen, by=by)
    Sighting.objects.bulk_create(
        Sighting(job=job, look=look, said=said)
        for key, job in reels.items()
        for look, said in draft_seen(draft, key).items()
    )
    for photo in draft.photos.all():
        shown = reels.get(int(photo.place)) if photo.place.isdecimal() else None
        _hand_over(photo, [shown] if shown else jobs)
    draft.delete()
    return jobs


def _hand_over(photo: Photo, jobs: Sequence[Job]) -> None:
    """To the job it shows; a picture of the whole parcel goes to every job, as rows that share its files."""
    photo.draft, photo.job, photo.place = None, jobs[0], ""
    photo.save(update_fields=["draft", "job", "place"])
    for job in jobs[1:]:
        photo.pk, photo.job = None, job
        photo._state.adding = True
        photo.save(force_insert=True)
