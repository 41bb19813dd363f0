"""What the shelf needs, for core/supply: use by month, jobs in hand, suppliers, what waiting and keeping cost."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from itertools import pairwise

from django.db.models import Count, Min, Q, Sum
from django.db.models.functions import TruncMonth
from django.utils import timezone

from levelwind.core.supply.stock import MOST_UNITS, LastBuy, Offer, Shelf
from levelwind.core.supply.stock import Part as Stocked
from levelwind.core.supply.stock import Supplier as Sender
from levelwind.shop.models import ENDED, Part, PartOrder, PriceLine, Sending, Shop, Stage, StockEntry, Supplier, Word
from levelwind.shop.parts.selectors.consumables import used_by_month
from levelwind.shop.parts.selectors.shelf import parts_that_are_one, parts_with_stock, stock_entries
from levelwind.shop.parts.selectors.suppliers import Offered, days_of, offered, suppliers_by_key
from levelwind.shop.people.selectors import shop_get

MONTHS = 36
"""Months of use looked back on. Our choice: a shop changes."""
USES = ("taken", "back", "sold", "brought", "cut_up", "used_up")
"""Entries of the ledger that are use, or take it back."""
FEWEST_WORDS, JUDGED_YES = 8, 0.8
"""Owners' words from which the chance of a yes is the shop's own; and what it is before. A judgement."""
NEWEST_WORDS = 200
"""Words that the chance of a yes is counted from. Our choice: a shop changes."""
WAITING_SHARE = 20
"""A day of waiting costs this part of an hour's price where the shop has not said, three minutes. A judgement."""
MOST_MAYBE = 20
"""Units that jobs not yet agreed may take, of one part. Our choice."""
SURE = (Stage.AGREED, Stage.APART, Stage.TOGETHER)
"""Stages in which a job's parts are agreed to."""
TO_BE_AGREED = (Stage.BOOKED_IN, Stage.LOOKED_OVER, Stage.PRICE_SENT)


@dataclass(frozen=True, slots=True)
class ToOrder:
    """The shelf as a plan takes it, by the parts' and the suppliers' own rows, and what is left out of it."""

    shelf: Shelf | None
    """None where no part that was ever here, or is needed, has a supplier and a cost."""
    parts: Mapping[str, Part]
    suppliers: Mapping[str, str]
    """By key: the name."""
    unsaid: tuple[Part, ...]
    """Parts used or needed that say no supplier or no cost: they are not in it."""
    under_cost: tuple[Part, ...]
    """Parts sold for less than they cost."""
    strangers: tuple[str, ...]
    """Suppliers of whom neither postage nor days are said."""


def to_order(today: date) -> ToOrder:
    shop = shop_get()
    used, since = _used(today)
    eaten = Part.objects.filter(Q(a_reel__isnull=False) | Q(holds__isnull=False)).exists()
    homes = _homes(today) if eaten else {}
    amounts = used_by_month(homes) if eaten else {}
    needed, maybe = _needed()
    rows = list(parts_with_stock().filter(merged_into=None).prefetch_related("offers"))
    known = suppliers_by_key()
    told: dict[str, tuple[Part, Stocked]] = {}
    names: dict[str, str] = {}
    unsaid, under = [], []
    for part in rows:
        asked_for = bool(used.get(part.pk) or needed.get(part.pk) or maybe.get(part.pk) or part.keep_at_least)
        if not asked_for and part.pk not in since:
            continue
        offers = offered(part)
        if not offers:
            unsaid += [part] if asked_for else []
            continue
        names |= {offer.key: offer.supplier for offer in offers if offer.key not in names}
        under += [part] if 0 < part.price_minor < min(offer.cost_minor for offer in offers) else []
        months = _months(since.get(part.pk), today)
        if part.holds and part.pk in amounts:
            use = used_up([amounts[part.pk].get(month, 0.0) / part.holds for month in months])
        elif part.a_reel:
            use = used_up([part.a_reel * sum(reels.get(month, 0) for reels in homes.values()) for month in months])
        else:
            use = tuple(min(max(used.get(part.pk, {}).get(month, 0), 0), MOST_UNITS) for month in months)
        told[str(part.pk)] = part, _stocked(part, offers, use, needed.get(part.pk, 0), maybe.get(part.pk, 0.0), shop)
    senders = tuple(_sender(key, known.get(key), today) for key in names)
    shelf = None
    if told:
        shelf = Shelf(
            suppliers=senders,
            parts=tuple(stocked for _, stocked in told.values()),
            next_days=shop.order_days,
            cover_days=shop.order_days,
            holding_a_year=shop.holding_percent / 100,
            waiting=float(waiting_of(shop)),
        )
    strangers = tuple(sorted(name for key, name in names.items() if key not in known))
    return ToOrder(shelf, {key: part for key, (part, _) in told.items()}, names, tuple(unsaid), tuple(under), strangers)


def used_up(shares: Sequence[float]) -> tuple[int, ...]:
    """Whole units of a consumable used up month by month, from what each month used of one.

    >>> used_up([0.4, 0.7, 0.0, 1.2])
    (0, 1, 0, 1)
    """
    sums = [int(sum(shares[: n + 1]) + 1e-9) for n in range(len(shares))]
    return tuple(min(max(now - before, 0), MOST_UNITS) for before, now in pairwise([0, *sums]))


