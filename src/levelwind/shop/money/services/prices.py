"""Making up a price, sending it, and taking down the owner's word."""

from datetime import date

from django.db import transaction
from django.utils import timezone

from levelwind.core.codec import as_stored
from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.selectors.agreed import price_refused, stage_by_word, word_newest, word_that_holds
from levelwind.shop.jobs.selectors.jobs import parts_short
from levelwind.shop.jobs.services.jobs import job_advance, job_hold, job_move, job_note, job_still_here
from levelwind.shop.models import AfterNo, Job, Part, Price, PriceLine, Promise, Stage, Turn, Word
from levelwind.shop.money.fitted import beside_the_price, bill_lines
from levelwind.shop.money.foretold import chance_of
from levelwind.shop.money.made_up import MadeUp, made_up
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
from levelwind.shop.people.selectors import shop_get


@transaction.atomic
def price_draft(*, job: Job, by: str = "") -> Price:
    """A new price, made up from the hunches."""
    price = price_begin(job=job, made=made_up(job, shop_get()))
    job_note(job=job, text=f"Price {price.number} made up from the hunches.", by=by)
    return price


def price_begin(*, job: Job, made: MadeUp) -> Price:
    """The job's next price, with these lines."""
    latest = price_latest(job)
    price = Price.objects.create(job=job, number=latest.number + 1 if latest else 1, left_out=list(made.left_out))
    for line in made.lines:
        line.price = price
        line.full_clean(exclude={"price"}, validate_constraints=False)
    PriceLine.objects.bulk_create(made.lines)
    return price


@transaction.atomic
def price_copy(*, price: Price, by: str = "") -> Price:
    """A new price with the lines of this one; the old one stays as it was sent."""
    latest = price_latest(price.job) or price
    copied = Price.objects.create(job=price.job, number=latest.number + 1, note=price.note, left_out=price.left_out)
    lines = list(price.lines.all())
    for line in lines:
        line.pk, line.price = None, copied
        line._state.adding = True
    PriceLine.objects.bulk_create(lines)
    job_note(job=price.job, text=f"Price {copied.number} begun from price {price.number}.", by=by)
    return copied


def _still_open(price: Price) -> None:
    if price.sent_at:
        raise LevelwindError("This price has been sent and stays as it is: begin a new one from it.")


def price_hold_open(price: Price) -> None:
    """Locked until the transaction ends, and refused once it is sent."""
    _hold(price)
    _still_open(price)


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
