"""The bench: where the day's work is seen. Each job and its next move, whose turn it is, what was promised when."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.core.paginator import Page, Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from levelwind.shop.jobs.life import Move
from levelwind.shop.jobs.selectors.jobs import (
    DUE,
    bench_tally,
    book_is_empty,
    days_left,
    find,
    job_list,
    next_move,
    turn_words,
    waiting_words,
)
from levelwind.shop.models import Job, Stage, Turn
from levelwind.shop.people.selectors import shop_get
from levelwind.web.pages import page
from levelwind.web.requests import Request

JOBS_A_PAGE = 60


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the morning's sentence: how many reels it speaks of, and the list of these."""

    count: int
    words: str
    query: str
    here: bool
    late: bool = False


@dataclass(frozen=True, slots=True)
class JobRow:
    job: Job
    move: Move
    turn: str
    waiting: str
    address: str
    days_left: int | None


@dataclass(frozen=True, slots=True)
class BenchContext:
    first: bool
    """Nobody has said who the shop is, and no reel was ever booked in."""
    open: int
    turns: tuple[Part, ...]
    promises: tuple[Part, ...]
    rows: tuple[JobRow, ...]
    jobs: Page[Job]
    narrowed: bool
    stage: str
    ended: bool
    stages: list[tuple[str, str]]
    query: str


def job_row(job: Job, today: date) -> JobRow:
    move = next_move(job)
    return JobRow(
        job=job,
        move=move,
        turn=turn_words(job),
        waiting=waiting_words(job, today),
        address=reverse(move.step, args=[job.tag]),
        days_left=days_left(job, today),
    )


def bench_page(request: Request) -> HttpResponse:
    asked = request.GET
    turn, stage, due = (
        _one_of(asked.get(name, ""), allowed)
        for name, allowed in (("turn", Turn.values), ("stage", Stage.values), ("due", DUE))
    )
    jobs = Paginator(job_list(stage=stage, turn=turn, due=due, ended="ended" in asked), JOBS_A_PAGE)
    shown, today = jobs.get_page(asked.get("page")), timezone.localdate()
    tally = bench_tally(today)
    words = {"mine": "my turn", "owner": "the owner’s", "part": "short of a part"}
    turns = (Part(getattr(tally, key), said, f"?turn={key}", key == turn) for key, said in words.items())
    promises = (
        Part(tally.week, "promised within a week", "?due=week", due == "week"),
        Part(tally.late, "past the promise", "?due=late", due == "late", late=True),
    )
    query = asked.copy()
    query.pop("page", None)
    context = BenchContext(
        first=not shop_get().name and book_is_empty(),
        open=tally.open,
        turns=tuple(part for part in turns if part.count),
        promises=tuple(part for part in promises if part.count),
        rows=tuple(job_row(job, today) for job in shown),
        jobs=shown,
        narrowed=bool(turn or stage or due),
        stage=stage,
        ended="ended" in asked,
        stages=Stage.choices,
        query=query.urlencode(),
    )
    return page(request, "bench/bench.html", context)


def _one_of(asked: str, allowed: Collection[str]) -> str:
    return asked if asked in allowed else ""


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
