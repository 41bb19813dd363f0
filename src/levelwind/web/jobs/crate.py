"""A crate as one: one price, one word, one bill, one parcel home; each reel keeps its own lines and proof."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.views.decorators.http import require_POST, require_safe

from levelwind.core.errors import LevelwindError
from levelwind.documents import price as price_paper
from levelwind.shop.jobs.selectors.jobs import parcel_get
from levelwind.shop.models import Parcel, Sending, Stage, Word
from levelwind.shop.money.crates import Crate, crate_of
from levelwind.shop.money.enough import Chances, price_chances
from levelwind.shop.money.services.crates import crate_price, crate_send, crate_word
from levelwind.shop.papers.selectors.crates import crate_sheet
from levelwind.shop.papers.services.crates import crate_send_home
from levelwind.shop.people.selectors import shop_get
from levelwind.web.forms import MoneyField
from levelwind.web.pages import page, spoken
from levelwind.web.papers import paper
from levelwind.web.requests import Request


class CrateWordForm(forms.Form):
    said = forms.ChoiceField(choices=Word.ANSWERS, label="the owner says")
    up_to_minor = MoneyField(label="up to which sum, with tax", required=False)
    how = forms.ChoiceField(choices=Word.TAKEN_DOWN, label="how it came")


class CrateHomeForm(forms.ModelForm):  # type: ignore[type-arg]
    class Meta:
        model = Sending
        fields = ["carrier", "tracking"]


@dataclass(frozen=True, slots=True)
class CrateContext:
    crate: Crate
    chances: Chances | None
    bare: int
    unsent: int
    boxed: int
    word: CrateWordForm
    home: CrateHomeForm


def _parcel_or_404(pk: int) -> Parcel:
    try:
        return parcel_get(pk)
    except Parcel.DoesNotExist:
        raise Http404(pk) from None


def _draw(request: Request, parcel: Parcel, **given: Any) -> HttpResponse:
    crate = crate_of(parcel, shop_get())
    context = CrateContext(
        crate=crate,
        chances=price_chances([row.price for row in crate.priced if row.price], crate.totals) if crate.priced else None,
        bare=sum(row.price is None and not row.job.is_over for row in crate.rows),
        unsent=sum(bool(row.price and not row.price.sent_at) for row in crate.priced),
        boxed=sum(row.job.stage == Stage.BOXED for row in crate.rows),
        word=given.get("word") or CrateWordForm(),
        home=given.get("home") or CrateHomeForm(),
    )
    return page(request, "jobs/crate.html", context, status=422 if given else 200)


@require_safe
def crate_page(request: Request, pk: int) -> HttpResponse:
    return _draw(request, _parcel_or_404(pk))


@require_POST
def crate_act(request: Request, pk: int, what: str) -> HttpResponse:
    """Make the prices up, call them sent; both write nothing where they are."""
    parcel, by = _parcel_or_404(pk), request.user.get_username()
    try:
        if what == "price":
            messages.success(request, f"Prices made up: {crate_price(parcel=parcel, by=by)}.")
        elif what == "send":
            messages.success(request, f"Prices called sent: {crate_send(parcel=parcel, by=by)}.")
        else:
            raise Http404(what)
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return redirect("crate", pk)


@require_POST
def crate_said(request: Request, pk: int) -> HttpResponse:
    parcel, form = _parcel_or_404(pk), CrateWordForm(request.POST)
    if form.is_valid():
        try:
            to, by = request.POST.getlist("job"), request.user.get_username()
            count = crate_word(parcel=parcel, to=to, by=by, **form.cleaned_data)
            messages.success(request, f"Taken down for {count} reel{'' if count == 1 else 's'}.")
            return redirect("crate", pk)
        except LevelwindError as refusal:
            form.add_error("up_to_minor", spoken(refusal))
    return _draw(request, parcel, word=form)


@require_POST
def crate_home(request: Request, pk: int) -> HttpResponse:
    parcel, form = _parcel_or_404(pk), CrateHomeForm(request.POST)
    if form.is_valid():
        try:
            count = crate_send_home(parcel=parcel, by=request.user.get_username(), **form.cleaned_data)
            messages.success(request, f"{count} reel{'' if count == 1 else 's'} on the way home in one parcel.")
            return redirect("crate", pk)
        except LevelwindError as refusal:
            form.add_error("tracking", spoken(refusal))
    return _draw(request, parcel, home=form)


@require_safe
def crate_pdf(request: Request, pk: int) -> HttpResponse:
    crate = crate_of(_parcel_or_404(pk), shop_get())
    if not crate.priced:
        raise Http404(pk)
    return paper(price_paper.render(crate_sheet(crate)), f"price-{crate.priced[0].job.tag}-crate")


urlpatterns = [
    path("parcels/<int:pk>/crate/", crate_page, name="crate"),
    path("parcels/<int:pk>/crate/word/", crate_said, name="crate_word"),
    path("parcels/<int:pk>/crate/home/", crate_home, name="crate_home"),
    path("parcels/<int:pk>/crate/do/<str:what>/", crate_act, name="crate_act"),
    path("parcels/<int:pk>/crate/price.pdf", crate_pdf, name="crate_pdf"),
]
