"""Pictures in and out of the book."""

from hashlib import sha256
from pathlib import Path
from typing import Any

from django.core.files.base import ContentFile, File
from django.core.files.uploadedfile import TemporaryUploadedFile
from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.recordings.photos import Photo as PhotoRead
from levelwind.recordings.photos import read_photo
from levelwind.shop.jobs.services.jobs import job_note
from levelwind.shop.models import Draft, Job, Photo
from levelwind.shop.patterns.services.pictures import files_clear

MOST_PHOTOS = 400
"""Of one job or booking. Two for every piece of a large reel is under half of it."""


def photo_add(
    *,
    file: File,  # type: ignore[type-arg]
    job: Job | None = None,
    draft: Draft | None = None,
    moment: str = "found",
    step: str = "",
    place: str = "",
    caption: str = "",
) -> Photo:
    """Read a picture as it came from a phone and keep it, upright and without its position, with a thumbnail.

    The same file twice in one spot is kept once. Raises InputError for what is no picture, is damaged or too large.
    It is decoded before the book is locked: a large picture takes a second.
    """
    read = photo_of(file)
    spot = {"job": job, "draft": draft, "moment": moment, "step": step, "place": place}
    with transaction.atomic():
        _still_there(job, draft)
        kept = Photo.objects.filter(sha256=read.sha256, **spot).first()
        if kept:
            return kept
        photo = Photo(**spot, caption=caption, sha256=read.sha256, picture_sha256=sha256(read.jpeg).hexdigest())
        photo.picture = ContentFile(read.jpeg, name="photo.jpg")
        photo.thumbnail = ContentFile(read.thumbnail, name="small.jpg")
        photo.full_clean()
        photo.save(force_insert=True)
    return photo


def photo_of(file: Any) -> PhotoRead:
    """An upload read as a picture. Raises InputError for what is none, is damaged or too large."""
    return read_photo(source_of(file), name=_name(file))


def source_of(file: Any) -> bytes | Path:
    """Large uploads lie on disk already; their size is looked at before they are read."""
    return Path(file.temporary_file_path()) if isinstance(file, TemporaryUploadedFile) else file.read()


def _name(file: Any) -> str:
    name = Path(str(file.name or "the photo")).name
    return name if len(name) <= 60 else name[:40] + " … " + name[-16:]


def _still_there(job: Job | None, draft: Draft | None) -> None:
    home = job or draft
    if home is None or not type(home)._default_manager.select_for_update().filter(pk=home.pk).exists():
        raise LevelwindError("This booking is finished: take the pictures from the job's own page.")
    if home.photos.count() >= MOST_PHOTOS:
        raise InputError("pictures of one job", MOST_PHOTOS + 1, f"at most {MOST_PHOTOS}: remove some first")


@transaction.atomic
def photo_remove(*, photo: Photo, by: str = "") -> None:
    """Remove a wrong picture, and its files once nothing else shows them."""
    names = [str(photo.picture.name), str(photo.thumbnail.name)]
    if photo.job:
        job_note(job=photo.job, text=f"A picture {photo.get_moment_display()} was removed.", by=by)
    photo.delete()
    transaction.on_commit(lambda: files_clear(names))
