"""Price: work and parts from the hunches and the pattern, the promise, the owner's word."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from django import forms
from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect
from django.template.loader import render_to_string
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.documents import price as price_paper
from levelwind.shop.jobs.selectors.agreed import price_refused, word_that_holds, words_of
from levelwind.shop.jobs.services.jobs import job_asked_again
from levelwind.shop.letters.links import open_links
from levelwind.shop.models import FlatPrice, Job, Price, PriceLine, Word
from levelwind.shop.money.enough import Chances, price_chances
from levelwind.shop.money.fitted import Coming, coming
from levelwind.shop.money.flat import Offered, flat_get, flat_offered, flats_on, work_below_cost
from levelwind.shop.money.foretold import hours_known
from levelwind.shop.money.hour import BelowCost
from levelwind.shop.money.selectors import (
    DraftLine,
    PromiseChance,
    Totals,
    days_in_shop,
    no_lines,
    price_latest,
    price_totals,
    promise_chance,
    promise_days,
    rate_words,
    rates_of,
)
from levelwind.shop.money.services.flat import price_flat, price_flat_line
from levelwind.shop.money.services.prices import (
    no_answered,
    price_ask_again,
    price_call_back,
    price_copy,
    price_draft,
    price_line_add,
    price_line_remove,
    price_promise,
    price_send,
    word_record,
)
from levelwind.shop.papers.selectors.sheets import price_sheet
from levelwind.shop.people.selectors import shop_get
from levelwind.web.forms import MoneyField, SavingForm
from levelwind.web.jobs.jump import jump_asked
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, spoken
from levelwind.web.papers import paper
from levelwind.web.requests import Request, key_in
from levelwind.web.saving import save_and_answer

ENDS = ("low_minor", "likely_minor", "high_minor")


def _offer_rates(form: forms.BaseForm) -> None:
    """The shop's rates, where it has more than one."""
    rates = rates_of(shop_get())
    if len(rates) > 1:
        cast(forms.ChoiceField, form.fields["rate"]).choices = rates
    else:
        del form.fields["rate"]


