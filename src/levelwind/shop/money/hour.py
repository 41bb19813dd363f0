"""What a billed hour costs the shop: by its costs of a year, its hours, and those that were billed. Only reads."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Min, QuerySet
from django.utils import timezone

from levelwind.core.supply.prices import Hours, at_hour, hour_cost
from levelwind.shop.models import Job, Shop, YearlyCost
from levelwind.shop.money.selectors import FEWEST_JOBS
from levelwind.shop.money.sunday import Time, hours_billed, hours_worked
from levelwind.shop.money.tax import tax_in
from levelwind.shop.people.selectors import shop_get

YEAR = 365
"""Days; what is paid by the year is shared out over them."""
SHORTEST = 90
"""Days of the book below which no hour's cost is told. Our choice: of fewer one slow month decides."""


@dataclass(frozen=True, slots=True)
class HourCost:
    """In minor units; hours of the days from ``since`` to today."""

    since: date
    days: int
    reels: int
    costs: tuple[YearlyCost, ...]
    pay_minor: int | None
    bench: Decimal | None
    """None until the shop says its hours."""
    desk: Decimal
    billed: Decimal

    @property
    def a_year_minor(self) -> int:
        return sum(each.amount_minor for each in self.costs)

    @property
    def costs_minor(self) -> int:
        """The costs of a year, for these days."""
        return self.a_year_minor * self.days // YEAR

    @property
    def missing(self) -> str:
        """What stands in the way of telling it; empty where nothing does."""
        if self.pay_minor is None:
            return "Enter what an hour of your own is to bring you."
        if self.bench is None:
            return "Enter your hours at the bench."
        if self.days < SHORTEST or self.reels < FEWEST_JOBS:
            return (
                f"Too short a time to tell: {self.reels} reels went home in {self.days} days of this book. "
                f"It takes {FEWEST_JOBS} reels and {SHORTEST} days."
            )
        return "" if self.billed else "No minutes stand on the prices of the reels that went home."

    @property
    def cost_minor(self) -> int | None:
        if self.missing or self.pay_minor is None or self.bench is None:
            return None
        return hour_cost(Hours(self.costs_minor, self.pay_minor, self.bench + self.desk, self.billed))

    @property
    def share(self) -> float | None:
        """Hours billed, of those worked."""
        worked = (self.bench or Decimal(0)) + self.desk
        return float(self.billed / worked) if worked else None


def hour_now(today: date) -> HourCost:
    shop, first = shop_get(), Job.objects.aggregate(first=Min("booked_in_at"))["first"]
    begun = timezone.localdate(first) if first else today
    since = max(begun, today - timedelta(days=YEAR - 1))
    time = Time(since, today)
    reels, billed = hours_billed(time)
    bench, days = hours_worked(time), (today - since).days + 1
    return HourCost(
        since=since,
        days=days,
        reels=reels,
        costs=tuple(yearly_costs()),
        pay_minor=shop.own_hour_minor,
        bench=None if bench is None else Decimal(str(bench)),
        desk=(shop.desk_hours * days / 7).quantize(Decimal("0.1")),
        billed=billed,
    )


def yearly_costs() -> QuerySet[YearlyCost]:
    return YearlyCost.objects.all()


def without_tax(amount: int, shop: Shop, rate: str = "") -> int:
    """A sum as it stands on a price, less the tax that it holds where prices include it."""
    return amount - tax_in(amount, Decimal(rate or shop.tax_percent)) if shop.tax_included else amount


@dataclass(frozen=True, slots=True)
class BelowCost:
    """Work priced below what its minutes cost the shop, both without tax."""

    minutes: int
    cost_minor: int
    short_minor: int


def below_cost(amount: int, minutes: int | None, shop: Shop, rate: str = "") -> BelowCost | None:
    """None where it is not below, or the shop does not say what an hour costs it, or nobody knows its minutes.

    >>> below_cost(5000, 60, Shop(hour_cost_minor=6500))
    BelowCost(minutes=60, cost_minor=6500, short_minor=1500)
    """
    if shop.hour_cost_minor is None or not minutes:
        return None
    cost = at_hour(minutes, shop.hour_cost_minor)
    short = cost - without_tax(amount, shop, rate)
    return BelowCost(minutes, cost, short) if short > 0 else None
