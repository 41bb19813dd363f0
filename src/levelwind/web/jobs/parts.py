"""Parts: for every piece to renew, what fits, from where, at what price, how sure."""

from dataclasses import dataclass

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.utils.text import slugify
from django.views.decorators.http import require_POST

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.shop.drag.selectors.plans import plan_latest
from levelwind.shop.models import BoneReel, DragPlan, Job, Part, PartOrder, Pattern
from levelwind.shop.money.fitted import Coming, coming
from levelwind.shop.money.services.standins import price_standin
from levelwind.shop.parts.selectors.bones import donors_for
from levelwind.shop.parts.selectors.consumables import Consumed, consumables, consumed
from levelwind.shop.parts.selectors.shelf import part_find
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.orders import part_order_arrived
from levelwind.shop.parts.services.shelf import job_used_up
from levelwind.shop.patterns.selectors.layouts import PlaceInPattern
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.takedown.selectors.renewals import Renewal, renewals
from levelwind.shop.takedown.services.renewals import (
    renew_by_order,
    renew_from_shelf,
    renew_order_call_off,
    renew_put_back,
    renew_set,
    renew_with_another,
    renew_with_way,
    renew_without,
)
from levelwind.web.forms import MoneyField
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, spoken
from levelwind.web.piece_sizes import sizes_query
from levelwind.web.requests import Request, key_in


def number_for(place: PlaceInPattern, of: Pattern | None) -> str:
    """A number to write another part down under: the pattern's own, or one made up of pattern and place."""
    made_up = slugify(f"{of.model} {of.size} {place.key}" if of else place.key).upper()
    return place.part_number or made_up[:40]


@dataclass(frozen=True, slots=True)
class Card:
    """One place to renew, with what was refused there and the word typed."""

    renewal: Renewal
    pattern: Pattern | None
    refusal: str = ""
    typed: str = ""

    @property
    def number(self) -> str:
        return number_for(self.renewal.place, self.pattern)

    @property
    def sizes(self) -> str:
        """What the page that knows pieces by their sizes is told of this one."""
        place, piece = self.renewal.place, self.renewal.piece
        return sizes_query(place.kind, place.measure, piece.measured_mm if piece else {})


@dataclass(frozen=True, slots=True)
class PartsContext:
    head: JobHead
    todo: tuple[Card, ...]
    done: tuple[Card, ...]
    donors: tuple[BoneReel, ...]
    plan: DragPlan | None
    holds: Quantity | None
    set_waits: bool
    cannot: str
    coming: Coming | None
    consumed: tuple[Consumed, ...]


def draw(request: Request, job: Job, *, place: str = "", refusal: str = "") -> HttpResponse:
    """The page; what was refused stands beside its place."""
    cannot = ""
    rows: tuple[Renewal, ...] = ()
    try:
        rows = renewals(job)
    except LevelwindError as why:
        cannot = spoken(why)
    typed = request.POST.get("note", "")
    if refusal and place not in {row.place.key for row in rows}:
        messages.error(request, refusal)
    cards = [
        Card(row, job.pattern, refusal, typed) if row.place.key == place else Card(row, job.pattern) for row in rows
    ]
    plan = plan_latest(job)
    context = PartsContext(
        head=job_head(job, "parts"),
        todo=tuple(card for card in cards if not card.renewal.done),
        done=tuple(card for card in cards if card.renewal.done),
        donors=tuple(donors_for(job)),
        plan=plan,
        holds=_holds(plan),
        set_waits=any(
            row.place.renew == "whenever open" and not row.done and any(one.taken_unasked for one in row.offers)
            for row in rows
        ),
        cannot=cannot,
        coming=coming(job, shop_get()),
        consumed=consumed(job),
    )
    return page(request, "jobs/parts.html", context, status=422 if refusal else 200)


def _holds(plan: DragPlan | None) -> Quantity | None:
    """What the stack laid out holds at a full spool, run in, in the shop's unit of force."""
    fills = plan.computed.get("tension", []) if plan else []
    return Quantity(**fills[0]["run_in_N"]).scaled(1 / NEWTONS_PER[shop_get().force_unit]) if fills else None


def parts_page(request: Request, tag: str) -> HttpResponse:
    return draw(request, job_or_404(tag))


@require_POST
def parts_act(request: Request, tag: str, what: str) -> HttpResponse:
    """Take a part, put it back, order it, call the order off, say it is here, go without one, say it fits."""
    job, place = job_or_404(tag), request.POST.get("place", "")
    try:
        _act(request, job, place, what)
    except LevelwindError as refusal:
        if not place:
            messages.error(request, spoken(refusal))
            return redirect("parts", tag)
        return draw(request, job_or_404(tag), place=place, refusal=spoken(refusal))
    return redirect(reverse("parts", args=[tag]) + (f"#{place}" if place else ""))


