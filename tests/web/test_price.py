"""The price page: every line saves as it is typed, sums follow, refusals stand beside their field."""

import pytest
from django.test import Client

from levelwind.shop.models import Job, PriceLine, Stage
from levelwind.shop.money.services.prices import price_draft
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
URL = "/jobs/26-0001/price/"
HTMX = {"hx-request": "true"}


@pytest.fixture
def line() -> PriceLine:
    found = price_draft(job=a_job(stage=Stage.LOOKED_OVER, pattern=a_pattern())).lines.first()
    assert found is not None
    return found


def test_an_empty_page_says_what_to_do_first(client: Client) -> None:
    a_job(pattern=a_pattern())
    assert "Make up the price" in client.get(URL).content.decode()
    client.post(URL + "draft/")
    assert "Renew the drag set" in client.get(URL).content.decode()


def _typed(client: Client, line: PriceLine, **typed: str) -> dict[str, str]:
    return typed_into(client.get(URL), **{f"line{line.pk}-{name}": text for name, text in typed.items()})


def test_a_typed_sum_is_saved_and_pushes_the_other_ends_along(client: Client, line: PriceLine) -> None:
    answer = client.post(f"{URL}line/{line.pk}/", _typed(client, line, likely_minor="200"), headers=HTMX)
    line.refresh_from_db()
    assert (line.likely_minor, line.high_minor) == (20000, 20000)
    assert line.low_minor < 20000
    assert 'id="totals"' in answer.content.decode()


@pytest.mark.parametrize(("typed", "words"), [("-5", "can be 0 or more"), ("a lot", "can be a number")])
def test_a_refused_sum_is_said_and_the_rest_is_kept(client: Client, line: PriceLine, typed: str, words: str) -> None:
    fields = _typed(client, line, likely_minor=typed, text="Full service")
    answer = client.post(f"{URL}line/{line.pk}/", fields)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert words in page and f'value="{typed}"' in page
    before = line.likely_minor
    line.refresh_from_db()
    assert (line.text, line.likely_minor) == ("Full service", before)


def test_two_people_in_one_line(client: Client, line: PriceLine) -> None:
    mine, theirs = _typed(client, line, text="Mine"), _typed(client, line, text="Theirs")
    client.post(f"{URL}line/{line.pk}/", theirs, headers=HTMX)
    answer = client.post(f"{URL}line/{line.pk}/", mine)
    assert "Theirs" in answer.content.decode() and "Mine" in answer.content.decode()
    line.refresh_from_db()
    assert line.text == "Theirs"


def test_lines_are_added_and_taken_away(client: Client, line: PriceLine) -> None:
    client.post(URL + "add/", {"kind": "part", "text": "Handle knob", "likely_minor": "12.50"})
    added = PriceLine.objects.get(text="Handle knob")
    assert (added.low_minor, added.high_minor) == (1250, 1250)
    client.post(URL + "remove/", {"line": added.pk})
    assert not PriceLine.objects.filter(pk=added.pk).exists()
    assert client.post(URL + "add/", {"kind": "moon", "text": ""}).status_code == 422


def test_sent_it_waits_and_the_word_is_taken_down(client: Client, line: PriceLine) -> None:
    client.post(URL + "send/")
    assert Job.objects.get().turn == "owner"
    client.post(URL + "word/", {"said": "up_to", "up_to_minor": "90", "how": "phone", "note": "by Friday"})
    assert Job.objects.get().stage == Stage.AGREED
    page = client.get(URL).content.decode()
    assert "Yes, up to a sum" in page and "$90.00" in page


def test_a_word_without_its_sum_is_refused_beside_it(client: Client, line: PriceLine) -> None:
    answer = client.post(URL + "word/", {"said": "up_to", "how": "phone"})
    assert answer.status_code == 422
    assert "the most the owner agreed to" in answer.content.decode()


def test_a_day_gone_by_is_refused_and_kept_as_typed(client: Client, line: PriceLine) -> None:
    answer = client.post(URL + "promise/", {"promised_on": "2020-01-01", "was-promised_on": ""})
    assert answer.status_code == 422
    assert 'value="2020-01-01"' in answer.content.decode()


def test_the_paper_opens(client: Client, line: PriceLine) -> None:
    answer = client.get("/jobs/26-0001/price.pdf")
    assert (answer.headers["Content-Type"], answer.content[:5]) == ("application/pdf", b"%PDF-")
