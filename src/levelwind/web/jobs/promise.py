"""When a reel will be ready: its dates from the bench's futures, why then, and what would make it sooner."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from levelwind.shop.models import Promise
from levelwind.shop.money.foretold import Foretold, foretold
from levelwind.shop.money.promises import promises_of
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page
from levelwind.web.requests import Request


@dataclass(frozen=True, slots=True)
class PromiseContext:
    head: JobHead
    told: Foretold | None
    given: tuple[Promise, ...]


@require_safe
def promise_page(request: Request, tag: str) -> HttpResponse:
    """The dates alone where the price's page asks for them."""
    job = job_or_404(tag)
    context = PromiseContext(job_head(job, "price"), foretold(job), promises_of(job))
    if request.htmx:
        return render(request, "jobs/promise_dates.html", {"page": context})
    return page(request, "jobs/promise.html", context)


urlpatterns = [path("jobs/<str:tag>/ready/", promise_page, name="promise")]
