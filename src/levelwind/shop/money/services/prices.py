"""Making up a price, sending it, and taking down the owner's word."""

from collections.abc import Mapping
from datetime import date

from django.db import transaction
from django.utils import timezone

from levelwind.core.codec import as_stored
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.hunches import Fault, Hunch
from levelwind.core.quantities import Quantity, percent, whole
from levelwind.core.takedown import full
from levelwind.reference.families import families, family
from levelwind.reference.unknown_reels import commonness
from levelwind.shop.jobs.selectors.agreed import price_refused, stage_by_word, word_newest, word_that_holds
from levelwind.shop.jobs.selectors.hunches import hunches_of, looked_over_as
from levelwind.shop.jobs.selectors.jobs import parts_short
from levelwind.shop.jobs.selectors.minutes import shop_minutes
from levelwind.shop.jobs.selectors.stuck import left_as_it_is
from levelwind.shop.jobs.services.jobs import job_advance, job_hold, job_move, job_note, job_still_here
from levelwind.shop.models import AfterNo, Job, Part, Price, PriceLine, Promise, Shop, Stage, Turn, Word
from levelwind.shop.money.fitted import beside_the_price, bill_lines
from levelwind.shop.money.foretold import chance_of
from levelwind.shop.money.selectors import (
    DraftLine,
    account_of,
    agreed_minor,
    bill_draft_lines,
    days_in_shop,
    draft_sums,
    no_lines,
    price_latest,
    promise_chance,
    rates_of,
)
from levelwind.shop.money.shelf_prices import ShelfPrice, of_all, shelf_prices
from levelwind.shop.patterns.selectors.layouts import job_layout
from levelwind.shop.people.selectors import shop_get

LIKELY, POSSIBLE, CERTAIN = 0.5, 0.2, 0.85
"""A fault this probable is in the likely price; in the highest price; in the lowest price too."""

CLEANING_MINUTES = 20
SMALL_PARTS = 2.0
"""In whole currency units: what is renewed unseen for less is part of the cleaning, not a line of its own."""

WORK_LOW, WORK_HIGH = 0.9, 1.25
"""Judgements: how far the strip, clean and rebuild of one reel strays from the family's minutes."""


@transaction.atomic
def price_draft(*, job: Job, by: str = "") -> Price:
    """A new price: the work on any such reel, then a line for each fault likely enough to pay for.

    Of a reel that came back under guarantee and is mended free of charge: one line that says so.
    """
    shop = shop_get()
    latest = price_latest(job)
    price = Price.objects.create(job=job, number=latest.number + 1 if latest else 1)
    lines = [_under_guarantee(job)] if job.free else _made_up(job, shop)
    for line in lines:
        line.price = price
        line.full_clean(exclude={"price"}, validate_constraints=False)
    PriceLine.objects.bulk_create(lines)
    job_note(job=job, text=f"Price {price.number} made up from the hunches.", by=by)
    return price


def _made_up(job: Job, shop: Shop) -> list[PriceLine]:
    lines, renewed, hunches = [_whole_service(job, shop)], set[str](), [one for one in hunches_of(job) if _paid(one)]
    shelf = shelf_prices(job, {place for hunch in hunches if hunch.fault.parts.high for place in hunch.fault.places})
    for hunch in hunches:
        lines += _mend_lines(hunch, shop, renewed, shelf)
    return lines


def _under_guarantee(job: Job) -> PriceLine:
    first = job.comeback_of
    because = f"It came back under the guarantee of {first.tag}." if first else ""
    return PriceLine(kind="work", text="Under guarantee, free of charge", because=because)


@transaction.atomic
def price_copy(*, price: Price, by: str = "") -> Price:
    """A new price with the lines of this one; the old one stays as it was sent."""
    latest = price_latest(price.job) or price
    copied = Price.objects.create(job=price.job, number=latest.number + 1, note=price.note)
    lines = list(price.lines.all())
    for line in lines:
        line.pk, line.price = None, copied
        line._state.adding = True
    PriceLine.objects.bulk_create(lines)
    job_note(job=price.job, text=f"Price {copied.number} begun from price {price.number}.", by=by)
    return copied


