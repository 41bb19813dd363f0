"""A crate's money as one: what its reels were priced at together, and what their owner said. Only reads."""

from dataclasses import dataclass

from levelwind.shop.jobs.selectors.agreed import word_newest
from levelwind.shop.jobs.selectors.jobs import parcel_jobs
from levelwind.shop.models import Job, Parcel, Price, PriceLine, Shop, Word
from levelwind.shop.money.selectors import Totals, price_latest, price_totals


@dataclass(frozen=True, slots=True)
class CrateRow:
    """One reel of the crate, with its newest price and the owner's newest word."""

    job: Job
    price: Price | None
    totals: Totals | None
    word: Word | None

    @property
    def lines(self) -> tuple[PriceLine, ...]:
        return tuple(self.price.lines.all()) if self.price else ()


@dataclass(frozen=True, slots=True)
class Crate:
    """``rows`` by tag number; ``totals`` of every price of those that are not over."""

    parcel: Parcel
    rows: tuple[CrateRow, ...]
    totals: Totals

    @property
    def priced(self) -> tuple[CrateRow, ...]:
        """What the owner is asked about: on the bench, with a line on its price."""
        return tuple(row for row in self.rows if not row.job.is_over and row.lines)


def crate_of(parcel: Parcel, shop: Shop) -> Crate:
    rows = tuple(_row(job, shop) for job in parcel_jobs(parcel))
    priced = [line for row in rows if not row.job.is_over for line in row.lines]
    return Crate(parcel, rows, price_totals(priced, shop))


def _row(job: Job, shop: Shop) -> CrateRow:
    price = price_latest(job)
    totals = price_totals(tuple(price.lines.all()), shop) if price else None
    return CrateRow(job, price, totals, word_newest(job))
