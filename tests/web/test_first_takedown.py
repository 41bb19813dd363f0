"""The page of the first takedown, and every other page of a reel whose pattern came of it."""

import pytest
from django.test import Client

from levelwind.shop.models import Job, Pattern, Photo
from tests.jobs import a_job
from tests.pages import typed_into
from tests.web.test_photos import picture

pytestmark = pytest.mark.django_db
URL = "/jobs/26-0001/first-takedown/"


def test_a_pattern_comes_of_a_reel_piece_by_piece(client: Client, media: object) -> None:
    a_job(reel="Loft reel", complaint="it grinds")
    assert client.get(URL).headers["Location"] == "/jobs/26-0001/name/"
    begin = "/jobs/26-0001/name/begin/"
    fields = typed_into(client.get(begin + "?family=star_drag"), then="first")
    assert client.post(begin, fields).headers["Location"] == URL
    assert "Begin with the first piece" in client.get(URL).content.decode()
    client.post(URL, {"act": "begin"})
    first = {**typed_into(client.get(URL), name="handle nut", act="out"), "photo": picture()}
    assert client.post(URL, first).status_code == 303
    assert client.post(URL, typed_into(client.get(URL), name="handle", act="out")).status_code == 303
    refused = client.post(URL, typed_into(client.get(URL), name="thing", act="out"))
    assert refused.status_code == 422 and "What kind of piece" in refused.content.decode()
    shown = client.get(URL).content.decode()
    assert "Handle arm, cell 2" in " ".join(shown.split()) and Photo.objects.get().place in shown + "handle_nut"
    client.post(URL, {"act": "back"})
    client.post(URL, typed_into(client.get(URL), name="handle", act="out"))
    assert "The next piece" in client.get("/jobs/26-0001/apart/").content.decode()
    assert client.post(URL, {"act": "end"}).headers["Location"] == "/jobs/26-0001/apart/"
    assert client.get(URL).headers["Location"] == "/jobs/26-0001/apart/"
    assert client.post(URL, {"act": "dance"}).status_code == 302
    for page in ("look-over/", "price/", "parts/", "drag/", "together/"):
        assert client.get(f"/jobs/26-0001/{page}").status_code == 200, page
    assert client.get("/jobs/26-0001/takedown.pdf").status_code == 200
    assert client.get(f"/patterns/{Pattern.objects.get().pk}/").status_code == 200
    assert Job.objects.get().pieces.filter(where="cell").count() == 2
