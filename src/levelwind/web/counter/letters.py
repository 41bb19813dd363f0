"""The shop's own text of each letter: checked as it is saved, seen with a real job, and put back by a press."""

from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from levelwind.core.errors import LevelwindError
from levelwind.shop.letters.mail_server import mail_server
from levelwind.shop.letters.selectors import job_to_try, letter_filled, letter_offer, letter_text, letters_to_go
from levelwind.shop.letters.services import letter_text_save, letter_text_shipped
from levelwind.shop.letters.texts import SHIPPED, Text, fields_of, text_check
from levelwind.shop.models import Job, Letter, LetterKind, MailServer
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request, sent


class TextForm(forms.Form):
    subject = forms.CharField(max_length=200, label="what it is about")
    body = forms.CharField(max_length=6000, label="text", widget=forms.Textarea(attrs={"rows": 14}))

    def __init__(self, kind: LetterKind, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.kind = kind

    def clean(self) -> None:
        for name in ("subject", "body"):
            try:
                text_check(self.kind, self.cleaned_data.get(name, ""))
            except LevelwindError as refusal:
                self.add_error(name, spoken(refusal))

    @property
    def text(self) -> Text:
        return Text(self.cleaned_data["subject"], self.cleaned_data["body"])


@dataclass(frozen=True, slots=True)
class TextsContext:
    texts: tuple[tuple[LetterKind, Text, bool], ...]
    to_go: tuple[Letter, ...]
    server: MailServer | None


@dataclass(frozen=True, slots=True)
class TextContext:
    kind: LetterKind
    form: TextForm
    fields: dict[str, str]
    own: bool
    tag: str
    job: Job | None
    seen: Text | None
    untrue: str


@require_safe
def letter_texts_page(request: Request) -> HttpResponse:
    texts = ((kind, letter_text(kind)) for kind in LetterKind)
    context = TextsContext(
        texts=tuple((kind, text, text != SHIPPED[kind]) for kind, text in texts),
        to_go=tuple(letters_to_go()),
        server=mail_server(),
    )
    return page(request, "counter/letter_texts.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def letter_text_page(request: Request, kind: str) -> HttpResponse:
    """One letter's text; "see it" shows what is typed with a real job, and saves nothing."""
    its = _kind(kind)
    text = letter_text(its)
    form = TextForm(its, sent(request), initial={"subject": text.subject, "body": text.body})
    tag = request.POST.get("tag", request.GET.get("tag", "")).strip()
    good = request.method != "POST" or form.is_valid()
    if request.method == "POST" and good and "see" not in request.POST:
        letter_text_save(kind=its, subject=form.text.subject, body=form.text.body)
        messages.success(request, "Saved. Letters already written stay as they are.")
        return redirect(f"{reverse('letter_text', args=[its])}?tag={tag}" if tag.isascii() else request.path)
    typed = form.text if request.method == "POST" and good else text
    job = job_to_try(its, tag)
    context = TextContext(
        kind=its,
        form=form,
        fields=fields_of(its),
        own=text != SHIPPED[its],
        tag=tag,
        job=job,
        seen=letter_filled(job, typed) if job and good else None,
        untrue=letter_offer(job, its).why_not if job else "",
    )
    return page(request, "counter/letter_text.html", context, status=200 if good else 422)


@require_POST
def letter_text_back(request: Request, kind: str) -> HttpResponse:
    letter_text_shipped(kind=_kind(kind))
    messages.success(request, "Back to the text that comes with Levelwind.")
    return redirect("letter_text", kind)


def _kind(name: str) -> LetterKind:
    try:
        return LetterKind(name)
    except ValueError:
        raise Http404(name) from None


urlpatterns = [
    path("letters/", letter_texts_page, name="letter_texts"),
    path("letters/<str:kind>/", letter_text_page, name="letter_text"),
    path("letters/<str:kind>/shipped/", letter_text_back, name="letter_text_back"),
]
