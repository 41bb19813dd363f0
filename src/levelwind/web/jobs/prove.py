"""Prove: readings as left beside as found, and beside what the drag was computed to do."""

from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Figure
from levelwind.documents import proof as proof_paper
from levelwind.shop.jobs.selectors.hunches import job_family
from levelwind.shop.jobs.services.sendings import job_prove
from levelwind.shop.models import Job, Photo
from levelwind.shop.papers.selectors.done import what_was_done
from levelwind.shop.papers.selectors.proofs import DragProof, Due, drag_proof, proof_verdict, still_to_measure
from levelwind.shop.papers.selectors.sent import proof_of
from levelwind.shop.papers.selectors.sheets import loss_shares, proof_in_short
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.selectors.baseline import Baseline, baseline_of
from levelwind.shop.readings.selectors.figures import compared
from levelwind.shop.readings.selectors.others import Others, others_of_pattern
from levelwind.shop.readings.selectors.readings import Readings, readings_of
from levelwind.web.forms import SavingForm
from levelwind.web.jobs.jump import jump_asked
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, spoken
from levelwind.web.papers import paper
from levelwind.web.requests import Request, sent
from levelwind.web.saving import save_and_answer


class ProofForm(SavingForm):
    class Meta:
        model = Job
        fields = ["done_note", "verdict"]
        widgets = {name: forms.Textarea(attrs={"rows": 3}) for name in fields}
        help_texts = {
            "done_note": "One thing a line: it stands so on the proof sheet.",
            "verdict": "In your own words. They stand below the sentence that the sheet opens with.",
        }


@dataclass(frozen=True, slots=True)
class ProveContext:
    head: JobHead
    readings: Readings
    baseline: Baseline | None
    force: Figure | None
    speed: Figure | None
    shares: tuple[proof_paper.LossShare, ...]
    in_short: str
    verdict: tuple[str, ...]
    drag: DragProof | None
    has_drag: bool
    others: Others
    still: tuple[Due, ...]
    form: ProofForm
    photos: tuple[Photo, ...]
    done: tuple[str, ...]


def prove_page(request: Request, tag: str) -> HttpResponse:
    job = job_or_404(tag)
    form = ProofForm(sent(request), instance=job)
    if request.method == "POST":
        answer = save_and_answer(request, form, then=request.path)
        if answer is not None:
            return answer
    unit = shop_get().force_unit
    readings, kin = readings_of(job, unit), job_family(job)
    drag, others = drag_proof(job, readings, unit), others_of_pattern(job)
    context = ProveContext(
        head=job_head(job, "prove"),
        readings=readings,
        baseline=baseline_of(job, readings, unit),
        force=compared(readings, "pull", unit),
        speed=compared(readings, "spin", unit),
        shares=loss_shares(readings),
        in_short=proof_in_short(readings, unit),
        verdict=proof_verdict(readings, drag, others),
        drag=drag,
        has_drag=kin is None or bool(kin.drag_places),
        others=others,
        still=still_to_measure(job, readings, unit),
        form=form,
        photos=tuple(job.photos.filter(moment="left")),
        done=what_was_done(job),
    )
    return page(request, "jobs/prove.html", context)


@require_POST
def proved(request: Request, tag: str) -> HttpResponse:
    job = job_or_404(tag)
    try:
        asked = jump_asked(request, job, "prove")
        if asked:
            return asked
        job_prove(job=job, by=request.user.get_username())
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
        return redirect("prove", tag)
    messages.success(request, "Proved. Next: the bill and the box.")
    return redirect(reverse("box", args=[tag]))


def proof_pdf(request: Request, tag: str) -> HttpResponse:
    job = job_or_404(tag)
    return paper(proof_paper.render(proof_of(job)), f"proof-{job.tag}")


urlpatterns = [
    path("jobs/<str:tag>/prove/", prove_page, name="prove"),
    path("jobs/<str:tag>/prove/done/", proved, name="proved"),
    path("jobs/<str:tag>/proof.pdf", proof_pdf, name="proof_pdf"),
]
