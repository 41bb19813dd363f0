"""When a job will be done, foretold from the bench: jobs in hand, hours, days off, and how long owners and parts took.

What a job's last price says is its work; where there is none, what the shop's prices usually say. Where the shop's own
past is short the spreads are judgements, and it is said.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

import numpy as np
from django.db.models import Exists, OuterRef, Q
from django.utils import timezone

from levelwind.core import supply
from levelwind.core.supply.model import LONGEST_DAYS, LONGEST_MIN, MOST_PACE
from levelwind.shop.jobs.selectors.jobs import job_list
from levelwind.shop.jobs.selectors.minutes import NOT_HOME, clocked, paces
from levelwind.shop.models import Job, PartOrder, Price, PriceLine, Stage, Turn, Word
from levelwind.shop.parts.selectors.shelf import stocks
from levelwind.shop.parts.selectors.suppliers import (
    FEWEST,
    JUDGED,
    days_named,
    days_of,
    days_taken,
    nine_in_ten,
    no_more,
    supplier_rows,
)
from levelwind.shop.people.selectors import calendar

FUTURES, FUTURES_OF_A_REASON = 2000, 400
"""For a page: a chance of 80 % is known to 1 %, a what-if to a day or so. Our choice: a tenth of a second."""
NEWEST = 200
"""Of the past that is looked at; our choice: a shop changes."""
NOON = 12
"""From this hour on today counts no more. Our choice."""
LOOKING, PRICING = supply.Spread(5, 15, 40), supply.Spread(3, 8, 20)
"""min; to look over a reel that is booked in, and to make its price up. Judgements; common practice, no source."""
USUAL = supply.Spread(30, 75, 240)
"""min of work on a reel of which nothing is known. A judgement; common practice, no source."""
FOUND = 0.125
"""Chance that an opened reel needs a part that its price did not foresee. A judgement; common practice, no source. At
one in ten the day that 90 % hold would hang on the draw."""
OWNERS = supply.Spread(0, 3, 21)
"""Days until an owner answers. A judgement; common practice, no source."""
LEFT = {Stage.APART: 0.6, Stage.TOGETHER: 0.25, Stage.PROVED: 0.1, Stage.BOXED: 0.05}
"""Share of a job's minutes still to be done at a stage. Judgements."""
PACE = supply.Spread(0.8, 1.0, 1.6)
"""Minutes that an expected minute takes, alike for all jobs: the telephone, the counter, a cold. A judgement."""
LOST = supply.Spread(1.0, 1.05, 1.3)
"""The telephone and the counter alone, which the clocks of the steps do not see. A judgement."""
SHUT = (Stage.BOOKED_IN, Stage.LOOKED_OVER, Stage.PRICE_SENT, Stage.AGREED)
"""Stages of a reel that nobody has opened yet."""
LEAST_LEFT = 0.1
"""Share of a job's minutes that is still to be done, however much its clock has counted. Our choice."""
WEEKS = 52
"""Over which urgent reels and comebacks are counted. Our choice: a year has every season once."""
FEWEST_WEEKS = 8
"""Weeks of a book from which it is told how often they come. Our choice."""
MOST_PRESSING = 0.5
"""Share of the hours that work not yet brought is counted for at the most. Our choice: more, and no date is told."""
EARLIER, LATER = 0.8, 2.0
"""How far a day that a supplier named is off, until its own orders tell: from so much to so much of the days it named.
Judgements."""


@dataclass(frozen=True, slots=True)
class Rests:
    """A spread and how many cases of the shop's own it was taken from; too few, and it is a judgement."""

    spread: supply.Spread
    cases: int

    @property
    def own(self) -> bool:
        return self.cases >= FEWEST


@dataclass(frozen=True, slots=True)
class Often:
    """A chance, and how many cases of the shop's own it was counted in; too few, and it is a judgement."""

    chance: float
    cases: int

    @property
    def own(self) -> bool:
        return self.cases >= FEWEST


@dataclass(frozen=True, slots=True)
class Facts:
    """What the shop's own past says of minutes, owners and parts."""

    minutes: Rests
    owners: Rests
    parts: Rests
    found: Often
    """That a part turns out broken only once the reel is open."""
    pace: Rests
    coming: supply.Coming | None
    """Urgent reels and comebacks that nobody has brought yet."""


