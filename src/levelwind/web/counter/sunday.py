"""The page for Sunday: how the shop did. Each figure opens to its reels; a year goes to the accountant as a PDF."""

from dataclasses import dataclass

from django.core.paginator import Page, Paginator
from django.http import Http404, HttpResponse, QueryDict
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from levelwind.core.figures import Axis, Figure, Line
from levelwind.core.writing import month_in_words
from levelwind.documents import year as year_paper
from levelwind.documents.money import format_money
from levelwind.shop.models import Job, Owner
from levelwind.shop.money.sunday import (
    Home,
    Sunday,
    month_named,
    owners_not_seen,
    sunday,
    the_year,
    went_home,
    years_told,
)
from levelwind.shop.papers.selectors.year import year_sheet
from levelwind.shop.people.selectors import currency, shop_get
from levelwind.web.pages import page
from levelwind.web.papers import paper
from levelwind.web.requests import Request

ROWS_A_PAGE = 60
FIRST_YEAR, LAST_YEAR = 1990, 9998
"""Years that a page is drawn for; our choice, and the calendar of Python ends a year later."""


@dataclass(frozen=True, slots=True)
class SundayContext:
    sunday: Sunday
    year: int | None
    years: tuple[int, ...]
    money: Figure | None
    turnaround: Figure | None


def asked_year(asked: QueryDict) -> int | None:
    text = asked.get("year", "")
    number = int(text) if text.isdecimal() and len(text) == len(str(LAST_YEAR)) else 0
    return number if FIRST_YEAR <= number <= LAST_YEAR else None


@require_safe
def sunday_page(request: Request) -> HttpResponse:
    today, year = timezone.localdate(), asked_year(request.GET)
    found = sunday(the_year(today, year))
    context = SundayContext(found, year, years_told(today), _money(found), _turnaround(found))
    return page(request, "counter/sunday.html", context)


def _money(found: Sunday) -> Figure | None:
    """What was billed for the reels that went home, month by month."""
    if len(found.months) < 2 or not found.homes:
        return None
    money = currency(shop_get())
    sums = [(float(n), each.money / 10**money.decimals) for n, each in enumerate(found.months, 1 - len(found.months))]
    says = ", ".join(f"{each.name}: {format_money(each.money, money)}" for each in found.months)
    x = Axis(f"months before {month_in_words(found.time.last)}", sums[0][0] - 0.5, sums[-1][0] + 0.5)
    return Figure(
        f"Billed by the month in which the reels went home: {says}.",
        x,
        Axis.upright(money.code, [0.0, *(each for _, each in sums)]),
        (Line("read", sums),),
        title="Billed for reels that went home, by month",
    )


def _turnaround(found: Sunday) -> Figure | None:
    """Days from booking in to home, in the mean of each month."""
    rows = [
        (float(n), sum(home.took for home in homes) / len(homes), month_named(month))
        for n, (month, homes) in enumerate(found.by_month.items(), 1 - len(found.months))
        if homes
    ]
    if len(rows) < 2:
        return None
    points = [(n, days) for n, days, _ in rows]
    return Figure(
        "Days from booking in to home: " + ", ".join(f"{month}: {days:.0f}" for _, days, month in rows) + ".",
        Axis(f"months before {month_in_words(found.time.last)}", 0.5 - len(found.months), 0.5),
        Axis.upright("days", [0.0, *(days for _, days in points)]),
        (Line("read", points),),
        title="Days from booking in to home, on average of each month",
    )


@dataclass(frozen=True, slots=True)
class JobsContext:
    title: str
    rows: Page[tuple[Job, Home]]
    query: str
    back: str


@require_safe
def sunday_jobs_page(request: Request) -> HttpResponse:
    """The reels behind a figure."""
    asked, year = request.GET, asked_year(request.GET)
    found = sunday(the_year(timezone.localdate(), year))
    homes = [home for home in found.homes if _meant(home, asked)]
    jobs = {
        job.pk: job for job in went_home(found.time).filter(pk__in=[home.pk for home in homes]).select_related("owner")
    }
    rows = sorted(((jobs[home.pk], home) for home in homes), key=lambda row: row[1].day, reverse=True)
    query = asked.copy()
    query.pop("page", None)
    shown = Paginator(rows, ROWS_A_PAGE).get_page(asked.get("page"))
    back = f"?year={year}" if year else ""
    return page(request, "counter/sunday_jobs.html", JobsContext(_title(asked, found), shown, query.urlencode(), back))


def _meant(home: Home, asked: QueryDict) -> bool:
    wanted = {
        "month": home.month,
        "family": home.family,
        "pattern": str(home.pattern or ""),
        "kept": {True: "yes", False: "no", None: ""}[home.kept],
    }
    return all(asked[name] == value for name, value in wanted.items() if name in asked)


def _title(asked: QueryDict, found: Sunday) -> str:
    pattern = asked.get("pattern", "")
    names = {"yes": "promise kept", "no": "promise not kept"}
    said = [
        month_named(asked.get("month", "")),
        next((kind.name for kind in found.kinds if kind.key == asked.get("family")), ""),
        next((name for key, name in found.names.items() if str(key) == pattern), ""),
        names.get(asked.get("kept", ""), ""),
    ]
    return ", ".join(filter(None, said))


@dataclass(frozen=True, slots=True)
class NotSeenContext:
    owners: Page[Owner]


@require_safe
def not_seen_page(request: Request) -> HttpResponse:
    owners = Paginator(owners_not_seen(timezone.localdate()), ROWS_A_PAGE).get_page(request.GET.get("page"))
    return page(request, "counter/not_seen.html", NotSeenContext(owners))


@require_safe
def year_pdf(request: Request, year: int) -> HttpResponse:
    if not FIRST_YEAR <= year <= timezone.localdate().year:
        raise Http404
    return paper(year_paper.render(year_sheet(year)), f"year-{year}")


urlpatterns = [
    path("sunday/", sunday_page, name="sunday"),
    path("sunday/reels/", sunday_jobs_page, name="sunday_jobs"),
    path("sunday/not-seen/", not_seen_page, name="not_seen"),
    path("sunday/year-<int:year>.pdf", year_pdf, name="year_pdf"),
]
