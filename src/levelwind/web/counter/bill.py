"""One bill for an owner over several jobs or over none; and every bill's own page, with what puts it right."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.urls import path
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Bill, Job, Owner, PriceLine, StockEntry
from levelwind.shop.money.fitted import ToBill, jobs_to_bill
from levelwind.shop.money.selectors import (
    Account,
    DraftLine,
    SoldEntry,
    account_of_bill,
    bill_get,
    bill_sold,
    owed_on,
    rates_of,
    received_apart,
    reels_sold,
)
from levelwind.shop.money.services.bills import owner_bill_make
from levelwind.shop.money.services.ledger import bill_give_back, bill_payment_take, payment_reverse
from levelwind.shop.money.services.sales import reel_bring_back, sale_bring_back, sale_void
from levelwind.shop.people.selectors import owner_get, shop_get
from levelwind.web.forms import MoneyField
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request, key_in, seen

HOW_PAID = ("cash", "card", "transfer")
"""How an owner pays at the counter; our choice."""

LINES = 3
"""Of no job, on one bill; our choice."""


class LineForm(forms.Form):
    kind = forms.ChoiceField(choices=PriceLine.KINDS, label="kind", initial="work")
    text = forms.CharField(max_length=160, label="what was done or sold", required=False)
    amount_minor = MoneyField(label="sum", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["rate"] = forms.ChoiceField(choices=rates_of(shop_get()), required=False, label="tax", initial="")

    @property
    def line(self) -> DraftLine | None:
        said = self.cleaned_data
        if not said.get("text"):
            return None
        return DraftLine(said["kind"], said["text"], said["amount_minor"] or 0, said["rate"])


LineFormSet = forms.formset_factory(LineForm, extra=LINES, max_num=LINES, absolute_max=LINES)


@dataclass(frozen=True, slots=True)
class OwnerBillContext:
    owner: Owner
    jobs: tuple[ToBill, ...]
    lines: Any


@require_http_methods(["GET", "HEAD", "POST"])
def owner_bill_page(request: Request, pk: int) -> HttpResponse:
    owner = owner_get(pk)
    if owner is None:
        raise Http404(pk)
    lines, ready = LineFormSet(request.POST if request.method == "POST" else None, prefix="line"), jobs_to_bill(owner)
    if request.method == "POST" and lines.is_valid():
        chosen = [one.job for one in ready if one.job.tag in request.POST.getlist("job")]
        typed = [form.line for form in lines if form.line]
        try:
            bill = owner_bill_make(owner=owner, jobs=chosen, lines=typed, by=request.user.get_username())
            messages.success(request, f"Bill {bill.number} made.")
            return redirect("one_bill", bill.number)
        except LevelwindError as refusal:
            messages.error(request, spoken(refusal))
    context = OwnerBillContext(owner, ready, lines)
    return page(request, "counter/bill.html", context, status=422 if request.method == "POST" else 200)


@dataclass(frozen=True, slots=True)
class BillContext:
    bill: Bill
    account: Account
    owed_minor: int
    received_minor: int
    to_pay: str
    to_give_back: str
    sold: tuple[SoldEntry, ...]
    reels: tuple[Job, ...]
    hows: tuple[str, ...]


def bill_or_404(number: str) -> Bill:
    bill = bill_get(number)
    if bill is None:
        raise Http404(number)
    return bill


def bill_page(request: Request, number: str) -> HttpResponse:
    """Every entry of a bill, and what puts it right; of one job's bill the job's own money page does."""
    bill = bill_or_404(number)
    account, owed, money = account_of_bill(bill), owed_on(bill), MoneyField()
    received = received_apart(account)
    context = BillContext(
        bill=bill,
        account=account,
        owed_minor=owed,
        received_minor=received,
        to_pay=money.prepare_value(owed) if owed > 0 else "",
        to_give_back=money.prepare_value(min(received, -owed)) if owed < 0 else "",
        sold=bill_sold(bill),
        reels=reels_sold(bill),
        hows=HOW_PAID,
    )
    return page(request, "counter/one_bill.html", context)


@require_POST
def bill_act(request: Request, number: str, what: str) -> HttpResponse:
    bill, by = bill_or_404(number), request.user.get_username()
    if what not in ACTS:
        raise Http404(what)
    try:
        messages.success(request, ACTS[what](bill, request.POST, by))
    except (LevelwindError, forms.ValidationError) as refusal:
        messages.error(request, refusal.messages[0] if isinstance(refusal, forms.ValidationError) else spoken(refusal))
    return redirect("one_bill", number)


def _sum(typed: QueryDict) -> int | None:
    amount: int | None = MoneyField(required=False).clean(typed.get("amount", ""))
    return amount


def _paid(bill: Bill, typed: QueryDict, by: str) -> str:
    bill_payment_take(
        bill=bill, amount_minor=_sum(typed), text=typed.get("how") or "paid", after=seen(typed, "after"), by=by
    )
    return "Taken."


def _given_back(bill: Bill, typed: QueryDict, by: str) -> str:
    text, after = typed.get("how") or "given back", seen(typed, "after")
    bill_give_back(bill=bill, amount_minor=_sum(typed), text=text, after=after, by=by)
    return "Given back."


def _mistyped(bill: Bill, typed: QueryDict, by: str) -> str:
    entry = get_object_or_404(bill.entries, pk=key_in(typed.get("entry")))
    payment_reverse(entry=entry, why=typed.get("why", ""), by=by)
    return "Taken back. Take the right payment now, if there was one."


def _brought_back(bill: Bill, typed: QueryDict, by: str) -> str:
    sold = get_object_or_404(StockEntry, pk=key_in(typed.get("sold")), charge__bill=bill, why="sold")
    sound = "thrown" not in typed
    sale_bring_back(sold=sold, count=key_in(typed.get("count")), sound=sound, out=seen(typed, "out"), by=by)
    where = "on the shelf again" if sound else "thrown away"
    return f"Back, and {where}. What was paid for it can be given back."


def _reel_back(bill: Bill, typed: QueryDict, by: str) -> str:
    found = [job for job in reels_sold(bill) if job.tag == typed.get("reel")]
    if not found:
        raise LevelwindError("This reel is not out on this bill.")
    reel_bring_back(job=found[0], by=by)
    return f"{found[0].tag} stands on the bench again. What was paid for it can be given back."


def _void(bill: Bill, typed: QueryDict, by: str) -> str:
    sale_void(bill=bill, why=typed.get("why", ""), back="back" in typed, by=by)
    return f"Bill {bill.number} is void. What was paid stays paid until it is given back."


ACTS: dict[str, Callable[[Bill, QueryDict, str], str]] = {
    "paid": _paid,
    "given-back": _given_back,
    "mistyped": _mistyped,
    "brought-back": _brought_back,
    "reel-back": _reel_back,
    "void": _void,
}

urlpatterns = [
    path("owners/<int:pk>/bill/", owner_bill_page, name="owner_bill"),
    path("bills/<str:number>/", bill_page, name="one_bill"),
    path("bills/<str:number>/<str:what>/", bill_act, name="one_bill_act"),
]