@dataclass(frozen=True, slots=True)
class Foretold:
    """A job's dates by their chances, and what they rest on."""

    likely: date
    sure: date
    surest: date
    in_hand: int
    facts: Facts
    why: supply.Reason
    priced: bool

    @property
    def dates(self) -> tuple[tuple[date, float], ...]:
        """The days with their chances, each once: the surest of its day."""
        return tuple({self.likely: 0.5, self.sure: 0.8, self.surest: 0.9}.items())


@dataclass(frozen=True, slots=True)
class Bench:
    """The shop as the futures take it, with its jobs in the same order."""

    shop: supply.Shop
    jobs: tuple[Job, ...]
    facts: Facts
    priced: frozenset[int]
    """Keys of the jobs that have a price."""

    def number(self, job: Job) -> int:
        return [each.pk for each in self.jobs].index(job.pk)


def hours_known() -> bool:
    return calendar(timezone.localdate()) is not None


def foretold(job: Job) -> Foretold | None:
    """None where the shop has not said its hours, or the job is over."""
    found = None if job.is_over else bench()
    if found is None:
        return None
    shop, number = found.shop, found.number(job)
    futures = _futures(shop, job.pk)
    likely, sure, surest = (futures.done_by(number, chance) for chance in (0.5, 0.8, 0.9))
    why = _reason(shop, job.tag, job.pk)
    return Foretold(likely, sure, surest, len(shop.jobs), found.facts, why, job.pk in found.priced)


def chance_of(job: Job, day: date) -> float | None:
    """Of having the job done by that day's evening; None as ``foretold``."""
    found = None if job.is_over else bench()
    if found is None:
        return None
    return _futures(found.shop, job.pk).chance(found.number(job), day)


@lru_cache(maxsize=4)
def _futures(shop: supply.Shop, seed: int) -> supply.Futures:
    """Played once while nothing of the shop has changed that they are played from: all of it is in ``shop``."""
    return supply.futures(shop, np.random.default_rng(seed), FUTURES)


@lru_cache(maxsize=16)
def _reason(shop: supply.Shop, tag: str, seed: int) -> supply.Reason:
    return supply.reason(shop, tag, np.random.default_rng(seed), FUTURES_OF_A_REASON)


def bench(*, whole_today: bool = False) -> Bench | None:
    """All jobs in hand in the order of their promises; None where the shop has not said its hours, or has none.

    Today counts until noon, or the whole of it where what is promised for today is to be done yet: then what nobody has
    brought yet is left out, for an order of the bench is of what is there.
    """
    now = timezone.localtime()
    today = now.date() + timedelta(days=now.hour >= NOON and not whole_today)
    hours = calendar(today)
    jobs = sorted(job_list(), key=lambda each: (each.promised_on or date.max, each.booked_in_at, each.pk))
    if hours is None or not jobs:
        return None
    prices = {price.job_id: price for price in Price.objects.filter(job__in=jobs).prefetch_related("lines")}
    usual = _minutes_usual()
    facts = Facts(usual, _owners(), _parts(), _found(), _pace(paces()), _coming(usual.spread, hours))
    missing, clock = _missing(prices.values()), clocked([each for each in jobs if each.stage in LEFT])
    in_hand = tuple(_job(each, prices.get(each.pk), facts, missing, today, clock.get(each.pk, 0.0)) for each in jobs)
    coming = (facts.coming,) if facts.coming and not whole_today else ()
    shop = supply.Shop(today, hours, in_hand, coming=coming, pace=facts.pace.spread)
    return Bench(shop, tuple(jobs), facts, frozenset(prices))


