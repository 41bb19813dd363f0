"""Measured on a sheet of paper: the page that prints it, the picture's page, and where each piece goes from there."""

import io
from pathlib import Path

import numpy as np
import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from levelwind.core.codec import as_stored
from levelwind.core.fits.outlines import SeenPiece
from levelwind.recordings.sheet_photo import SheetRead
from levelwind.shop.drag.selectors.plans import stack_now
from levelwind.shop.models import Job, Part, SheetPicture
from levelwind.shop.parts.selectors.sheets import sheet_measured, sizes_of
from levelwind.shop.parts.services.sheets import sheet_add
from levelwind.shop.takedown.services.pieces import job_pattern_choose
from tests.jobs import a_job, a_pattern
from tests.sheets import outline, sheet_seen, washer

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(media: Path) -> Job:
    job = a_job()
    job_pattern_choose(job=job, pattern=a_pattern())
    job.refresh_from_db()
    return job


def _picture(job: Job | None, printed: tuple[float | None, float | None] = (210.0, 297.0)) -> SheetPicture:
    picture = SheetPicture(job=job, sha256="0" * 64, picture_sha256="1" * 64)
    picture.seen = as_stored(sheet_seen(washer(ears=4), printed=printed))
    picture.picture = ContentFile(b"jpeg", name="sheet.jpg")
    picture.save()
    return picture


