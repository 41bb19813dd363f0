"""Pictures on any page of a job or a booking: shown, uploaded, given words, removed, and come in from a phone."""

from dataclasses import dataclass, field
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.drafts import DraftReel, draft_get, draft_reels
from levelwind.shop.jobs.selectors.photos import PhotoSpot, photo_get, photo_list
from levelwind.shop.jobs.services.photos import photo_add, photo_remove
from levelwind.shop.models import Draft, Job, Photo
from levelwind.web.forms import SavingForm
from levelwind.web.jobs.way import job_or_404
from levelwind.web.pages import page, refused
from levelwind.web.requests import Request, key_in
from levelwind.web.saving import save_and_answer


@dataclass(frozen=True, slots=True)
class Album:
    """The pictures of a spot as a page shows them. ``reels`` are a booking's, where there is a choice between them."""

    spot: PhotoSpot
    photos: list[Photo]
    reels: list[DraftReel] = field(default_factory=list)

    @property
    def id(self) -> str:
        return slugify(f"pictures-{self.spot.moment}-{self.spot.step}-{self.spot.place}").strip("-")

    @property
    def query(self) -> str:
        """The spot as part of an address."""
        spot = self.spot
        home = {"job": spot.job.tag} if spot.job else {"draft": spot.draft.pk if spot.draft else ""}
        return urlencode({**home, "moment": spot.moment, "step": spot.step, "place": spot.place})

    @property
    def shown(self) -> list[tuple[Photo, str]]:
        """Each picture with the reel it shows, where a booking has several."""
        titles = {str(reel.key): reel.title for reel in self.reels}
        return [(photo, titles.get(photo.place, "")) for photo in self.photos]


def album(spot: PhotoSpot, photos: list[Photo] | None = None) -> Album:
    reels = draft_reels(spot.draft) if spot.draft else []
    return Album(spot, photo_list(spot) if photos is None else photos, reels if len(reels) > 1 else [])


def spot_from(query: QueryDict) -> PhotoSpot:
    """The spot an address names; 404 where there is no such job or booking."""
    job, draft = _home(query)
    moment = query.get("moment", "found")
    if moment not in dict(Photo.MOMENTS):
        raise Http404(moment)
    return PhotoSpot(job, draft, moment, query.get("step", "")[:60], query.get("place", "")[:60])


def _home(query: QueryDict) -> tuple[Job | None, Draft | None]:
    if "job" in query:
        return job_or_404(query.get("job", "")), None
    draft = draft_get(key_in(query.get("draft")))
    if draft is None:
        raise Http404("no such booking")
    return None, draft


def add_all(request: Request, spot: PhotoSpot) -> list[str]:
    """Keep every picture that came; returns what was refused, one sentence a file."""
    files = request.FILES.getlist("photos")
    if not files:
        return ["No picture came: choose one or more, then press the button."]
    place = spot.place if spot.job else _reel_of(request, spot)
    refusals = []
    for file in files:
        try:
            photo_add(file=file, job=spot.job, draft=spot.draft, moment=spot.moment, step=spot.step, place=place)
        except LevelwindError as refusal:
            refusals.append(f"{refusal}.")
    return refusals


def _reel_of(request: Request, spot: PhotoSpot) -> str:
    """Which reel of a booking the picture shows: one of those it has, or none in particular."""
    chosen = request.POST.get("place", spot.place)
    reels = draft_reels(spot.draft) if spot.draft else []
    return chosen if chosen in {str(reel.key) for reel in reels} else ""


def back_from(request: Request, spot: PhotoSpot) -> str:
    """The page the person came from, if it is one of ours; else where the pictures belong."""
    back = request.POST.get("back") or request.GET.get("back", "")
    ours = back.startswith(("/", "http")) and url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()})
    if ours:
        return back
    return reverse("job", args=[spot.job.tag]) if spot.job else reverse("draft", args=[spot.draft and spot.draft.pk])


@require_http_methods(["GET", "HEAD", "POST"])
def photos_fragment(request: Request) -> HttpResponse:
    """The pictures of a spot. A POST adds to them: pictures for a script, the page they came from for a plain form."""
    spot = spot_from(request.GET)
    if request.method != "POST":
        return render(request, "jobs/photos_list.html", {"album": album(spot)})
    refusals = add_all(request, spot)
    if request.htmx:
        if refusals:
            return render(request, "jobs/photos_refused.html", {"refusals": refusals}, status=422)
        return render(request, "jobs/photos_list.html", {"album": album(spot)})
    for refusal in refusals:
        messages.error(request, refusal)
    return redirect(back_from(request, spot).partition("#")[0] if refusals else back_from(request, spot))


class PhotoForm(SavingForm):
    class Meta:
        model = Photo
        fields = ["caption"]
        labels = {"caption": "What it shows"}


class DraftPhotoForm(SavingForm):
    """In a booking of several reels a picture may show one of them, or the parcel."""

    place = forms.ChoiceField(label="which reel", required=False)

    class Meta:
        model = Photo
        fields = ["caption", "place"]
        labels = {"caption": "What it shows"}


def photo_form(photo: Photo, reels: list[DraftReel], data: QueryDict | None) -> SavingForm:
    if not reels:
        return PhotoForm(data, instance=photo)
    form = DraftPhotoForm(data, instance=photo)
    form.fields["place"].choices = reel_choices(reels)  # type: ignore[attr-defined]
    return form


def reel_choices(reels: list[DraftReel]) -> list[tuple[str, str]]:
    return [("", "the whole parcel"), *((str(reel.key), reel.title) for reel in reels)]


@dataclass(frozen=True, slots=True)
class PhotoContext:
    photo: Photo
    form: SavingForm
    back: str
    earlier: Photo | None
    later: Photo | None
    number: int
    count: int


def photo_or_404(pk: int) -> Photo:
    try:
        return photo_get(pk)
    except Photo.DoesNotExist:
        raise Http404(pk) from None


@require_http_methods(["GET", "HEAD", "POST"])
def photo_page(request: Request, pk: int) -> HttpResponse:
    """The whole picture, its words, and the way to remove it."""
    photo = photo_or_404(pk)
    shown = album(_spot_of(photo))
    form = photo_form(photo, shown.reels, request.POST if request.method == "POST" else None)
    if request.method == "POST":
        answer = save_and_answer(request, form, then=request.get_full_path())
        if answer:
            return answer
    place = [other.pk for other in shown.photos].index(pk)
    context = PhotoContext(
        photo=photo,
        form=form,
        back=back_from(request, shown.spot),
        earlier=shown.photos[place - 1] if place else None,
        later=shown.photos[place + 1] if place + 1 < len(shown.photos) else None,
        number=place + 1,
        count=len(shown.photos),
    )
    return page(request, "jobs/photos_one.html", context)


def _spot_of(photo: Photo) -> PhotoSpot:
    return PhotoSpot(photo.job, photo.draft, photo.moment, photo.step, photo.place)


@require_POST
def photo_take_out(request: Request, pk: int) -> HttpResponse:
    photo = photo_or_404(pk)
    back = back_from(request, _spot_of(photo))
    try:
        photo_remove(photo=photo, by=request.user.get_username())
    except LevelwindError as refusal:
        return refused(request, refusal)
    messages.success(request, "The picture is removed.")
    return redirect(back)


urlpatterns = [
    path("photos/", photos_fragment, name="photos"),
    path("photos/<int:pk>/", photo_page, name="photo"),
    path("photos/<int:pk>/remove/", photo_take_out, name="photo_remove"),
]
