"""The shop's own prices, beside what a job's work is made up to. Only reads."""

from dataclasses import dataclass

from django.db.models import Avg, QuerySet

from levelwind.shop.jobs.selectors.hunches import looked_over_as
from levelwind.shop.models import FlatPrice, Job, Price, PriceLine, Shop
from levelwind.shop.money.hour import BelowCost, below_cost
from levelwind.shop.money.made_up import MadeUp, made_up
from levelwind.shop.people.selectors import shop_get


@dataclass(frozen=True, slots=True)
class Kept:
    """A price of the shop's own, with the minutes of such work: as said, else as made up where it was asked."""

    flat: FlatPrice
    minutes: int | None
    below: BelowCost | None


def flat_list() -> QuerySet[FlatPrice]:
    return FlatPrice.objects.all()


def flat_get(pk: int) -> FlatPrice | None:
    return FlatPrice.objects.filter(pk=pk).first()


def flat_kept() -> tuple[Kept, ...]:
    shop, rows = shop_get(), flat_list().annotate(took=Avg("lines__minutes"))
    return tuple(_kept(row, row.minutes or round(row.took or 0) or None, shop) for row in rows)


def _kept(flat: FlatPrice, minutes: int | None, shop: Shop) -> Kept:
    return Kept(flat, minutes, below_cost(flat.amount_minor, minutes, shop, flat.rate))


@dataclass(frozen=True, slots=True)
class Offered:
    """What the work on a job is made up to, and the shop's own prices that could take its place."""

    low: int
    likely: int
    high: int
    minutes: int
    flats: tuple[Kept, ...]


def flat_offered(job: Job) -> Offered | None:
    """None where the shop has no price of its own for such a reel, or nothing is charged."""
    shop, kin = shop_get(), looked_over_as(job)
    kinds = ["", kin.key] if kin else [""]
    rows = [] if job.free or job.is_own else list(flat_list().filter(family__in=kinds))
    if not rows:
        return None
    made = made_up(job, shop)
    low, likely, high = work_sums(made)
    minutes = work_minutes(made)
    return Offered(low, likely, high, minutes, tuple(_kept(row, row.minutes, shop) for row in rows))


def work_sums(made: MadeUp) -> tuple[int, int, int]:
    low, likely, high = (sum(getattr(line, f"{end}_minor") for line in made.work) for end in ("low", "likely", "high"))
    return low, likely, high


def work_minutes(made: MadeUp) -> int:
    """Of the work in the likely price."""
    return sum(line.minutes or 0 for line in made.work if line.likely_minor)


def flats_on(price: Price) -> frozenset[int]:
    """The shop's own prices that stand on it."""
    return frozenset(line.flat_id for line in price.lines.all() if line.flat_id)


def work_below_cost(price: Price, shop: Shop) -> BelowCost | None:
    """All the work on a price against what its minutes cost; of a reel mended free of charge nothing is said."""
    work = [line for line in price.lines.all() if line.kind == "work" and line.likely_minor]
    minutes = sum(line.minutes or 0 for line in work)
    timed = [line for line in work if line.minutes]
    return None if price.job.free else _together(timed, minutes, shop)


def _together(lines: list[PriceLine], minutes: int, shop: Shop) -> BelowCost | None:
    rates = {line.rate for line in lines}
    sums = sum(line.likely_minor for line in lines)
    return below_cost(sums, minutes, shop, rates.pop() if len(rates) == 1 else "")
