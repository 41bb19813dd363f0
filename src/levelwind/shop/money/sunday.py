"""How the shop did: hours and money by kind of work, what a bench hour earned, turnaround, promises, comebacks.

A reel counts on the day it went home, with all that was billed for it, whenever that was.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import cached_property

import numpy as np
from django.db.models import F, Max, Min, OuterRef, QuerySet, Subquery, Sum
from django.utils import timezone

from levelwind.core.writing import month_in_words
from levelwind.reference.families import family
from levelwind.shop.jobs.selectors.minutes import NOT_HOME
from levelwind.shop.models import (
    Job,
    MoneyEntry,
    Owner,
    PartOrder,
    Pattern,
    Price,
    PriceLine,
    Sending,
    StockEntry,
)
from levelwind.shop.people.selectors import calendar, shop_get

UNKNOWN = "not in the pattern book"
FEWEST = 3
"""Reels of a pattern from which it is said what it pays. Our choice: of fewer one odd reel decides."""
MOST = 8
"""Patterns and parts that are named. Our choice: what a person reads."""
MOST_YEARS = 4
"""Years that a page is offered of. Our choice: one line on a phone."""
SEASONS_DAYS = 730
"""Days after which an owner has not been seen for two seasons."""


@dataclass(frozen=True, slots=True)
class Time:
    """From one day to another, both in it."""

    first: date
    last: date

    @property
    def begins(self) -> datetime:
        return timezone.make_aware(datetime.combine(self.first, time.min))

    @property
    def ends(self) -> datetime:
        return timezone.make_aware(datetime.combine(self.last + timedelta(days=1), time.min))

    def holds(self, day: date) -> bool:
        return self.first <= day <= self.last


def the_year(today: date, year: int | None = None) -> Time:
    """A calendar year; or the twelve months up to today's, this one as far as it has gone."""
    if year is not None:
        return Time(date(year, 1, 1), date(year, 12, 31))
    return Time(date(today.year - (today.month < 12), today.month % 12 + 1, 1), today)


@dataclass(frozen=True, slots=True)
class Home:
    """A reel that went home."""

    pk: int
    pattern: int | None
    family: str
    booked_in: date
    day: date
    promised: date | None
    minutes: int
    money: int
    """Billed, without tax, less credits; minor units."""
    parts: int
    """What the parts taken for it cost."""

    @property
    def kept(self) -> bool | None:
        return None if self.promised is None else self.day <= self.promised

    @property
    def hours(self) -> float:
        return self.minutes / 60

    @property
    def month(self) -> str:
        return f"{self.day:%Y-%m}"

    @property
    def took(self) -> int:
        return (self.day - self.booked_in).days


@dataclass(frozen=True, slots=True)
class Sums:
    """Some reels together; ``key`` opens them."""

    key: str
    name: str
    reels: int
    minutes: int
    money: int
    parts: int

    @property
    def hours(self) -> float:
        return self.minutes / 60

    @property
    def an_hour(self) -> int | None:
        """What a billed hour earned after parts, in minor units; None where no minutes stand on its prices."""
        return round(60 * (self.money - self.parts) / self.minutes) if self.minutes else None


@dataclass(frozen=True, slots=True)
class Comeback:
    """A reel that came back under the guarantee: the stay before it, and what it cost."""

    job: Job
    before: Job
    days: int
    cost: int
    took: str
    """The parts it took."""


@dataclass(frozen=True, slots=True)
class Blocking:
    """A part that reels waited for."""

    part: int
    name: str
    reels: int
    days: float
    """In the mean, from order to shelf."""


