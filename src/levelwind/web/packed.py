"""Pages, style sheet and scripts are sent packed, to a phone on the workshop's network as on the shop's own machine."""

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware

TEXT = frozenset({"text/html", "text/css", "text/csv", "text/javascript", "application/json", "image/svg+xml"})
"""What gzip makes smaller; pictures, recordings, letters of a typeface and papers are packed already."""


class Pack(GZipMiddleware):
    """A page's secrets cannot be told from its length: see ``docs/decisions/pages-over-the-network.md``."""

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        kind = response.headers.get("Content-Type", "").partition(";")[0]
        packs = kind in TEXT and response.status_code != 206  # a piece of a file is asked for by its bytes
        return super().process_response(request, response) if packs else response
