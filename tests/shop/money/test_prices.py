"""Prices made up from hunches, sent, and answered."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.hunches import job_net
from levelwind.shop.jobs.services.looks import finding_record
from levelwind.shop.models import Part, Price, PriceLine, Shop, Stage
from levelwind.shop.money.selectors import (
    FEWEST_JOBS,
    price_latest,
    price_totals,
    promise_chance,
    promise_days,
)
from levelwind.shop.money.services.prices import (
    price_copy,
    price_draft,
    price_line_add,
    price_line_remove,
    price_promise,
    price_send,
    word_record,
)
from levelwind.shop.money.tax import tax_on
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.patterns.selectors.layouts import job_places
from tests.jobs import a_job, a_pattern


@pytest.mark.django_db
def test_a_drafted_price_has_the_service_and_a_line_for_each_likely_fault() -> None:
    job = a_job(pattern=a_pattern())
    finding_record(job=job, finding="washers_thin", sight="yes")
    price = price_draft(job=job)
    texts = [line.text for line in price.lines.all()]
    assert texts[0] == "Take apart, clean, oil and grease, put together"
    assert "Renew the drag set" in texts
    assert all(line.low_minor <= line.likely_minor <= line.high_minor for line in price.lines.all())


@pytest.mark.django_db
def test_a_drag_set_is_priced_even_if_the_washers_look_sound() -> None:
    """A drag set is about ten dollars, so on a reel that is open it is renewed unseen. Common practice, no source."""
    job = a_job(complaint="", pattern=a_pattern())
    price = price_draft(job=job)
    drag = price.lines.get(text="Renew the drag set")
    assert drag.low_minor == drag.likely_minor > 0
    assert "unseen" in drag.because


@pytest.mark.django_db
def test_a_sent_price_stays_as_it_is() -> None:
    price = price_draft(job=a_job())
    price_send(price=price)
    line = price.lines.first()
    assert line is not None
    with pytest.raises(LevelwindError, match="sent and stays"):
        price_line_add(price=price, kind="work", text="more")
    with pytest.raises(LevelwindError, match="sent and stays"):
        price_line_remove(price=price, line_pk=line.pk)
    copy = price_copy(price=price)
    assert (copy.number, copy.sent_at, copy.lines.count()) == (2, None, price.lines.count())
    assert price_latest(price.job) == copy


@pytest.mark.django_db
def test_an_empty_price_cannot_be_sent() -> None:
    with pytest.raises(LevelwindError, match="without a line"):
        price_send(price=Price.objects.create(job=a_job()))


@pytest.mark.django_db
@pytest.mark.parametrize(("said", "stage"), [("yes", Stage.AGREED), ("up_to", Stage.AGREED), ("no", Stage.PRICE_SENT)])
def test_the_owners_word_moves_the_job(said: str, stage: Stage) -> None:
    job = a_job()
    price = price_draft(job=job)
    price_send(price=price)
    assert (job.stage, job.turn) == (Stage.PRICE_SENT, "owner")
    word_record(price=price, said=said, how="phone", up_to_minor=9000 if said == "up_to" else None)
    job.refresh_from_db()
    assert (job.stage, job.turn) == (stage, "mine")


@pytest.mark.django_db
def test_yes_up_to_a_sum_needs_the_sum() -> None:
    with pytest.raises(LevelwindError, match="Enter the most the owner agreed to"):
        word_record(price=price_draft(job=a_job()), said="up_to", how="phone")


@pytest.mark.django_db
def test_a_day_gone_by_cannot_be_promised() -> None:
    with pytest.raises(LevelwindError, match="That day is past"):
        price_promise(job=a_job(), day=date(2026, 5, 1), today=date(2026, 5, 2))


@pytest.mark.django_db
def test_without_a_history_a_promise_has_no_chance_beside_it() -> None:
    job = price_promise(job=a_job(), day=timezone.localdate() + timedelta(days=9))
    assert job.promise_chance is None


@given(st.lists(st.integers(0, 90), min_size=FEWEST_JOBS, max_size=60), st.integers(0, 90))
def test_a_later_promise_is_never_less_sure(took: list[int], days: int) -> None:
    sooner, later = promise_chance(days, took).chance, promise_chance(days + 1, took).chance
    assert sooner is not None and later is not None
    assert 0 < sooner <= later < 1


@given(st.lists(st.integers(0, 90), min_size=FEWEST_JOBS, max_size=60))
def test_days_enough_for_most_were_enough_for_most(took: list[int]) -> None:
    days = promise_days(took)
    assert days is not None
    assert sum(one <= days for one in took) >= 0.85 * len(took) - 1


@given(st.integers(0, 10**9), st.integers(0, 10**9))
def test_tax_never_shrinks_as_the_sum_grows(one: int, other: int) -> None:
    percent = Decimal("8.25")
    low, high = sorted((one, other))
    assert tax_on(low, percent) <= tax_on(high, percent)
    assert abs(tax_on(high, percent) - high * 0.0825) <= 0.5 + 1e-6 * high


def test_totals_add_each_end_and_its_tax() -> None:
    lines = [PriceLine(low_minor=100, likely_minor=200, high_minor=300) for _ in range(2)]
    totals = price_totals(lines, Shop(tax_percent=10))
    assert (totals.low, totals.likely, totals.high) == (200, 400, 600)
    assert totals.with_tax == (220, 440, 660)


@pytest.mark.django_db
def test_parts_cost_what_the_shelf_asks_where_it_has_a_price_for_every_place() -> None:
    Shop.objects.create(pk=1, name="Bench")
    job = a_job(pattern=a_pattern())
    finding_record(job=job, finding="washers_thin", sight="yes")
    usual = price_draft(job=job).lines.get(text__startswith="Parts to", place="friction_1")
    fault = next(fault for fault in job_net(job).faults if fault.places[:1] == ("friction_1",))
    counts = {place.key: place.count for place in job_places(job)}
    washer, dear = part_add(number="W 1", name="washer", price_minor=450), part_add(number="W 2", name="washer")
    for place in fault.places[1:]:
        fit_say(part=washer, pattern=job.pattern, place=place)
    half = price_draft(job=job).lines.get(text__startswith="Parts to", place="friction_1")
    assert (half.low_minor, half.high_minor) == (usual.low_minor, usual.high_minor)
    Part.objects.filter(pk=dear.pk).update(price_minor=900)
    for place in fault.places:
        fit_say(part=washer, pattern=job.pattern, place=place)
        fit_say(part=dear, pattern=job.pattern, place=place, sure=0.5)
    line = price_draft(job=job).lines.get(text__startswith="Parts to", place="friction_1")
    pieces = sum(counts[place] for place in fault.places)
    assert (line.low_minor, line.likely_minor, line.high_minor) == (450 * pieces, 450 * pieces, 900 * pieces)
    assert "The shelf's own price of W 1." in line.because