def _act(request: Request, job: Job, place: str, what: str) -> None:
    by = request.user.get_username()
    if what == "set":
        count = renew_set(job=job, by=by)
        messages.success(request, f"{count} place{'' if count == 1 else 's'} renewed from the shelf.")
    elif what == "used-up":
        written = job_used_up(job=job, totals=_totals(request), by=by)
        messages.success(request, "Written in." if written else "As it was written: nothing is changed.")
    elif what == "take":
        used = request.POST.get("used") == "1"
        renew_from_shelf(job=job, place=place, part=_part(request), count=_count(request), used=used, by=by)
    elif what == "back":
        renew_put_back(job=job, place=place, by=by)
    elif what == "order":
        renew_by_order(job=job, place=place, part=_part(request), count=_count(request), by=by)
    elif what in ("price", "way"):
        _chosen(request, job, place, what)
    elif what in ("order-another", "donor", "in-hand"):
        _another(request, job, place, what)
    elif what == "without":
        renew_without(job=job, place=place, note=request.POST.get("note", ""), by=by)
    elif what == "fits" and job.pattern is not None:
        fit_say(part=_part(request), pattern=job.pattern, place=place, basis="tried", said_by=by, note=f"in {job.tag}")
    elif what in ("arrived", "off"):
        (part_order_arrived if what == "arrived" else renew_order_call_off)(order=_order(request, job), by=by)
    else:
        raise InputError("what to do", repr(what[:30]), "one of the presses of this page")


def _chosen(request: Request, job: Job, place: str, what: str) -> None:
    """One row of what would do: onto the price, or, where it is no part of the shelf, onto the job."""
    by, key = request.user.get_username(), request.POST.get("standin", "")
    renewal = next((row for row in renewals(job) if row.place.key == place), None)
    standin = next((row for row in renewal.standins if row.key == key), None) if renewal else None
    if renewal is None or standin is None:
        raise LevelwindError("This is not among what would do any more: load the page again.")
    if what == "way" and standin.way:
        renew_with_way(job=job, renewal=renewal, way=standin.way, number=number_for(renewal.place, job.pattern), by=by)
        return
    each = _price(request)
    priced = price_standin(job=job, place=renewal.place, count=renewal.count, standin=standin, price_minor=each, by=by)
    beside = f" “{priced.beside}” stands there too: take it off if it means the same." if priced.beside else ""
    messages.success(request, f"{priced.line.text} stands on price {priced.line.price.number}.{beside}")


def _another(request: Request, job: Job, place: str, what: str) -> None:
    """A part typed on the spot: its number, its name, what it costs the owner."""
    bone = next((one for one in donors_for(job) if one.pk == key_in(request.POST.get("bone"))), None)
    if what == "donor" and bone is None:
        raise LevelwindError("This donor reel is not in the bone box any more: load the page again.")
    renew_with_another(
        job=job,
        place=place,
        number=request.POST.get("number", ""),
        name=request.POST.get("name", ""),
        count=_count(request),
        price_minor=_price(request) or 0,
        order=what == "order-another",
        bone=bone if what == "donor" else None,
        by=request.user.get_username(),
    )


def _price(request: Request) -> int | None:
    """What is charged for one, as typed, in minor units."""
    try:
        typed: int | None = MoneyField(required=False).clean(request.POST.get("price", ""))
    except ValidationError as refusal:
        raise LevelwindError(refusal.messages[0]) from None
    return typed


USED = "used-"
"""What the name of a consumable's field begins with; the part's key follows."""


def _totals(request: Request) -> dict[Part, float]:
    """What was typed beside each consumable; an empty box says nothing of it."""
    typed = {
        key_in(name.removeprefix(USED)): request.POST.get(name, "") for name in request.POST if name.startswith(USED)
    }
    totals = {}
    for part in consumables():
        text = typed.get(part.pk, "").strip().replace(",", ".")
        try:
            if text:
                totals[part] = float(text)
        except ValueError:
            raise InputError(f"used of {part.number}", text[:20], f"a number of {part.measure}, such as 1.5") from None
    return totals


def _part(request: Request) -> Part:
    part = part_find(key_in(request.POST.get("part")))
    if part is None:
        raise LevelwindError("This part is not on the shelf any more: load the page again.")
    return part


def _order(request: Request, job: Job) -> PartOrder:
    order = job.part_orders.filter(pk=key_in(request.POST.get("order"))).first()
    if order is None:
        raise LevelwindError("This order is not there any more: load the page again.")
    return order


def _count(request: Request) -> int:
    typed = request.POST.get("count", "1").strip()
    if not typed.isdecimal() or len(typed) > 6:
        raise InputError("count", typed[:20] or "nothing", "a whole number, 1 or more")
    return int(typed)


urlpatterns = [
    path("jobs/<str:tag>/parts/", parts_page, name="parts"),
    path("jobs/<str:tag>/parts/<str:what>/", parts_act, name="parts_act"),
]
