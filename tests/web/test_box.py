"""Prove, box and home: the bill saves as it is typed, papers open, the reel leaves."""

import json

import pytest
from django.test import Client

from levelwind.shop.models import Job, MoneyEntry, Piece, Sending, Stage
from levelwind.shop.money.services.prices import price_draft
from tests.jobs import a_job
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
URL = "/jobs/26-0001/box/"
HTMX = {"hx-request": "true"}


@pytest.fixture
def job() -> Job:
    made = a_job(stage=Stage.TOGETHER)
    price_draft(job=made)
    return made


def _first_sum(client: Client, text: str) -> dict[str, str]:
    fields = typed_into(client.get(URL))
    return fields | {"bill-0-amount_minor": text}


def test_the_bill_begins_from_the_price_and_saves_as_typed(client: Client, job: Job) -> None:
    answer = client.post(URL + "bill/", _first_sum(client, "70"), headers=HTMX)
    assert "Saved" in answer.content.decode()
    job.refresh_from_db()
    assert job.bill_draft[0]["amount_minor"] == 7000


def test_a_negative_sum_is_refused_and_the_rest_kept(client: Client, job: Job) -> None:
    answer = client.post(URL + "bill/", _first_sum(client, "-70"))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "can be 0 or more" in page and 'value="-70"' in page
    job.refresh_from_db()
    assert job.bill_draft is None


def test_two_people_at_one_bill(client: Client, job: Job) -> None:
    mine, theirs = _first_sum(client, "70"), _first_sum(client, "80")
    client.post(URL + "bill/", theirs, headers=HTMX)
    assert (
        "Somebody saved other lines here while this page was open. Yours is still in the box and not saved"
        in client.post(URL + "bill/", mine, headers=HTMX).content.decode()
    )
    job.refresh_from_db()
    assert job.bill_draft[0]["amount_minor"] == 8000


def test_a_line_ticked_away_is_gone(client: Client, job: Job) -> None:
    client.post(URL + "bill/", typed_into(client.get(URL)) | {"bill-0-DELETE": "on"})
    job.refresh_from_db()
    assert "Take apart" not in json.dumps(job.bill_draft)


def test_billed_paid_and_printed(client: Client, job: Job) -> None:
    client.post(URL + "do/bill/")
    charged = sum(MoneyEntry.objects.values_list("amount_minor", flat=True))
    client.post(URL + "money/", {"what": "payment", "amount_minor": f"{charged / 100:.2f}", "text": "card"})
    assert "All paid" in client.get(URL).content.decode()
    paper = client.get(f"/bills/{job.bills.get().number}.pdf")
    assert paper.content[:5] == b"%PDF-"


def test_a_payment_of_nothing_is_refused_beside_it(client: Client, job: Job) -> None:
    client.post(URL + "do/bill/")
    answer = client.post(URL + "money/", {"what": "payment", "amount_minor": "0", "text": "card"})
    assert answer.status_code == 422
    assert "more than 0" in answer.content.decode()


def test_old_parts_go_back_to_the_owner_before_the_box_is_shut(client: Client, job: Job) -> None:
    """Replaced parts go back to the owner. Common practice of the trade, no source; some places make it law."""
    Piece.objects.create(job=job, place="drag_washer_1", name="first drag washer", where="scrap", state="worn")
    page = client.post(URL + "do/boxed/", follow=True).content.decode()
    assert "Passed over: <strong>proved</strong>" in page
    assert "Old parts are in the scrap bag: bagged for the owner, or refused?" in page
    client.post(URL + "parcel/", typed_into(client.get(URL)) | {"old_parts_bagged": "on"})
    client.post("/jobs/26-0001/ends/boxed/", {})
    job.refresh_from_db()
    assert job.stage == Stage.BOXED
    assert client.get("/jobs/26-0001/old-parts.pdf").content[:5] == b"%PDF-"


def test_it_goes_home_with_a_day_to_ask_how_it_does(client: Client, job: Job) -> None:
    client.post(URL + "parcel/", typed_into(client.get(URL)) | {"carrier": "Coast Carrier", "weight_g": "900"})
    client.post("/jobs/26-0001/ends/home/", {})
    job.refresh_from_db()
    assert (job.stage, job.sending.carrier, job.sending.follow_up_on is not None) == (Stage.HOME, "Coast Carrier", True)
    assert "Sent home by Coast Carrier" in job.events.values_list("text", flat=True)[0] + str(job.events.all())


@pytest.mark.parametrize("weight", ["-4", "heavy"])
def test_a_weight_that_cannot_be_is_refused_and_kept(client: Client, job: Job, weight: str) -> None:
    answer = client.post(URL + "parcel/", typed_into(client.get(URL)) | {"weight_g": weight, "carrier": "Coast"})
    assert answer.status_code == 422
    assert f'value="{weight}"' in answer.content.decode()
    job.refresh_from_db()
    assert job.sending.carrier == "Coast"


def test_the_proof_page_and_paper(client: Client, job: Job) -> None:
    assert client.post("/jobs/26-0001/prove/done/", follow=True).status_code == 200
    job.refresh_from_db()
    assert job.stage == Stage.TOGETHER
    client.post("/jobs/26-0001/readings/left/type/spin/", {"spin-spin_time_s": "34"})
    client.post("/jobs/26-0001/prove/done/")
    job.refresh_from_db()
    assert job.stage == Stage.PROVED
    assert client.get("/jobs/26-0001/proof.pdf").content[:5] == b"%PDF-"


def test_looking_at_the_page_writes_nothing(client: Client, job: Job) -> None:
    assert client.get(URL).status_code == 200
    assert not Sending.objects.exists()