def _job(
    job: Job, price: Price | None, facts: Facts, missing: frozenset[int], today: date, clock_min: float
) -> supply.Job:
    asks = job.stage in (Stage.BOOKED_IN, Stage.LOOKED_OVER) and not (job.is_own or job.free)
    first = {Stage.BOOKED_IN: LOOKING, Stage.LOOKED_OVER: PRICING}.get(Stage(job.stage))
    owner = None
    if asks or job.turn == Turn.OWNER:
        since = timezone.localdate(job.waiting_since) if job.waiting_since and job.turn == Turn.OWNER else None
        owner = supply.Wait(facts.owners.spread, min(since, today) if since else None, what="the owner’s answer")
    whole = (_minutes(price.lines.all()) if price else None) or facts.minutes.spread
    parts = _waits(job, price, facts, missing, today)
    return supply.Job(
        tag=job.tag,
        minutes=_left(Stage(job.stage), whole, clock_min),
        urgent=job.urgent,
        first=None if job.turn == Turn.OWNER else first,
        owner=owner,
        parts=parts,
        found=_broken(parts, facts) if job.stage in SHUT else None,
        promised=job.promised_on,
    )


def _left(stage: Stage, whole: supply.Spread, clock_min: float) -> supply.Spread:
    """Of a job's minutes: less what its own clock has counted while it is apart, else the stage's share."""
    whole = supply.Spread(whole.low, whole.likely, max(whole.high, 1.0))
    if stage != Stage.APART or not clock_min:
        return whole.times(LEFT.get(stage, 1.0))
    return supply.Spread(*(max(each - clock_min, LEAST_LEFT * each) for each in whole.ends))


def _waits(job: Job, price: Price | None, facts: Facts, missing: frozenset[int], today: date) -> supply.Wait | None:
    """For the order expected last; else, where a part of its price is not on the shelf, for one yet to be ordered."""
    orders = [order for order in job.part_orders.all() if order.arrived_on is None]
    if orders:
        last = max(orders, key=lambda order: (order.expected_on or date.min, order.ordered_on))
        ordered = min(last.ordered_on, today)
        return supply.Wait(_named(last, today) or _usual(last, facts), ordered, what=last.part.name)
    lines = price.lines.all() if price and job.stage in SHUT else ()
    if job.turn == Turn.PART or any(line.part_id in missing for line in lines):
        return supply.Wait(facts.parts.spread, what="a part")
    return None


def _broken(parts: supply.Wait | None, facts: Facts) -> supply.Found | None:
    """None where what is on order may take nearly as long as is looked ahead: a date is told all the same."""
    longest = facts.parts.spread.high + (parts.days.high if parts else 0)
    return supply.Found(facts.found.chance, facts.parts.spread) if longest < LONGEST_DAYS else None


def _named(order: PartOrder, today: date) -> supply.Spread | None:
    """Around the day that the supplier named, while that day is to come."""
    if order.expected_on is None or order.expected_on < today:
        return None
    days = max((order.expected_on - order.ordered_on).days, 1)
    told = days_named(order.supplier, days) or supply.Spread(EARLIER * days, days, LATER * days)
    return no_more(told, LONGEST_DAYS)


def _usual(order: PartOrder, facts: Facts) -> supply.Spread:
    """What its supplier usually takes, where that is known; else what all take."""
    days = days_of(order.supplier, supplier_rows().filter(name__iexact=order.supplier).first())
    return facts.parts.spread if days.rests == "judged" else days.spread


def _missing(prices: Iterable[Price]) -> frozenset[int]:
    """Parts of the prices of which there is none on the shelf."""
    asked = {line.part_id for price in prices for line in price.lines.all() if line.part_id}
    there = stocks(asked)
    return frozenset(part for part in asked if part not in there or there[part].all <= 0)


def _minutes(lines: Iterable[PriceLine]) -> supply.Spread | None:
    """Of a price's lines of work, which stray as their money does."""
    low = likely = high = 0.0
    for line in lines:
        if line.minutes:
            share = line.minutes / line.likely_minor if line.likely_minor else 0.0
            likely += line.minutes
            low += line.low_minor * share if share else line.minutes
            high += line.high_minor * share if share else line.minutes
    if not likely:
        return None
    return no_more(supply.through(min(low, likely), likely, max(high, likely)), LONGEST_MIN)


def _rests(values: Sequence[float], judged: supply.Spread, most: float = LONGEST_DAYS) -> Rests:
    """Nine of ten of the shop's own cases, and their middle."""
    if len(values) < FEWEST:
        return Rests(judged, len(values))
    return Rests(nine_in_ten(values, most), len(values))


