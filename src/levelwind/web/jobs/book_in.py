from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.urls import path

from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page


@dataclass(frozen=True, slots=True)
class Context:
    head: JobHead


def job_page(request: HttpRequest, tag: str) -> HttpResponse:
    return page(request, "jobs/job.html", Context(head=job_head(job_or_404(tag), "job")))


def book_in_page(request: HttpRequest) -> HttpResponse:
    return page(request, "jobs/book_in.html", None)


urlpatterns = [path("book-in/", book_in_page, name="book_in"), path("jobs/<str:tag>/", job_page, name="job")]
