"""What a takedown page's buttons do: a POST names in ``act`` one of the page's acts."""

from collections.abc import Callable, Mapping
from typing import Protocol

from django.http import HttpResponse, HttpResponseRedirect

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Job
from levelwind.web.jobs.takedown.apart_rows import Refusal
from levelwind.web.pages import refused, spoken
from levelwind.web.requests import Request

Act = Callable[[Request, Job], str]
"""Does one thing and gives the place on the page to go on at."""


class Drawn(Protocol):
    """The page as it stands now, whole or the part of it that ticks change."""

    def __call__(self, request: Request, job: Job, refusal: Refusal | None = None) -> HttpResponse: ...


def acted(request: Request, job: Job, acts: Mapping[str, Act], drawn: Drawn) -> HttpResponse:
    """The act done, or what was refused said beside the thing it was about."""
    act = request.POST.get("act", "")
    if act not in acts:
        return refused(request, "This button is not known here. Load the page again.")
    try:
        anchor = acts[act](request, job)
    except LevelwindError as refusal:
        at = next((keys_in(request, name)[0] for name in ("step", "gate", "piece") if keys_in(request, name)), act)
        return drawn(request, job, Refusal(at, spoken(refusal), request.POST.get("note", "")))
    if request.htmx:
        return drawn(request, job)
    return see_other(f"{request.path}#{anchor}")


def keys_in(request: Request, name: str) -> tuple[str, ...]:
    """The keys a field names, those of a go with commas between."""
    return tuple(dict.fromkeys(filter(None, request.POST.get(name, "").split(","))))


def see_other(address: str) -> HttpResponse:
    """On to ``address`` by GET, so that loading it again does nothing twice."""
    return HttpResponseRedirect(address, status=303)
