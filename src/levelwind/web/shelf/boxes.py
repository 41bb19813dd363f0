"""A box of reels seen for five minutes at a sale: counted on the phone, what to pay at most, what came of it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, cast

from django import forms
from django.contrib import messages
from django.core.paginator import Page
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.loader import render_to_string
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.core.errors import LevelwindError
from levelwind.core.supply.boxes import MOST_REELS
from levelwind.reference.families import families, family
from levelwind.shop.models import SeenBox, SeenReels
from levelwind.shop.money.seen_boxes import BoxCame, Seen, box_came, seen_box_get, seen_boxes, seen_worth
from levelwind.shop.money.services.seen_boxes import (
    seen_box_begin,
    seen_box_buy,
    seen_box_delete,
    seen_box_not_bought,
    seen_lines_add,
)
from levelwind.shop.people.selectors import shop_get
from levelwind.web.forms import MoneyField, SavingForm
from levelwind.web.pages import leaf, page, spoken
from levelwind.web.requests import Request
from levelwind.web.saving import save_and_answer

BOXES_A_PAGE = 40
COUNTS = ("good", "turns", "dead")


class SeenBoxForm(SavingForm):
    asked_minor = MoneyField(label="what they ask", required=False)

    class Meta:
        model = SeenBox
        fields = ["where", "asked_minor", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}


def count_field(label: str) -> forms.IntegerField:
    widget = forms.NumberInput(attrs={"min": 0, "max": 99, "class": "number", "inputmode": "numeric"})
    return forms.IntegerField(label=label, min_value=0, max_value=99, required=False, widget=widget)


class SeenReelsForm(SavingForm):
    good, turns, dead = count_field("turn well"), count_field("turn"), count_field("do not turn")
    whole_minor = MoneyField(label="one brings, mended", required=False)
    family = forms.ChoiceField(label="kind", required=False)

    class Meta:
        model = SeenReels
        fields = ["text", "family", *COUNTS, "whole_minor"]
        labels = {"text": "what they are"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = [("", "not said"), *((key, family(key).name) for key in families())]
        cast(forms.ChoiceField, self.fields["family"]).choices = kinds

    def clean(self) -> dict[str, Any]:
        """A count left empty is none."""
        given = super().clean() or self.cleaned_data
        counted = {name: given[name] or 0 for name in COUNTS if name in given}
        beside = sum(row.count for row in self.instance.box.reels.exclude(pk=self.instance.pk))
        if (count := beside + sum(counted.values())) > MOST_REELS:
            most = f"Count less: a box can hold {MOST_REELS} reels here. This line would make it {count}."
            for name in set(counted).intersection(self.changed_data):
                self.add_error(name, most)
        return {name: value for name, value in (given | counted).items() if name not in self.errors}


class BuyForm(forms.Form):
    paid_minor = MoneyField(label="what we paid for it")
    spot = forms.CharField(max_length=40, required=False, label="where it lies")


@dataclass(frozen=True, slots=True)
class BoxesContext:
    boxes: Page[SeenBox]


@dataclass(frozen=True, slots=True)
class BoxContext:
    box: SeenBox
    form: SeenBoxForm
    lines: tuple[SeenReelsForm, ...]
    seen: Seen
    buy: BuyForm
    came: BoxCame | None


@require_http_methods(["GET", "HEAD", "POST"])
def boxes_page(request: Request) -> HttpResponse:
    """The list; posted, a box is begun."""
    if request.method == "POST":
        return redirect("seen_box", seen_box_begin().pk)
    return page(request, "shelf/boxes.html", BoxesContext(leaf(seen_boxes(), BOXES_A_PAGE, request.GET.get("page"))))


def _box(pk: int) -> SeenBox:
    found = seen_box_get(pk)
    if found is None:
        raise Http404(pk)
    return found


def _line(row: SeenReels, data: Any = None) -> SeenReelsForm:
    return SeenReelsForm(data, instance=row, prefix=f"row{row.pk}")


def _draw(request: Request, box: SeenBox, **given: Any) -> HttpResponse:
    refused = given.get("line")
    context = BoxContext(
        box=box,
        form=given.get("form") or SeenBoxForm(instance=box),
        lines=tuple(refused if refused and refused.instance == row else _line(row) for row in box.reels.all()),
        seen=seen_worth(box),
        buy=given.get("buy") or BuyForm(),
        came=box_came(box) if box.bought_on else None,
    )
    return page(request, "shelf/seen_box.html", context, status=422 if given else 200)


def _worth(box: SeenBox) -> str:
    """What the box is worth after what was just saved; an answer brings it along."""
    context = {"seen": seen_worth(box), "box": box, "shop": shop_get(), "swap": True}
    return render_to_string("shelf/seen_worth.html", context)


def box_page(request: Request, pk: int) -> HttpResponse:
    box = _box(pk)
    if request.method != "POST" or box.bought_on:
        return _draw(request, box)
    form = SeenBoxForm(request.POST, instance=box)
    answer = save_and_answer(request, form, then=request.path, also=lambda: _worth(_box(pk)))
    return answer or _draw(request, box, form=form)


@require_POST
def line_save(request: Request, pk: int, row: int) -> HttpResponse:
    box = _box(pk)
    if box.bought_on:
        return redirect("seen_box", pk)
    form = _line(get_object_or_404(box.reels, pk=row), request.POST)
    answer = save_and_answer(request, form, then=reverse("seen_box", args=[pk]), also=lambda: _worth(box))
    return answer or _draw(request, box, line=form)


@require_POST
def box_act(request: Request, pk: int, what: str) -> HttpResponse:
    """More lines; it was not bought after all; out of the book."""
    box = _box(pk)
    acts: dict[str, Callable[[], object]] = {
        "more": lambda: seen_lines_add(seen=box),
        "not-bought": lambda: seen_box_not_bought(seen=box),
        "take-away": lambda: seen_box_delete(seen=box),
    }
    if what not in acts:
        raise Http404(what)
    try:
        acts[what]()
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
        return redirect("seen_box", pk)
    return redirect("seen_boxes") if what == "take-away" else redirect("seen_box", pk)


@require_POST
def box_buy(request: Request, pk: int) -> HttpResponse:
    box, form = _box(pk), BuyForm(request.POST)
    if form.is_valid():
        try:
            reels = seen_box_buy(seen=box, by=request.user.get_username(), **form.cleaned_data)
            messages.success(request, f"{len(reels)} reel{'' if len(reels) == 1 else 's'} put in the bone box.")
            return redirect("seen_box", pk)
        except LevelwindError as refusal:
            form.add_error("paid_minor", spoken(refusal))
    return _draw(request, box, buy=form)


urlpatterns = [
    path("boxes/", boxes_page, name="seen_boxes"),
    path("boxes/<int:pk>/", box_page, name="seen_box"),
    path("boxes/<int:pk>/line/<int:row>/", line_save, name="seen_line"),
    path("boxes/<int:pk>/buy/", box_buy, name="seen_box_buy"),
    path("boxes/<int:pk>/do/<str:what>/", box_act, name="seen_box_act"),
]
