"""Selling over the counter: parts found on the shelf, the shop's own reels, what lies nowhere, who buys and how."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django import forms
from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import path
from django.views.decorators.http import require_http_methods

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Job, Owner, Part
from levelwind.shop.money.own import reels_to_sell
from levelwind.shop.money.selectors import DraftSums, draft_sums, rates_of
from levelwind.shop.money.services.sales import Sold, SoldReel, counter_sell
from levelwind.shop.parts.selectors.shelf import part_find, part_list
from levelwind.shop.parts.services.shelf import MOST_AT_ONCE
from levelwind.shop.people.selectors import owner_get, owner_list, owner_namesakes, shop_get
from levelwind.web.counter.bill import HOW_PAID, LineFormSet
from levelwind.web.forms import MoneyField
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request, key_in

MOST_FOUND = 8
MOST_SOLD = 30
"""Found for a search, and on one bill; our choice."""
SORTS = ("new", "used")
REEL = "reel"
NOT_PAID = "not yet"


class SoldForm(forms.Form):
    count = forms.IntegerField(min_value=1, max_value=MOST_AT_ONCE, label="how many", initial=1)
    amount_minor = MoneyField(label="sum of them", required=False)

    def __init__(
        self, *args: Any, part: Part | None = None, used: bool = False, reel: Job | None = None, **kwargs: Any
    ) -> None:
        """Of a part, or of one reel of the shop's own."""
        super().__init__(*args, **kwargs)
        self.part, self.used, self.reel = part, used, reel
        if reel:
            del self.fields["count"]
            self.fields["amount_minor"].label = "sum"
        rates = rates_of(shop_get())
        if len(rates) > 1:
            self.fields["rate"] = forms.ChoiceField(choices=rates, required=False, label="tax")

    @property
    def key(self) -> str:
        return str(self.prefix)

    @property
    def sold(self) -> Sold | SoldReel:
        """As typed; what was only just put on the page, as one for the shelf's price."""
        said = self.cleaned_data if self.is_valid() else {}
        amount, rate = said.get("amount_minor"), said.get("rate", "")
        if self.reel:
            return SoldReel(self.reel, amount, rate)
        assert self.part  # one or the other
        return Sold(self.part, said.get("count", 1), self.used, amount, rate)


@dataclass(frozen=True, slots=True)
class SaleContext:
    """What stands on the page so far; nothing of it is in the book before it is sold."""

    rows: tuple[SoldForm, ...]
    lines: Any
    sums: DraftSums | None
    words: str
    found: tuple[Part, ...]
    reels: tuple[Job, ...]
    buyer: str
    owner: Owner | None
    owners: tuple[Owner, ...]
    how: str
    hows: tuple[str, ...]
    press: str
    refusal: str = ""


def _rows(typed: QueryDict) -> tuple[SoldForm, ...]:
    """A row for each part that was put on the page, with what was typed into it."""
    keys = [key for key in dict.fromkeys([*typed.getlist("part"), *typed.getlist("add")]) if key != typed.get("away")]
    return tuple(filter(None, (_row(key, typed) for key in keys[:MOST_SOLD])))


def _row(key: str, typed: QueryDict) -> SoldForm | None:
    number, _, sort = key.partition("-")
    data = typed if f"{key}-amount_minor" in typed else None
    if sort == REEL:
        reel = reels_to_sell().filter(pk=key_in(number)).first()
        return SoldForm(data, prefix=key, reel=reel) if reel else None
    part = part_find(key_in(number)) if sort in SORTS else None
    return SoldForm(data, prefix=key, part=part, used=sort == "used") if part else None


def _context(typed: QueryDict, refusal: str = "") -> SaleContext:
    rows, lines = _rows(typed), _lines(typed)
    words, buyer = typed.get("find", "").strip()[:80], typed.get("buyer", "").strip()[:120]
    owner = owner_get(typed.get("owner", ""))
    return SaleContext(
        rows=rows,
        lines=lines,
        sums=_sums(rows, lines),
        words=words,
        found=tuple(part_list(words=words, view="here")[:MOST_FOUND]) if words else (),
        reels=tuple(reels_to_sell()[:MOST_FOUND]),
        buyer=buyer,
        owner=owner,
        owners=tuple(owner_list(buyer)[:MOST_FOUND]) if buyer and not owner else (),
        how=typed.get("how", HOW_PAID[0]),
        hows=(*HOW_PAID, NOT_PAID),
        press=typed.get("press", "")[:32] or uuid4().hex,
        refusal=refusal,
    )


def _lines(typed: Mapping[str, Any]) -> Any:
    return LineFormSet(typed if "line-TOTAL_FORMS" in typed else None, prefix="line")


def _sums(rows: tuple[SoldForm, ...], lines: Any) -> DraftSums | None:
    """What it comes to as far as it can be told."""
    try:
        drawn = [row.sold.line for row in rows]
    except LevelwindError:
        return None
    typed = [form.line for form in lines if form.line] if lines.is_bound and lines.is_valid() else []
    return draft_sums([*drawn, *typed], shop_get())


@require_http_methods(["GET", "HEAD", "POST"])
def sale_page(request: Request) -> HttpResponse:
    """The sale as it stands in the address; sold when it is posted."""
    if request.method != "POST":
        return page(request, "counter/sale.html", _context(request.GET))
    rows, lines = _rows(request.POST), _lines(request.POST)
    if not (all(row.is_valid() for row in rows) and lines.is_valid()):
        return page(request, "counter/sale.html", _context(request.POST), status=422)
    how, sold = request.POST.get("how", ""), [row.sold for row in rows]
    try:
        bill = counter_sell(
            sold=[one for one in sold if isinstance(one, Sold)],
            reels=[one for one in sold if isinstance(one, SoldReel)],
            lines=[form.line for form in lines if form.line],
            owner=_who_buys(request.POST),
            how="" if how == NOT_PAID else how[:80],
            press=request.POST.get("press", "")[:32] or None,
            by=request.user.get_username(),
        )
    except LevelwindError as refusal:
        return page(request, "counter/sale.html", _context(request.POST, spoken(refusal)), status=422)
    messages.success(request, f"Sold on bill {bill.number}.")
    return redirect("one_bill", bill.number)


def _who_buys(typed: QueryDict) -> Owner | None:
    """The owner chosen, or named, in the book or not yet. None without a name."""
    name, chosen = typed.get("buyer", "").strip(), owner_get(typed.get("owner", ""))
    if chosen or not name:
        return chosen
    same = owner_namesakes(name)
    if len(same) > 1:
        raise LevelwindError(f"There are {len(same)} called {name} in the book: choose which.")
    return same[0] if same else Owner(name=name[:120])


urlpatterns = [path("sell/", sale_page, name="sell")]
