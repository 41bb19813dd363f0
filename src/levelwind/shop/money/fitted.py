"""What was taken or ordered for a job beside its price, and whether all of it passes the owner's word. Only reads."""

from dataclasses import dataclass

from django.db.models import Sum

from levelwind.shop.jobs.selectors.hunches import job_net
from levelwind.shop.models import Job, Part, Shop
from levelwind.shop.money.selectors import (
    DraftLine,
    account_of,
    agreed_minor,
    bill_draft_lines,
    draft_sums,
    price_to_bill,
)


@dataclass(frozen=True, slots=True)
class Fitted:
    """So many of a part for a place, off the shelf or on order, at the shelf's own price."""

    part: Part
    count: int
    place: str
    ordered: bool

    @property
    def line(self) -> DraftLine:
        counted = f"{self.count} × " if self.count > 1 else ""
        return DraftLine(
            "part", f"{counted}{self.part.name} {self.part.number}"[:160], self.part.price_minor * self.count
        )


def fitted(job: Job) -> tuple[Fitted, ...]:
    """Every part that is out for the job, then what is on order for it."""
    out = job.stock_entries.filter(why__in=["taken", "back"]).order_by().values("part", "piece__place")
    taken = [(row["part"], -row["sum"], row["piece__place"] or "", False) for row in out.annotate(sum=Sum("change"))]
    orders = job.part_orders.filter(arrived_on=None).values_list("part", "count", "piece__place")
    rows = [*taken, *((part, count, place or "", True) for part, count, place in orders)]
    parts = Part.objects.in_bulk([part for part, *_ in rows])
    return tuple(Fitted(parts[part], count, place, ordered) for part, count, place, ordered in rows if count > 0)


def beside_the_price(job: Job) -> tuple[Fitted, ...]:
    """What is fitted or ordered and has a price, and stands neither on the job's price nor on a bill or its draft.

    A line of the price stands for its own part, or for the places of the fault it was made for. Nothing is beside the
    price of a reel mended free of charge.
    """
    if job.free:
        return ()
    found = [one for one in fitted(job) if one.part.price_minor]
    price = price_to_bill(job)
    lines = list(price.lines.filter(kind="part")) if price and found else []
    places = {line.place for line in lines if line.place}
    if places:
        faults = [fault for fault in job_net(job).faults if fault.places and fault.places[0] in places]
        places |= {place for fault in faults for place in fault.places}
    parts = {line.part_id for line in lines}
    said = set(job.money.filter(kind="charge", bill__voided_at=None).values_list("text", flat=True))
    said |= {line.text for line in bill_draft_lines(job)} if job.bill_draft else set()
    return tuple(
        one for one in found if one.place not in places and one.part.pk not in parts and one.line.text not in said
    )


@dataclass(frozen=True, slots=True)
class Coming:
    """What the job comes to as it stands, with tax: billed, priced, fitted and on order; and the owner's word."""

    total_minor: int
    agreed_minor: int
    beside: tuple[Fitted, ...]

    @property
    def over_minor(self) -> int:
        return max(0, self.total_minor - self.agreed_minor)


def coming(job: Job, shop: Shop) -> Coming | None:
    """None where the owner agreed to nothing yet."""
    agreed = agreed_minor(job, shop)
    if agreed is None:
        return None
    beside = beside_the_price(job)
    lines = (*bill_draft_lines(job), *(one.line for one in beside))
    return Coming(account_of(job).creditable + draft_sums(lines, shop).total, agreed, beside)
