"""The shop's own prices and what it pays by the year: written down, put on a job's price, taken out."""

from decimal import Decimal

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.documents.money import format_money
from levelwind.reference.families import families
from levelwind.shop.jobs.services.jobs import job_note, job_still_here
from levelwind.shop.models import FlatPrice, Job, Price, PriceLine, Shop, YearlyCost
from levelwind.shop.money.flat import flats_on, work_minutes, work_sums
from levelwind.shop.money.made_up import MadeUp, made_up
from levelwind.shop.money.selectors import price_latest, rates_of
from levelwind.shop.money.services.prices import price_begin, price_hold_open
from levelwind.shop.people.selectors import currency, shop_get
from levelwind.shop.people.services import shop_open


@transaction.atomic
def flat_add(
    *, text: str, amount_minor: int, family: str = "", minutes: int | None = None, rate: str = ""
) -> FlatPrice:
    """Another price of the shop's own; the same once more is the one that stands there."""
    if family and family not in families():
        raise InputError("kind of reel", repr(family[:40]), "one of " + ", ".join(families()))
    if rate not in dict(rates_of(shop_get())):
        raise InputError("rate of tax", repr(rate), "one that the shop sets")
    row = FlatPrice(text=text, family=family, amount_minor=amount_minor, minutes=minutes, rate=rate)
    row.full_clean()
    same = FlatPrice.objects.filter(text=text, family=family, amount_minor=amount_minor, minutes=minutes, rate=rate)
    found = same.first()
    if found:
        return found
    row.save(force_insert=True)
    return row


def flat_remove(*, pk: int) -> None:
    """Out of the list; the prices it stands on keep their line. Nothing where it is gone already."""
    FlatPrice.objects.filter(pk=pk).delete()


@transaction.atomic
def price_flat(*, job: Job, flat: FlatPrice, by: str = "") -> Price:
    """A new price with the shop's own in place of the made-up work; parts stay lines of their own.

    Where the price that is not sent yet has it already, that one.
    """
    job = job_still_here(job)
    if job.free:
        raise LevelwindError(f"{job.tag} came back under the guarantee and is free of charge.")
    latest = price_latest(job)
    if latest and not latest.sent_at and flat.pk in flats_on(latest):
        return latest
    price = price_begin(job=job, made=_with(flat, made_up(job, shop_get())))
    job_note(job=job, text=f"Price {price.number} begun with the shop's own price: {flat.text}.", by=by)
    return price


def _with(flat: FlatPrice, made: MadeUp) -> MadeUp:
    money, (low, likely, high) = currency(shop_get()), work_sums(made)
    beside = [format_money(end, money) for end in (likely, low, high)]
    because = f"The shop's own price. Made up, the work would be {beside[0]} ({beside[1]} to {beside[2]})."
    line = _line(flat, flat.minutes or work_minutes(made) or None, because)
    return MadeUp((line, *(each for each in made.lines if each.kind != "work")), made.left_out)


def _line(flat: FlatPrice, minutes: int | None, because: str) -> PriceLine:
    ends = dict.fromkeys(("low_minor", "likely_minor", "high_minor"), flat.amount_minor)
    return PriceLine(kind="work", text=flat.text, minutes=minutes, rate=flat.rate, flat=flat, because=because, **ends)


@transaction.atomic
def price_flat_line(*, price: Price, flat: FlatPrice) -> None:
    """The shop's own price as one more line; nothing where it stands there already."""
    price_hold_open(price)
    if flat.pk in flats_on(price):
        return
    line = _line(flat, flat.minutes, "The shop's own price.")
    line.price = price
    line.full_clean()
    line.save()


@transaction.atomic
def yearly_cost_add(*, text: str, amount_minor: int) -> YearlyCost:
    """What is paid by the year; the same once more is the one that stands there."""
    row = YearlyCost(text=text, amount_minor=amount_minor)
    row.full_clean()
    return YearlyCost.objects.get_or_create(text=text, amount_minor=amount_minor)[0]


def yearly_cost_remove(*, pk: int) -> None:
    YearlyCost.objects.filter(pk=pk).delete()


def own_hour_keep(*, own_hour_minor: int | None, desk_hours: Decimal) -> Shop:
    """What an hour of one's own is to bring, and the hours a week that nobody sees at the bench."""
    return _keep(own_hour_minor=own_hour_minor, desk_hours=desk_hours)


def hour_cost_keep(*, hour_cost_minor: int | None) -> Shop:
    """What a billed hour costs, as prices are held against it from now on; None: they are held against nothing."""
    return _keep(hour_cost_minor=hour_cost_minor)


@transaction.atomic
def _keep(**values: object) -> Shop:
    shop = shop_open()
    for name, value in values.items():
        setattr(shop, name, value)
    shop.clean_fields(exclude={field.name for field in Shop._meta.fields} - values.keys())
    shop.save(update_fields=list(values))
    return shop
