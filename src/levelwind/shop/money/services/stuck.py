"""A piece that will not come: taken down, put on the price and asked of the owner, and come free."""

from collections.abc import Collection, Sequence

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.quantities import whole
from levelwind.reference.stuck import Grade, Procedure, stuck
from levelwind.shop.jobs.selectors.agreed import price_refused, word_that_holds
from levelwind.shop.jobs.services.jobs import job_hold, job_note
from levelwind.shop.models import Job, Price, PriceLine, Stuck
from levelwind.shop.money.made_up import CERTAIN, LIKELY, POSSIBLE, of_minutes
from levelwind.shop.money.selectors import price_latest
from levelwind.shop.money.services.prices import price_copy, price_draft
from levelwind.shop.people.selectors import shop_get


@transaction.atomic
def stuck_note(
    *, job: Job, step: str, what: str, materials: Sequence[str] = (), corrosion: str = "", by: str = ""
) -> Stuck:
    """Take down that a step's piece will not come, of what it is made and how far it is corroded; said again, anew."""
    job_hold(job)
    book = stuck()
    procedure = book.procedure(what)
    _known("material", materials, book.materials)
    _known("corrosion", [corrosion] if corrosion else [], book.grades)
    said = {"materials": list(materials), "corrosion": corrosion, "came_at": None}
    row, new = Stuck.objects.get_or_create(job=job, step=step[:60], what=what, defaults=said)
    for name, value in said.items():
        setattr(row, name, value)
    row.full_clean()
    row.save(update_fields=list(said))
    if new:
        job_note(job=job, text=f"Will not come apart: {procedure.name}.", by=by)
    return row


def _known(what: str, keys: Sequence[str], known: Collection[str]) -> None:
    for key in keys:
        if key not in known:
            raise InputError(what, repr(key[:40]), "one of " + ", ".join(known))


@transaction.atomic
def stuck_price(*, row: Stuck, by: str = "") -> Price:
    """Put it on the job's open price, or on a new one begun from the last that was sent; it goes out as any does."""
    job = job_hold(row.job)
    if row.price_id and row.price and row.price == price_latest(job):
        return row.price
    price = _open_price(job, by)
    procedure = stuck().procedure(row.what)
    for line in stuck_lines(procedure, stuck().grades.get(row.corrosion)):
        line.price = price
        line.full_clean()
        line.save()
    row.price = price
    row.save(update_fields=["price"])
    job_note(job=job, text=f"{procedure.say}: on price {price.number}.", by=by)
    return price


@transaction.atomic
def stuck_ask(*, job: Job, step: str, what: str, materials: Sequence[str], corrosion: str = "", by: str = "") -> Price:
    """Write it down and put it on the price, of which the owner is asked."""
    row = stuck_note(job=job, step=step, what=what, materials=materials, corrosion=corrosion, by=by)
    return stuck_price(row=row, by=by)


def _open_price(job: Job, by: str) -> Price:
    """The price not sent yet; else a new one, begun from the last that its owner did not refuse."""
    latest = price_latest(job)
    if latest is None:
        return price_draft(job=job, by=by)
    if not latest.sent_at:
        return latest
    holding = word_that_holds(job)
    return price_copy(price=holding.price if holding and latest == price_refused(job) else latest, by=by)


def stuck_lines(procedure: Procedure, grade: Grade | None) -> list[PriceLine]:
    """Its work, as long as its corrosion makes it, and the part at each end at which it is likely enough to break."""
    shop, times = shop_get(), grade.times if grade and procedure.graded else 1.0
    minutes = [times * end for end in (procedure.minutes.low, procedure.minutes.value, procedure.minutes.high)]
    low, likely, high = (of_minutes(end, shop) for end in minutes)
    odds = procedure.breaks
    because = f"{procedure.name.capitalize()}. {procedure.risks}"[:200]
    lines = [
        PriceLine(
            kind="work",
            text=procedure.say,
            minutes=whole(minutes[1]),
            low_minor=low,
            likely_minor=likely,
            high_minor=high,
            because=because,
        )
    ]
    unit = 10**shop.currency_decimals
    part = whole(procedure.parts.value * unit)
    high = whole(procedure.parts.high * unit)
    ends = [part * (odds.value >= CERTAIN), part * (odds.value >= LIKELY), high * (odds.high >= POSSIBLE)]
    if ends[2]:
        text = f"New part, if it breaks ({procedure.name})"
        lines.append(
            PriceLine(
                kind="part",
                text=text,
                low_minor=ends[0],
                likely_minor=ends[1],
                high_minor=ends[2],
                because=because,
                chance=odds.value,
            )
        )
    return lines


@transaction.atomic
def stuck_came(*, row: Stuck, by: str = "") -> Stuck:
    """It came free: the step goes on."""
    job_hold(row.job)
    if row.came_at:
        raise LevelwindError("It came already.")
    row.came_at = timezone.now()
    row.save(update_fields=["came_at"])
    job_note(job=row.job, text=f"{stuck().procedure(row.what).say}: it came.", by=by)
    return row
