"""Readings pages: typed or dropped, refused beside their field, struck out and read again."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from levelwind.shop.models import Reading, Shop
from tests.jobs import a_job
from tests.shop.test_readings import a_log

pytestmark = pytest.mark.django_db
URL = "/jobs/26-0001/readings/found/"


def _drop(client: Client, content: bytes, name: str = "scale.csv", unit: str = "auto") -> str:
    file = SimpleUploadedFile(name, content)
    answer = client.post(URL + "log/", {"log": file, "unit": unit}, follow=True)
    return answer.content.decode()


def test_a_dropped_log_is_drawn_with_what_was_found(client: Client) -> None:
    a_job()
    page = _drop(client, a_log().read())
    assert "<polyline" in page and "start-up ratio" in page


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"time (s),force (N)\n", "no number"),
        (b"time (s),colour\n0,1\n1,2\n", "no number"),
        (b"time (s),force (N)\n5,1\n4,1\n3,1\n2,1\n1,1\n0,1\n", "no number"),
        (b"time (s),force (N)\n" + b"".join(b"%d,nan\n" % n for n in range(50)), "no number"),
    ],
)
def test_a_bad_log_gives_a_sentence_and_never_a_fault(client: Client, content: bytes, words: str) -> None:
    a_job()
    assert words in _drop(client, content)


def test_a_log_without_a_unit_is_asked_about_and_read_again(client: Client) -> None:
    a_job()
    assert "unit" in _drop(client, a_log("time,force").read())
    client.post(f"/jobs/26-0001/reading/{Reading.objects.get().pk}/again/", {"unit": "kgf"})
    assert Reading.objects.get(struck_out=False).told == {"unit": "kgf"}


@pytest.mark.parametrize("unit", ["moon", ""])
def test_an_unknown_unit_is_refused(client: Client, unit: str) -> None:
    a_job()
    _drop(client, a_log("time,force").read())
    client.post(f"/jobs/26-0001/reading/{Reading.objects.get().pk}/again/", {"unit": unit})
    assert not Reading.objects.filter(struck_out=False, refused="").exists()


def test_typed_forces_may_carry_their_own_unit(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench", force_unit="lbf")
    a_job()
    client.post(URL + "type/pull/", {"pull-breakaway_N": "14", "pull-running_N": "53.4 N"})
    typed = Reading.objects.get().typed
    assert typed["breakaway_N"] == pytest.approx(62.275, abs=1e-3)
    assert typed["running_N"] == pytest.approx(53.4)


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("pull", {"pull-breakaway_N": "-3", "pull-running_N": "12"}),
        ("pull", {"pull-breakaway_N": "9", "pull-running_N": "30"}),
        ("spin", {"spin-spin_time_s": "forever"}),
        ("end_float", {"end_float-end_float_mm": "-1"}),
        ("turn", {"turn-torque_Nm": "nan"}),
    ],
)
def test_a_number_that_cannot_be_is_refused_and_kept_as_typed(
    client: Client, kind: str, fields: dict[str, str]
) -> None:
    a_job()
    answer = client.post(f"{URL}type/{kind}/", fields)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert all(f'value="{text}"' in page for text in fields.values())
    assert not Reading.objects.exists()


def test_struck_out_and_taken_in_again(client: Client) -> None:
    a_job()
    client.post(URL + "type/spin/", {"spin-spin_time_s": "34"})
    pk = Reading.objects.get().pk
    client.post(f"/jobs/26-0001/reading/{pk}/strike/")
    assert "struck out" in client.get(URL).content.decode()
    client.post(f"/jobs/26-0001/reading/{pk}/restore/")
    assert not Reading.objects.get().struck_out


@pytest.mark.parametrize("path", ["/jobs/26-0001/readings/moon/", "/jobs/26-0001/readings/found/type/moon/"])
def test_nothing_stands_at_a_wrong_address(client: Client, path: str) -> None:
    a_job()
    assert client.post(path).status_code in (404, 405)