def _homes(today: date) -> dict[str, dict[date, int]]:
    """Reels that went home in each month, by its first day, by family."""
    since = timezone.make_aware(datetime.combine(_months_back(today, MONTHS), time.min))
    rows = (
        Sending.objects.filter(sent_at__gte=since)
        .order_by()
        .values("job__pattern__family", month=TruncMonth("sent_at"))
    )
    homes: dict[str, dict[date, int]] = defaultdict(dict)
    for row in rows.annotate(reels=Count("pk")):
        homes[row["job__pattern__family"] or ""][timezone.localdate(row["month"])] = row["reels"]
    return homes


def waiting_of(shop: Shop) -> int:
    """What a day of waiting for a part costs, in minor units: as said, or a judgement."""
    return shop.waiting_day_minor or shop.hour_minor // WAITING_SHARE


def _stocked(
    part: Part, offers: Sequence[Offered], used: tuple[int, ...], needed: int, maybe: float, shop: Shop
) -> Stocked:
    here, on_order = max(part.here, 0), part.on_order  # type: ignore[attr-defined]
    short = max(part.keep_at_least - (here + on_order - needed), 0)
    cheapest = min(offer.cost_minor for offer in offers)
    last = LastBuy(part.last_buy_years, cheapest + max(shop.hour_minor, 1)) if part.last_buy_years else None
    chances = min(int(maybe) + (maybe % 1 > 0), MOST_MAYBE)
    return Stocked(
        key=str(part.pk),
        offers=tuple(Offer(each.key, each.cost_minor, each.pack) for each in offers),
        used=used,
        name=str(part),
        stock=min(here, MOST_UNITS),
        on_order=min(on_order, MOST_UNITS),
        needed=min(needed + short, MOST_UNITS),
        maybe=tuple(min(maybe / chances, 1.0) for _ in range(chances)),
        last_buy=last,
    )


def _sender(key: str, row: Supplier | None, today: date) -> Sender:
    days = days_of(key, row)
    if row is None:
        return Sender(key, days.spread)
    return Sender(key, days.spread, row.name, row.postage_minor, row.minimum_minor, row.free_from_minor)


def _used(today: date) -> tuple[dict[int, dict[date, int]], dict[int, date]]:
    """By part: units used in each month, by its first day; and when its ledger begins."""
    first = _months_back(today, MONTHS)
    since = timezone.make_aware(datetime.combine(first, time.min))
    one = parts_that_are_one()
    rows = stock_entries().filter(why__in=USES, at__gte=since).order_by()
    used: dict[int, dict[date, int]] = defaultdict(lambda: defaultdict(int))
    for row in rows.values("part", month=TruncMonth("at")).annotate(change=Sum("change")):
        used[one.get(row["part"], row["part"])][timezone.localdate(row["month"])] -= row["change"]
    begins: dict[int, date] = {}
    for part, at in stock_entries().order_by().values("part").annotate(begins=Min("at")).values_list("part", "begins"):
        pk, day = one.get(part, part), max(timezone.localdate(at), first)
        begins[pk] = min(begins.get(pk, day), day)
    return used, begins


def _months_back(today: date, months: int) -> date:
    """The first day of the month so many months ago.

    >>> _months_back(date(2026, 3, 14), 3)
    datetime.date(2025, 12, 1)
    """
    number = today.year * 12 + today.month - 1 - months
    return date(number // 12, number % 12 + 1, 1)


def _months(since: date | None, today: date) -> Iterable[date]:
    """First days of the months from then to the one before this, which is not over."""
    if since is None:
        return
    month = since.replace(day=1)
    while month < today.replace(day=1):
        yield month
        month = date(month.year + month.month // 12, month.month % 12 + 1, 1)


def _needed() -> tuple[dict[int, int], dict[int, float]]:
    """By part: units that jobs in hand will take for sure, and in the mean those that are not agreed to yet."""
    one = parts_that_are_one()
    taken: dict[tuple[int, int], int] = defaultdict(int)
    out = StockEntry.objects.filter(job__isnull=False, why__in=("taken", "back")).exclude(job__stage__in=ENDED)
    for row in out.order_by().values("part", "job").annotate(out=-Sum("change")):
        taken[row["job"], one.get(row["part"], row["part"])] += row["out"]
    asked: dict[tuple[int, int], tuple[int, bool]] = {}
    lines = PriceLine.objects.filter(part__isnull=False, price__job__stage__in=(*SURE, *TO_BE_AGREED))
    newest = lines.order_by("price__job", "-price__number", "pk").values_list(
        "price__job", "price__number", "price__job__stage", "part", "count"
    )
    number_of: dict[int, int] = {}
    for job, number, stage, part, count in newest:
        if number_of.setdefault(job, number) == number:
            key = (job, one.get(part, part))
            asked[key] = asked.get(key, (0, True))[0] + count, stage in SURE
    waiting = PartOrder.objects.filter(arrived_on=None, job__isnull=False)
    for order in waiting.order_by().values("job", "part").annotate(count=Sum("count")):
        key = (order["job"], one.get(order["part"], order["part"]))
        there = asked.get(key, (0, True))
        asked[key] = max(there[0], taken[key] + order["count"]), True
    needed: dict[int, int] = defaultdict(int)
    maybe: dict[int, float] = defaultdict(float)
    yes = _yes()
    for (job, part), (count, sure) in asked.items():
        left = max(count - taken[job, part], 0)
        if sure:
            needed[part] += left
        else:
            maybe[part] += yes * left
    return needed, maybe


def _yes() -> float:
    """Chance that an owner says yes, by the newest words."""
    said = list(Word.objects.order_by("-pk").values_list("said", flat=True)[:NEWEST_WORDS])
    if len(said) < FEWEST_WORDS:
        return JUDGED_YES
    return (sum(each != "no" for each in said) + 0.5) / (len(said) + 1)
