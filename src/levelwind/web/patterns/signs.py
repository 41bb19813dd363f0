"""How a pattern is known when it lies on the bench unnamed: its marks, two more sizes, and its dated signs."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods

from levelwind.core.errors import LevelwindError
from levelwind.core.naming import SIZES
from levelwind.reference.unknown_reels import looks_at_unknown
from levelwind.shop.models import Pattern, PatternSign
from levelwind.shop.naming.selectors import signs_of
from levelwind.shop.naming.services import sign_add, sign_take_away
from levelwind.web.forms import NumberField, SavingForm
from levelwind.web.pages import page, spoken
from levelwind.web.patterns.forms import Within
from levelwind.web.requests import Request, key_in
from levelwind.web.saving import save_and_answer

FIRST_YEAR, LAST_YEAR = 1750, 2200


class KnownByForm(SavingForm):
    """What stands on its plates and foot, and what a caliper finds there."""

    class Meta:
        model = Pattern
        fields = ["marks", "plate_mm", "foot_mm"]
        widgets = {"marks": forms.Textarea(attrs={"rows": 3, "maxlength": 400})}
        field_classes = {"plate_mm": NumberField, "foot_mm": NumberField}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for size in SIZES:
            if size.key in self.fields:
                self.fields[size.key].validators.append(Within(size.name, size.least_mm, size.most_mm, "mm"))


def sign_choices() -> list[tuple[str, list[tuple[str, str]]]]:
    """Every answer of every look, by what is asked."""
    looks = looks_at_unknown()
    return [(look.ask, [(f"{look.key} {answer.key}", answer.name) for answer in look.answers]) for look in looks]


class SignForm(forms.Form):
    """A sign in one's own words, or an answer to one of the looks; with the years it was made so."""

    text = forms.CharField(max_length=120, required=False, label="a sign, in your words")
    seen = forms.ChoiceField(required=False, label="or what a look shows on it")
    year_from = forms.IntegerField(min_value=FIRST_YEAR, max_value=LAST_YEAR, required=False, label="made so from")
    year_to = forms.IntegerField(min_value=FIRST_YEAR, max_value=LAST_YEAR, required=False, label="made so until")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["seen"].choices = [("", "none of the looks"), *sign_choices()]  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True)
class SignsContext:
    pattern: Pattern
    form: KnownByForm
    signs: list[tuple[PatternSign, str, str]]
    sign: SignForm


def _draw(
    request: Request, pattern: Pattern, form: KnownByForm | None = None, sign: SignForm | None = None
) -> HttpResponse:
    context = SignsContext(pattern, form or KnownByForm(instance=pattern), signs_of(pattern), sign or SignForm())
    return page(request, "patterns/signs.html", context, status=422 if form or sign else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def signs_page(request: Request, pk: int) -> HttpResponse:
    """The page saves as you type; its buttons add a sign, or take one away."""
    pattern = get_object_or_404(Pattern, pk=pk)
    if request.method != "POST":
        return _draw(request, pattern)
    if request.POST.get("do") == "add":
        return _add(request, pattern)
    if gone := key_in(request.POST.get("away")):
        sign_take_away(pattern=pattern, pk=gone)
        return redirect("pattern_signs", pk)
    form = KnownByForm(request.POST, instance=pattern)
    answer = save_and_answer(request, form, then=request.path)
    pattern.refresh_from_db()
    return answer or _draw(request, pattern, form=form)


def _add(request: Request, pattern: Pattern) -> HttpResponse:
    form = SignForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        look, _, answer = given["seen"].partition(" ")
        years = {name: given[name] for name in ("year_from", "year_to")}
        try:
            sign_add(pattern=pattern, look=look, answer=answer, text=given["text"], **years)
            return redirect("pattern_signs", pattern.pk)
        except LevelwindError as refusal:
            form.add_error("text", spoken(refusal))
    return _draw(request, pattern, sign=form)