def _minutes_usual() -> Rests:
    newest = Price.objects.filter(sent_at__isnull=False).order_by("-pk").values_list("pk", flat=True)[:NEWEST]
    lines = PriceLine.objects.filter(price__in=list(newest), minutes__gt=0).order_by()
    by_price: dict[int, list[PriceLine]] = {}
    for line in lines.only("price", "minutes", "low_minor", "likely_minor", "high_minor"):
        by_price.setdefault(line.price_id, []).append(line)
    return _rests([work.likely for work in map(_minutes, by_price.values()) if work], USUAL, LONGEST_MIN)


def _owners() -> Rests:
    """Days from a price sent to the owner's first word on it."""
    words = Word.objects.filter(price__sent_at__isnull=False).select_related("price").order_by("-pk")[:NEWEST]
    first = {word.price_id: word for word in words}
    days = [(word.at - word.price.sent_at).total_seconds() / 86400 for word in first.values() if word.price.sent_at]
    return _rests(days, OWNERS)


def _parts() -> Rests:
    """Days from an order to the shelf."""
    return _rests(days_taken(), JUDGED)


def _found() -> Often:
    """Of the newest reels that went home on a price, how many had a part ordered that the first price had not named."""
    priced = Exists(Price.objects.filter(job=OuterRef("pk"), sent_at__isnull=False))
    gone = Job.objects.exclude(stage__in=NOT_HOME).filter(priced)
    jobs = list(gone.order_by("-stage_since", "-pk").values_list("pk", flat=True)[:NEWEST])
    first: dict[int, set[int | None]] = {}
    told = Price.objects.filter(job__in=jobs, sent_at__isnull=False).prefetch_related("lines").order_by("number")
    for price in told:
        first.setdefault(price.job_id, {line.part_id for line in price.lines.all()})
    ordered = PartOrder.objects.filter(job__in=jobs).values_list("job", "part")
    broken = {job for job, part in ordered if part not in first[job]}
    return often(len(broken), len(jobs))


def often(came: int, cases: int) -> Often:
    """Counted by (k + ½) in n + 1, for none of n is not never; a judgement with too few.

    >>> often(3, 40).chance, often(1, 4).chance
    (0.08536585, 0.125)
    """
    return Often((came + 0.5) / (cases + 1) if cases >= FEWEST else FOUND, cases)


def _pace(by_fortnight: Sequence[float]) -> Rests:
    """From the clocks of the steps, stretched by what they do not see; a judgement with too few fortnights."""
    if len(by_fortnight) < FEWEST:
        return Rests(PACE, len(by_fortnight))
    low, middle, high = nine_in_ten(by_fortnight, MOST_PACE).ends
    ends = (max(low, LEAST_LEFT) * LOST.low, middle * LOST.likely, high * LOST.high)
    return Rests(no_more(supply.Spread(*ends), MOST_PACE), len(by_fortnight))


def _coming(minutes: supply.Spread, hours: supply.Calendar) -> supply.Coming | None:
    """As often as urgent reels and comebacks came in the last year; None where none came, or the book is too young."""
    today = timezone.now()
    begun = Job.objects.order_by("booked_in_at").values_list("booked_in_at", flat=True).first()
    weeks = min(float(WEEKS), (today - begun).days / 7) if begun else 0.0
    if weeks < FEWEST_WEEKS:
        return None
    pressing = Q(urgent=True) | Q(comeback_of__isnull=False)
    came = Job.objects.filter(pressing, booked_in_at__gt=today - timedelta(weeks=WEEKS)).count()
    return _often(came, weeks, minutes, sum(hours.hours) * 60) if came else None


def _often(came: int, weeks: float, minutes: supply.Spread, weekly_min: float) -> supply.Coming:
    """A rate by (k + ½) in so many weeks, but no more than a share of the hours."""
    most = MOST_PRESSING * weekly_min / (minutes.mean * PACE.mean)
    return supply.Coming(min((came + 0.5) / weeks, most), minutes, "urgent reels and comebacks")
