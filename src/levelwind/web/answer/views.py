"""What an owner sees by the link to their reel: pictures, readings, the price, the parcel's way; and their word."""

from collections.abc import Mapping
from dataclasses import dataclass

from django import forms
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from levelwind.core.errors import LevelwindError
from levelwind.documents import price as price_paper
from levelwind.shop.jobs.selectors.agreed import words_of
from levelwind.shop.jobs.selectors.jobs import sending_get
from levelwind.shop.letters.links import link_answer, link_find, link_opened, price_to_answer
from levelwind.shop.models import Job, OwnerLink, Photo, Price, Sending, Word
from levelwind.shop.money.selectors import price_latest
from levelwind.shop.papers.selectors.sheets import if_no_words, price_in_words
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.selectors.readings import Pair, readings_of
from levelwind.web.answer.limit import too_often, wrong_link
from levelwind.web.entry import media_file
from levelwind.web.forms import MoneyField
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request

CLOSED = "This link has run out or was closed. Please call or write to the shop: it can send you another."
OFTEN = "Too many requests came from here. Please wait a quarter of an hour."
MOMENTS = ("found", "left")


class AnswerForm(forms.Form):
    said = forms.ChoiceField(choices=Word.ANSWERS, label="your answer", widget=forms.RadioSelect)
    up_to_minor = MoneyField(label="up to this sum", required=False)
    number = forms.IntegerField(widget=forms.HiddenInput)


@dataclass(frozen=True, slots=True)
class AnswerContext:
    key: str
    job: Job
    photos: tuple[Photo, ...]
    readings: tuple[Pair, ...]
    price: Price | None
    sheet: Mapping[str, object]
    """The price as its paper has it."""
    if_no: str
    """What a no costs, where it costs anything."""
    words: tuple[Word, ...]
    form: AnswerForm | None
    """None where nothing is to be answered here."""
    sending: Sending
    link: OwnerLink
    refusal: str = ""
    """Why a word was not taken down, where there is no form any more to say it beside."""


def _link(request: Request, key: str) -> OwnerLink | HttpResponse:
    """The link, or the page that says why there is none."""
    address = request.META.get("REMOTE_ADDR", "")
    if too_often(address):
        return render(request, "phone_closed.html", {"why": OFTEN}, status=429)
    link = link_find(key)
    if link is None:
        wrong_link(address)
        return render(request, "phone_closed.html", {"why": CLOSED}, status=404)
    return link


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def answer_page(request: Request, key: str) -> HttpResponse:
    link = _link(request, key)
    if not isinstance(link, OwnerLink):
        return link
    form = None
    if request.method == "POST":
        form = AnswerForm(request.POST)
        if form.is_valid():
            try:
                data = form.cleaned_data
                link_answer(link=link, price_number=data["number"], said=data["said"], up_to_minor=data["up_to_minor"])
                return redirect("owner_answer", key)
            except LevelwindError as refusal:
                form.add_error(None, spoken(refusal))
    else:
        link_opened(link=link)
    answer = page(request, "answer/answer.html", _context(key, link, form), status=422 if form else 200)
    answer["X-Robots-Tag"] = "noindex"
    answer["Referrer-Policy"] = "no-referrer"
    return answer


def _context(key: str, link: OwnerLink, form: AnswerForm | None) -> AnswerContext:
    job, latest = link.job, price_latest(link.job)
    price, open_price = latest if latest and latest.sent_at else None, price_to_answer(link.job)
    refusal = " ".join(map(str, form.non_field_errors())) if form else ""
    if open_price is None:
        form = None
    elif form is None:
        form = AnswerForm(initial={"number": open_price.number})
    return AnswerContext(
        key=key,
        job=job,
        photos=tuple(job.photos.filter(moment__in=MOMENTS)),
        readings=tuple(readings_of(job, shop_get().force_unit).pairs),
        price=price,
        sheet=price_paper.layout(price_in_words(price)).data if price else {},
        if_no=if_no_words(job, shop_get()),
        words=tuple(words_of(job)),
        form=form,
        sending=sending_get(job),
        link=link,
        refusal=refusal,
    )


@never_cache
@require_safe
def picture_file(request: Request, key: str, pk: int) -> HttpResponseBase:
    """A picture of this reel as found or as left, small."""
    link = _link(request, key)
    if not isinstance(link, OwnerLink):
        return link
    photo = get_object_or_404(Photo, pk=pk, job=link.job, moment__in=MOMENTS)
    return media_file(request, str(photo.thumbnail.name))


urlpatterns = [
    path("<str:key>/", answer_page, name="owner_answer"),
    path("<str:key>/picture/<int:pk>/", picture_file, name="owner_picture"),
]