def _whole_service(job: Job, shop: Shop) -> PriceLine:
    both, says = _both_ways(job)
    cleans = not any(leave.key == "cleaning" for leave in left_as_it_is(job))
    cleaning = CLEANING_MINUTES if cleans else 0
    minutes = whole(both.value + cleaning)
    minute = shop.hour_minor / 60
    return PriceLine(
        kind="work",
        text=f"Take apart, {'clean, ' if cleans else 'leave uncleaned, '}oil and grease, put together",
        minutes=minutes,
        low_minor=whole(whole((both.low + cleaning) * minute) * WORK_LOW),
        likely_minor=whole(minutes * minute),
        high_minor=whole(whole((both.high + cleaning) * minute) * WORK_HIGH),
        because=f"{says}, cleaning {cleaning} min, at the shop's hour.",
    )


def _both_ways(job: Job) -> tuple[Quantity, str]:
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


def _paid(hunch: Hunch) -> bool:
    """Probable enough to be paid for, and more than a small part renewed unseen."""
    small = hunch.fault.renew_unseen and hunch.fault.parts.value <= SMALL_PARTS
    return hunch.probability >= POSSIBLE and not small


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
    work = whole(fault.minutes * shop.hour_minor / 60)
    asked = of_all(fault.places, shelf) if fault.parts.high else None
    parts = [asked.low, asked.likely, asked.high] if asked else _usual(fault, shop)
    lines = []
    if work:
        amounts = [work if end else 0 for end in ends]
        lines.append(_line("work", fault.mend, amounts, because, place, whole(fault.minutes)))
    if parts[2] and not (fault.places and renewed.issuperset(fault.places)):
        renewed.update(fault.places)
        amounts = [part if end else 0 for part, end in zip(parts, ends, strict=True)]
        because += f" The shelf's own price of {asked.named}." if asked else ""
        lines.append(_line("part", f"Parts to {fault.mend[0].lower()}{fault.mend[1:]}", amounts, because, place))
    return lines


def _usual(fault: Fault, shop: Shop) -> list[int]:
    """What parts for the fault usually cost, low to high."""
    unit = 10**shop.currency_decimals
    return [whole(end * unit) for end in (fault.parts.low, fault.parts.value, fault.parts.high)]


def _line(kind: str, text: str, amounts: list[int], because: str, place: str, minutes: int | None = None) -> PriceLine:
    low, likely, high = amounts
    return PriceLine(
        kind=kind,
        text=text[:160],
        low_minor=low,
        likely_minor=likely,
        high_minor=high,
        because=because[:200],
        place=place,
        minutes=minutes,
    )


def _still_open(price: Price) -> None:
    if price.sent_at:
        raise LevelwindError("This price has been sent and stays as it is: begin a new one from it.")


def _hold(price: Price) -> None:
    """Lock the price's job, then read whether it is sent as it is now."""
    job_hold(price.job)
    price.refresh_from_db(fields=["sent_at"])


@transaction.atomic
def price_line_add(
    *,
    price: Price,
    kind: str,
    text: str,
    low_minor: int = 0,
    likely_minor: int = 0,
    high_minor: int = 0,
    count: int = 1,
    minutes: int | None = None,
    part: Part | None = None,
    place: str = "",
    because: str = "",
    rate: str = "",
) -> PriceLine:
    _still_open(price)
    if rate not in dict(rates_of(shop_get())):
        raise InputError("rate of tax", repr(rate), "one that the shop sets")
    line = PriceLine(
        price=price,
        kind=kind,
        text=text,
        low_minor=low_minor,
        likely_minor=likely_minor,
        high_minor=high_minor,
        count=count,
        minutes=minutes,
        part=part,
        place=place,
        because=because,
        rate=rate,
    )
    line.full_clean()
    line.save()
    return line


@transaction.atomic
def price_line_remove(*, price: Price, line_pk: int) -> None:
    _still_open(price)
    price.lines.filter(pk=line_pk).delete()