@dataclass(frozen=True)
class Sunday:
    time: Time
    homes: tuple[Home, ...]
    hours_worked: float | None
    """By the hours and days off as they are said now; None where none are."""
    comebacks: tuple[Comeback, ...]
    blocking: tuple[Blocking, ...]
    names: dict[int, str]
    """Patterns by their key."""
    listed: int
    """Reels that went home within the time by a list of before this book: what they brought is in no figure."""

    @cached_property
    def all(self) -> Sums:
        return _sums("", "All", self.homes)

    @cached_property
    def by_month(self) -> dict[str, list[Home]]:
        """What went home in every month of the time, the empty ones too."""
        months = {f"{month:%Y-%m}": list[Home]() for month in _months_of(self.time)}
        for home in self.homes:
            months[home.month].append(home)
        return months

    @cached_property
    def months(self) -> tuple[Sums, ...]:
        return tuple(_sums(key, month_named(key), homes) for key, homes in self.by_month.items())

    @cached_property
    def kinds(self) -> tuple[Sums, ...]:
        return _by(self.homes, lambda home: home.family, lambda key: family(key).name if key else UNKNOWN)

    @cached_property
    def patterns(self) -> tuple[Sums, ...]:
        """Those that pay best an hour first, of patterns with reels enough."""
        known = [home for home in self.homes if home.pattern]
        rows = _by(known, lambda home: str(home.pattern), lambda key: self.names[int(key)])
        told = [row for row in rows if row.reels >= FEWEST and row.an_hour is not None]
        return tuple(sorted(told, key=lambda row: -(row.an_hour or 0)))

    @property
    def pay_best(self) -> tuple[Sums, ...]:
        return self.patterns[:MOST]

    @property
    def pay_least(self) -> tuple[Sums, ...]:
        return self.patterns[MOST:][-MOST:]

    @cached_property
    def days(self) -> tuple[int, int] | None:
        """Days from booking in to home: the middle, and within which nine in ten went."""
        if not self.homes:
            return None
        took = [home.took for home in self.homes]
        return round(float(np.median(took))), round(float(np.quantile(took, 0.9)))

    @cached_property
    def promised(self) -> int:
        return sum(home.kept is not None for home in self.homes)

    @cached_property
    def kept(self) -> int:
        return sum(home.kept is True for home in self.homes)

    @property
    def comebacks_cost(self) -> int:
        return sum(each.cost for each in self.comebacks)


def sunday(time: Time) -> Sunday:
    homes = tuple(homes_of(time))
    patterns = Pattern.objects.filter(pk__in={home.pattern for home in homes}).order_by()
    rows = patterns.values_list("pk", "maker", "model", "size")
    names = {pk: " ".join(filter(None, name)) for pk, *name in rows}
    return Sunday(
        time, homes, hours_worked(time), tuple(_comebacks(time)), tuple(_blocking(time)), names, _listed(time)
    )


def _listed(time: Time) -> int:
    gone = Job.objects.exclude(stage__in=NOT_HOME).filter(stage_since__gte=time.begins, stage_since__lt=time.ends)
    return gone.filter(sending=None).count()


def years_told(today: date) -> tuple[int, ...]:
    """This year and those before it, back to the first reel that went home; the newest few."""
    first = Sending.objects.aggregate(first=Min("sent_at"))["first"]
    since = timezone.localdate(first).year if first else today.year
    return tuple(range(today.year, max(since - 1, today.year - MOST_YEARS), -1))


def went_home(time: Time) -> QuerySet[Job]:
    return Job.objects.filter(sending__sent_at__gte=time.begins, sending__sent_at__lt=time.ends)


def jobs_by_key(keys: Iterable[int]) -> dict[int, Job]:
    return {job.pk: job for job in Job.objects.filter(pk__in=list(keys)).select_related("owner")}


def homes_of(time: Time) -> Iterable[Home]:
    within = {"job__sending__sent_at__gte": time.begins, "job__sending__sent_at__lt": time.ends}
    minutes = _minutes(Price.objects.filter(**within))
    billed = MoneyEntry.objects.filter(**within, kind__in=("charge", "credit")).order_by()
    money = dict(billed.values("job").annotate(sum=Sum("amount_minor")).values_list("job", "sum"))
    parts = _parts_cost(StockEntry.objects.filter(**within))
    facts = ("pk", "pattern", "pattern__family", "booked_in_at", "sending__sent_at", "promised_on")
    rows = went_home(time).order_by().values_list(*facts)
    zone = timezone.get_current_timezone()
    for pk, pattern, kind, booked_in, sent, promised in rows:
        assert sent is not None
        yield Home(
            pk=pk,
            pattern=pattern,
            family=kind or "",
            booked_in=booked_in.astimezone(zone).date(),
            day=sent.astimezone(zone).date(),
            promised=promised,
            minutes=minutes.get(pk, 0),
            money=money.get(pk, 0),
            parts=parts.get(pk, 0),
        )


def _minutes(prices: "QuerySet[Price]") -> dict[int, int]:
    """Minutes on the newest price of each job.

    Price by price: to group the lines of all, the database reads every price there is in their order.
    """
    lines = PriceLine.objects.filter(price=OuterRef("pk"), minutes__isnull=False).order_by()
    minutes = Subquery(lines.values("price").annotate(sum=Sum("minutes")).values("sum"))
    rows = prices.order_by().values_list("number", "job", minutes)
    return {job: minutes for _, job, minutes in sorted(row for row in rows if row[2] is not None)}


