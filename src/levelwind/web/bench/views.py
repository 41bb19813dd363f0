"""The bench: where the day's work is seen. Each job and its next move, whose turn it is, what was promised when."""

from dataclasses import dataclass
from datetime import date

from django.core.paginator import Page, Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from levelwind.shop.jobs.selectors.jobs import Move, Tally, bench_tally, find, job_list, next_move, turn_words
from levelwind.shop.models import Job, Stage, Turn
from levelwind.web.pages import page
from levelwind.web.requests import Request

JOBS_A_PAGE = 60
VIEWS = [("", "All open"), *((key, title.capitalize()) for key, title in Turn.choices)]


@dataclass(frozen=True, slots=True)
class JobRow:
    job: Job
    move: Move
    turn: str
    address: str
    days_left: int | None


@dataclass(frozen=True, slots=True)
class BenchContext:
    tally: Tally
    rows: tuple[JobRow, ...]
    jobs: Page[Job]
    turn: str
    stage: str
    ended: bool
    views: list[tuple[str, str]]
    stages: list[tuple[str, str]]
    query: str


def job_row(job: Job, today: date) -> JobRow:
    move = next_move(job)
    days_left = (job.promised_on - today).days if job.promised_on and not job.is_over else None
    return JobRow(
        job=job, move=move, turn=turn_words(job), address=reverse(move.step, args=[job.tag]), days_left=days_left
    )


def bench_page(request: Request) -> HttpResponse:
    turn, stage, ended = request.GET.get("turn", ""), request.GET.get("stage", ""), "ended" in request.GET
    stage = stage if stage in Stage.values else ""
    turn = turn if turn in Turn.values else ""
    jobs = Paginator(job_list(stage=stage, turn=turn, ended=ended), JOBS_A_PAGE).get_page(request.GET.get("page"))
    today = timezone.localdate()
    query = request.GET.copy()
    query.pop("page", None)
    context = BenchContext(
        tally=bench_tally(today),
        rows=tuple(job_row(job, today) for job in jobs),
        jobs=jobs,
        turn=turn,
        stage=stage,
        ended=ended,
        views=VIEWS,
        stages=Stage.choices,
        query=query.urlencode(),
    )
    return page(request, "bench/bench.html", context)


@dataclass(frozen=True, slots=True)
class FindContext:
    words: str
    rows: tuple[JobRow, ...]


def find_page(request: Request) -> HttpResponse:
    """Jobs that hold every word; as a list to drop below the search field, or as a page of its own."""
    words = request.GET.get("q", "").strip()
    today = timezone.localdate()
    context = FindContext(words=words, rows=tuple(job_row(job, today) for job in find(words)) if words else ())
    if request.htmx:
        return render(request, "bench/found.html", {"page": context})
    return page(request, "bench/find.html", context)
