"""What is on order, and what happens when it comes."""

from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import PartOrder
from levelwind.shop.parts.selectors.shelf import part_orders_open
from levelwind.shop.parts.services.orders import part_order_arrived, part_order_came
from levelwind.shop.parts.services.shelf import MOST_AT_ONCE
from levelwind.shop.takedown.services.renewals import renew_order_call_off
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request

ORDERS_A_PAGE = 50


@dataclass(frozen=True, slots=True)
class OrdersContext:
    orders: Page[PartOrder]


def orders_page(request: Request) -> HttpResponse:
    orders = Paginator(part_orders_open(), ORDERS_A_PAGE).get_page(request.GET.get("page"))
    return page(request, "shelf/orders.html", OrdersContext(orders=orders))


def _back(request: Request) -> HttpResponse:
    """Where the button was pressed: the list of orders, or the part's page."""
    then = request.POST.get("then", "")
    ours = then.startswith("/") and url_has_allowed_host_and_scheme(then, None)
    return redirect(then if ours else "orders")


@require_POST
def arrived_act(request: Request, pk: int) -> HttpResponse:
    try:
        order = part_order_arrived(order=get_object_or_404(PartOrder, pk=pk), by=request.user.get_username())
        messages.success(request, f"{order} put on the shelf.")
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return _back(request)


class CameForm(forms.Form):
    right = forms.IntegerField(min_value=0, max_value=MOST_AT_ONCE)
    wrong = forms.IntegerField(min_value=0, max_value=MOST_AT_ONCE, required=False)
    rest_comes = forms.BooleanField(required=False)


@require_POST
def came_act(request: Request, pk: int) -> HttpResponse:
    """Not all of it, or something else."""
    order, form = get_object_or_404(PartOrder, pk=pk), CameForm(request.POST)
    if not form.is_valid():
        messages.error(request, "How many came can be a whole number, such as 2.")
        return _back(request)
    given = form.cleaned_data
    try:
        rest = part_order_came(
            order=order,
            right=given["right"],
            wrong=given["wrong"] or 0,
            rest_comes=given["rest_comes"],
            by=request.user.get_username(),
        )
        messages.success(request, f"Written in. {f'{rest} still to come.' if rest else 'Nothing more is to come.'}")
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return _back(request)


@require_POST
def called_off_act(request: Request, pk: int) -> HttpResponse:
    try:
        renew_order_call_off(order=get_object_or_404(PartOrder, pk=pk), by=request.user.get_username())
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return _back(request)
