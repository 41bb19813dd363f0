"""A job's made-up price: the work on any such reel, and a line for each fault likely enough to pay for. Only reads."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from levelwind.core.hunches import Fault, Hunch
from levelwind.core.quantities import Quantity, nearest, percent, whole
from levelwind.core.supply.prices import at_hour
from levelwind.core.takedown import full
from levelwind.reference.families import families, family
from levelwind.reference.unknown_reels import commonness
from levelwind.shop.jobs.selectors.hunches import hunches_of, looked_over_as
from levelwind.shop.jobs.selectors.minutes import shop_minutes
from levelwind.shop.jobs.selectors.stuck import left_as_it_is
from levelwind.shop.models import Job, PriceLine, Shop
from levelwind.shop.money.shelf_prices import ShelfPrice, of_all, shelf_prices
from levelwind.shop.patterns.selectors.layouts import job_layout

LIKELY, POSSIBLE, CERTAIN = 0.5, 0.2, 0.85
"""A fault this probable is in the likely price; in the highest price; in the lowest price too."""

CLEANING_MINUTES = 20
SMALL_PARTS = 2.0
"""In whole currency units: what is renewed unseen for less is part of the cleaning, not a line of its own."""

WORK_LOW, WORK_HIGH = Decimal("0.9"), Decimal("1.25")
"""Judgements: how far the strip, clean and rebuild of one reel strays from the family's minutes."""


@dataclass(frozen=True, slots=True)
class MadeUp:
    """Lines not yet written, and what may come beside them: chance, low, likely and high of each fault left out."""

    lines: tuple[PriceLine, ...]
    left_out: tuple[tuple[float, int, int, int], ...] = ()

    @property
    def work(self) -> tuple[PriceLine, ...]:
        return tuple(line for line in self.lines if line.kind == "work")


def made_up(job: Job, shop: Shop) -> MadeUp:
    """Of a reel that came back under guarantee and is mended free of charge: one line that says so."""
    if job.free:
        return MadeUp((_under_guarantee(job),))
    hunches = hunches_of(job)
    paid = [hunch for hunch in hunches if hunch.probability >= POSSIBLE and not _small(hunch)]
    shelf = shelf_prices(job, {place for hunch in paid if hunch.fault.parts.high for place in hunch.fault.places})
    lines, renewed = [_whole_service(job, shop)], set[str]()
    for hunch in paid:
        lines += _mend_lines(hunch, shop, renewed, shelf)
    rest = (_left_out(hunch, shop) for hunch in hunches if hunch.probability < POSSIBLE and not _small(hunch))
    return MadeUp(tuple(lines), tuple(row for row in rest if row[3]))


def _left_out(hunch: Hunch, shop: Shop) -> tuple[float, int, int, int]:
    work = of_minutes(hunch.fault.minutes, shop)
    low, likely, high = (work + part for part in _usual(hunch.fault, shop))
    return round(hunch.probability, 4), low, likely, high


def _under_guarantee(job: Job) -> PriceLine:
    first = job.comeback_of
    because = f"It came back under the guarantee of {first.tag}." if first else ""
    return PriceLine(kind="work", text="Under guarantee, free of charge", because=because)


def of_minutes(minutes: float, shop: Shop, times: Decimal = Decimal(1)) -> int:
    """So many minutes at the shop's hour, to the nearest minor unit, halves up; then so many times that, rounded again.

    >>> of_minutes(50, Shop(hour_minor=5999)), of_minutes(50, Shop(hour_minor=5999), Decimal("0.9"))
    (4999, 4499)
    """
    return nearest(at_hour(minutes, shop.hour_minor) * times)


