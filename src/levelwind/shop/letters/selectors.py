"""Which letters can be written of a job as it is now, and what stands in them."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from urllib.parse import quote

from django.db.models import Q, QuerySet
from django.utils import timezone

from levelwind.core.writing import day_in_words
from levelwind.documents.letter import Letter as LetterPaper
from levelwind.documents.money import format_money
from levelwind.shop.jobs.life import reached
from levelwind.shop.jobs.selectors.jobs import reel_is_open, sending_get, waited_days
from levelwind.shop.jobs.selectors.service import MONTH, service_months
from levelwind.shop.letters.texts import SHIPPED, Text, filled
from levelwind.shop.models import AfterNo, Job, Letter, LetterKind, LetterText, Price, Stage, Turn
from levelwind.shop.money.selectors import account_of, price_latest, price_totals
from levelwind.shop.people.selectors import currency, letterhead, lines, sheet_head, shop_get


@dataclass(frozen=True, slots=True)
class Offer:
    """A letter that a job may be written: why not, while it would not be true, and whether its time has come."""

    kind: LetterKind
    why_not: str = ""
    due: bool = False


def letters_offered(job: Job) -> tuple[Offer, ...]:
    """Every kind of letter for the job as it is now, each true or with the reason why it would not be."""
    return tuple(letter_offer(job, kind) for kind in LetterKind)


def letter_offer(job: Job, kind: LetterKind) -> Offer:
    """Whether such a letter would be true now. One that was written already is not due again; asking again is."""
    offer = _RULES[kind](job)
    if offer.due and kind != LetterKind.ASK_AGAIN and _written(job, kind).exists():
        return replace(offer, due=False)
    return offer


def letter_untrue(letter: Letter) -> str:
    """Why a letter would not be true now, though it was when it was written; empty where it still is."""
    if letter.price and letter.price != price_latest(letter.job):
        return "there is a newer price"
    if letter.price and letter.price_said and _figures(letter.price_said) != _figures(price_in_words(letter.price)):
        return f"the price is {price_in_words(letter.price)} now"
    return letter_offer(letter.job, LetterKind(letter.kind)).why_not


def _figures(words: str) -> str:
    """Of a sum, without its sign and marks: the shop may have come to write sums in another way since."""
    return "".join(filter(str.isdecimal, words))


def _written(job: Job, kind: LetterKind) -> QuerySet[Letter]:
    written = job.letters.filter(kind=kind).exclude(went__state="stopped")
    return written.filter(price=price_latest(job)) if kind == LetterKind.PRICE else written


def _price(job: Job) -> Offer:
    price, kind = price_latest(job), LetterKind.PRICE
    if job.is_over:
        return Offer(kind, f"it is {job.get_stage_display()}")
    if price is None or not price.lines.exists():
        return Offer(kind, "there is no price with a line on it yet")
    if price.words.exists():
        return Offer(kind, "the owner has answered this price")
    return Offer(kind, due=price.sent_at is None and job.stage == Stage.LOOKED_OVER)


def _ask_again(job: Job) -> Offer:
    price, kind, days = price_latest(job), LetterKind.ASK_AGAIN, shop_get().ask_again_days
    if job.is_over or price is None or price.sent_at is None:
        return Offer(kind, "no price is sent")
    if job.turn != Turn.OWNER or price.words.exists():
        return Offer(kind, "the owner is not waited for")
    left = days - waited_days(job, timezone.localdate())
    if left > 0:
        return Offer(kind, f"the shop asks again after {days} days: {left} to go")
    return Offer(kind, due=True)


def _ready(job: Job) -> Offer:
    kind = LetterKind.READY
    if reel_is_open(job):
        return Offer(kind, "the reel is apart")
    if job.is_over or not reached(job.stage, Stage.PROVED):
        return Offer(kind, f"it is {job.get_stage_display()}")
    if job.after_no == AfterNo.BACK:
        return Offer(kind, "the owner said no, and it goes back unmended")
    return Offer(kind, due=True)


def _sent(job: Job) -> Offer:
    kind, sending = LetterKind.SENT, sending_get(job)
    if job.stage != Stage.HOME or sending.sent_at is None:
        return Offer(kind, "it is not on its way home")
    if not sending.carrier and not sending.tracking and job.parcel.came_by == "counter":
        return Offer(kind, "it came over the counter, and no carrier is named")
    return Offer(kind, due=timezone.now() - sending.sent_at < timedelta(days=7))


def _sent_back(job: Job) -> Offer:
    kind = LetterKind.SENT_BACK
    if job.stage != Stage.SENT_BACK:
        return Offer(kind, "it is not sent back unmended")
    return Offer(kind, due=timezone.now() - job.stage_since < timedelta(days=7))


def _thanks(job: Job) -> Offer:
    kind, sending = LetterKind.THANKS, sending_get(job)
    if job.stage != Stage.HOME or sending.sent_at is None:
        return Offer(kind, "it is not home")
    if sending.came_back:
        return Offer(kind, "it came back with the same trouble")
    day = sending.follow_up_on
    return Offer(kind, due=bool(day and day <= timezone.localdate() and not sending.follow_up_note))


def _service(job: Job) -> Offer:
    kind, sending, months = LetterKind.SERVICE, sending_get(job), service_months(job, shop_get())
    if job.stage != Stage.HOME or sending.sent_at is None:
        return Offer(kind, "it is not home")
    if _here_again(job):
        return Offer(kind, "it was here again since")
    if timezone.now() - sending.sent_at < months * MONTH:
        return Offer(kind, f"it left less than {months} months ago")
    return Offer(kind, due=True)


def _here_again(job: Job) -> bool:
    """As one and the same reel, by its serial number, or by its name where it has none."""
    later = Job.objects.filter(booked_in_at__gt=job.booked_in_at)
    same = {"serial": job.serial} if job.serial else {"reel": job.reel}
    known = Q(history=job.history_id, history__isnull=False)
    return later.filter(known | Q(owner=job.owner_id, **same)).exists()


def _other(job: Job) -> Offer:
    return Offer(LetterKind.OTHER)


_RULES: dict[LetterKind, Callable[[Job], Offer]] = {
    LetterKind.PRICE: _price,
    LetterKind.ASK_AGAIN: _ask_again,
    LetterKind.READY: _ready,
    LetterKind.SENT: _sent,
    LetterKind.SENT_BACK: _sent_back,
    LetterKind.THANKS: _thanks,
    LetterKind.SERVICE: _service,
    LetterKind.OTHER: _other,
}


def letter_text(kind: LetterKind) -> Text:
    """The shop's own text, or the one that comes with Levelwind."""
    own = LetterText.objects.filter(kind=kind).first()
    return Text(own.subject, own.body) if own else SHIPPED[kind]


