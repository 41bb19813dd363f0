"""A stock count by walking the shelf with the phone; and the labels whose codes open a part's count."""

from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from levelwind.core.errors import LevelwindError
from levelwind.documents import label as label_paper
from levelwind.shop.models import Part
from levelwind.shop.parts.selectors.counting import Spot, spots, to_count
from levelwind.shop.parts.selectors.shelf import part_list, part_with_number
from levelwind.shop.parts.services.shelf import MOST_AT_ONCE, part_counted
from levelwind.shop.people.selectors import letterhead, shop_get
from levelwind.web.forms import NumberField
from levelwind.web.pages import page, spoken
from levelwind.web.papers import paper
from levelwind.web.requests import Request, key_in
from levelwind.web.shelf.part import part_or_404

MOST_LABELS = 480
"""On one print; our choice: twenty pages."""


class CountForm(forms.Form):
    new = forms.IntegerField(min_value=0, max_value=MOST_AT_ONCE, label="new, lying there")
    used = forms.IntegerField(min_value=0, max_value=MOST_AT_ONCE, label="second-hand", required=False)
    left = NumberField(min_value=0, required=False, label="left in the one begun")

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        for field in self.fields.values():
            field.widget.attrs["inputmode"] = "numeric"


@dataclass(frozen=True, slots=True)
class SpotsContext:
    spots: tuple[Spot, ...]
    number: str
    refusal: str


@dataclass(frozen=True, slots=True)
class CountContext:
    part: Part
    form: CountForm
    left: int
    """Parts of the same spot that are still to be counted, this one too."""


@require_safe
def spots_page(request: Request) -> HttpResponse:
    """Where to walk; or straight to the part whose number was typed."""
    number = request.GET.get("number", "").strip()[:40]
    part = part_with_number(number) if number else None
    if part:
        return redirect("count_part", part.pk)
    refusal = f"There is no part {number}." if number else ""
    return page(request, "shelf/spots.html", SpotsContext(tuple(spots()), number, refusal))


@require_safe
def spot_page(request: Request) -> HttpResponse:
    """The next part of a spot."""
    found = to_count(request.GET.get("spot", "")[:40]).first()
    return redirect("count_part", found.pk) if found else redirect("count")


@require_http_methods(["GET", "HEAD", "POST"])
def count_page(request: Request, pk: int) -> HttpResponse:
    part = part_or_404(pk)
    form = CountForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            right = part_counted(
                part=part,
                new=given["new"],
                used=given["used"] or 0,
                left=given["left"],
                by=request.user.get_username(),
            )
            messages.success(request, f"{part}: {'the book was right' if right else 'the book is set right'}.")
            then = to_count(part.spot).first()
            return redirect("count_part", then.pk) if then else redirect("count")
        except LevelwindError as refusal:
            form.add_error("new", spoken(refusal))
    status = 422 if form.errors else 200
    context = CountContext(part, form, to_count(part.spot).count())
    return page(request, "shelf/count.html", context, status=status)


@require_safe
def labels_pdf(request: Request) -> HttpResponse:
    """Of one part, of a spot, or of what the shelf's page lists."""
    asked = request.GET
    parts = part_list(words=asked.get("q_part", "").strip()[:80], view=asked.get("view", ""))
    if "part" in asked:
        parts = parts.filter(pk=key_in(asked["part"]))
    if "spot" in asked:
        parts = parts.filter(spot=asked["spot"][:40])
    labels = [
        label_paper.Label(
            part.number, part.name, part.spot, request.build_absolute_uri(reverse("count_part", args=[part.pk]))
        )
        for part in parts[:MOST_LABELS]
    ]
    if not labels:
        messages.error(request, "No part is like that: there is no label to print.")
        return redirect("shelf")
    return paper(label_paper.render(labels, letterhead(shop_get()), timezone.localdate()), "labels")


urlpatterns = [
    path("count/", spots_page, name="count"),
    path("count/spot/", spot_page, name="count_spot"),
    path("count/<int:pk>/", count_page, name="count_part"),
    path("labels.pdf", labels_pdf, name="labels"),
]
