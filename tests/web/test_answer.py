"""What an owner sees and says by a link without an account; and that nobody sees anything else by it."""

import subprocess
import sys
from datetime import timedelta
from io import BytesIO

import pytest
from django.core.cache import cache
from django.core.files.base import ContentFile
from django.test import Client
from django.utils import timezone
from PIL import Image
from pytest_django import Settings

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.services.jobs import job_advance
from levelwind.shop.jobs.services.photos import photo_add
from levelwind.shop.letters.links import KEY_BYTES, link_make
from levelwind.shop.models import Job, OwnerLink, Price, Shop, Stage, Word
from levelwind.shop.money.services.prices import price_copy, price_line_add, price_send
from levelwind.web.answer.limit import MOST_A_MINUTE, MOST_WRONG
from tests.jobs import a_job
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
PUBLIC, HOST = "https://answer.example", "answer.example"
LETTER = "/jobs/26-0001/letters/new/price/"


@pytest.fixture
def job(settings: Settings) -> Job:
    cache.clear()
    settings.PUBLIC, settings.PUBLIC_HOST, settings.NETWORK = PUBLIC, HOST, "bench.example"
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, HOST]
    Shop.objects.create(pk=1, name="Saltwick Bench", owner_links=True)
    job = a_job(stage=Stage.LOOKED_OVER, complaint="the drag slips when hot")
    price = Price.objects.create(job=job)
    price_line_add(price=price, kind="work", text="Service", low_minor=4000, likely_minor=4500, high_minor=6000)
    price_send(price=price)
    return job


def asked(address: str, said: dict[str, str] | None = None, came_from: str = "192.0.2.9") -> tuple[int, str]:
    """As a stranger's browser asks at the public address."""
    there, client = address.removeprefix(PUBLIC), Client(headers={"host": HOST}, REMOTE_ADDR=came_from)
    answer = client.get(there) if said is None else client.post(there, said, follow=True)
    return answer.status_code, answer.getvalue().decode(errors="replace")


def test_an_owner_sees_their_reel_says_yes_up_to_a_sum_and_changes_their_mind(job: Job) -> None:
    address = link_make(job=job)
    assert len(address.removeprefix(f"{PUBLIC}/o/").rstrip("/")) * 6 / 8 >= KEY_BYTES
    status, shown = asked(address)
    assert status == 200
    for words in (
        "Likely $45.00</strong>, at least $40.00, at most $60.00",
        "Skerry 50",
        "drag slips when hot",
        "Service",
        "$45.00",
        "$60.00",
        "Saltwick Bench",
        "Came by post",
    ):
        assert words in shown, words
    assert "/counter/" not in shown and "/jobs/" not in shown
    for _ in range(2):
        status, shown = asked(address, {"said": "up_to", "up_to_minor": "50", "number": "1"})
    assert status == 200 and "Yes, up to a sum" in shown and "by the link" in shown
    word = Word.objects.get()
    assert (word.said, word.up_to_minor, word.how) == ("up_to", 5000, "link")
    job.refresh_from_db()
    assert (job.stage, job.events.filter(by="the owner").exists()) == (Stage.AGREED, True)
    asked(address, {"said": "no", "number": "1"})
    assert "Enter the most" in asked(address, {"said": "up_to", "number": "1"})[1]
    asked(address, {"said": "yes", "number": "1"})
    assert [each.said for each in Word.objects.all()] == ["up_to", "no", "yes"]
    job.refresh_from_db()
    job_advance(job=job, stage=Stage.APART)
    assert "please call or write to the shop" in asked(address)[1]
    assert "cannot be answered here any more" in asked(address, {"said": "no", "number": "1"})[1]
    assert Word.objects.count() == 3


def test_a_newer_price_is_looked_at_before_it_is_answered(job: Job) -> None:
    address = link_make(job=job)
    newer = price_copy(price=job.prices.get())
    assert "There is no price yet" in asked(address)[1]
    price_send(price=newer)
    assert "newer price than the one you saw" in asked(address, {"said": "yes", "number": "1"})[1]
    assert not Word.objects.exists()


