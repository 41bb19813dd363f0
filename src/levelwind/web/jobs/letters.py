"""A letter from a job: written in the shop's words, kept as written, and sent the way the person likes."""

from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from levelwind.core.errors import LevelwindError
from levelwind.documents import letter as letter_document
from levelwind.shop.letters.enclosures import Paper, papers_for
from levelwind.shop.letters.links import links_close, links_offered
from levelwind.shop.letters.mail import letter_mail, letter_try_now
from levelwind.shop.letters.mail_server import mail_server
from levelwind.shop.letters.selectors import (
    letter_filled,
    letter_offer,
    letter_paper,
    letter_text,
    letter_untrue,
    letters_of,
    mail_link,
)
from levelwind.shop.letters.services import letter_gone, letter_hold_back, letter_not_gone, letter_write
from levelwind.shop.models import Enclosure, Job, Letter, LetterKind, LetterWay, MailServer
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused, spoken
from levelwind.web.papers import paper
from levelwind.web.requests import Request, sent


class LetterForm(forms.Form):
    to_email = forms.EmailField(required=False, label="to", help_text="Empty, where it goes another way.")
    subject = forms.CharField(max_length=200, label="what it is about")
    body = forms.CharField(max_length=8000, label="text", widget=forms.Textarea(attrs={"rows": 14}))
    once = forms.UUIDField(widget=forms.HiddenInput)
    link = forms.BooleanField(required=False, label="with a link where the owner sees it all and answers")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not links_offered():
            del self.fields["link"]


@dataclass(frozen=True, slots=True)
class WriteContext:
    head: JobHead
    kind: LetterKind
    form: LetterForm


@dataclass(frozen=True, slots=True)
class LetterContext:
    head: JobHead
    letter: Letter
    mail_link: str
    ways: list[tuple[str, str]]
    untrue: str
    server: MailServer | None
    papers: tuple[Paper, ...]
    along: frozenset[str]
    """Of the papers that may go with it, by name, those that do unless it is said otherwise."""


def _kind(name: str) -> LetterKind:
    try:
        return LetterKind(name)
    except ValueError:
        raise Http404(name) from None


@require_http_methods(["GET", "HEAD", "POST"])
def letter_new(request: Request, tag: str, kind: str) -> HttpResponse:
    job, its = job_or_404(tag), _kind(kind)
    form = LetterForm(sent(request), initial=_begun(job, its))
    if request.method == "POST" and form.is_valid():
        try:
            letter = letter_write(job=job, kind=its, **form.cleaned_data, by=request.user.get_username())
            return redirect("letter", tag, letter.pk)
        except LevelwindError as refusal:
            form.add_error(None, spoken(refusal))
    if request.method != "POST" and (why_not := letter_offer(job, its).why_not):
        return refused(request, f"The letter “{its.label}” would not be true: {why_not}.")
    context = WriteContext(job_head(job, ""), its, form)
    return page(request, "jobs/letter_new.html", context, status=422 if form.errors else 200)


def _begun(job: Job, kind: LetterKind) -> dict[str, object]:
    text = letter_filled(job, letter_text(kind))
    return {"to_email": job.owner.email, "subject": text.subject, "body": text.body, "once": uuid4()}


def _letter(tag: str, pk: int) -> Letter:
    return get_object_or_404(letters_of(job_or_404(tag)), pk=pk)


@require_safe
def letter_page(request: Request, tag: str, pk: int) -> HttpResponse:
    letter = _letter(tag, pk)
    waits = not hasattr(letter, "went") or letter.went.state in ("waiting", "refused")
    papers = papers_for(letter) if waits else ()
    context = LetterContext(
        head=job_head(job_or_404(tag), ""),
        letter=letter,
        mail_link=mail_link(letter),
        ways=LetterWay.BY_HAND,
        untrue=letter_untrue(letter) if waits else "",
        server=mail_server(),
        papers=papers,
        along=_along(letter, papers),
    )
    return page(request, "jobs/letter.html", context)


def _along(letter: Letter, papers: tuple[Paper, ...]) -> frozenset[str]:
    """Those it speaks of; of a letter that was refused, those that were to go with it."""
    if hasattr(letter, "went"):
        return frozenset(letter.went.enclosures.values_list("words", flat=True))
    return frozenset(one.words for one in papers if one.spoken_of)


@require_POST
def letter_went(request: Request, tag: str, pk: int) -> HttpResponse:
    """It has gone this way; the mail server is to send it; it is held back; or none of these after all."""
    letter, by, does = _letter(tag, pk), request.user.get_username(), request.POST.get("does", "")
    try:
        if does == "gone":
            letter_gone(letter=letter, way=request.POST.get("way", ""), by=by)
        elif does == "mail":
            letter_mail(letter=letter, papers=request.POST.getlist("paper"), by=by)
        elif does == "try_now":
            letter_try_now(letter=letter)
        elif does == "hold":
            letter_hold_back(letter=letter, by=by)
        elif does == "not_gone":
            letter_not_gone(letter=letter, by=by)
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return redirect("letter", tag, pk)


@require_safe
def letter_pdf(request: Request, tag: str, pk: int) -> HttpResponse:
    return paper(letter_document.render(letter_paper(_letter(tag, pk))), f"letter-{tag}-{pk}")


@require_safe
def letter_enclosure(request: Request, tag: str, pk: int, enclosure: int) -> HttpResponse:
    """A paper as it went with its letter."""
    kept = get_object_or_404(Enclosure, pk=enclosure, went__letter=_letter(tag, pk))
    return paper(bytes(kept.pdf), kept.file_name.removesuffix(".pdf"))


@require_POST
def links_shut(request: Request, tag: str) -> HttpResponse:
    """Whoever has a link to this reel sees nothing any more."""
    links_close(job=job_or_404(tag), by=request.user.get_username())
    return redirect("price", tag)


urlpatterns = [
    path("jobs/<str:tag>/links/close/", links_shut, name="links_close"),
    path("jobs/<str:tag>/letters/new/<str:kind>/", letter_new, name="letter_new"),
    path("jobs/<str:tag>/letters/<int:pk>/", letter_page, name="letter"),
    path("jobs/<str:tag>/letters/<int:pk>/went/", letter_went, name="letter_went"),
    path("jobs/<str:tag>/letters/<int:pk>/letter.pdf", letter_pdf, name="letter_pdf"),
    path("jobs/<str:tag>/letters/<int:pk>/with/<int:enclosure>/", letter_enclosure, name="letter_enclosure"),
]