def test_the_page_prints_both_papers_and_refuses_what_is_no_sheet(
    client: Client, media: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = client.get("/sheet/").content.decode()
    assert "/sheet/paper/a4.pdf" in whole and "/sheet/paper/us-letter.pdf" in whole and "Print the sheet first" in whole
    assert client.get("/sheet/paper/a4.pdf").content[:4] == b"%PDF"
    assert client.get("/sheet/paper/a3.pdf").status_code == 404
    white = io.BytesIO()
    Image.new("RGB", (400, 300), "white").save(white, "JPEG")
    sent = {"picture": SimpleUploadedFile("bench.jpg", white.getvalue())}
    answer = client.post("/sheet/add/", sent)
    assert answer.status_code == 422 and "without the measuring sheet" in answer.content.decode()
    assert client.post("/sheet/add/").status_code == 422
    assert not SheetPicture.objects.exists()
    monkeypatch.setattr("levelwind.web.bench.sheet.can_read", lambda: False)
    monkeypatch.setattr("levelwind.recordings.sheet_photo.can_read", lambda: False)
    assert "levelwind[sheet]" in client.get("/sheet/").content.decode()
    again = client.post("/sheet/add/", {"picture": SimpleUploadedFile("bench.jpg", white.getvalue())})
    assert "levelwind[sheet]" in again.content.decode()


def test_a_piece_goes_from_the_picture_to_recogniser_shelf_and_drag(
    client: Client,
    job: Job,
    django_capture_on_commit_callbacks,  # type: ignore[no-untyped-def]
) -> None:
    picture = _picture(job)
    address = f"/sheet/{picture.pk}/"
    whole = client.get(address).content.decode()
    assert "Ears: 4 <small>97 % sure</small>" in " ".join(whole.split()) and "Remove this picture" in whole
    assert "Round, with ears" in whole and "Its thickness is not said" in whole and 'class="edge"' in whole
    assert f'href="/media/{picture.picture.name}"' in whole
    assert "piece=washer" in whole and f"job={job.tag}" in whole
    early = client.post(f"{address}1/lay/", {"body": "2"})
    assert early.status_code == 422 and "has no thickness yet" in early.content.decode()
    wrong = client.post(address, {"thick-1": "3 mm mm"})
    assert wrong.status_code == 422 and "Thickness of piece 1" in wrong.content.decode().replace(
        "thickness", "Thickness"
    )
    client.post(address, {"across": "99,9", "thick-1": "1.2"})
    picture.refresh_from_db()
    assert picture.said["across_mm"] == 99.9 and picture.said["pieces"]["1"]["height_mm"] == 1.2
    assert "Its thickness is not said" not in client.get(address).content.decode()

    client.post(f"{address}1/part/", {"part": "LW-77"})
    part = Part.objects.get(number="LW-77")
    assert part.kind == "eared_washer" and part.sizes_mm["thickness"] == 1.2
    assert part.sizes_mm["outer diameter"] == pytest.approx(27.85, abs=0.1)
    client.post(f"{address}1/part/", {"part": "lw-77"})
    assert Part.objects.count() == 1

    laid = client.post(f"{address}1/lay/", {"body": "2"})
    assert laid["Location"] == f"/jobs/{job.tag}/drag/"
    body = stack_now(job)[0].bodies[1]
    assert 2000 * body.outer_radius_m == part.sizes_mm["outer diameter"] and body.thickness_m == 0.0012
    assert client.post(f"{address}1/lay/", {"body": "99"}).status_code == 422
    assert client.post(f"{address}7/part/", {"part": "LW-78"}).status_code == 422

    with django_capture_on_commit_callbacks(execute=True):
        assert client.post(f"{address}remove/")["Location"] == f"/sheet/?job={job.tag}"
    assert client.get(address).status_code == 404 and not Path(picture.picture.path).exists()


def test_sizes_that_stand_at_a_part_are_shown_before_they_go_and_can_be_put_back(client: Client, media: Path) -> None:
    picture = _picture(None)
    address = f"/sheet/{picture.pk}/"
    client.post(address, {"across": "100", "down": "100", "thick-1": "1.2"})
    old = {"outer diameter": 26.5, "thickness": 1.2, "length": 40.0}
    part = Part.objects.create(number="LW-80", name="washer", sizes_mm=old)

    asked = client.post(f"{address}1/part/", {"part": "lw-80"}).content.decode()
    assert "LW-80" in asked and "has other sizes" in asked and "26.5 mm" in asked
    part.refresh_from_db()
    assert part.sizes_mm == old
    stale = client.post(f"{address}1/part/", {"part": "LW-80", "was-outer diameter": "25.0"}).content.decode()
    assert "has other sizes" in stale
    assert client.post(f"{address}1/part/", {"part": "LW-80", "was-outer diameter": "a lot"}).status_code == 422

    client.post(f"{address}1/part/", {"part": "LW-80", "was-outer diameter": "26.5"})
    part.refresh_from_db()
    assert part.sizes_mm["outer diameter"] > 27 and part.sizes_mm["inner diameter"] and part.sizes_mm["length"] == 40
    client.post(address, {"across": "100", "down": "100", "thick-1": "1.3"})
    told = " ".join(client.get(address).content.decode().split())
    assert "Put back what stood there" in told and "(before: 26.5)" in told

    Part.objects.filter(pk=part.pk).update(sizes_mm={**part.sizes_mm, "thickness": 1.25})
    assert client.post(f"{address}1/back/")["Location"] == f"{address}#piece-1"
    part.refresh_from_db()
    assert part.sizes_mm == {**old, "thickness": 1.25}
    assert "Put back what stood there" not in client.get(address).content.decode()
    assert client.post(f"{address}1/back/").status_code == 422


def test_a_scaled_print_asks_for_its_lines_and_then_tells(client: Client, media: Path) -> None:
    picture = _picture(None, (210 / 0.98, 297 / 0.98))
    whole = client.get(f"/sheet/{picture.pk}/").content.decode()
    assert "made the sheet 2.0 % smaller" in whole and "outer diameter" not in whole.lower()
    client.post(f"/sheet/{picture.pk}/", {"across": "98", "down": "98"})
    told = client.get(f"/sheet/{picture.pk}/").content.decode()
    assert "Outer diameter 27." in told and "lay/" not in told.split("<h1>")[0]
    assert client.post(f"/sheet/{picture.pk}/", {"across": "50"}).status_code == 422


def test_a_picture_sent_twice_is_kept_once(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    read = SheetRead(sheet_seen(washer()), b"jpeg", "2" * 64)
    monkeypatch.setattr("levelwind.shop.parts.services.sheets.read_sheet", lambda *_, **__: read)
    first, again, elsewhere = (
        sheet_add(file=SimpleUploadedFile("sheet.jpg", b"x"), job=each) for each in (job, job, None)
    )
    assert first == again and elsewhere != first and SheetPicture.objects.count() == 2


def test_teeth_in_doubt_are_not_written_at_a_part(job: Job) -> None:
    turn = np.linspace(-np.pi, np.pi, 1600, endpoint=False)
    ray = np.column_stack([np.cos(turn), np.sin(turn)])
    edge = outline((100, 150) + (12 + np.clip(1.5 * np.cos(30 * turn), -0.6, 0.6))[:, None] * ray, ray)
    told = []
    for unclear in (0.0, 0.04):
        picture = SheetPicture(job=job, seen=as_stored(sheet_seen(SeenPiece(edge, unclear=unclear))))
        told.append(sizes_of(sheet_measured(picture), 1))
    assert told[0]["tooth count"] == 30 and "tooth count" not in told[1]
