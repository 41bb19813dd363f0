"""The pattern book: every kind of reel the shop knows."""

from dataclasses import dataclass

from django.core.paginator import Page
from django.http import HttpResponse
from django.shortcuts import redirect

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Pattern
from levelwind.shop.patterns.selectors.patterns import family_names, pattern_list, pattern_named
from levelwind.shop.patterns.services.patterns import pattern_add
from levelwind.web.pages import leaf, page, spoken
from levelwind.web.patterns.forms import NewPatternForm
from levelwind.web.requests import Request, sent

PATTERNS_A_PAGE = 50


@dataclass(frozen=True, slots=True)
class PatternsContext:
    patterns: Page[Pattern]
    words: str
    family: str
    families: list[tuple[str, str]]
    retired: bool
    any_retired: bool
    query: str


@dataclass(frozen=True, slots=True)
class AddContext:
    form: NewPatternForm
    there: Pattern | None


def patterns_page(request: Request) -> HttpResponse:
    words, family = request.GET.get("q_pattern", "").strip()[:80], request.GET.get("family", "")
    query = request.GET.copy()
    query.pop("page", None)
    retired = "retired" in request.GET
    found = pattern_list(words=words, family_key=family, retired=retired)
    context = PatternsContext(
        patterns=leaf(found, PATTERNS_A_PAGE, request.GET.get("page")),
        words=words,
        family=family,
        families=family_names(),
        retired=retired,
        any_retired=retired or pattern_list(retired=True).exists(),
        query=query.urlencode(),
    )
    return page(request, "patterns/patterns.html", context)


def pattern_add_page(request: Request) -> HttpResponse:
    form = NewPatternForm(sent(request))
    if request.method == "POST" and form.is_valid():
        try:
            return redirect("pattern", pattern_add(**form.cleaned_data).pk)
        except LevelwindError as refusal:
            form.add_error("model", spoken(refusal))
    words = {name: " ".join(request.POST.get(name, "").split()) for name in ("maker", "model", "size")}
    there = pattern_named(**words) if form.errors else None
    return page(request, "patterns/add.html", AddContext(form, there), status=422 if form.errors else 200)
