"""From the phone: a code on the screen that opens, for two hours and without signing in, a page for one thumb."""

from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.safestring import SafeString
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from levelwind.shop.jobs.selectors.photos import PhotoSpot, photo_get, photo_list, spot_get
from levelwind.web.entry import media_file
from levelwind.web.jobs.photos.block import Album, add_all, album, back_from, reel_choices, spot_from
from levelwind.web.pages import page, refused
from levelwind.web.phone_codes import GONE, GOOD_FOR, RUN_OUT, STOP_POLLING, closed, read_signed, sign, square_code
from levelwind.web.requests import Request

SALT = "levelwind.phone_photos"
WHOSE = (
    "This address does not say which reel the pictures are of. Open the job or the booking, and press “Take them with "
    "the phone” there: that shows the code to scan."
)
FINISHED = "This booking is finished, so its code is closed. Show the code on the job's own page and scan that."


def token_for(spot: PhotoSpot) -> str:
    """What the code carries: where the pictures go."""
    home = [spot.job and spot.job.pk, spot.draft and spot.draft.pk]
    return sign([*home, spot.moment, spot.step, spot.place], salt=SALT)


def read_token(token: str) -> tuple[PhotoSpot | None, str]:
    """The spot, or None and why there is none."""
    read = read_signed(token, salt=SALT)
    if read is None:
        return None, RUN_OUT
    job_pk, draft_pk, moment, step, place = read
    spot = spot_get(job_pk=job_pk, draft_pk=draft_pk, moment=moment, step=step, place=place)
    if spot and spot.job and spot.job.is_over:
        return None, GONE
    return spot, "" if spot else FINISHED


@dataclass(frozen=True, slots=True)
class CodeContext:
    """``code`` is None where no phone could reach this machine."""

    album: Album
    code: SafeString | None
    address: str
    until: datetime
    back: str


@never_cache
@require_safe
def code_page(request: Request) -> HttpResponse:
    """The code to scan, and the pictures as they come in."""
    if not {"job", "draft"} & request.GET.keys():
        return refused(request, WHOSE, status=404)
    spot = spot_from(request.GET)
    address = request.build_absolute_uri(reverse("phone_photos", args=[token_for(spot)]))
    context = CodeContext(
        album=album(spot),
        code=square_code(address) if settings.NETWORK else None,
        address=address,
        until=timezone.now() + GOOD_FOR,
        back=back_from(request, spot),
    )
    return page(request, "jobs/photos_code.html", context)


@require_safe
def coming_in_fragment(request: Request, until: int) -> HttpResponse:
    """The pictures of a spot as they come in; after ``until`` (seconds since 1970) it tells the page to ask no more."""
    over = timezone.now().timestamp() > until
    context = {"album": album(spot_from(request.GET)), "over": over, "back": request.GET.get("back", "")}
    return render(request, "jobs/photos_coming_in.html", context, status=STOP_POLLING if over else 200)


@dataclass(frozen=True, slots=True)
class PhoneContext:
    spot: PhotoSpot
    token: str
    taken: list[int]
    reels: list[tuple[str, str]]
    place: str
    refusals: list[str]


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def phone_page(request: Request, token: str) -> HttpResponse:
    """A page for one thumb. Each picture is sent as it is taken; without a script by the button below it."""
    spot, why_not = read_token(token)
    if spot is None:
        return closed(request, why_not)
    refusals = add_all(request, spot) if request.method == "POST" else []
    if request.htmx and refusals:
        return render(request, "jobs/photos_refused.html", {"refusals": refusals}, status=422)
    place = request.POST.get("place", request.GET.get("reel", ""))
    if request.method == "POST" and not refusals and not request.htmx:
        return redirect(f"{reverse('phone_photos', args=[token])}?reel={place if place.isdecimal() else ''}")
    shown = album(spot)
    context = PhoneContext(
        spot=spot,
        token=token,
        taken=[photo.pk for photo in reversed(shown.photos)],
        reels=reel_choices(shown.reels) if shown.reels else [],
        place=place,
        refusals=refusals,
    )
    template = "jobs/phone_taken.html" if request.htmx else "jobs/phone.html"
    return page(request, template, context, status=422 if refusals else 200)


@require_safe
def phone_thumbnail(request: Request, token: str, pk: int) -> HttpResponseBase:
    """A small picture of the token's own spot: the phone has not signed in and sees no others."""
    spot, _ = read_token(token)
    if spot is None or pk not in {photo.pk for photo in photo_list(spot)}:
        raise Http404(pk)
    return media_file(request, str(photo_get(pk).thumbnail.name))


urlpatterns = [
    path("photos/phone/", code_page, name="photos_code"),
    path("photos/coming-in/<int:until>/", coming_in_fragment, name="photos_coming_in"),
    path("p/<str:token>/", phone_page, name="phone_photos"),
    path("p/<str:token>/<int:pk>/", phone_thumbnail, name="phone_photos"),
]
