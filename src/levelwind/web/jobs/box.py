"""Box and home: the bill, the proof sheet, old parts, the parcel, and a day to ask how the reel does."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.loader import render_to_string
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from levelwind.core.codec import as_stored
from levelwind.core.errors import LevelwindError
from levelwind.documents import bill as bill_paper
from levelwind.documents import old_parts as old_parts_paper
from levelwind.reference.cautions import Caution, named
from levelwind.shop.jobs.selectors.agreed import price_refused, word_that_holds
from levelwind.shop.jobs.selectors.jobs import passes_over, sending_get, volume_weight_g
from levelwind.shop.jobs.services.sendings import job_hand_over, job_home_take_back, sending_of
from levelwind.shop.models import Bill, Job, Price, PriceLine, Sending, Stage, Word
from levelwind.shop.money.fitted import agreed_lines, bill_lines
from levelwind.shop.money.selectors import (
    Account,
    DraftLine,
    DraftSums,
    account_of,
    bills_of,
    draft_sums,
    over_the_word,
    rates_of,
)
from levelwind.shop.money.services.bills import bill_draft_save, bill_make
from levelwind.shop.money.services.ledger import credit_give, payment_give_back, payment_take
from levelwind.shop.money.services.prices import word_for_bill
from levelwind.shop.papers.selectors.sheets import bill_sheet, old_parts_sheet
from levelwind.shop.papers.services.sendings import EndAsksError, reel_box, reel_send_home
from levelwind.shop.people.selectors import shop_get
from levelwind.web.forms import MoneyField, SavingForm, saved_meanwhile
from levelwind.web.jobs.ends import well_ended
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, spoken
from levelwind.web.papers import paper
from levelwind.web.requests import Request, seen
from levelwind.web.saving import save_and_answer


class BillLineForm(forms.Form):
    kind = forms.ChoiceField(choices=PriceLine.KINDS)
    text = forms.CharField(max_length=160, label="what was done or fitted")
    amount_minor = MoneyField(label="sum")
    part = forms.IntegerField(required=False, widget=forms.HiddenInput)
    count = forms.IntegerField(required=False, min_value=1, widget=forms.HiddenInput)
    given = forms.BooleanField(required=False, label="give it away")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rates = rates_of(shop_get())
        if len(rates) > 1:
            self.fields["rate"] = forms.ChoiceField(choices=rates, required=False, label="tax")

    @property
    def line(self) -> DraftLine:
        said = self.cleaned_data
        return DraftLine(
            said["kind"],
            said["text"],
            said["amount_minor"] or 0,
            said.get("rate", ""),
            said["part"],
            said["count"] or 1,
            bool(said["part"] and said["given"]),
        )

    @property
    def is_part(self) -> bool:
        """Off the shelf: it is given away, not taken away."""
        return bool(self["part"].value())


BillFormSet = forms.formset_factory(BillLineForm, extra=1, can_delete=True, max_num=60, absolute_max=80)


class MoneyInForm(forms.Form):
    amount_minor = MoneyField(label="sum")
    text = forms.CharField(max_length=160, label="how, or what for", initial="paid by card")


class SendingForm(SavingForm):
    class Meta:
        model = Sending
        fields = [
            "old_parts_bagged",
            "old_parts_refused",
            "weight_g",
            "length_mm",
            "width_mm",
            "height_mm",
            "carrier",
            "tracking",
            "follow_up_on",
            "follow_up_note",
            "came_back",
        ]
        labels = {
            "old_parts_bagged": "old parts are bagged and labelled for the owner",
            "weight_g": "weight, g",
            "length_mm": "length, mm",
            "width_mm": "width, mm",
            "height_mm": "height, mm",
            "follow_up_on": "ask how it does on",
        }
        widgets = {
            "follow_up_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "follow_up_note": forms.Textarea(attrs={"rows": 2}),
        }


@dataclass(frozen=True, slots=True)
class BillRow:
    """A line of the bill, and the line of the price the owner said yes to that it stands for."""

    form: BillLineForm
    agreed: PriceLine | None


@dataclass(frozen=True, slots=True)
class BoxContext:
    head: JobHead
    lines: Any
    rows: tuple[BillRow, ...]
    was: str
    sums: DraftSums
    over: int
    account: Account
    bills: tuple[Bill, ...]
    money_in: MoneyInForm
    sending: SendingForm
    sent: Sending
    old_parts: int
    refused: Price | None
    cautions: tuple[Caution, ...]
    volume_weight_g: int | None
    hows: list[tuple[str, str]]
    agreed: bool


def _rows(job: Job, lines: Any) -> tuple[BillRow, ...]:
    asked = agreed_lines(job)
    return tuple(BillRow(form, asked.get(form["text"].value() or "")) for form in lines)


def _was(lines: tuple[DraftLine, ...]) -> str:
    return json.dumps(as_stored(lines), sort_keys=True)


def box_context(job: Job, **given: Any) -> BoxContext:
    lines, shop, sent = bill_lines(job), shop_get(), sending_get(job)
    drawn = given.get("lines") or BillFormSet(initial=as_stored(lines), prefix="bill")
    return BoxContext(
        head=job_head(job, "box"),
        lines=drawn,
        rows=_rows(job, drawn),
        was=_was(lines),
        sums=draft_sums(lines, shop),
        over=over_the_word(job, lines, shop),
        account=account_of(job),
        bills=tuple(bills_of(job)),
        money_in=given.get("money_in") or MoneyInForm(),
        sending=given.get("sending") or SendingForm(instance=sent),
        sent=sent,
        refused=price_refused(job),
        old_parts=job.pieces.filter(where="scrap").count(),
        cautions=named(["lithium_post", "aerosol_post", "old_parts", "taxes_guarantees"]),
        volume_weight_g=volume_weight_g(sent),
        hows=Word.TAKEN_DOWN,
        agreed=word_that_holds(job) is not None,
    )


def _again(request: Request, job: Job, **given: Any) -> HttpResponse:
    return page(request, "jobs/box.html", box_context(job, **given), status=422)


def box_page(request: Request, tag: str) -> HttpResponse:
    return page(request, "jobs/box.html", box_context(job_or_404(tag)))


@require_POST
def bill_lines_save(request: Request, tag: str) -> HttpResponse:
    """Keep the lines of the bill as typed; refused lines stay on the page and the others are not lost."""
    job, formset = job_or_404(tag), BillFormSet(request.POST, prefix="bill")
    refusal = ""
    if formset.is_valid():
        lines = tuple(form.line for form in formset if form.cleaned_data and not form.cleaned_data.get("DELETE"))
        refusal = _clash(job, lines, request.POST.get("was", ""))
        if not refusal:
            try:
                bill_draft_save(job=job, lines=lines)
            except LevelwindError as error:
                refusal = spoken(error)
    else:
        refusal = "; ".join(str(error) for form in formset for errors in form.errors.values() for error in errors)
    if request.htmx:
        return _bill_saved(job, refusal)
    if refusal:
        messages.error(request, refusal)
        return _again(request, job, lines=formset)
    return redirect(reverse("box", args=[tag]) + "#bill")


def _clash(job: Job, lines: tuple[DraftLine, ...], was: str) -> str:
    stored = _was(bill_lines(job))
    if was and stored not in (was, _was(lines)):
        return saved_meanwhile("other lines")
    return ""


def _bill_saved(job: Job, refusal: str) -> HttpResponse:
    lines, shop = bill_lines(job), shop_get()
    context = {
        "sums": draft_sums(lines, shop),
        "over": over_the_word(job, lines, shop),
        "was": _was(lines),
        "refusal": refusal,
        "now": timezone.localtime(),
        "swap": True,
        "shop": shop,
    }
    return HttpResponse(render_to_string("jobs/box_sums.html", context))


ENDS = {"boxed": Stage.BOXED, "home": Stage.HOME}
"""What is asked about before it is done."""


@require_POST
def box_act(request: Request, tag: str, what: str) -> HttpResponse:
    """The plain actions: make the bill, call it boxed, on its way, handed over, or not on its way after all."""
    job, by = job_or_404(tag), request.user.get_username()
    try:
        if what == "bill":
            bill = bill_make(job=job, by=by)
            messages.success(request, f"Bill {bill.number} made.")
        elif what == "agreed":
            word = word_for_bill(job=job, how=request.POST.get("how", ""), by=by)
            messages.success(request, f"Taken down: {word.get_said_display()}, {word.get_how_display()}.")
        elif what in ENDS:
            if passes_over(job, ENDS[what]):
                return redirect("job_ends", tag, ENDS[what])
            (reel_box if what == "boxed" else reel_send_home)(job=job, by=by)
            messages.success(request, well_ended(job))
        elif what == "handed-over":
            job_hand_over(job=job, by=by)
        elif what == "back":
            job_home_take_back(job=job, why=request.POST.get("why", ""), by=by)
            messages.success(request, f"Taken back: it is {job.get_stage_display()} again.")
    except EndAsksError:
        return redirect("job_ends", tag, ENDS[what])
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return redirect("box", tag)


MONEY: dict[str, Callable[..., object]] = {"credit": credit_give, "back": payment_give_back}
"""What is not a payment."""


@require_POST
def money_in_save(request: Request, tag: str) -> HttpResponse:
    job, form = job_or_404(tag), MoneyInForm(request.POST)
    if form.is_valid():
        by = request.user.get_username()
        take = MONEY.get(request.POST.get("what", ""), payment_take)
        try:
            take(job=job, after=seen(request.POST, "after"), by=by, **form.cleaned_data)
            return redirect(reverse("box", args=[tag]) + "#money")
        except LevelwindError as refusal:
            form.add_error("amount_minor", spoken(refusal))
    return _again(request, job, money_in=form)


@require_POST
def sending_save(request: Request, tag: str) -> HttpResponse:
    job = job_or_404(tag)
    form = SendingForm(request.POST, instance=sending_of(job))
    return save_and_answer(request, form, then=reverse("box", args=[tag]) + "#box") or _again(
        request, job, sending=form
    )


def bill_pdf(request: Request, number: str) -> HttpResponse:
    bill = get_object_or_404(Bill, number=number)
    return paper(bill_paper.render(bill_sheet(bill)), f"bill-{bill.number}")


def old_parts_pdf(request: Request, tag: str) -> HttpResponse:
    job = job_or_404(tag)
    return paper(old_parts_paper.render(old_parts_sheet(job)), f"old-parts-{job.tag}")


urlpatterns = [
    path("jobs/<str:tag>/box/", box_page, name="box"),
    path("jobs/<str:tag>/box/bill/", bill_lines_save, name="bill_lines"),
    path("jobs/<str:tag>/box/money/", money_in_save, name="money_in"),
    path("jobs/<str:tag>/box/parcel/", sending_save, name="sending"),
    path("jobs/<str:tag>/box/do/<str:what>/", box_act, name="box_act"),
    path("jobs/<str:tag>/old-parts.pdf", old_parts_pdf, name="old_parts_pdf"),
    path("bills/<str:number>.pdf", bill_pdf, name="bill_pdf"),
]
