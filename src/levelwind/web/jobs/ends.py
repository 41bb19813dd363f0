"""What is asked before a job ends with pieces in the tray or old parts lying about, whichever way it ends."""

from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.views.decorators.http import require_http_methods

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.life import OTHER_ENDS, named
from levelwind.shop.jobs.selectors.jobs import passes_over
from levelwind.shop.models import Job, Piece, Stage
from levelwind.shop.papers.selectors.ends import EndAsks, end_asks
from levelwind.shop.papers.services.sendings import OLD_PARTS, Answers, reel_box, reel_end, reel_send_home
from levelwind.shop.readings.selectors.readings import readings_of
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request

NOT_SAID = [("", "not said yet")]
AS_THE_REST = [("", "as the rest")]
BUTTONS = {
    Stage.BOXED: "Box it anyway",
    Stage.HOME: "Send it home anyway",
    Stage.SENT_BACK: "Send it back anyway",
    Stage.SPARES: "Keep it for spares anyway",
}


class EndAskForm(forms.Form):
    """A fate for each piece that lies in the tray, one for the rest, and what becomes of the old parts."""

    def __init__(self, *args: object, asks: EndAsks, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        if asks.lying:
            self.fields["rest"] = forms.ChoiceField(
                choices=NOT_SAID + Piece.FATES, required=False, label="All of it, or the rest"
            )
        for piece in asks.lying:
            label = f"{piece.name.capitalize()}, tray cell {piece.cell}"
            self.fields[f"fate_{piece.pk}"] = forms.ChoiceField(
                choices=AS_THE_REST + Piece.FATES, required=False, label=label
            )
        if asks.old_parts:
            choices = NOT_SAID + list(OLD_PARTS.items())
            self.fields["old_parts"] = forms.ChoiceField(choices=choices, required=False, label="The old parts")
        self.fields["why"] = forms.CharField(max_length=200, required=False, label="why, in a few words")

    @property
    def pieces(self) -> list[forms.BoundField]:
        """The fates said one by one, folded away on the page: most often all go the same way."""
        return [self[name] for name in self.fields if name.startswith("fate_")]

    @property
    def answers(self) -> Answers:
        said = self.cleaned_data
        fates = {int(name.removeprefix("fate_")): fate for name, fate in said.items() if name.startswith("fate_")}
        return Answers(fates=fates, rest=said.get("rest", ""), old_parts=said.get("old_parts", ""))


@dataclass(frozen=True, slots=True)
class EndsContext:
    head: JobHead
    stage: Stage
    asks: EndAsks
    over: str
    form: EndAskForm
    button: str
    back: str


@require_http_methods(["GET", "HEAD", "POST"])
def ends_page(request: Request, tag: str, stage: str) -> HttpResponse:
    job = job_or_404(tag)
    if stage not in BUTTONS:
        raise Http404(stage)
    end, asks = Stage(stage), end_asks(job)
    here = "job" if end in OTHER_ENDS else "box"
    typed = request.POST if request.method == "POST" else None
    form = EndAskForm(typed, asks=asks, initial={"why": request.GET.get("why", "")})
    if request.method == "POST" and form.is_valid():
        try:
            _end(request, job, end, form)
            return redirect(here, tag)
        except LevelwindError as refusal:
            form.add_error(None, spoken(refusal))
    over = named(passes_over(job, end))
    context = EndsContext(job_head(job, here), end, asks, over, form, BUTTONS[end], here)
    return page(request, "jobs/ends.html", context, status=422 if form.errors else 200)


def _end(request: Request, job: Job, stage: Stage, form: EndAskForm) -> None:
    by = request.user.get_username()
    if stage in OTHER_ENDS:
        reel_end(job=job, stage=stage, why=form.cleaned_data["why"], said=form.answers, by=by)
    else:
        (reel_box if stage == Stage.BOXED else reel_send_home)(job=job, said=form.answers, by=by)
        messages.success(request, well_ended(job))


def well_ended(job: Job) -> str:
    """Said as it is boxed or leaves: with proof only where there is a reading as left."""
    if job.stage == Stage.BOXED:
        return "Boxed. Hand it to the carrier and call it home."
    proof = "with proof" if readings_of(job).has("left") else "without a reading as left"
    return f"{job.reel} is on its way home, {proof}."


urlpatterns = [path("jobs/<str:tag>/ends/<str:stage>/", ends_page, name="job_ends")]