@transaction.atomic
def price_promise(*, job: Job, day: date | None, today: date | None = None) -> Job:
    """Promise a day, with the chance of keeping it: the bench's futures give it, or how long finished jobs took."""
    today = today or timezone.localdate()
    if day and day < today and day != job.promised_on:
        raise LevelwindError("That day is past: promise today or a later day.")
    job.promised_on = day
    told = chance_of(job, day) if day else None
    job.promise_chance = told if told is not None or day is None else _chance_by_the_past((day - today).days)
    if job.turn != Turn.MINE:
        job.paused_since = timezone.now()
    job.full_clean()
    job.save(update_fields=["promised_on", "promise_chance", "paused_since"])
    if day:
        Promise.objects.create(job=job, day=day, chance=job.promise_chance, foretold=told is not None)
    return job


def _chance_by_the_past(days: int) -> float | None:
    return promise_chance(days, days_in_shop()).chance


@transaction.atomic
def price_send(*, price: Price, by: str = "") -> Price:
    """Call the price sent: it is fixed from now on, and it is the owner's turn."""
    _hold(price)
    _still_open(price)
    if not price.lines.exists():
        raise LevelwindError("A price without a line cannot be sent: add what is to be done.")
    price.sent_at = timezone.now()
    price.full_clean()
    price.save(update_fields=["sent_at"])
    job_note(job=price.job, text=f"Price {price.number} sent.", by=by)
    job_advance(job=price.job, stage=Stage.PRICE_SENT, turn=Turn.OWNER, by=by)
    return price


@transaction.atomic
def price_call_back(*, price: Price, by: str = "") -> Price:
    """The price was not sent after all: it is open again. Refused once the owner has said a word to it."""
    if price.sent_at is None:
        raise LevelwindError("This price is not sent.")
    if price.words.exists():
        raise LevelwindError("The owner has answered this price, so it was sent: begin a new one from it.")
    price.sent_at = None
    price.save(update_fields=["sent_at"])
    job = job_still_here(price.job)
    job_note(job=job, text=f"Price {price.number} was not sent after all.", by=by)
    stage = stage_by_word(job) if job.stage == Stage.PRICE_SENT else Stage(job.stage)
    job_move(job=job, stage=stage, turn=Turn.MINE if job.turn == Turn.OWNER else Turn(job.turn), by=by)
    return price


@transaction.atomic
def word_record(
    *, price: Price, said: str, how: str, up_to_minor: int | None = None, note: str = "", by: str = ""
) -> Word:
    """Take down what the owner said, when and how; a yes lets the work begin, a no lets it end. Said twice, once."""
    if said == "up_to" and up_to_minor is None:
        raise LevelwindError("Enter the most the owner agreed to.")
    _hold(price)
    most = up_to_minor if said == "up_to" else None
    before, asked = word_newest(price.job), (price.pk, said, most, how, note)
    if before and (before.price_id, before.said, before.up_to_minor, before.how, before.note) == asked:
        return before
    if not price.sent_at:
        price_send(price=price, by=by)
    word = Word(price=price, said=said, how=how, up_to_minor=most, note=note)
    word.full_clean()
    word.save()
    job = price.job
    job_note(job=job, text=f"The owner said {word.get_said_display()}, {word.get_how_display()}.", by=by)
    job.after_no = AfterNo.ASK if said == "no" else AfterNo.NOTHING
    job.ceiling_minor = agreed_minor(job, shop_get()) if word_that_holds(job) else None
    job.save(update_fields=["after_no", "ceiling_minor"])
    if said == "no":
        _after_a_no(job, by)
    else:
        job_advance(job=job, stage=Stage.AGREED, turn=Turn.PART if parts_short(job) else Turn.MINE, by=by)
    return word


