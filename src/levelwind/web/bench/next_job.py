"""Which job next, in a sentence below the morning's; one press begins it, one puts it aside until tomorrow."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from levelwind.shop.jobs.life import Move
from levelwind.shop.jobs.selectors.jobs import next_move
from levelwind.shop.money.foretold import hours_known
from levelwind.shop.money.next_job import NextJob, next_job
from levelwind.web.pages import page
from levelwind.web.requests import Request

ASIDE = "put_aside"
"""In the session: the day, and the tags that were put aside on it."""
MOST_ASIDE = 200
"""Tags put aside in a day; our choice."""


@dataclass(frozen=True, slots=True)
class NextContext:
    hours: bool
    next: NextJob | None
    move: Move | None
    address: str
    aside: int


def _aside(request: Request) -> list[str]:
    day, tags = request.session.get(ASIDE, ("", []))
    return list(tags) if day == timezone.localdate().isoformat() else []


def next_page(request: Request) -> HttpResponse:
    """The sentence alone where the bench asks for it."""
    aside = _aside(request)
    found = next_job(aside)
    move = next_move(found.job) if found else None
    address = reverse(move.step, args=[found.job.tag]) if found and move else ""
    context = NextContext(hours_known(), found, move, address, len(aside))
    if request.htmx:
        return render(request, "bench/next_said.html", {"page": context})
    return page(request, "bench/next.html", context)


@require_POST
def aside_act(request: Request) -> HttpResponse:
    """Not this one today; or all that were put aside are back."""
    tag, aside = request.POST.get("tag", "")[:12], _aside(request)
    tags = [*aside, tag] if tag and tag not in aside else aside if tag else []
    request.session[ASIDE] = (timezone.localdate().isoformat(), tags[-MOST_ASIDE:])
    return next_page(request) if request.htmx else redirect("bench")


urlpatterns = [
    path("next/", require_safe(next_page), name="next_job"),
    path("next/aside/", aside_act, name="put_aside"),
]
