"""Pictures, and where they belong."""

from dataclasses import dataclass

from levelwind.shop.models import Draft, Job, Photo


@dataclass(frozen=True, slots=True)
class PhotoSpot:
    """Where pictures belong: a job (or a booking begun), a moment, and a step or a place where there is one."""

    job: Job | None = None
    draft: Draft | None = None
    moment: str = "found"
    step: str = ""
    place: str = ""


def photo_list(spot: PhotoSpot) -> list[Photo]:
    """The pictures of a spot, oldest first. A booking's pictures are one lot, whichever of its reels they show."""
    photos = Photo.objects.filter(job=spot.job, draft=spot.draft, moment=spot.moment, step=spot.step)
    return list(photos if spot.draft else photos.filter(place=spot.place))


def photo_get(pk: int) -> Photo:
    """The picture with its job or draft; raises Photo.DoesNotExist."""
    return Photo.objects.select_related("job", "draft").get(pk=pk)


def spot_get(*, job_pk: int | None, draft_pk: int | None, moment: str, step: str, place: str) -> PhotoSpot | None:
    """The spot of a job or a booking by their primary keys; None when it is no longer there."""
    job = Job.objects.select_related("owner").filter(pk=job_pk).first() if job_pk else None
    draft = Draft.objects.filter(pk=draft_pk).first() if draft_pk else None
    return PhotoSpot(job, draft, moment, step, place) if job or draft else None
