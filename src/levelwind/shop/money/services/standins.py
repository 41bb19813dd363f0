"""What was chosen for a place, onto the job's price."""

from dataclasses import dataclass

from django.db import transaction

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.hunches import job_net
from levelwind.shop.jobs.services.jobs import job_note, job_still_here
from levelwind.shop.models import Job, Part, Price, PriceLine
from levelwind.shop.money.selectors import price_latest
from levelwind.shop.money.services.prices import price_copy, price_draft, price_line_add
from levelwind.shop.parts.selectors.standins import StandIn
from levelwind.shop.patterns.selectors.layouts import PlaceInPattern


@dataclass(frozen=True, slots=True)
class Priced:
    """The line, and the text of one that stays and may speak of the same piece; empty where none does."""

    line: PriceLine
    beside: str


@transaction.atomic
def price_standin(
    *, job: Job, place: PlaceInPattern, count: int, standin: StandIn, price_minor: int | None = None, by: str = ""
) -> Priced:
    """One line for the place, with the stand-in's price. Chosen again, the later one stands.

    ``price_minor`` is for one whose price nobody has said; a part of the shelf keeps it as its own.

    It goes onto the newest price while that is open, else onto a new one begun from it, or onto a first one. A line
    made up for a fault of this place alone gives way. Raises LevelwindError where no price is known.
    """
    job = job_still_here(job)
    each = standin.price_minor or price_minor
    if not each:
        raise LevelwindError(f"What {standin.for_the_owner} costs is not known: type what you charge for one.")
    if standin.offer and not standin.price_minor:
        _priced_from_now(standin.offer.part, each)
    price = _open_price(job, by)
    there = price.lines.filter(kind="part", place=place.key)
    text, of_several = standin.for_the_owner[:160], len(_places_of_fault(job, place.key)) > 1
    other = there.filter(part=None).exclude(text=text).first() if of_several else None
    (there.exclude(pk=other.pk) if other else there).delete()
    line = price_line_add(
        price=price,
        kind="part",
        text=text,
        low_minor=each,
        likely_minor=each,
        high_minor=each,
        count=count,
        because=f"Chosen for the {place.name}."[:200],
        part=standin.part,
        place=place.key,
    )
    job_note(job=job, text=f"{line.text} put on price {price.number}.", by=by)
    return Priced(line, other.text if other else "")


def _priced_from_now(part: Part, price_minor: int) -> None:
    """Unless somebody said meanwhile what it costs."""
    held = Part.objects.select_for_update().get(pk=part.pk)
    if not held.price_minor:
        held.price_minor = price_minor
        held.full_clean()
        held.save(update_fields=["price_minor"])


def _open_price(job: Job, by: str) -> Price:
    price = price_latest(job)
    if price is None:
        return price_draft(job=job, by=by)
    return price_copy(price=price, by=by) if price.sent_at else price


def _places_of_fault(job: Job, place: str) -> tuple[str, ...]:
    """All places of the fault whose line stands at this one, as a price writes it."""
    return next((fault.places for fault in job_net(job).faults if fault.places[:1] == (place,)), ())
