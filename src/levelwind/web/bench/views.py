"""The bench: where the day's work is seen. Each job and its next move, whose turn it is, what was promised when."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.core.paginator import Page
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from levelwind.shop.finding.selectors import Answer, find
from levelwind.shop.jobs.life import OPEN, Move
from levelwind.shop.jobs.selectors.jobs import (
    DUE,
    bench_tally,
    book_is_empty,
    days_left,
    job_list,
    next_move,
    stage_tally,
    turn_words,
    waiting_words,
)
from levelwind.shop.models import Bill, Job, Owner, Stage, Turn
from levelwind.shop.models import Part as PartOnShelf
from levelwind.shop.people.selectors import shop_get
from levelwind.web.pages import leaf, page
from levelwind.web.requests import Request
from levelwind.web.steps import marks

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
    marks: tuple[str, ...]
    """Of each of the eight steps: done, next, or not yet."""


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
    ended: bool
    asks_next: bool
    """There is a reel that is mine to work on, and the whole bench is seen."""
    guides: tuple[Part, ...]
    """How many reels stand at each of the eight stages, in the order of the way."""
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
        marks=marks(job, move),
    )


def bench_page(request: Request) -> HttpResponse:
    asked = request.GET
    turn, stage, due = (
        _one_of(asked.get(name, ""), allowed)
        for name, allowed in (("turn", Turn.values), ("stage", Stage.values), ("due", DUE))
    )
    jobs = job_list(stage=stage, turn=turn, due=due, ended="ended" in asked)
    shown, today = leaf(jobs, JOBS_A_PAGE, asked.get("page")), timezone.localdate()
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
        ended="ended" in asked,
        asks_next=bool(tally.mine) and not (turn or stage or due or "ended" in asked),
        guides=guides(stage) if tally.open else (),
        query=query.urlencode(),
    )
    return page(request, "bench/bench.html", context)


def guides(chosen: str) -> tuple[Part, ...]:
    stand = stage_tally()
    return tuple(Part(stand.get(stage, 0), stage.label, f"?stage={stage}", stage == chosen) for stage in OPEN)


def _one_of(asked: str, allowed: Collection[str]) -> str:
    return asked if asked in allowed else ""


@dataclass(frozen=True, slots=True)
class FoundRow:
    number: str
    name: str
    detail: str
    why: str
    address: str


@dataclass(frozen=True, slots=True)
class FindContext:
    words: str
    rows: tuple[FoundRow, ...] = ()
    read_as: str = ""


def found_row(answer: Answer) -> FoundRow:
    why = ", ".join(answer.why)
    match answer.subject:
        case Job() as job:
            detail = f"{job.owner} · {job.get_stage_display()}"
            return FoundRow(job.tag, job.reel, detail, why, reverse("job", args=[job.tag]))
        case Owner() as owner:
            reach = " · ".join(filter(None, (owner.phone, owner.email)))
            return FoundRow("", owner.name, reach or "owner", why, reverse("owner", args=[owner.pk]))
        case PartOnShelf() as part:
            return FoundRow(part.number, part.name, "on the shelf’s list", why, reverse("part", args=[part.pk]))
        case Bill(job=None) as bill:
            return FoundRow(bill.number, "bill", bill.owner.name, why, reverse("owner", args=[bill.owner_id]))
        case Bill(job=Job() as job) as bill:
            return FoundRow(bill.number, "bill", f"{bill.owner} · {job}", why, reverse("money", args=[job.tag]))
        case _:
            pattern = str(answer.subject)
            return FoundRow("", pattern, "in the pattern book", why, reverse("pattern", args=[answer.subject.pk]))


def find_page(request: Request) -> HttpResponse:
    """All that holds every word; as a list to drop below the search field, or as a page of its own."""
    words = request.GET.get("q", "").strip()
    found = find(words)
    rows = tuple(found_row(answer) for answer in found.answers)
    context = FindContext(words=words, rows=rows, read_as=", ".join(found.read_as))
    if request.htmx:
        return render(request, "bench/found.html", {"page": context})
    return page(request, "bench/find.html", context)
