"""Picking a pattern on a page: one list of a small book; of a large one what a word finds, as it is typed.

It goes without a script too: the words are sent with the form, and what has them is there to choose from.
"""

import json
import re
from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_GET

from levelwind.reference.families import families
from levelwind.shop.models import Pattern
from levelwind.shop.patterns.selectors.picking import MOST_FOUND, Offered, Picking, picking
from levelwind.web.requests import Request, key_in

LONGEST_WORDS = 80
FIELD = re.compile(r"[a-z][a-z0-9_]{0,60}")
"""What a field may be called that asks for patterns."""


def words_name(name: str) -> str:
    """What the search beside a field is sent as."""
    return f"{name}-words"


class PatternPick(forms.Select):
    """``picking`` is what there is to choose from, ``none`` what choosing none of it is called, where that may be."""

    picking: Picking
    none: str | None = None
    words = ""
    refusal = ""
    """Why the words that were sent do not say which."""

    @property
    def template_name(self) -> str:  # type: ignore[override]
        return forms.Select.template_name if self.picking.whole else "parts/pattern_pick.html"

    def value_from_datadict(self, data: Mapping[str, Any], files: Any, name: str) -> str:
        """What was chosen, or what the words sent with it leave no choice about."""
        value, words = str(data.get(name) or ""), str(data.get(words_name(name)) or "").strip()[:LONGEST_WORDS]
        if self.picking.whole or not words:
            return value
        self.words, self.refusal = words, ""
        found = [str(pattern.pk) for pattern in self.picking.offered.found(words)]
        if value in found or len(found) == 1:
            return value if value in found else found[0]
        self.refusal = "Several patterns have these words: choose one." if found else "No pattern has all these words."
        return value

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        if self.picking.whole:
            return context
        chosen, offered = self.picking.get(str(value or "")), self.picking.offered
        besides = [*offered.besides, *([chosen.pk] if chosen else [])]
        found = offered.found(self.words, besides=besides)
        return context | {
            "name": name,
            "chosen": chosen,
            "none": self.none,
            "must": self.is_required,
            "asks_json": json.dumps({"pick": name, "besides": besides} | _said(offered)),
            **_found(name, self.words, found),
        }


def _said(offered: Offered) -> dict[str, str]:
    said = {"family": offered.family, "retired": "too" if offered.retired_too else ""}
    return {name: text for name, text in said.items() if text}


def _found(name: str, words: str, found: tuple[Pattern, ...]) -> dict[str, Any]:
    return {"name": name, "words": words, "found": found[:MOST_FOUND], "more": len(found) > MOST_FOUND}


class PatternField(forms.Field):
    """A pattern of the book. Its form says which there are, by ``offer``, before it is drawn or read."""

    widget = PatternPick

    def offer(
        self, what: Picking, *, none: str | None = None, by_maker: bool = False, families_told: bool = False
    ) -> None:
        pick = self.widget
        assert isinstance(pick, PatternPick)
        self.picking = pick.picking = what
        pick.none = none
        if what.whole:
            named = [(pk, _called(pattern, families_told), pattern.maker) for pk, pattern in what.known.items()]
            rows: list[Any] = [(pk, name) for pk, name, _ in named]
            if by_maker:
                makers = dict.fromkeys(maker for *_, maker in named)
                rows = [(maker, [(pk, name) for pk, name, of in named if of == maker]) for maker in makers]
            pick.choices = rows if none is None else [("", none), *rows]

    def prepare_value(self, value: Any) -> Any:
        return value.pk if isinstance(value, Pattern) else value

    def clean(self, value: Any) -> Pattern | None:
        pick = self.widget
        assert isinstance(pick, PatternPick)
        if pick.refusal:
            raise ValidationError(pick.refusal)
        if not super().clean(value):
            return None
        found = self.picking.get(str(value))
        if found is None:
            raise ValidationError("Choose a pattern from the list.")
        return found


def _called(pattern: Pattern, with_family: bool) -> str:
    return f"{pattern}, {pattern.get_family_display().lower()}" if with_family else str(pattern)


def pattern_offer(form: forms.BaseForm, name: str, offered: Offered | None = None, **how: Any) -> None:
    """What a form's field offers, with what it holds."""
    field = form.fields[name]
    assert isinstance(field, PatternField)
    held = form.get_initial_for_field(field, name)
    field.offer(picking(offered, [held.pk if isinstance(held, Pattern) else held]), **how)


class PickForm(forms.Form):
    """Nothing but a pattern, which must be one."""

    pattern = PatternField(label="pattern", error_messages={"required": "Choose a pattern from the list."})

    def __init__(self, *args: Any, offered: Offered | None = None, families_told: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pattern_offer(self, "pattern", offered, none="choose one", families_told=families_told)

    @property
    def any(self) -> bool:
        """There is a pattern to pick."""
        pick = self.fields["pattern"].widget
        assert isinstance(pick, PatternPick)
        return bool(pick.picking.known) or not pick.picking.whole

    @property
    def chosen(self) -> Pattern | None:
        return self.cleaned_data["pattern"] if self.is_bound and self.is_valid() else None


@require_GET
def pattern_pick_fragment(request: Request) -> HttpResponse:
    """The patterns that have the words typed so far, each to be chosen."""
    name, family = request.GET.get("pick", ""), request.GET.get("family", "")
    if not FIELD.fullmatch(name):
        raise Http404(name)
    besides = tuple(map(key_in, request.GET.getlist("besides")))
    offered = Offered(family if family in families() else "", besides, retired_too="retired" in request.GET)
    words = request.GET.get(words_name(name), "").strip()[:LONGEST_WORDS]
    return render(request, "parts/pattern_found.html", _found(name, words, offered.found(words)))


urlpatterns = [path("pick/", pattern_pick_fragment, name="pattern_pick")]
