"""What a billed hour costs the shop, and the prices of its own."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from levelwind.core.errors import LevelwindError
from levelwind.reference.families import families, family
from levelwind.shop.models import FlatPrice
from levelwind.shop.money.flat import Kept, flat_get, flat_kept
from levelwind.shop.money.hour import BelowCost, HourCost, below_cost, hour_now
from levelwind.shop.money.selectors import rates_of
from levelwind.shop.money.services.flat import (
    flat_add,
    flat_remove,
    hour_cost_keep,
    own_hour_keep,
    yearly_cost_add,
    yearly_cost_remove,
)
from levelwind.shop.people.selectors import shop_get
from levelwind.web.forms import DecimalField, MoneyField, SavingForm
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request, key_in
from levelwind.web.saving import save_and_answer


class HourForm(forms.Form):
    own_hour_minor = MoneyField(label="an hour of yours is to bring you", required=False)
    desk_hours = DecimalField(
        label="hours a week beside the bench",
        required=False,
        min_value=0,
        max_value=120,
        decimal_places=1,
        widget=forms.NumberInput(attrs={"step": "0.5", "min": 0, "max": 120, "class": "number"}),
    )


class CostForm(forms.Form):
    text = forms.CharField(label="what for", max_length=80)
    amount_minor = MoneyField(label="a year")


def _kinds() -> list[tuple[str, str]]:
    return [("", "any kind"), *((key, family(key).name) for key in families())]


def _offer(form: forms.BaseForm) -> None:
    """Kinds of reel, and the shop's rates where it has more than one."""
    cast(forms.ChoiceField, form.fields["family"]).choices = _kinds()
    rates = rates_of(shop_get())
    if len(rates) > 1:
        cast(forms.ChoiceField, form.fields["rate"]).choices = rates
    else:
        del form.fields["rate"]


class FlatForm(SavingForm):
    amount_minor = MoneyField(label="price")
    family = forms.ChoiceField(label="kind of reel", required=False)
    rate = forms.ChoiceField(label="tax", required=False)

    class Meta:
        model = FlatPrice
        fields = ["text", "family", "amount_minor", "minutes", "rate"]
        widgets = {"minutes": forms.NumberInput(attrs={"min": 1, "class": "number"})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _offer(self)


class NewFlatForm(forms.Form):
    text = forms.CharField(label="the work", max_length=120)
    family = forms.ChoiceField(label="kind of reel", required=False)
    amount_minor = MoneyField(label="price")
    minutes = forms.IntegerField(
        label="minutes it takes",
        required=False,
        min_value=1,
        max_value=10_000,
        widget=forms.NumberInput(attrs={"min": 1, "class": "number"}),
    )
    rate = forms.ChoiceField(label="tax", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _offer(self)


@dataclass(frozen=True, slots=True)
class PricesContext:
    hour: HourCost
    hour_form: HourForm
    new_cost: CostForm
    charged: BelowCost | None
    """The shop's hour against what it goes by."""
    flats: tuple[tuple[Kept, FlatForm], ...]
    new_flat: NewFlatForm


def _context(**given: Any) -> PricesContext:
    shop, refused = shop_get(), given.get("flat")
    initial = {"own_hour_minor": shop.own_hour_minor, "desk_hours": f"{shop.desk_hours:f}"}
    return PricesContext(
        hour=hour_now(timezone.localdate()),
        hour_form=given.get("hour") or HourForm(initial=initial),
        new_cost=given.get("cost") or CostForm(prefix="cost"),
        charged=below_cost(shop.hour_minor, 60, shop),
        flats=tuple(
            (kept, refused if refused and refused.instance.pk == kept.flat.pk else _form(kept.flat))
            for kept in flat_kept()
        ),
        new_flat=given.get("new") or NewFlatForm(prefix="new"),
    )


def _form(flat: FlatPrice, data: Any = None) -> FlatForm:
    return FlatForm(data, instance=flat, prefix=f"flat{flat.pk}")


def _again(request: Request, **given: Any) -> HttpResponse:
    return page(request, "counter/prices.html", _context(**given), status=422)


@require_safe
def prices_page(request: Request) -> HttpResponse:
    return page(request, "counter/prices.html", _context())


@require_POST
def hour_save(request: Request) -> HttpResponse:
    form = HourForm(request.POST)
    if not form.is_valid():
        return _again(request, hour=form)
    given = form.cleaned_data
    own_hour_keep(own_hour_minor=given["own_hour_minor"], desk_hours=given["desk_hours"] or Decimal(0))
    return redirect(reverse("own_prices") + "#hour")


@require_POST
def hour_go_by(request: Request) -> HttpResponse:
    """Prices are held against what an hour costs as it is worked out now, or against nothing."""
    hour_cost_keep(hour_cost_minor=None if "nothing" in request.POST else hour_now(timezone.localdate()).cost_minor)
    return redirect(reverse("own_prices") + "#hour")


@require_POST
def cost_act(request: Request) -> HttpResponse:
    """Another cost of the year; or one of the list taken out."""
    if gone := key_in(request.POST.get("remove")):
        yearly_cost_remove(pk=gone)
        return redirect(reverse("own_prices") + "#costs")
    form = CostForm(request.POST, prefix="cost")
    if not form.is_valid():
        return _again(request, cost=form)
    yearly_cost_add(**form.cleaned_data)
    return redirect(reverse("own_prices") + "#costs")


@require_POST
def flat_new(request: Request) -> HttpResponse:
    form = NewFlatForm(request.POST, prefix="new")
    if form.is_valid():
        try:
            flat_add(**form.cleaned_data)
            return redirect(reverse("own_prices") + "#own")
        except LevelwindError as refusal:
            form.add_error("text", spoken(refusal))
    return _again(request, new=form)


@require_POST
def flat_save(request: Request, pk: int) -> HttpResponse:
    flat = flat_get(pk)
    if flat is None:
        raise Http404(pk)
    if "remove" in request.POST:
        flat_remove(pk=pk)
        return redirect(reverse("own_prices") + "#own")
    form = _form(flat, request.POST)
    return save_and_answer(request, form, then=reverse("own_prices") + "#own") or _again(request, flat=form)


urlpatterns = [
    path("prices/", prices_page, name="own_prices"),
    path("prices/hour/", hour_save, name="own_hour"),
    path("prices/hour/go-by/", hour_go_by, name="hour_go_by"),
    path("prices/costs/", cost_act, name="yearly_costs"),
    path("prices/add/", flat_new, name="flat_new"),
    path("prices/<int:pk>/", flat_save, name="flat"),
]
