"""One bill for an owner: over what stands to be billed of several jobs, and over lines that belong to none."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Owner, PriceLine
from levelwind.shop.money.fitted import ToBill, jobs_to_bill
from levelwind.shop.money.selectors import DraftLine, rates_of
from levelwind.shop.money.services.bills import bill_void, owner_bill_make
from levelwind.shop.money.services.ledger import bill_payment_take
from levelwind.shop.people.selectors import owner_get, shop_get
from levelwind.web.forms import MoneyField
from levelwind.web.pages import page
from levelwind.web.requests import Request

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
            return redirect("owner", pk)
        except LevelwindError as refusal:
            messages.error(request, str(refusal))
    context = OwnerBillContext(owner, ready, lines)
    return page(request, "counter/bill.html", context, status=422 if request.method == "POST" else 200)


@require_POST
def owner_bill_paid(request: Request, pk: int, number: str) -> HttpResponse:
    owner = owner_get(pk)
    if owner is None:
        raise Http404(pk)
    bill, money = get_object_or_404(owner.bills, number=number), MoneyField(required=False)
    try:
        amount = money.clean(request.POST.get("amount", ""))
        bill_payment_take(bill=bill, amount_minor=amount, text="paid", by=request.user.get_username())
    except (LevelwindError, forms.ValidationError) as refusal:
        messages.error(request, refusal.messages[0] if isinstance(refusal, forms.ValidationError) else str(refusal))
    return redirect("owner", pk)


@require_POST
def owner_bill_void(request: Request, pk: int, number: str) -> HttpResponse:
    """A bill over several jobs or none does not hold; of one job's bill its own page says so."""
    owner = owner_get(pk)
    if owner is None:
        raise Http404(pk)
    bill = get_object_or_404(owner.bills, number=number)
    try:
        bill_void(bill=bill, why=request.POST.get("why", ""), by=request.user.get_username())
        messages.success(request, f"Bill {bill.number} is void. What was paid stays paid.")
    except LevelwindError as refusal:
        messages.error(request, str(refusal))
    return redirect("owner", pk)


urlpatterns = [
    path("owners/<int:pk>/bill/", owner_bill_page, name="owner_bill"),
    path("owners/<int:pk>/paid/<str:number>/", owner_bill_paid, name="owner_bill_paid"),
    path("owners/<int:pk>/void/<str:number>/", owner_bill_void, name="owner_bill_void"),
]