def _parts_cost(entries: "QuerySet[StockEntry]") -> dict[int, int]:
    rows = entries.filter(why__in=("taken", "back"), used=False).order_by().values("job")
    costs = rows.annotate(cost=-Sum(F("change") * F("part__cost_minor")))
    return dict(costs.values_list("job", "cost"))


def _by(homes: Iterable[Home], key: Callable[[Home], str], name: Callable[[str], str]) -> tuple[Sums, ...]:
    """The one with most money first."""
    groups: dict[str, list[Home]] = defaultdict(list)
    for home in homes:
        groups[key(home)].append(home)
    rows = (_sums(each, name(each), some) for each, some in groups.items())
    return tuple(sorted(rows, key=lambda row: (-row.money, row.name)))


def _sums(key: str, name: str, homes: Iterable[Home]) -> Sums:
    some = list(homes)
    minutes, money, parts = (sum(getattr(home, what) for home in some) for what in ("minutes", "money", "parts"))
    return Sums(key, name, len(some), minutes, money, parts)


def month_named(key: str) -> str:
    """A month's key, such as 2026-05, as the shop writes it; nothing for what is no month."""
    try:
        return month_in_words(date.fromisoformat(f"{key}-01"))
    except ValueError:
        return ""


def _months_of(time: Time) -> Iterable[date]:
    month = time.first.replace(day=1)
    while month <= time.last:
        yield month
        month = date(month.year + month.month // 12, month.month % 12 + 1, 1)


def hours_billed(time: Time) -> tuple[int, Decimal]:
    """Reels that went home within the time, and the hours on their newest prices."""
    within = {"job__sending__sent_at__gte": time.begins, "job__sending__sent_at__lt": time.ends}
    return went_home(time).count(), Decimal(sum(_minutes(Price.objects.filter(**within)).values())) / 60


def hours_worked(time: Time) -> float | None:
    """By the hours and days off as they are said now; None where none are."""
    found = calendar(time.first)
    if found is None:
        return None
    last = min(time.last, timezone.localdate())
    return float(sum(found.hours_on(time.first + timedelta(days=n)) for n in range((last - time.first).days + 1)))


def _comebacks(time: Time) -> Iterable[Comeback]:
    """Booked in within the time."""
    return comebacks_among(
        Job.objects.filter(comeback_of__isnull=False, booked_in_at__gte=time.begins, booked_in_at__lt=time.ends)
    )


def comebacks_among(rows: "QuerySet[Job]") -> Iterable[Comeback]:
    """Those that are free of charge, the newest first; an hour costs what the shop charges for one."""
    jobs = list(rows.filter(free=True).select_related("comeback_of__sending").order_by("-booked_in_at"))
    minutes = _minutes(Price.objects.filter(job__in=jobs))
    entries = StockEntry.objects.filter(job__in=jobs)
    parts = _parts_cost(entries)
    names: dict[int, list[str]] = defaultdict(list)
    for job, name in entries.filter(why="taken").values_list("job", "part__name"):
        names[job or 0].append(name)
    hour = shop_get().hour_minor
    for job in jobs:
        before = job.comeback_of
        assert before is not None
        sent = before.sending.sent_at if hasattr(before, "sending") else None
        days = (job.booked_in_at - sent).days if sent else 0
        cost = round(minutes.get(job.pk, 0) * hour / 60) + parts.get(job.pk, 0)
        yield Comeback(job, before, days, cost, ", ".join(dict.fromkeys(names[job.pk])))


def _blocking(time: Time) -> Iterable[Blocking]:
    """Parts ordered for reels that came within the time, those waited for longest in all first."""
    rows = PartOrder.objects.filter(job__isnull=False, arrived_on__range=(time.first, time.last)).select_related("part")
    waits: dict[int, list[int]] = defaultdict(list)
    names = {}
    for order in rows:
        assert order.arrived_on is not None
        waits[order.part_id].append((order.arrived_on - order.ordered_on).days)
        names[order.part_id] = str(order.part)
    worst = sorted(waits, key=lambda part: -sum(waits[part]))[:MOST]
    return [Blocking(part, names[part], len(waits[part]), sum(waits[part]) / len(waits[part])) for part in worst]


def owners_not_seen(today: date) -> "QuerySet[Owner]":
    """Owners who brought reels, none of them for two seasons; each with ``seen``, the one seen last first."""
    long_ago = timezone.make_aware(datetime.combine(today - timedelta(days=SEASONS_DAYS), time.min))
    owners = Owner.objects.filter(merged_into=None, kind="").annotate(seen=Max("jobs__booked_in_at"))
    return owners.filter(seen__lt=long_ago).order_by("-seen", "pk")
