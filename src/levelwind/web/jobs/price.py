from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.urls import path

from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page


@dataclass(frozen=True, slots=True)
class Context:
    head: JobHead


def price_page(request: HttpRequest, tag: str) -> HttpResponse:
    return page(request, "jobs/price.html", Context(head=job_head(job_or_404(tag), "price")))


urlpatterns = [path("jobs/<str:tag>/price/", price_page, name="price")]
