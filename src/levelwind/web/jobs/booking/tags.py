"""What was booked in with one parcel, and its tags on paper."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import Http404, HttpResponse
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from levelwind.core.hunches import Understood
from levelwind.documents import tag as tag_paper
from levelwind.shop.jobs.life import Move
from levelwind.shop.jobs.selectors.hunches import complaint_read
from levelwind.shop.jobs.selectors.jobs import next_move, parcel_get, parcel_jobs
from levelwind.shop.models import Job, Parcel
from levelwind.shop.people.selectors import letterhead, lines, sheet_head, shop_get
from levelwind.web.jobs.way import job_or_404
from levelwind.web.pages import page
from levelwind.web.papers import paper
from levelwind.web.requests import Request


@dataclass(frozen=True, slots=True)
class BookedRow:
    job: Job
    move: Move
    address: str
    read: Understood


@dataclass(frozen=True, slots=True)
class ParcelContext:
    parcel: Parcel
    rows: tuple[BookedRow, ...]


def _parcel_or_404(pk: int) -> Parcel:
    try:
        return parcel_get(pk)
    except Parcel.DoesNotExist:
        raise Http404(pk) from None


@require_safe
def parcel_page(request: Request, pk: int) -> HttpResponse:
    parcel = _parcel_or_404(pk)
    moves = [(job, next_move(job)) for job in parcel_jobs(parcel)]
    rows = tuple(BookedRow(job, move, reverse(move.step, args=[job.tag]), complaint_read(job)) for job, move in moves)
    return page(request, "jobs/book_in_done.html", ParcelContext(parcel, rows))


def tags_of(request: Request, jobs: Sequence[Job]) -> list[tag_paper.Tag]:
    shop = shop_get()
    return [
        tag_paper.Tag(
            shop=letterhead(shop),
            job=sheet_head(job, shop),
            booked_in=timezone.localdate(job.booked_in_at),
            complaint=job.complaint,
            url=request.build_absolute_uri(reverse("job", args=[job.tag])),
            came_with=lines(job.came_with),
        )
        for job in jobs
    ]


@require_safe
def tag_pdf(request: Request, tag: str) -> HttpResponse:
    """The slip of one reel; its code opens the job."""
    job = job_or_404(tag)
    return paper(tag_paper.render(tags_of(request, [job])[0]), f"tag-{job.tag}")


@require_safe
def parcel_tags_pdf(request: Request, pk: int) -> HttpResponse:
    """The slips of all reels of a parcel, several to a page."""
    jobs = list(parcel_jobs(_parcel_or_404(pk)))
    return paper(tag_paper.render_page(tags_of(request, jobs)), f"tags-{jobs[0].tag}")


urlpatterns = [
    path("parcels/<int:pk>/", parcel_page, name="parcel"),
    path("parcels/<int:pk>/tags.pdf", parcel_tags_pdf, name="parcel_tags"),
    path("jobs/<str:tag>/tag.pdf", tag_pdf, name="tag_pdf"),
]
