"""What the year's paper says, from the ledgers."""

from collections import defaultdict
from datetime import date

from django.db.models import F, Sum
from django.db.models.functions import TruncMonth
from django.utils import timezone

from levelwind.documents import year as paper
from levelwind.shop.models import MoneyEntry, StockEntry
from levelwind.shop.money.selectors import tax_words
from levelwind.shop.money.sunday import Time, the_year
from levelwind.shop.people.selectors import letterhead, shop_get

BEFORE_TAX = ("charge", "credit")
ONLY_TAX = ("tax",)


def year_sheet(year: int) -> paper.Year:
    """Of this year as far as it has gone."""
    shop, time, today = shop_get(), the_year(timezone.localdate(), year), timezone.localdate()
    entries = MoneyEntry.objects.filter(at__gte=time.begins, at__lt=time.ends).order_by()
    by_month: dict[date, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for row in entries.values("kind", month=TruncMonth("at")).annotate(sum=Sum("amount_minor")):
        by_month[timezone.localdate(row["month"])][row["kind"]] += row["sum"]
    rates: dict[object, list[int]] = defaultdict(lambda: [0, 0])
    for entry in (
        entries.filter(kind__in=(*BEFORE_TAX, *ONLY_TAX))
        .values("tax_percent", "kind")
        .annotate(sum=Sum("amount_minor"))
    ):
        rates[entry["tax_percent"]][entry["kind"] in ONLY_TAX] += entry["sum"]
    months = [date(year, number, 1) for number in range(1, 13) if date(year, number, 1) <= max(today, time.first)]
    return paper.Year(
        shop=letterhead(shop),
        first=time.first,
        last=min(time.last, max(today, time.first)),
        months=tuple(_month(month, by_month[month]) for month in months),
        rates=tuple(
            paper.Rate("no rate" if percent is None else tax_words(shop, percent), *sums)  # type: ignore[arg-type]
            for percent, sums in sorted(rates.items(), key=lambda row: (row[0] is not None, row[0]))
        ),
        owed=MoneyEntry.objects.filter(at__lt=time.ends).aggregate(sum=Sum("amount_minor"))["sum"] or 0,
        shelf=_shelf(time),
        dated=today,
        invented=shop.invented,
    )


def _month(month: date, sums: dict[str, int]) -> paper.Month:
    before_tax, tax = (sum(sums[kind] for kind in kinds) for kinds in (BEFORE_TAX, ONLY_TAX))
    return paper.Month(f"{month:%B}", before_tax, tax, before_tax + tax - sum(sums.values()))


def _shelf(time: Time) -> int:
    entries = StockEntry.objects.filter(at__lt=time.ends, used=False)
    return int(entries.aggregate(worth=Sum(F("change") * F("part__cost_minor")))["worth"] or 0)
