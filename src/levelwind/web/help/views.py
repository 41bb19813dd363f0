"""The docs, as a site under Help: built from ``docs/`` by ``make docs`` and by the first ``make run``."""

from pathlib import Path

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.urls import path
from django.views.decorators.http import require_safe
from django.views.static import serve

from levelwind.web.help.pieces import pieces_page
from levelwind.web.pages import refused

SITE = Path(__file__).parent / "site"


@require_safe
def help_page(request: HttpRequest, name: str = "index.html") -> HttpResponseBase:
    """A page of the help, or a picture on one; each link on a page leads to a file that lies there."""
    if not (SITE / "index.html").exists():
        return refused(request, "The help has not been built here yet: “make docs” builds it.", status=404)
    return serve(request, name, document_root=str(SITE))


urlpatterns = [
    path("", help_page, name="help"),
    path("pieces/", pieces_page, name="pieces"),
    path("<path:name>", help_page),
]
