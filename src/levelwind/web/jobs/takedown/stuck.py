"""A piece that will not come: what to do, what its material bears, what it risks and costs, the owner's word on it."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.urls import path, reverse

from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Figure
from levelwind.core.quantities import Quantity
from levelwind.core.takedown import Step
from levelwind.reference.cautions import Caution
from levelwind.reference.stuck import Grade, Material, Procedure, scale_of_corrosion, stuck
from levelwind.shop.jobs.selectors.stuck import StuckNow, left_as_it_is, stuck_now
from levelwind.shop.models import Job, PriceLine
from levelwind.shop.money.services.stuck import stuck_ask, stuck_came, stuck_lines, stuck_note
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.web.jobs.takedown.acts import see_other
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused
from levelwind.web.requests import Request


@dataclass(frozen=True, slots=True)
class Bears:
    """One way to free it, and which of the chosen materials never bear it or must be watched."""

    name: str
    never: tuple[Material, ...]
    careful: tuple[Material, ...]


@dataclass(frozen=True, slots=True)
class StuckContext:
    head: JobHead
    step: Step
    procedure: Procedure
    now: StuckNow | None
    materials: tuple[tuple[Material, bool], ...]
    grades: tuple[Grade, ...]
    grade: str
    scale: Figure | None
    cautions: tuple[Caution, ...]
    means: tuple[Bears, ...]
    lines: tuple[PriceLine, ...]
    forbidden: bool

    @property
    def breaks_percent(self) -> Quantity:
        breaks = self.procedure.breaks
        return Quantity(100 * breaks.value, 100 * breaks.low, 100 * breaks.high)


def stuck_context(job: Job, step: str, what: str) -> StuckContext:
    book = stuck()
    procedure, step_ = book.procedure(what), job_work(job).step(step)
    now = next((one for one in stuck_now(job, [step]) if one.procedure == procedure), None)
    chosen = [book.materials[key] for key in (now.row.materials if now else ()) if key in book.materials]
    grade = now.row.corrosion if now else job.corrosion if procedure.graded else ""
    return StuckContext(
        head=job_head(job, "apart"),
        step=step_,
        procedure=procedure,
        now=now,
        materials=tuple((material, material in chosen) for material in book.materials.values()),
        grades=tuple(book.grades.values()),
        grade=grade,
        scale=scale_of_corrosion(book.grades.values()) if procedure.graded else None,
        cautions=book.cautions(procedure, [material.key for material in chosen]),
        means=tuple(
            Bears(
                book.means[key].name,
                tuple(material for material in chosen if key in material.never),
                tuple(material for material in chosen if key in material.careful),
            )
            for key in procedure.means
        ),
        lines=tuple(stuck_lines(procedure, book.grades.get(grade))),
        forbidden=any(leave.key == "cleaning" for leave in left_as_it_is(job)),
    )


def stuck_page(request: Request, tag: str, step: str, what: str) -> HttpResponse:
    """The procedure; a POST notes what it is made of, puts it on the price, or says that it came."""
    job = job_or_404(tag)
    try:
        context = stuck_context(job, step, what)
        if request.method != "POST":
            return page(request, "jobs/stuck.html", context)
        return _done(request, job, context)
    except LevelwindError as refusal:
        return refused(request, refusal)


def _done(request: Request, job: Job, context: StuckContext) -> HttpResponse:
    by, act = request.user.get_username(), request.POST.get("act", "")
    step, what = context.step.key, context.procedure.key
    said = (request.POST.getlist("material"), request.POST.get("corrosion", ""))
    if act == "came" and context.now:
        stuck_came(row=context.now.row, by=by)
        messages.success(request, "It came. On with the step.")
        return see_other(reverse("apart", args=[job.tag]) + "#now")
    if act == "price":
        price = stuck_ask(job=job, step=step, what=what, materials=said[0], corrosion=said[1], by=by)
        messages.success(request, f"On price {price.number}. Send it, and write down what the owner says.")
        return see_other(reverse("price", args=[job.tag]) + "#lines")
    stuck_note(job=job, step=step, what=what, materials=said[0], corrosion=said[1], by=by)
    return see_other(f"{request.path}#bears")


urlpatterns = [path("jobs/<str:tag>/stuck/<str:step>/<str:what>/", stuck_page, name="stuck")]
