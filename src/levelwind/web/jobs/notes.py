"""What was noted, said and written on a job: notes and calls, newest first, and its letters with how each went."""

from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.services.notes import note_add, note_let_stand, note_strike
from levelwind.shop.letters.selectors import Offer, letters_of, letters_offered
from levelwind.shop.models import JobNote, Letter
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request, sent


class NoteForm(forms.Form):
    kind = forms.ChoiceField(choices=JobNote.KINDS, label="what it is", initial="note", widget=forms.RadioSelect)
    outcome = forms.ChoiceField(
        choices=[("", "not said"), *JobNote.OUTCOMES], required=False, label="what came of your call"
    )
    text = forms.CharField(
        max_length=2000, required=False, label="in your words", widget=forms.Textarea(attrs={"rows": 3})
    )
    at = forms.DateTimeField(
        required=False,
        label="when, if not now",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )


@dataclass(frozen=True, slots=True)
class NotesContext:
    head: JobHead
    form: NoteForm
    notes: tuple[JobNote, ...]
    letters: tuple[Letter, ...]
    offers: tuple[Offer, ...]


@require_http_methods(["GET", "HEAD", "POST"])
def notes_page(request: Request, tag: str) -> HttpResponse:
    job, form = job_or_404(tag), NoteForm(sent(request))
    if request.method == "POST" and form.is_valid():
        try:
            note_add(job=job, **form.cleaned_data, by=request.user.get_username())
            return redirect("notes", tag)
        except LevelwindError as refusal:
            form.add_error(_field(form), spoken(refusal))
    context = NotesContext(
        head=job_head(job, ""),
        form=form,
        notes=tuple(job.notes.all()),
        letters=tuple(letters_of(job)),
        offers=letters_offered(job),
    )
    return page(request, "jobs/notes.html", context, status=422 if form.errors else 200)


def _field(form: NoteForm) -> str:
    """Beside which field a refusal stands."""
    said = form.cleaned_data
    if said["at"] and said["at"] > timezone.now():
        return "at"
    return "outcome" if said["kind"] == "called" else "text"


@require_POST
def note_struck(request: Request, tag: str, pk: int) -> HttpResponse:
    note = get_object_or_404(job_or_404(tag).notes, pk=pk)
    if "stands" in request.POST:
        note_let_stand(note=note)
    else:
        note_strike(note=note, why=request.POST.get("why", "")[:200], by=request.user.get_username())
        messages.success(request, "Struck out. If it should say something else, note that.")
    return redirect("notes", tag)


urlpatterns = [
    path("jobs/<str:tag>/notes/", notes_page, name="notes"),
    path("jobs/<str:tag>/notes/<int:pk>/strike/", note_struck, name="note_strike"),
]
