"""What was chosen for a place, onto the job's price."""

from dataclasses import dataclass

from django.db import transaction

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.hunches import job_net
from levelwind.shop.jobs.services.jobs import job_note, job_still_here
from levelwind.shop.models import Job, Price, PriceLine
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
def price_standin(*, job: Job, place: PlaceInPattern, count: int, standin: StandIn, by: str = "") -> Priced:
    """One line for the place, with the stand-in's price. Chosen again, the later one stands.

    It goes onto the newest price while that is open, else onto a new one begun from it, or onto a first one. A line
    made up for a fault of this place alone gives way. Raises LevelwindError where no price is known.
    """
    job = job_still_here(job)
    if not standin.price_minor:
        raise LevelwindError(f"What {standin.for_the_owner} costs is not known: say it on the part’s page first.")
    price = _open_price(job, by)
    there = price.lines.filter(kind="part", place=place.key)
    text, of_several = standin.for_the_owner[:160], len(_places_of_fault(job, place.key)) > 1
    other = there.filter(part=None).exclude(text=text).first() if of_several else None
    (there.exclude(pk=other.pk) if other else there).delete()
    line = price_line_add(
        price=price,
        kind="part",
        text=text,
        low_minor=standin.price_minor,
        likely_minor=standin.price_minor,
        high_minor=standin.price_minor,
        count=count,
        because=f"Chosen for the {place.name}."[:200],
        part=standin.part,
        place=place.key,
    )
    job_note(job=job, text=f"{line.text} put on price {price.number}.", by=by)
    return Priced(line, other.text if other else "")


def _open_price(job: Job, by: str) -> Price:
    price = price_latest(job)
    if price is None:
        return price_draft(job=job, by=by)
    return price_copy(price=price, by=by) if price.sent_at else price


def _places_of_fault(job: Job, place: str) -> tuple[str, ...]:
    """All places of the fault whose line stands at this one, as a price writes it."""
    return next((fault.places for fault in job_net(job).faults if fault.places[:1] == (place,)), ())
