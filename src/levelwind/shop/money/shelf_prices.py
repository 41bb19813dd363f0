"""What the shelf asks for the parts that would mend a fault. Only reads."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from levelwind.shop.models import Job
from levelwind.shop.parts.selectors.fits import offers
from levelwind.shop.patterns.selectors.layouts import job_places


@dataclass(frozen=True, slots=True)
class ShelfPrice:
    """In minor units: the cheapest, the surest and the dearest part that would serve; the number of the surest."""

    low: int
    likely: int
    high: int
    named: str


def shelf_prices(job: Job, places: Collection[str]) -> dict[str, ShelfPrice]:
    """By place, of those for which a part with a price of its own is known to fit, by nobody contradicted."""
    wanted = [place for place in job_places(job) if place.key in places]
    if job.pattern is None or not wanted:
        return {}
    count = {place.key: place.count for place in wanted}
    priced = {}
    for key, some in offers(job.pattern, wanted).items():
        serve = [offer.part for offer in some if offer.part.price_minor and not offer.against]
        if serve:
            each = [part.price_minor * count[key] for part in serve]
            priced[key] = ShelfPrice(min(each), each[0], max(each), serve[0].number)
    return priced


def of_all(places: Collection[str], priced: Mapping[str, ShelfPrice]) -> ShelfPrice | None:
    """The sum over a fault's places; None where one of them has no price on the shelf: half a sum is none."""
    if not places or not all(place in priced for place in places):
        return None
    each = [priced[place] for place in places]
    low, likely, high = (sum(getattr(one, end) for one in each) for end in ("low", "likely", "high"))
    return ShelfPrice(low, likely, high, ", ".join(dict.fromkeys(one.named for one in each)))
