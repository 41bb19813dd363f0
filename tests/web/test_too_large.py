"""An upload over the limit is answered in words by its length alone, with or without a script, signed in or not."""

import pytest
from django.test import Client
from pytest_django import Settings

pytestmark = pytest.mark.django_db

LONG = {"CONTENT_LENGTH": "4000000000", "content_type": "multipart/form-data; boundary=x"}


@pytest.mark.parametrize("network", ["", "192.0.2.7"])
@pytest.mark.parametrize("address", ["/", "/jobs/26-0001/readings/found/spin/", "/m/abc/spin/", "/nowhere/"])
def test_four_gigabytes_are_refused_in_a_sentence(
    client: Client, settings: Settings, network: str, address: str
) -> None:
    settings.NETWORK = network
    answer = client.generic("POST", address, b"", **LONG)  # type: ignore[arg-type]
    assert answer.status_code == 413
    page = answer.content.decode()
    assert "A file sent here can be at most 600 MB. This one is 4,000 MB." in page
    assert "Go back" in page


@pytest.mark.parametrize("length", ["", "0", "600399999", "many", "-5"])
def test_anything_smaller_goes_on_its_way(client: Client, length: str) -> None:
    answer = client.generic("GET", "/nowhere/", b"", CONTENT_LENGTH=length)
    assert answer.status_code == 404