def test_a_link_is_for_one_reel_until_it_runs_out_or_is_closed(signed_in: Client, job: Job) -> None:
    typed = typed_into(signed_in.get(LETTER), link="on")
    assert not OwnerLink.objects.exists(), "looking at the form makes none"
    for _ in range(2):
        signed_in.post(LETTER, typed)
    address = job.letters.get().body.splitlines()[-1]
    assert address.startswith(f"{PUBLIC}/o/") and OwnerLink.objects.count() == 1
    key = address.removeprefix(f"{PUBLIC}/o/").rstrip("/")
    assert key not in str(list(OwnerLink.objects.values()))
    drawn = BytesIO()
    Image.new("RGB", (40, 30), "navy").save(drawn, "JPEG")
    files = [ContentFile(drawn.getvalue() + bytes([n]), name="reel.jpg") for n in range(3)]
    mine, step = (
        photo_add(job=job, file=file, moment=moment) for file, moment in zip(files, ("found", "step"), strict=False)
    )
    other = photo_add(job=a_job("26-0002", owner=job.owner), file=files[2])
    shown = asked(address)[1]
    assert f"picture/{mine.pk}/" in shown and f"picture/{step.pk}/" not in shown
    statuses = [asked(f"{address}picture/{photo.pk}/")[0] for photo in (mine, step, other)]
    assert statuses == [200, 404, 404]
    now = timezone.now()
    OwnerLink.objects.update(made_at=now - timedelta(days=1), until=now - timedelta(seconds=1))
    assert asked(address)[0] == 404
    OwnerLink.objects.update(until=now + timedelta(days=1))
    assert "1 link lets whoever has it see this reel" in signed_in.get("/jobs/26-0001/price/").content.decode()
    for _ in range(2):
        signed_in.post("/jobs/26-0001/links/close/")
    status, shown = asked(address)
    assert status == 404 and "has run out or was closed" in shown and "Skerry" not in shown
    assert "has run out or was closed" in asked(f"{PUBLIC}/o/never/")[1], (
        "a closed one tells no more than one that never was"
    )
    assert job.events.filter(text__contains="were closed").count() == 1


def test_the_public_address_has_these_pages_and_nothing_else(client: Client, job: Job, settings: Settings) -> None:
    address = link_make(job=job)
    for path in ("/", "/sign-in/", "/jobs/26-0001/", "/media/photos/x.jpg", "/p/x/", "/m/x/", "/no-such-page/"):
        for host in (HOST, "Answer.EXAMPLE", f"{HOST}.", f"{HOST}:443"):
            answer = Client(headers={"host": host}).get(path)
            assert (answer.status_code, answer.content) == (404, b"There is nothing at this address."), (host, path)
    assert client.get(address.removeprefix(PUBLIC)).status_code == 404, "at the bench's own address there is none"
    Shop.objects.update(owner_links=False)
    assert asked(address)[0] == 404
    with pytest.raises(LevelwindError, match="not turned on"):
        link_make(job=job)
    settings.PUBLIC = settings.PUBLIC_HOST = ""
    Shop.objects.update(owner_links=True)
    with pytest.raises(LevelwindError, match="no public address"):
        link_make(job=job)


def test_whoever_guesses_or_asks_too_often_waits(job: Job) -> None:
    address = link_make(job=job)
    for _ in range(MOST_WRONG):
        assert asked("/o/guess/", came_from="192.0.2.1")[0] == 404
    assert asked(address, came_from="192.0.2.1")[0] == 429
    answers = [asked(f"{address}picture/1/", came_from="192.0.2.2")[0] for _ in range(MOST_A_MINUTE + 1)]
    assert set(answers[:-1]) == {404} and answers[-1] == 429
    assert asked(address, came_from="192.0.2.3")[0] == 200


def test_the_public_address_is_another_than_the_benchs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LEVELWIND_PUBLIC", PUBLIC)
    monkeypatch.setenv("LEVELWIND_PROXY", PUBLIC)
    asked_for = [sys.executable, "-c", "import levelwind.project.settings"]
    made = subprocess.run(asked_for, capture_output=True, text=True, check=False)
    assert "goes with LEVELWIND_PROXY and is another name" in made.stderr
