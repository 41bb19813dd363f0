"""Reels of the shop's own: bought, mended and sold, with what each cost and what is left for the work."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.views.decorators.http import require_http_methods

from levelwind.shop.jobs.services.drafts import draft_begin
from levelwind.shop.money.own import OwnReel, own_reels
from levelwind.shop.people.services import owner_shop
from levelwind.web.pages import page
from levelwind.web.requests import Request


@dataclass(frozen=True, slots=True)
class OwnContext:
    reels: tuple[OwnReel, ...]


@require_http_methods(["GET", "HEAD", "POST"])
def own_page(request: Request) -> HttpResponse:
    """The list; posted, a booking begins with the shop as the owner."""
    if request.method == "POST":
        return redirect("draft", draft_begin(owner=owner_shop()).pk)
    return page(request, "counter/own.html", OwnContext(own_reels()))


urlpatterns = [path("own/", own_page, name="own_reels")]
