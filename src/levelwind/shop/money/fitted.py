"""What was taken or ordered for a job, the bill made from it, and whether it passes the owner's word. Only reads."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from django.db.models import Sum

from levelwind.shop.jobs.life import CLOSED, OPEN
from levelwind.shop.jobs.selectors.agreed import word_that_holds
from levelwind.shop.jobs.selectors.hunches import job_net
from levelwind.shop.models import Job, Owner, Part, PriceLine, Shop
from levelwind.shop.money.selectors import (
    DraftLine,
    account_of,
    agreed_minor,
    bill_draft_lines,
    draft_sums,
    price_to_bill,
)
from levelwind.shop.parts.selectors.shelf import parts_that_are_one
from levelwind.shop.patterns.selectors.layouts import job_places
from levelwind.shop.people.selectors import shop_get


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
            "part",
            f"{counted}{self.part.name} {self.part.number}"[:160],
            self.part.price_minor * self.count,
            part=self.part.pk,
            count=self.count,
        )


def fitted(job: Job) -> tuple[Fitted, ...]:
    """Every part that is out for the job, then what is on order for it."""
    out = job.stock_entries.filter(why__in=["taken", "back"]).order_by().values("part", "piece__place")
    taken = [(row["part"], -row["sum"], row["piece__place"] or "", False) for row in out.annotate(sum=Sum("change"))]
    orders = job.part_orders.filter(arrived_on=None).values_list("part", "count", "piece__place")
    rows = [*taken, *((part, count, place or "", True) for part, count, place in orders)]
    one = parts_that_are_one()
    parts = Part.objects.in_bulk([one.get(part, part) for part, *_ in rows])
    return tuple(
        Fitted(parts[one.get(part, part)], count, place, ordered) for part, count, place, ordered in rows if count > 0
    )


def beside_the_price(job: Job) -> tuple[Fitted, ...]:
    """What is fitted or ordered and has a price, and is neither on the job's price nor billed nor given away.

    A line of the price stands for its own part, or for the places of the fault it was made for. Nothing is beside the
    price of a reel mended free of charge.
    """
    price = price_to_bill(job)
    return _beside(job, list(price.lines.filter(kind="part")) if price else [])


def _beside(job: Job, lines: Sequence[PriceLine]) -> tuple[Fitted, ...]:
    """What is fitted or ordered, has a price, and is neither on one of these lines nor billed nor given away."""
    if job.free:
        return ()
    charges = list(job.money.filter(kind="charge", bill__voided_at=None))
    said = {entry.text for entry in charges if entry.part_id is None}
    if job.bill_draft:
        said |= {line.text for line in bill_draft_lines(job) if line.part is None}
    said -= {line.text for line in lines}
    found = _less(fitted(job), billed_counts(job) + _given(job))
    return tuple(
        one for one in _past_the_lines(job, lines, found) if one.part.price_minor and one.line.text not in said
    )


def _past_the_lines(job: Job, lines: Sequence[PriceLine], found: Sequence[Fitted]) -> Iterator[Fitted]:
    """What these lines do not stand for: each for so many of its own part, or for what its fault's places hold.

    A second one, fitted where the first was spoilt, is past them.
    """
    room, own, one_part = _room(job, lines), Counter[int](), parts_that_are_one()
    for line in lines:
        if line.part_id:
            own[one_part.get(line.part_id, line.part_id)] += line.count
    for one in found:
        placed = min(one.count, room[one.place])
        room[one.place] -= placed
        own[one.part.pk] -= placed
        named = min(one.count - placed, max(0, own[one.part.pk]))
        own[one.part.pk] -= named
        if one.count > placed + named:
            yield replace(one, count=one.count - placed - named)


def _room(job: Job, lines: Sequence[PriceLine]) -> Counter[str]:
    """How many pieces the places hold that these lines speak of, with all places of the fault a line was made for."""
    room = Counter[str]()
    for line in lines:
        if line.place:
            room[line.place] = max(room[line.place], line.count)
    if room:
        faults = [fault for fault in job_net(job).faults if fault.places and fault.places[0] in room]
        places = room.keys() | {place for fault in faults for place in fault.places}
        counts = {place.key: place.count for place in job_places(job)}
        for place in places:
            room[place] = max(room[place], counts.get(place, 1))
    return room


def _settled(job: Job) -> bool:
    """It ended, and nothing was typed for a bill since the last was made."""
    return job.is_over and job.bill_draft == []


def billed_counts(job: Job) -> Counter[int]:
    """How many of each part off the shelf stand on bills that hold."""
    counts, one = Counter[int](), parts_that_are_one()
    for part, count in job.money.filter(kind="charge", bill__voided_at=None, part__isnull=False).values_list(
        "part", "count"
    ):
        counts[one.get(part, part)] += count
    return counts


def _given(job: Job) -> Counter[int]:
    counts = Counter[int]()
    for line in bill_draft_lines(job):
        if line.part and line.given:
            counts[line.part] += line.count
    return counts


def _less(found: Sequence[Fitted], counts: Counter[int]) -> tuple[Fitted, ...]:
    """What is left of it when so many of each part are spoken for, the ones off the shelf first."""
    left, out = Counter(counts), []
    for one in found:
        spoken = min(one.count, left[one.part.pk])
        left[one.part.pk] -= spoken
        if one.count > spoken:
            out.append(replace(one, count=one.count - spoken))
    return tuple(out)


def bill_lines(job: Job) -> tuple[DraftLine, ...]:
    """The bill as it stands before it is made: what was typed or priced, and every part taken for the job beside it.

    A part put back on the shelf, or billed since, is off it again. A part that the owner was asked about after the
    lines were typed comes along too.
    """
    typed = _still_out(job, bill_draft_lines(job))
    drawn, price = Counter[int](), price_to_bill(job)
    for line in typed:
        if line.part and not line.given:
            drawn[line.part] += line.count
    priced = list(price.lines.filter(kind="part")) if price else []
    if job.bill_draft:
        texts = {line.text for line in typed}
        priced = [line for line in priced if line.part_id is None or line.text in texts]
    off_shelf = [one for one in _beside(job, priced) if not one.ordered]
    return (*typed, *(one.line for one in _less(off_shelf, drawn)))


def _still_out(job: Job, lines: Sequence[DraftLine]) -> tuple[DraftLine, ...]:
    """These lines without the parts that are not out for the job any more, or on a bill already."""
    if not any(line.part for line in lines):
        return tuple(lines)
    left, out = Counter[int](), []
    for one in fitted(job):
        left[one.part.pk] += 0 if one.ordered else one.count
    left.subtract(billed_counts(job))
    for line in lines:
        if line.part is None:
            out.append(line)
            continue
        count = min(line.count, max(0, left[line.part]))
        left[line.part] -= count
        if count:
            out.append(replace(line, count=count, amount_minor=line.amount_minor * count // line.count))
    return tuple(out)


def agreed_lines(job: Job) -> dict[str, PriceLine]:
    """The lines of the price the owner said yes to, by their text."""
    word = word_that_holds(job)
    return {line.text: line for line in word.price.lines.all()} if word else {}


@dataclass(frozen=True, slots=True)
class ToBill:
    """A job with lines that are not billed yet, and what they come to."""

    job: Job
    total_minor: int


def jobs_to_bill(owner: Owner) -> tuple[ToBill, ...]:
    """The owner's jobs that are together or further and have a line to bill.

    One that ended with a bill is settled: what was fitted beside that bill is not asked for again by itself.
    """
    shop, jobs = shop_get(), owner.jobs.exclude(stage__in=[stage for stage in OPEN if stage not in CLOSED])
    open_ones = (job for job in jobs.select_related("parcel").order_by("tag") if not _settled(job))
    drawn = ((job, bill_lines(job)) for job in open_ones)
    return tuple(ToBill(job, draft_sums(lines, shop).total) for job, lines in drawn if lines)


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
    lines = (*bill_lines(job), *(one.line for one in beside if one.ordered))
    return Coming(account_of(job).creditable + draft_sums(lines, shop).total, agreed, beside)