def letter_filled(job: Job, text: Text) -> Text:
    """The text as a letter of this job. A subject is one line, whatever stands in its fields."""
    values = letter_values(job)
    return Text(one_line(filled(one_line(text.subject), values)), filled(text.body, values))


def one_line(text: str) -> str:
    """Blanks, line ends and control characters in one line of print.

    >>> one_line("Your reel\\r\\nBcc: all ")
    'Your reel Bcc: all'
    """
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())


def letter_values(job: Job) -> dict[str, str]:
    """Every field as this job fills it; what the book does not hold is empty."""
    shop, sending, price = shop_get(), sending_get(job), price_latest(job)
    owes = account_of(job).owed
    return {
        "owner": one_line(job.owner.name),
        "reel": one_line(job.reel),
        "serial": one_line(job.serial),
        "tag": job.tag,
        "complaint": one_line(job.complaint),
        "came_on": _day(job.booked_in_at),
        "shop": one_line(shop.name),
        "shop_phone": one_line(shop.phone),
        "shop_email": shop.email,
        "promised_on": day_in_words(job.promised_on) if job.promised_on else "",
        "sent_on": _day(sending.sent_at),
        "carrier": one_line(sending.carrier),
        "tracking": one_line(sending.tracking),
        "owes": format_money(owes, currency(shop)) if owes > 0 else "",
        "how_to_pay": one_line(shop.how_to_pay) if owes > 0 else "",
        **(_price_values(price) if price else {}),
    }


def price_in_words(price: Price) -> str:
    """What it will cost, with tax, as a letter names it."""
    shop = shop_get()
    sums = price_totals(tuple(price.lines.all()), shop).with_tax
    low, likely, high = (format_money(sum_minor, currency(shop)) for sum_minor in sums)
    return likely if low == high else f"{likely}, between {low} and {high}"


def _price_values(price: Price) -> dict[str, str]:
    return {
        "price": price_in_words(price),
        "lines": "; ".join(one_line(row.text) for row in price.lines.all()),
        "price_sent_on": _day(price.sent_at),
        "good_until": day_in_words(price.good_until) if price.good_until else "",
    }


def _day(at: datetime | None) -> str:
    return day_in_words(timezone.localdate(at)) if at else ""


def letters_of(job: Job) -> QuerySet[Letter]:
    """The job's letters with how each went, the newest first."""
    return job.letters.select_related("went")


def letters_to_go() -> QuerySet[Letter]:
    """Letters of all jobs that the mail server has not taken: those that wait, and those it refused."""
    return Letter.objects.filter(went__state__in=("waiting", "under_way", "refused")).select_related("went", "job")


def job_to_try(kind: LetterKind, tag: str = "") -> Job | None:
    """A real job to see a text with: the one named, or else the newest of which such a letter would be true."""
    jobs = Job.objects.select_related("owner", "parcel", "pattern")
    if tag:
        return jobs.filter(tag=tag).first()
    newest = list(jobs[:LOOKED_AT])
    return next((job for job in newest if not letter_offer(job, kind).why_not), newest[0] if newest else None)


LOOKED_AT = 40
"""So many of the newest jobs are asked whether a letter would be true of them. Our choice: half a second at most."""


def mail_link(letter: Letter) -> str:
    """The letter for the mail program of this machine, as RFC 6068 writes it: percent-encoded UTF-8, lines end in CRLF.

    >>> mail_link(Letter(to_email="a+b@example.org", subject="Fish & line?", body="One\\ntwo"))
    'mailto:a%2Bb@example.org?subject=Fish%20%26%20line%3F&body=One%0D%0Atwo'
    """
    body = "\r\n".join(letter.body.splitlines())
    subject, text = quote(letter.subject, safe=""), quote(body, safe="")
    return f"mailto:{quote(letter.to_email, safe='@')}?subject={subject}&body={text}"


def letter_paper(letter: Letter) -> LetterPaper:
    """The letter as it was written, on the shop's paper."""
    shop = shop_get()
    return LetterPaper(
        shop=letterhead(shop),
        job=sheet_head(letter.job, shop),
        dated=timezone.localdate(letter.written_at),
        subject=letter.subject,
        paragraphs=tuple("\n".join(lines(part)) for part in letter.body.split("\n\n") if part.strip()),
    )