def _whole_service(job: Job, shop: Shop) -> PriceLine:
    both, says = both_ways(job)
    cleans = not any(leave.key == "cleaning" for leave in left_as_it_is(job))
    cleaning = CLEANING_MINUTES if cleans else 0
    minutes = whole(both.value + cleaning)
    return PriceLine(
        kind="work",
        text=f"Take apart, {'clean, ' if cleans else 'leave uncleaned, '}oil and grease, put together",
        minutes=minutes,
        low_minor=of_minutes(both.low + cleaning, shop, WORK_LOW),
        likely_minor=of_minutes(minutes, shop),
        high_minor=of_minutes(both.high + cleaning, shop, WORK_HIGH),
        because=f"{says}, cleaning {cleaning} min, at the shop's hour.",
    )


def both_ways(job: Job) -> tuple[Quantity, str]:
    """Minutes apart and together, and how they are known. While its family is not known either: the
    commonest stands for the likely end, the quickest and the slowest for the others."""
    kin = looked_over_as(job)
    if kin:
        rules = job_layout(job).rules if job.pattern else kin.rules
        own = shop_minutes(rules, kin.key)
        both = whole(own.both_ways(full(rules).steps))
        by_whom = ", by this bench's own times" if own.apart or own.together else ""
        return Quantity.exact(float(both)), f"Apart and together {both} min{by_whom}"
    by_family = {key: 2 * full(family(key).rules).minutes for key in families()}
    usual = by_family[max(commonness(), key=lambda key: commonness()[key])]
    low, high = min(by_family.values()), max(by_family.values())
    says = f"Kind not known: apart and together {whole(low)} to {whole(high)} min by the kind"
    return Quantity(usual, low, high), says


def _small(hunch: Hunch) -> bool:
    """No more than a small part renewed unseen."""
    return hunch.fault.renew_unseen and hunch.fault.parts.value <= SMALL_PARTS


def _mend_lines(hunch: Hunch, shop: Shop, renewed: set[str], shelf: Mapping[str, ShelfPrice]) -> list[PriceLine]:
    """Work and parts for one fault, each end of the price only where the fault is probable enough for it.

    ``renewed`` are the places whose parts stand in the price already: nobody pays for one drag set twice. Parts cost
    what the ``shelf`` asks where it has a price for every place, else what the fault usually takes.
    """
    fault, chance = hunch.fault, hunch.probability
    sure = 1.0 if fault.renew_unseen else chance
    ends = [sure >= CERTAIN, sure >= LIKELY, True]
    because = f"{fault.name.capitalize()}: {percent(chance)} likely."
    if sure > chance:
        because += " Renewed unseen, as it is cheap and the reel is open."
    place = fault.places[0] if fault.places else ""
    work = of_minutes(fault.minutes, shop)
    asked = of_all(fault.places, shelf) if fault.parts.high else None
    parts = [asked.low, asked.likely, asked.high] if asked else _usual(fault, shop)
    lines = []
    if work:
        amounts = [work if end else 0 for end in ends]
        lines.append(_line("work", fault.mend, amounts, because, place, sure, whole(fault.minutes)))
    if parts[2] and not (fault.places and renewed.issuperset(fault.places)):
        renewed.update(fault.places)
        amounts = [part if end else 0 for part, end in zip(parts, ends, strict=True)]
        because += f" The shelf's own price of {asked.named}." if asked else ""
        lines.append(_line("part", f"Parts to {fault.mend[0].lower()}{fault.mend[1:]}", amounts, because, place, sure))
    return lines


def _usual(fault: Fault, shop: Shop) -> list[int]:
    """What parts for the fault usually cost, low to high."""
    unit = 10**shop.currency_decimals
    return [whole(end * unit) for end in (fault.parts.low, fault.parts.value, fault.parts.high)]


def _line(
    kind: str, text: str, amounts: list[int], because: str, place: str, chance: float, minutes: int | None = None
) -> PriceLine:
    low, likely, high = amounts
    return PriceLine(
        kind=kind,
        text=text[:160],
        low_minor=low,
        likely_minor=likely,
        high_minor=high,
        because=because[:200],
        place=place,
        chance=chance,
        minutes=minutes,
    )
