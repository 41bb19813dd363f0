"""Where a reading is taken: at the bench by the job's tag, or on the phone by a signed code. One view serves both."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import URLPattern, path, reverse
from django.views.decorators.cache import never_cache

from levelwind.shop.jobs.selectors.jobs import job_find
from levelwind.shop.models import Job, Reading
from levelwind.web.phone_codes import GONE, RUN_OUT, closed, read_signed, sign
from levelwind.web.requests import Request

SALT = "levelwind.phone_readings"
MOMENTS = dict(Reading.MOMENTS)


@dataclass(frozen=True, slots=True)
class Spot:
    """A job and a moment, "found" or "left". ``token`` is empty at the bench."""

    job: Job
    moment: str
    token: str = ""

    @property
    def moment_words(self) -> str:
        return MOMENTS[self.moment]

    @property
    def home(self) -> str:
        """The address of the readings of this spot."""
        return self.url("readings")

    @property
    def frame(self) -> str:
        """The template a page extends: {% extends page.spot.frame %}. The phone's shows no way into the shop."""
        return "phone_frame.html" if self.token else "base.html"

    def url(self, name: str, *args: object) -> str:
        """The address of a page of this spot, by its name at the bench, such as "reading_spin" or "reading", 7."""
        if self.token:
            return reverse(f"phone_{name}", args=[self.token, *args])
        return reverse(name, args=[self.job.tag, self.moment, *args])

    def by(self, request: Request) -> str:
        """Who did it, for the job's history."""
        return "the phone" if self.token else request.user.get_username()


def token_for(job: Job, moment: str) -> str:
    return sign([job.pk, moment], salt=SALT)


def spot_for(token: str) -> Spot | None:
    """The spot a code stands for; None where it has run out, is not whole, or its job is no longer in the book."""
    read = read_signed(token, salt=SALT)
    job = job_find(read[0]) if read else None
    return Spot(job, read[1], token) if job else None


def _at_the_bench(tag: str, moment: str) -> Spot:
    if moment not in MOMENTS:
        raise Http404(moment)
    return Spot(get_object_or_404(Job, tag=tag), moment)


def at_spot(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Call ``view(request, spot, ...)`` from either address; a code that has run out opens a page that says so."""

    @wraps(view)
    def answer(request: Request, *, tag: str = "", moment: str = "", token: str = "", **more: Any) -> HttpResponseBase:
        spot = spot_for(token) if token else _at_the_bench(tag, moment)
        if spot is None or (token and spot.job.is_over):
            return closed(request, GONE if spot else RUN_OUT)
        return view(request, spot, **more)

    return never_cache(answer)


def spot_paths(route: str, view: Callable[..., HttpResponseBase], name: str) -> list[URLPattern]:
    """The same view twice: ``name`` at the bench, ``phone_<name>`` under the phone's code. Name the latter in doors."""
    seen = at_spot(view)
    return [
        path(f"jobs/<str:tag>/readings/<str:moment>/{route}", seen, name=name),
        path(f"m/<str:token>/{route}", seen, name=f"phone_{name}"),
    ]


def reading_or_404(spot: Spot, pk: int) -> Reading:
    """A reading of this spot and no other."""
    return get_object_or_404(Reading, pk=pk, job=spot.job, moment=spot.moment)


OWN = "readings"
"""In a phone's session: the readings it took itself. It may put those right, and no others."""


def taken_by(request: Request, spot: Spot, reading: Reading) -> None:
    """Remember that this phone took it."""
    if spot.token:
        request.session[OWN] = [*request.session.get(OWN, []), reading.pk]


def may_change(request: Request, spot: Spot, reading: Reading) -> bool:
    return not spot.token or reading.pk in request.session.get(OWN, [])


def reading_to_change_or_404(request: Request, spot: Spot, pk: int) -> Reading:
    """A reading of this spot; on a phone only one that it took itself."""
    reading = reading_or_404(spot, pk)
    if not may_change(request, spot, reading):
        raise Http404(pk)
    return reading
