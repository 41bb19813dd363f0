"""Numbers and days stand on pages and papers as the shop writes them, and are read as a person types them."""

import re
from collections.abc import Iterator
from datetime import timedelta
from html.parser import HTMLParser

import pytest
from django import forms
from django.test import Client
from django.utils import timezone

from levelwind.documents import price as price_paper
from levelwind.documents import proof as proof_paper
from levelwind.shop.models import Job, PriceLine, Shop, Stage
from levelwind.shop.money.services.prices import price_draft
from levelwind.shop.papers.selectors.sheets import price_in_words, proof_sheet
from levelwind.shop.people.selectors import shop_read_once
from levelwind.web.forms import DecimalField, NumberField
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into
from tests.shop.readings.reading_rows import CLEAN, DIRTY, a_pull, a_spin

pytestmark = pytest.mark.django_db
URL = "/jobs/26-0001/"
OTHERWISE = re.compile(
    r"(?<![\w.])\d+\.\d+(?![\w.])|\b\d{1,2} (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)|\b\d{4}-\d\d-\d\d\b"
)
"""A point before decimals, a month's name beside a day, a day as ISO 8601 has it."""
BOOK = "Theory of Machines"
"""Its sections keep their numbers."""


class _Seen(HTMLParser):
    """What a person sees or hears of a page: its words, and what stands in its fields."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self._unseen = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        self._unseen += tag in ("script", "style", "code")
        self.words += [said.get(name) or "" for name in ("aria-label", "placeholder", "title")]
        if tag == "input" and said.get("type", "text") == "text":
            self.words.append(said.get("value") or "")

    def handle_endtag(self, tag: str) -> None:
        self._unseen -= tag in ("script", "style", "code")

    def handle_data(self, data: str) -> None:
        self.words += [] if self._unseen else [data]


def seen(page: str) -> list[str]:
    parser = _Seen()
    parser.feed(page)
    return [word for word in parser.words if word.strip()]


def leaves(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list | tuple):
        for each in value:
            yield from leaves(each)
    elif isinstance(value, bytes):
        yield from seen(value.decode())
    elif isinstance(value, str):
        yield value


@pytest.fixture
def job() -> Job:
    Shop.objects.create(
        pk=1, name="Bench", tax_label="Tax", tax_percent="6.5", numbers_written="comma", days_written="points"
    )
    pattern = a_pattern(gear_ratio=5.4, end_float_low_mm=0.1, end_float_high_mm=0.4, spool_arbor_mm=32.5)
    job = a_job(stage=Stage.LOOKED_OVER, pattern=pattern, promised_on=timezone.localdate() + timedelta(days=9))
    for moment, law in (("found", DIRTY), ("left", CLEAN)):
        a_pull(job, moment, 41.25, 30.5)
        a_spin(job, moment, law)
    price_draft(job=job)
    return job


def test_every_page_and_paper_is_written_as_the_shop_writes(client: Client, job: Job) -> None:
    reading = job.readings.filter(kind="spin").first()
    told = [URL, f"{URL}price/", f"{URL}prove/", f"{URL}readings/found/", f"{URL}drag/", "/", "/counter/hours/"]
    told += [f"/patterns/{job.pattern_id}/", "/fits/", f"{URL}look-over/", f"{URL}readings/found/reading/{reading.pk}/"]
    otherwise = {}
    for address in told:
        answer = client.get(address, follow=True)
        assert answer.status_code == 200, address
        words = seen(answer.content.decode())
        otherwise[address] = [
            word.strip() for word in words if OTHERWISE.search(word) and "Theory of Machines" not in word
        ]
    with shop_read_once():
        papers = {"price": price_paper.layout(price_in_words(job.prices.get()))}
        papers["proof"] = proof_paper.layout(proof_sheet(job))
    for name, forme in papers.items():
        otherwise[name] = [word for word in leaves(dict(forme.data)) if OTHERWISE.search(word)]
    told_otherwise = [f"{where}: {word}" for where, words in otherwise.items() for word in words]
    assert not told_otherwise, "\n".join(told_otherwise)
    assert any(re.search(r"\d,\d", word) for word in leaves(dict(papers["proof"].data)))


def test_a_comma_typed_in_a_field_is_a_comma(client: Client, job: Job) -> None:
    line = PriceLine.objects.filter(price__job=job).first()
    assert line is not None
    for typed, minor in (("1.250,50", 125050), ("12,5", 1250), ("12.50", 1250)):
        fields = typed_into(client.get(f"{URL}price/"), **{f"line{line.pk}-likely_minor": typed})
        client.post(f"{URL}price/line/{line.pk}/", fields)
        line.refresh_from_db()
        assert line.likely_minor == minor, typed
    address = f"/patterns/{job.pattern_id}/"
    assert 'value="32,5"' in client.get(address).content.decode()


def test_no_field_for_a_number_is_the_browser_s_own_and_each_reads_a_comma() -> None:
    """A browser's number field drops the comma that its own language does not write: 12,5 would become 125."""
    assert 'type="text"' in str(forms.IntegerField().widget.render("count", 3))
    assert 'inputmode="numeric"' in str(forms.IntegerField().widget.render("count", 3))
    assert 'inputmode="decimal"' in str(NumberField(label="s").get_bound_field(forms.Form(), "s"))
    with pytest.raises(forms.ValidationError):
        forms.IntegerField().clean("12,5")
    assert NumberField().clean("12,5") == 12.5 and str(DecimalField().clean("6,25")) == "6.25"

    def kinds(of: type[forms.BaseForm]) -> Iterator[type[forms.BaseForm]]:
        for kind in of.__subclasses__():
            yield kind
            yield from kinds(kind)

    plain = {
        f"{kind.__module__}.{kind.__name__}.{name}"
        for kind in kinds(forms.BaseForm)
        if kind.__module__.startswith("levelwind.")
        for name, field in getattr(kind, "base_fields", {}).items()
        if isinstance(field, forms.FloatField | forms.DecimalField)
        and not isinstance(field, NumberField | DecimalField)
        and not isinstance(field, forms.IntegerField)
    }
    assert plain == set()
