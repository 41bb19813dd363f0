"""Pictures in any template of a job."""

from django import template

from levelwind.shop.jobs.selectors.photos import PhotoSpot
from levelwind.shop.models import Draft, Job, Photo
from levelwind.web.jobs.photos.block import Album, album

register = template.Library()


@register.simple_tag
def photo_album(
    job: Job | str | None,
    draft: Draft | str | None,
    moment: str,
    step: str = "",
    place: str = "",
    photos: list[Photo] | str | None = None,
) -> Album:
    """The pictures of a spot; ``photos`` saves the query where a page has read them already."""
    spot = PhotoSpot(
        job=job if isinstance(job, Job) else None,
        draft=draft if isinstance(draft, Draft) else None,
        moment=moment or "found",
        step=step,
        place=place,
    )
    return album(spot, None if photos is None or isinstance(photos, str) else list(photos))
