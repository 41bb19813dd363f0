"""A list brought in by hand: sent, matched, looked at, imported by one press, taken back; what is odd is said."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from levelwind.shop.book.services import imports as services
from levelwind.shop.book.services.imports import import_task
from levelwind.shop.models import Import, Job, Owner
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
JOBS = "Customer,Reel,Received,Fee,Odd\nAnsa Vell,Skerry 50,3/4/2019,85,x\nBram,,5/6/2019,1,y\n"


def send(client: Client, text: str, kind: str = "jobs", name: str = "old.csv") -> str:
    file = SimpleUploadedFile(name, text.encode())
    return str(client.post("/counter/lists/", {"kind": kind, "file": file}).headers.get("Location", ""))


def test_a_list_is_sent_matched_looked_at_imported_and_taken_back(client: Client) -> None:
    assert "/counter/lists/" in client.get("/counter/").content.decode()
    address = send(client, JOBS)
    page = client.get(address)
    words = page.content.decode()
    assert "Nothing of it is in the book yet" in words and "“3/4/2019” can be two days" in words
    assert "Import 1" not in words and "Left out: Fee, Odd." in words
    refused = client.get(f"{address}not-taken.csv")
    assert b"Why it was not taken" in b"".join(refused) and client.get(f"{address}not-taken.exe").status_code == 404

    typed = typed_into(page, order="day", column__charged="3", same__maker="Tarn & Wey")
    assert client.post(f"{address}match/", typed | {"do": "import"}).headers["Location"].endswith("#preview")
    assert not Job.objects.exists()  # what was changed is looked at first
    page = client.get(address)
    assert "Something was changed above" in page.content.decode() and "3 Apr 2019" in page.content.decode()
    assert "Row 3: the reel: nothing stands there" in page.content.decode()
    assert "$85.00" in page.content.decode() and "Import 1 past job" in page.content.decode()
    for _ in range(2):
        client.post(f"{address}match/", typed_into(page) | {"do": "import"})
    job = Job.objects.get()
    done = client.get(address).content.decode()
    assert "In the book since" in done and "Those not taken" in done
    for there in ("", "box/", "proof.pdf"):
        assert client.get(f"/jobs/{job.tag}/{there}").status_code == 200, there
    then = client.get(f"/jobs/{job.tag}/").content.decode()
    assert "a job of before this book" in then and "Nothing more" in then and "Ask how it is doing" not in then
    assert 'class="act on-phone"' not in then, "a button that asks for nothing"
    client.post(f"{address}back/")
    assert not Job.objects.exists() and not Owner.objects.exists()
    assert "Taken back on" in client.get(address).content.decode()
    again = client.get(send(client, JOBS)).content.decode()
    assert (
        "Import 1 past job" not in again and "Left out: Odd." in again
    )  # the days are asked anew, the columns are not
    client.post(f"{address}drop/")
    assert client.get(address).status_code == 404


@pytest.mark.parametrize(
    ("posted", "said"),
    [
        ({"kind": "owners"}, "Choose the file first"),
        ({"kind": "owners", "file": SimpleUploadedFile("a.csv", b"\x89PNG\r\n\x1a\n\0\1")}, "was no text"),
        ({"kind": "spells", "file": SimpleUploadedFile("a.csv", b"a,b\n1,2\n")}, "kind of list was"),
    ],
)
def test_what_is_no_list_is_refused_in_a_sentence(client: Client, posted: dict[str, object], said: str) -> None:
    answer = client.post("/counter/lists/", posted)
    assert answer.status_code == 422 and said in answer.content.decode() and not Import.objects.exists()


def test_odd_presses_are_answered(client: Client) -> None:
    address = send(client, "Name,E-mail\nAnsa,ansa@example.com\n", "owners")
    assert client.post(f"{address}match/", {"known": "burn"}).status_code == 422
    assert client.post(f"{address}read/", {"sheet": "", "encoding": "klingon"}).status_code == 422
    client.post(f"{address}read/", {"sheet": "", "head_row": "0"})
    assert "2 rows" in client.get(address).content.decode() and "Column 1" in client.get(address).content.decode()
    assert client.post(f"{address}back/").status_code == 302 and client.get("/counter/lists/99/").status_code == 404
    assert "not in the book yet" in client.get("/counter/lists/").content.decode()


def test_a_long_list_is_written_beside_the_page_with_progress_and_a_stop(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(services, "AT_ONCE", 0)
    monkeypatch.setattr(services, "TELL_S", 0.0)
    queued: list[int] = []
    monkeypatch.setattr(type(import_task), "enqueue", lambda self, pk: queued.append(pk))
    address = send(client, "Name,E-mail\nAnsa,ansa@example.com\n", "owners")
    client.post(f"{address}match/", typed_into(client.get(address)) | {"do": "import"})
    assert "It is being written into the book" in client.get(address).content.decode()
    assert "Waiting for its turn" in client.get(f"{address}progress/").content.decode()
    client.post(f"{address}stop/")
    services.import_run(*queued)
    assert client.get(f"{address}progress/").headers["HX-Refresh"] == "true"
    assert "Stopped: nothing of it is in the book." in client.get(address).content.decode()
    assert not Owner.objects.exists()
