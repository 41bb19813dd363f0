"""What to order today and what may wait; one press orders it. Suppliers, and what waiting and keeping cost."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import uuid4

from django import forms
from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Part, Shop, Supplier
from levelwind.shop.parts.selectors.order_plan import OrderPlan, order_plan
from levelwind.shop.parts.selectors.shelf import part_find
from levelwind.shop.parts.selectors.suppliers import (
    Days,
    SupplierRecord,
    days_of,
    offered,
    record_of,
    supplier_key,
    supplier_names,
    suppliers_by_key,
)
from levelwind.shop.parts.selectors.to_order import waiting_of
from levelwind.shop.parts.services.orders import Asked, orders_make
from levelwind.shop.parts.services.shelf import MOST_AT_ONCE
from levelwind.shop.parts.services.suppliers import supplier_keep
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.people.services import shop_open
from levelwind.web.forms import MoneyField, SavingForm
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request, key_in

LINE = "part-"
"""What the name of a line's field begins with; the line's key follows, which begins with the part's."""
WHOM = "from-"
"""The same, of the field that says of whom."""


class OrderingForm(SavingForm):
    waiting_day_minor = MoneyField(label="a day that a reel waits for a part costs", required=False)

    class Meta:
        model = Shop
        fields = ["order_days", "waiting_day_minor", "holding_percent"]
        labels = {"holding_percent": "keeping a part costs a year, % of its price"}

    def clean_waiting_day_minor(self) -> int:
        return self.cleaned_data["waiting_day_minor"] or 0


@dataclass(frozen=True, slots=True)
class PlanContext:
    plan: OrderPlan | None
    refusal: str
    press: str
    waiting_minor: int


@dataclass(frozen=True, slots=True)
class PlanPageContext:
    form: OrderingForm
    told: PlanContext | None
    """None while the page asks for it."""


def _told() -> PlanContext:
    plan, refusal = None, ""
    try:
        plan = order_plan(timezone.localdate())
    except LevelwindError as error:
        refusal = spoken(error)
    return PlanContext(plan, refusal, uuid4().hex, waiting_of(shop_get()))


@require_safe
def plan_page(request: Request) -> HttpResponse:
    """The plan takes seconds on a large shelf: the page comes first and asks for it."""
    if request.htmx:
        return render(request, "shelf/plan_told.html", {"page": _told(), "shop": shop_get()})
    told = _told() if "told" in request.GET else None
    return page(request, "shelf/plan.html", PlanPageContext(OrderingForm(instance=shop_get()), told))


@require_POST
def costs_act(request: Request) -> HttpResponse:
    form = OrderingForm(request.POST, instance=shop_open())
    if form.save_as_you_go():
        return redirect("order_plan")
    return page(request, "shelf/plan.html", PlanPageContext(form, None), status=422)


@require_POST
def order_all_act(request: Request) -> HttpResponse:
    """Every line that is ticked, with the number that stands in it."""
    try:
        made = orders_make(
            asked=list(_asked(request.POST)),
            press=request.POST.get("press", "")[:32],
            by=request.user.get_username(),
        )
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
        return redirect("order_plan")
    messages.success(request, f"{len(made)} part{'' if len(made) == 1 else 's'} ordered.")
    return redirect("orders")


def _asked(typed: QueryDict) -> Iterable[Asked]:
    for key in typed.getlist("take"):
        part = part_find(key_in(key.partition("-")[0]))
        if part is None:
            continue
        count = typed.get(LINE + key, "").strip()
        if not (count.isdecimal() and len(count) <= len(str(MOST_AT_ONCE)) and int(count)):
            raise LevelwindError(f"How many of {part}: a whole number from 1. It was “{count[:20]}”.")
        yield Asked(part, int(count), _whom(part, typed.get(WHOM + key)))


def _whom(part: Part, chosen: str | None) -> str:
    """Of the suppliers that have the part the one that was chosen, else the usual one."""
    if chosen is None:
        return part.supplier
    named = next((offer.supplier for offer in offered(part) if offer.key == chosen), None)
    if named is None:
        raise LevelwindError(f"Who sends {part}: “{chosen[:40]}” does not have it any more. Look at the plan again.")
    return named


class SupplierForm(forms.Form):
    postage_minor = MoneyField(label="postage of a parcel", required=False)
    minimum_minor = MoneyField(label="smallest order it takes", required=False)
    free_from_minor = MoneyField(label="no postage from", required=False)
    days_low = forms.IntegerField(label="days, hardly ever under", required=False, min_value=0, max_value=3660)
    days_likely = forms.IntegerField(label="days, mostly", required=False, min_value=0, max_value=3660)
    days_high = forms.IntegerField(label="days, hardly ever over", required=False, min_value=1, max_value=3660)
    note = forms.CharField(label="note", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2}))

    @classmethod
    def of(cls, row: Supplier | None, number: int) -> "SupplierForm":
        kept = {name: getattr(row, name) for name in cls.base_fields} if row else {}
        return cls(initial=kept, prefix=f"s{number}")


@dataclass(frozen=True, slots=True)
class SupplierCard:
    name: str
    form: SupplierForm
    number: int
    days: Days
    record: SupplierRecord
    known: bool
    open: bool = False


@dataclass(frozen=True, slots=True)
class SuppliersContext:
    cards: tuple[SupplierCard, ...]


def _cards(wrong: tuple[int, SupplierForm] | None = None) -> tuple[SupplierCard, ...]:
    rows = suppliers_by_key()
    cards = []
    for number, name in enumerate(supplier_names()):
        row = rows.get(supplier_key(name))
        mine = wrong is not None and wrong[0] == number
        form = wrong[1] if wrong and mine else SupplierForm.of(row, number)
        cards.append(SupplierCard(name, form, number, days_of(name, row), record_of(name), row is not None, mine))
    return tuple(cards)


@require_safe
def suppliers_page(request: Request) -> HttpResponse:
    return page(request, "shelf/suppliers.html", SuppliersContext(_cards()))


@require_POST
def supplier_act(request: Request) -> HttpResponse:
    number, name = key_in(request.POST.get("number")), request.POST.get("name", "")[:80]
    form = SupplierForm(request.POST, prefix=f"s{number}")
    if form.is_valid():
        given = form.cleaned_data
        try:
            supplier_keep(
                name=name,
                postage_minor=given["postage_minor"] or 0,
                minimum_minor=given["minimum_minor"] or 0,
                free_from_minor=given["free_from_minor"],
                days=(given["days_low"], given["days_likely"], given["days_high"]),
                note=given["note"],
            )
            messages.success(request, f"{name} saved.")
            return redirect("suppliers")
        except LevelwindError as refusal:
            form.add_error("days_low", spoken(refusal))
    return page(request, "shelf/suppliers.html", SuppliersContext(_cards((number, form))), status=422)


urlpatterns = [
    path("orders/plan/", plan_page, name="order_plan"),
    path("orders/plan/costs/", costs_act, name="order_costs"),
    path("orders/plan/order/", order_all_act, name="order_all"),
    path("suppliers/", suppliers_page, name="suppliers"),
    path("suppliers/keep/", supplier_act, name="supplier_keep"),
]