class PriceLineForm(SavingForm):
    low_minor = MoneyField(label="low")
    likely_minor = MoneyField(label="likely")
    high_minor = MoneyField(label="high")
    rate = forms.ChoiceField(label="tax", required=False)

    class Meta:
        model = PriceLine
        fields = ["text", "minutes", *ENDS, "rate"]
        widgets = {
            "text": forms.Textarea(attrs={"rows": 1}),
            "minutes": forms.NumberInput(attrs={"min": 0, "class": "number"}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _offer_rates(self)

    @property
    def rate_words(self) -> str:
        return rate_words(self.instance, shop_get())

    def moved_along(self, now: Mapping[str, Any]) -> Mapping[str, Any]:
        """Low, likely and high stay in order: the one just typed pushes the others along."""
        ends = {name: now.get(name, getattr(self.instance, name)) for name in ENDS}
        for typed in (name for name in ENDS if name in now):
            for name in ENDS[: ENDS.index(typed)]:
                ends[name] = min(ends[name], ends[typed])
            for name in ENDS[ENDS.index(typed) :]:
                ends[name] = max(ends[name], ends[typed])
        return {name: value for name, value in ends.items() if value != now.get(name, getattr(self.instance, name))}


class NewLineForm(forms.Form):
    kind = forms.ChoiceField(choices=PriceLine.KINDS, label="what kind")
    text = forms.CharField(max_length=160, label="what is to be done or fitted")
    likely_minor = MoneyField(label="likely", required=False)
    rate = forms.ChoiceField(label="tax", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _offer_rates(self)


class PromiseForm(forms.Form):
    promised_on = forms.DateField(
        label="ready on", required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )


class NoteForm(SavingForm):
    class Meta:
        model = Price
        fields = ["note"]
        labels = {"note": "A word to the owner"}
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}


class WordForm(forms.Form):
    said = forms.ChoiceField(choices=Word.ANSWERS, label="the owner said", widget=forms.RadioSelect)
    up_to_minor = MoneyField(label="up to this sum", required=False)
    how = forms.ChoiceField(choices=Word.TAKEN_DOWN, label="how it came")
    note = forms.CharField(max_length=200, required=False, label="note")


@dataclass(frozen=True, slots=True)
class PriceContext:
    head: JobHead
    price: Price | None
    lines: tuple[PriceLineForm, ...]
    totals: Totals | None
    chances: Chances | None
    below: BelowCost | None
    offered: Offered | None
    """The shop's own prices, until the price is sent."""
    flats: frozenset[int]
    """Those that stand on the price."""
    earlier: tuple[Price, ...]
    words: tuple[Word, ...]
    no: Price | None
    agreed: Price | None
    no_lines: tuple[DraftLine, ...]
    unsaid: bool
    new_line: NewLineForm
    promise: PromiseForm
    chance: PromiseChance | None
    enough_days: int | None
    hours_known: bool
    note: NoteForm | None
    word: WordForm
    coming: Coming | None
    links: int
    """Links by which the owner sees it and answers, that still open."""


def line_form(line: PriceLine, data: Any = None) -> PriceLineForm:
    return PriceLineForm(data, instance=line, prefix=f"line{line.pk}")


def price_context(job: Job, **forms_given: Any) -> PriceContext:
    """The page's context; a form that was refused comes back in ``forms_given`` with what was typed."""
    price = price_latest(job)
    lines = tuple(price.lines.all()) if price else ()
    foretold = hours_known() and not job.is_over
    took, words = [] if foretold else days_in_shop(), tuple(words_of(job))
    made = timezone.localdate(price.sent_at) if price and price.sent_at else timezone.localdate()
    days = (job.promised_on - made).days if job.promised_on else None
    refused_line = forms_given.get("line")
    line_forms = tuple(
        refused_line if refused_line and refused_line.instance.pk == line.pk else line_form(line) for line in lines
    )
    totals = price_totals(lines, shop_get()) if price else None
    return PriceContext(
        head=job_head(job, "price"),
        price=price,
        lines=line_forms,
        totals=totals,
        chances=price_chances([price], totals) if price and totals else None,
        below=work_below_cost(price, shop_get()) if price else None,
        offered=flat_offered(job) if not job.is_over and (price is None or not price.sent_at) else None,
        flats=flats_on(price) if price else frozenset(),
        earlier=tuple(job.prices.exclude(pk=price.pk)) if price else (),
        words=words,
        no=None if job.is_over else price_refused(job),
        agreed=holds.price if (holds := word_that_holds(job)) else None,
        no_lines=no_lines(job, shop_get()),
        unsaid=price is not None and not job.is_over and not any(word.price_id == price.pk for word in words),
        new_line=forms_given.get("new_line") or NewLineForm(),
        promise=forms_given.get("promise") or PromiseForm(initial={"promised_on": job.promised_on}),
        chance=promise_chance(days, took) if days is not None and not foretold else None,
        enough_days=promise_days(took),
        hours_known=foretold,
        note=forms_given.get("note") or (NoteForm(instance=price) if price else None),
        word=forms_given.get("word") or WordForm(),
        coming=coming(job, shop_get()),
        links=open_links(job).count(),
    )


def price_page(request: Request, tag: str) -> HttpResponse:
    return page(request, "jobs/price.html", price_context(job_or_404(tag)))


def _again(request: Request, job: Job, **forms_given: Any) -> HttpResponse:
    return page(request, "jobs/price.html", price_context(job, **forms_given), status=422)


def _back(tag: str, anchor: str = "") -> HttpResponseRedirect:
    return redirect(reverse("price", args=[tag]) + anchor)


def _price(job: Job) -> Price:
    return get_object_or_404(job.prices, pk=getattr(price_latest(job), "pk", None))


def _flat(asked: str | None) -> FlatPrice:
    flat = flat_get(key_in(asked))
    if flat is None:
        raise LevelwindError("That price is not on your list any more: load the page again.")
    return flat


@require_POST
def line_save(request: Request, tag: str, pk: int) -> HttpResponse:
    job = job_or_404(tag)
    line = get_object_or_404(PriceLine, pk=pk, price=_price(job))
    if line.price.sent_at:
        messages.error(request, "This price has been sent and stays as it is: begin a new one from it.")
        return _back(tag)
    form = line_form(line, request.POST)
    answer = save_and_answer(request, form, then=reverse("price", args=[tag]) + f"#line{pk}")
    if answer is None:
        return _again(request, job, line=form)
    if request.htmx:
        answer.write(_altered(request, job, line))
    return answer


def _altered(request: Request, job: Job, line: PriceLine) -> str:
    """What else a changed line alters on the page: the sums, and its own ends that moved along."""
    price = _price(job)
    line.refresh_from_db()
    fresh = line_form(line)
    typed = {name for name in ENDS if request.POST.get(f"line{line.pk}-{name}", "") != fresh.was_text(name)}
    refused_ends = line_form(line, request.POST).errors.keys()
    for name in typed - refused_ends:
        fresh.fields[name].widget.attrs["hx-swap-oob"] = "true"
    moved = "".join(str(fresh[name]) for name in typed - refused_ends)
    totals = price_totals(tuple(price.lines.all()), shop_get())
    context = {
        "totals": totals,
        "chances": price_chances([price], totals),
        "below": work_below_cost(price, shop_get()),
        "shop": shop_get(),
        "swap": True,
    }
    return moved + render_to_string("jobs/price_totals.html", context)


@require_POST
def price_act(request: Request, tag: str, what: str) -> HttpResponse:
    """The plain actions on a price: make it up, begin a new one, send it, take a line away."""
    job, by = job_or_404(tag), request.user.get_username()
    try:
        if what == "draft":
            price_draft(job=job, by=by)
        elif what == "asked":
            job_asked_again(job=job, by=by)
        elif what == "ask-again":
            price_ask_again(job=job, by=by)
            return _back(tag, "#lines")
        elif what == "copy":
            price_copy(price=_price(job), by=by)
        elif what == "back":
            price_call_back(price=_price(job), by=by)
        elif what == "no":
            no_answered(job=job, way=request.POST.get("way", ""), by=by)
            return _back(tag, "#no")
        elif what == "send":
            asked = jump_asked(request, job, "send_price")
            if asked:
                return asked
            price_send(price=_price(job), by=by)
            messages.success(request, "Sent, and fixed. It is the owner's turn now.")
        elif what == "remove":
            price_line_remove(price=_price(job), line_pk=key_in(request.POST.get("line")))
            return _back(tag, "#lines")
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return _back(tag)


@require_POST
def own_price(request: Request, tag: str) -> HttpResponse:
    """One of the shop's own prices instead of the made-up work, or as one more line."""
    job, by = job_or_404(tag), request.user.get_username()
    try:
        if "line" in request.POST:
            price_flat_line(price=_price(job), flat=_flat(request.POST.get("line")))
        else:
            price_flat(job=job, flat=_flat(request.POST.get("flat")), by=by)
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return _back(tag, "#own")


@require_POST
def line_add(request: Request, tag: str) -> HttpResponse:
    job, form = job_or_404(tag), NewLineForm(request.POST)
    if not form.is_valid():
        return _again(request, job, new_line=form)
    likely = form.cleaned_data["likely_minor"] or 0
    try:
        price_line_add(
            price=_price(job),
            kind=form.cleaned_data["kind"],
            text=form.cleaned_data["text"],
            low_minor=likely,
            likely_minor=likely,
            high_minor=likely,
            rate=form.cleaned_data.get("rate", ""),
        )
    except LevelwindError as refusal:
        form.add_error(None, spoken(refusal))
        return _again(request, job, new_line=form)
    return _back(tag, "#add")


@require_POST
def promise_save(request: Request, tag: str) -> HttpResponse:
    job, form = job_or_404(tag), PromiseForm(request.POST)
    if form.is_valid():
        try:
            price_promise(job=job, day=form.cleaned_data["promised_on"])
            return _back(tag, "#promise")
        except LevelwindError as refusal:
            form.add_error("promised_on", spoken(refusal))
    return _again(request, job, promise=form)


@require_POST
def note_save(request: Request, tag: str) -> HttpResponse:
    job = job_or_404(tag)
    form = NoteForm(request.POST, instance=_price(job))
    return save_and_answer(request, form, then=reverse("price", args=[tag])) or _again(request, job, note=form)


@require_POST
def word_save(request: Request, tag: str) -> HttpResponse:
    job, form = job_or_404(tag), WordForm(request.POST)
    if form.is_valid():
        asked = jump_asked(request, job, "say_yes") if form.cleaned_data["said"] != "no" else None
        if asked:
            return asked
        try:
            word = word_record(price=_price(job), by=request.user.get_username(), **form.cleaned_data)
        except LevelwindError as refusal:
            form.add_error("up_to_minor", spoken(refusal))
        else:
            messages.success(request, f"Taken down: {word.get_said_display()}, {word.get_how_display()}.")
            return _back(tag, "#word")
    return _again(request, job, word=form)


def price_pdf(request: Request, tag: str) -> HttpResponse:
    job = job_or_404(tag)
    return paper(price_paper.render(price_sheet(_price(job))), f"price-{job.tag}")


urlpatterns = [
    path("jobs/<str:tag>/price/", price_page, name="price"),
    path("jobs/<str:tag>/price.pdf", price_pdf, name="price_pdf"),
    path("jobs/<str:tag>/price/line/<int:pk>/", line_save, name="price_line"),
    path("jobs/<str:tag>/price/add/", line_add, name="price_line_add"),
    path("jobs/<str:tag>/price/promise/", promise_save, name="price_promise"),
    path("jobs/<str:tag>/price/own/", own_price, name="price_own"),
    path("jobs/<str:tag>/price/note/", note_save, name="price_note"),
    path("jobs/<str:tag>/price/word/", word_save, name="price_word"),
    path("jobs/<str:tag>/price/<str:what>/", price_act, name="price_act"),
]
