"""A jump forward is asked first: a page says which stages it passes over, and it is done all the same if meant."""

from dataclasses import dataclass

from django.http import HttpResponse

from levelwind.shop.jobs.life import LIFE, Act, named
from levelwind.shop.jobs.selectors.jobs import passes_over
from levelwind.shop.models import Job
from levelwind.web.jobs.way import JobHead, job_head
from levelwind.web.pages import page
from levelwind.web.requests import Request

MEANT = "jump"
"""The field of a form that was asked already."""


@dataclass(frozen=True, slots=True)
class JumpContext:
    """What was pressed, field by field, to be sent again; ``address`` is where, ``back`` the page it was pressed on."""

    head: JobHead
    act: Act
    over: str
    fields: tuple[tuple[str, str], ...]
    address: str
    back: str


def jump_asked(request: Request, job: Job, key: str) -> HttpResponse | None:
    """The question, or None where nothing is passed over or it was answered. With htmx the whole page is exchanged."""
    act = LIFE[key]
    over = passes_over(job, act.to, act.includes) if act.to else ()
    if not over or MEANT in request.POST:
        return None
    typed = tuple((name, value) for name in request.POST for value in request.POST.getlist(name))
    fields = tuple((name, value) for name, value in typed if name != "csrfmiddlewaretoken")
    head = job_head(job, "")
    back = request.META.get("HTTP_REFERER") or head.move_address
    answer = page(request, "jobs/jump.html", JumpContext(head, act, named(over), fields, request.path, back))
    if request.htmx:
        answer["HX-Retarget"] = answer["HX-Reselect"] = "#page"
        answer["HX-Reswap"] = "outerHTML show:top"
    return answer