@transaction.atomic
def word_unsay(*, job: Job, by: str = "") -> Job:
    """The owner's newest word was taken down by mistake: it is gone, the history keeps it, and the word before holds.

    Raises LevelwindError once the reel went on from it, or a bill rests on it.
    """
    word = word_newest(job_still_here(job))
    if word is None or job.stage not in (Stage.PRICE_SENT, Stage.AGREED):
        raise LevelwindError(f"{job.tag} is {job.get_stage_display()}: write down what the owner says now instead.")
    bill = job.bills.filter(voided_at=None).last()
    if bill:
        raise LevelwindError(f"Bill {bill.number} rests on that word: void it first.")
    words = f"The owner did not say {word.get_said_display()} {word.get_how_display()} after all."
    word.delete()
    before = word_newest(job)
    job.after_no = AfterNo.ASK if before and before.said == "no" else AfterNo.NOTHING
    job.ceiling_minor = agreed_minor(job, shop_get()) if word_that_holds(job) else None
    job.save(update_fields=["after_no", "ceiling_minor"])
    job_note(job=job, text=words, by=by)
    stage, answered = stage_by_word(job), before and before.price == price_latest(job)
    return job_move(
        job=job, stage=stage, turn=Turn(job.turn) if answered or stage == Stage.AGREED else Turn.OWNER, by=by
    )


@transaction.atomic
def no_answered(*, job: Job, way: str, by: str = "") -> Job:
    """Say what follows a no: finish what was agreed before, or put it together and send it back.

    Sent back, the bill begins with what the shop asks for the looking and for the way back.
    """
    if price_refused(job_still_here(job)) is None:
        raise LevelwindError("The owner's newest word is not a no.")
    if way not in (AfterNo.AGREED, AfterNo.BACK):
        raise InputError("what follows the no", repr(way[:30]), "finish what was agreed, or send it back")
    if way == AfterNo.AGREED and word_that_holds(job) is None:
        raise LevelwindError("Nothing was agreed before: there is nothing to finish.")
    job.after_no = AfterNo(way)
    job.bill_draft = as_stored(_of_going_back(job)) if way == AfterNo.BACK else None
    job.full_clean()
    job.save(update_fields=["after_no", "bill_draft"])
    job_note(job=job, text=f"After the no: {AfterNo(way).label}.", by=by)
    return job


def _of_going_back(job: Job) -> tuple[DraftLine, ...]:
    """What the shop asks for the looking and the way back; a draft that has it already stays as it was typed."""
    asked = no_lines(job, shop_get())
    drawn = bill_draft_lines(job) if job.bill_draft else ()
    return drawn if {line.text for line in asked} <= {line.text for line in drawn} else asked


@transaction.atomic
def price_ask_again(*, job: Job, by: str = "") -> Price:
    """A price to ask the owner with: the newest one and a line for each part fitted or ordered beside it."""
    beside, latest = beside_the_price(job_still_here(job)), price_latest(job)
    price = latest if latest and not latest.sent_at else price_copy(price=latest, by=by) if latest else None
    if price is None:
        raise LevelwindError("There is no price yet: make one up first.")
    for one in beside:
        sum_minor = one.line.amount_minor
        price_line_add(
            price=price,
            kind="part",
            text=one.line.text,
            low_minor=sum_minor,
            likely_minor=sum_minor,
            high_minor=sum_minor,
            part=one.part,
            place=one.place,
        )
    return price


@transaction.atomic
def word_for_bill(*, job: Job, how: str, by: str = "") -> Word:
    """The owner agrees to the bill as it stands, though it is more than the word before: a word up to its whole sum."""
    word = word_that_holds(job)
    if word is None:
        raise LevelwindError("The owner has agreed to no price yet: take their word down on the price.")
    lines, shop = bill_lines(job), shop_get()
    whole = account_of(job).creditable + draft_sums(lines, shop).total
    return word_record(price=word.price, said="up_to", up_to_minor=whole, how=how, note="to the bill", by=by)


def _after_a_no(job: Job, by: str) -> None:
    """What was agreed before stands, and a reel that is opened or closed again is so: only whose turn it is changes."""
    falls = job.stage == Stage.AGREED and not word_that_holds(job)
    job_move(job=job, stage=Stage.PRICE_SENT if falls else Stage(job.stage), by=by)
