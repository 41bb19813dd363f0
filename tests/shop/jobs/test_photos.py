"""Pictures kept and removed; hostile files refused in a sentence."""

import io
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import TemporaryUploadedFile
from PIL import Image
from pytest_django import DjangoCaptureOnCommitCallbacks, Settings

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.selectors.photos import PhotoSpot, photo_list
from levelwind.shop.jobs.services import photos
from levelwind.shop.jobs.services.booking import draft_book_in, job_book_in
from levelwind.shop.jobs.services.drafts import draft_begin, draft_reel_add, draft_throw_away
from levelwind.shop.jobs.services.photos import photo_add, photo_remove
from levelwind.shop.models import Job, Owner, Parcel, Photo

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def media(settings: Settings, tmp_path: Path) -> Iterator[Path]:
    settings.MEDIA_ROOT = tmp_path
    yield tmp_path


@pytest.fixture
def job() -> Job:
    return job_book_in(owner=Owner(name="Tove"), parcel=Parcel(), reels=[Job(reel="old star drag")])[0]


def picture(colour: str = "tan", name: str = "IMG_1.jpg", **save: object) -> ContentFile:  # type: ignore[type-arg]
    out = io.BytesIO()
    Image.new("RGB", (800, 600), colour).save(out, "JPEG", **save)
    return ContentFile(out.getvalue(), name=name)


def header_of_a_png(width: int, height: int) -> bytes:
    """A PNG that says how large it is and holds next to nothing (PNG specification, 3rd edition, 11.2.1)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 64)) + chunk(b"IEND", b"")


def test_a_picture_is_kept_upright_with_a_thumbnail(job: Job) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # orientation: the camera lay on its side (Exif 2.32, 4.6.4)
    exif.get_ifd(0x8825)[1] = "N"  # GPSLatitudeRef
    photo = photo_add(job=job, file=picture(exif=exif), moment="step", step="star", place="star nut")
    assert (photo.width, photo.height) == (600, 800)
    assert (photo.moment, photo.step, photo.place) == ("step", "star", "star nut")
    with Image.open(default_storage.open(str(photo.picture.name))) as kept:
        assert kept.size == (600, 800)
        assert not kept.getexif()
    with Image.open(default_storage.open(str(photo.thumbnail.name))) as small:
        assert max(small.size) <= 480


def test_the_same_file_twice_in_one_spot_is_kept_once(job: Job) -> None:
    once = photo_add(job=job, file=picture())
    assert photo_add(job=job, file=picture()) == once
    photo_add(job=job, file=picture(), moment="left")
    assert Photo.objects.count() == 2


def test_a_large_upload_that_lies_on_disk_is_read_from_there(job: Job) -> None:
    upload = TemporaryUploadedFile("big.jpg", "image/jpeg", 0, None)
    upload.write(picture().read())
    upload.flush()
    assert photo_add(job=job, file=upload).width == 800


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"not a picture at all, only words", "text file"),
        (b"", "empty"),
        (header_of_a_png(20_000, 10_000), "200 megapixels"),
        (b"\xff\xd8\xff\xe0" + b"\0" * 400, "damaged"),
        (b"%PDF-1.7 ...", "PDF"),
        (b"#EXTM3U\nfile:///etc/passwd", "text file"),
    ],
)
def test_what_is_no_picture_is_refused_by_name_and_leaves_nothing(
    job: Job, media: Path, content: bytes, said: str
) -> None:
    with pytest.raises(InputError, match=said) as refusal:
        photo_add(job=job, file=ContentFile(content, name="../../IMG_1.jpg"))
    assert "IMG_1.jpg" in str(refusal.value)
    assert ".." not in str(refusal.value)
    assert not Photo.objects.exists()
    assert not list(media.rglob("*.*"))


def test_a_job_holds_only_so_many(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "MOST_PHOTOS", 1)
    photo_add(job=job, file=picture())
    with pytest.raises(InputError, match="at most 1"):
        photo_add(job=job, file=picture("navy"))


def test_a_removed_picture_takes_its_files_along_and_is_noted(
    job: Job, media: Path, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    photo = photo_add(job=job, file=picture())
    assert len(list(media.rglob("*.jpg"))) == 2
    with django_capture_on_commit_callbacks(execute=True):
        photo_remove(photo=photo)
    assert not list(media.rglob("*.jpg"))
    assert "removed" in job.events.first().text  # type: ignore[union-attr]


def test_files_that_another_reel_of_the_crate_shows_stay(
    media: Path, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    draft = draft_begin()
    second = draft_reel_add(draft=draft)
    photo_add(draft=draft, file=picture())
    reels = {1: Job(reel="one"), second: Job(reel="two")}
    draft_book_in(draft=draft, owner=Owner(name="Tove"), parcel=Parcel(), reels=reels)
    one, other = Photo.objects.all()
    with django_capture_on_commit_callbacks(execute=True):
        photo_remove(photo=one)
    assert default_storage.exists(str(other.picture.name))
    with django_capture_on_commit_callbacks(execute=True):
        photo_remove(photo=other)
    assert not list(media.rglob("*.jpg"))


def test_a_booking_thrown_away_takes_its_pictures_along(
    media: Path, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    draft = draft_begin()
    photo_add(draft=draft, file=picture())
    with django_capture_on_commit_callbacks(execute=True):
        draft_throw_away(draft=draft)
    assert not list(media.rglob("*.jpg"))


def test_a_booking_finished_meanwhile_takes_no_more_pictures() -> None:
    draft = draft_begin()
    draft_throw_away(draft=draft)
    draft.pk = 77
    with pytest.raises(LevelwindError, match="finished"):
        photo_add(draft=draft, file=picture())


def test_a_spot_shows_its_own_pictures_only(job: Job) -> None:
    found = photo_add(job=job, file=picture("tan"))
    star = photo_add(job=job, file=picture("navy"), moment="step", step="star")
    assert photo_list(PhotoSpot(job=job)) == [found]
    assert photo_list(PhotoSpot(job=job, moment="step", step="star")) == [star]
