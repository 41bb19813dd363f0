"""The price, the owner's word, and what follows from a no."""

from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone

from levelwind.demo.bench_work import order
from levelwind.demo.case import Case
from levelwind.demo.names import BENCH
from levelwind.demo.teller import Story
from levelwind.shop.editing import fields_save
from levelwind.shop.models import Price, Stage
from levelwind.shop.money.selectors import price_latest, price_totals
from levelwind.shop.money.services.prices import (
    price_copy,
    price_draft,
    price_line_add,
    price_promise,
    price_send,
    word_record,
)
from levelwind.shop.papers.services.sendings import reel_end
from levelwind.shop.people.selectors import shop_get

POSTAGE, POSTAGE_HIGH = 1150, 1600
PRICE_NOTE = "Old parts come back with the reel. Nothing beyond this is done without a word from you."
WORD_NOTES = ("", "", "Asked for the old parts back.", "Wants it by the weekend if it can be.", "Glad to hear it.")


@dataclass(frozen=True, slots=True)
class Extra:
    """A line that a person adds to a price, in cents."""

    kind: str
    text: str
    low: int
    likely: int
    high: int
    minutes: int | None = None
    place: str = ""


EXTRAS = (
    Extra("work", "Free a seized plate screw", 0, 1350, 1800, 15),
    Extra("work", "Wind the line back on under tension", 720, 720, 720, 8),
    Extra("part", "Screws and small parts", 100, 250, 600),
    Extra("work", "Straighten the foot", 900, 1080, 1350, 12),
    Extra("part", "Handle knob, if this one splits", 0, 0, 1200, place="handle_knob"),
)
"""What the hunches know nothing of."""

CHIPPED = Extra("part", "Main gear: two teeth are chipped", 2600, 3100, 3400, place="main_gear")


def price(case: Case) -> Story:
    made = draft(case)
    yield case.soon(15)
    price_send(price=made, by=BENCH)


def draft(case: Case) -> Price:
    """The price from the hunches, with the way home added, and a day promised."""
    job, stay, clock = case.job, case.stay, case.shop.clock
    made = price_draft(job=job, by=BENCH)
    if job.parcel.came_by == "post":
        _add(made, Extra("post", "Return post, insured", POSTAGE, POSTAGE, POSTAGE_HIGH))
    for extra in case.rng.sample(EXTRAS, case.rng.choice((0, 0, 1, 1, 2))):
        _add(made, extra)
    if case.rng.random() < 0.4:
        fields_save(instance=made, was={"note": ""}, now={"note": PRICE_NOTE})
    if stay.promised is not None:
        soonest = timezone.localdate() + timedelta(days=3)
        day = clock.today + timedelta(days=stay.promised - stay.days_to_the_word)
        price_promise(job=job, day=max(day, soonest))
    return made


def word(case: Case) -> Story:
    """What the owner said; a part that the shelf has not is then ordered at once."""
    job, stay, rng = case.job, case.stay, case.rng
    sent = price_latest(job)
    assert sent is not None
    how = "counter" if job.parcel.came_by == "counter" else rng.choice(("phone", "mail", "mail", "letter"))
    likely = price_totals(tuple(sent.lines.all()), shop_get()).with_tax[1]
    most = (likely // 500 + 3) * 500 if stay.said == "up_to" else None
    note = "More than it is worth to me." if stay.said == "no" else rng.choice(WORD_NOTES)
    word_record(price=sent, said=stay.said, how=how, up_to_minor=most, note=note, by=BENCH)
    if stay.until == Stage.AGREED and stay.order:
        yield case.soon(30)
        order(case)


def end(case: Case) -> None:
    """After a no: back unmended, or left behind for spares."""
    why = {
        Stage.SENT_BACK: "the owner would rather have it as it is.",
        Stage.SPARES: "left here for its parts, against a washer set for another reel.",
    }
    reel_end(job=case.job, stage=case.stay.until, why=why[case.stay.until], by=BENCH)
    for bones in case.job.bone_reels.all():
        fields_save(instance=bones, was={"spot": ""}, now={"spot": "crate C"})


def ask_again(case: Case) -> None:
    """The open reel shows more than was priced: a dearer price goes out, and it is the owner's turn."""
    sent = price_latest(case.job)
    assert sent is not None
    dearer = price_copy(price=sent, by=BENCH)
    _add(dearer, CHIPPED)
    price_send(price=dearer, by=BENCH)


def _add(price: Price, extra: Extra) -> None:
    price_line_add(
        price=price,
        kind=extra.kind,
        text=extra.text,
        low_minor=extra.low,
        likely_minor=extra.likely,
        high_minor=extra.high,
        minutes=extra.minutes,
        place=extra.place,
    )
