"""Who may come in. On this machine alone: whoever sits at it. On the workshop network: whoever signs in."""

import sys
from collections.abc import Callable

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseNotFound, StreamingHttpResponse
from django.http.request import split_domain_port
from django.urls import Resolver404, resolve

from levelwind.core.writing import written
from levelwind.shop.disk import trouble_in_words
from levelwind.shop.history import acting
from levelwind.shop.people.selectors import shop_read_once
from levelwind.shop.queue import Workers
from levelwind.web.pages import refused

OPEN_TO_ALL = frozenset(
    {
        "sign_in",
        "joined",
        "owner_answer",
        "owner_picture",
        "phone_photos",
        "phone_readings",
        "phone_readings_rows",
        "phone_reading_type",
        "phone_reading_spin",
        "phone_reading_pull",
        "phone_reading_watch",
        "phone_reading_numbers",
        "phone_reading",
        "phone_reading_progress",
        "phone_reading_still",
        "phone_reading_tell",
        "phone_reading_stop",
        "phone_reading_act",
    }
)
"""Pages that ask for no name: the door itself, the pages a signed, expiring code on the screen opens, and those of an
owner's link."""
FOR_OWNERS = frozenset({"owner_answer", "owner_picture"})
"""All that the public address answers, beside the style of its pages."""


class SignInOnTheNetwork:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not settings.NETWORK or request.user.is_authenticated:
            return self.get_response(request)
        if request.path_info.startswith(f"/{settings.STATIC_URL.strip('/')}/"):
            return self.get_response(request)
        if resolve(request.path_info).view_name in OPEN_TO_ALL:
            return self.get_response(request)
        return redirect_to_login(request.get_full_path())


def owners_pages_alone(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: the public address has the owners' pages and nothing else, and they are nowhere else."""

    def answer(request: HttpRequest) -> HttpResponse:
        host, _ = split_domain_port(request.get_host())  # in small letters, without a last dot, as it was let in
        public = bool(settings.PUBLIC_HOST) and host == settings.PUBLIC_HOST
        if request.path_info.startswith(f"/{settings.STATIC_URL.strip('/')}/"):
            return get_response(request)
        try:
            view = resolve(request.path_info).view_name
        except Resolver404:
            view = ""
        if view != "joined" and public != (view in FOR_OWNERS):
            return HttpResponseNotFound("There is nothing at this address.", content_type="text/plain")
        return get_response(request)

    return answer


POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "style-src-attr 'unsafe-inline'",
        "img-src 'self' data: blob:",
        "media-src 'self' blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'self'",
    )
)
"""What a page may load and where its forms may go: this shop alone, no script and no style sheet written into a page.

Measured sizes of drawings stand in ``style`` attributes; nothing a person typed ever goes into one."""


def nothing_from_elsewhere(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: a Content-Security-Policy on every page. A paper has none: some browsers then show no PDF at all."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.headers.get("Content-Type", "").startswith("text/html"):
            response.headers["Content-Security-Policy"] = POLICY
        return response

    return answer


def headers_alone(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: who asks by HEAD gets no body. The server would send it, and the next answer would begin with it."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if request.method == "HEAD":
            del response.headers["Content-Length"]
            if isinstance(response, StreamingHttpResponse):
                response.streaming_content = ()
            else:
                response.content = b""
        return response

    return answer


class RefuseWhatNoRowCanBe:
    """Middleware: a value that no page of ours sends, and that the book's own rules refuse, is answered in words."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if not isinstance(error, ValidationError):
            return None
        named = error.message_dict.items() if hasattr(error, "error_dict") else [("What was sent", error.messages)]
        said = "; ".join(f"{name.replace('_', ' ')}: {' '.join(words)}" for name, words in named)
        return refused(request, said[:1].upper() + said[1:])


def form_too_old_page(request: HttpRequest, reason: str = "") -> HttpResponse:
    return refused(request, "This page was open too long or came from elsewhere.", status=403)


def read_the_shop_once(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: one look at the shop's own row a request."""

    def answer(request: HttpRequest) -> HttpResponse:
        with shop_read_once():
            return get_response(request)

    return answer


def who_acts(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: what a request does was done by whoever signed in."""

    def answer(request: HttpRequest) -> HttpResponse:
        with acting(request.user):
            return get_response(request)

    return answer


def refuse_once_outgrown(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: once a newer version has changed the book's tables, this one neither reads nor writes them."""

    def answer(request: HttpRequest) -> HttpResponse:
        if Workers.here and Workers.here.outgrown:
            said = f"{Workers.here.outgrown}. What was saved is safe."
            return HttpResponse(said, content_type="text/plain; charset=utf-8", status=503)
        return get_response(request)

    return answer


def refuse_what_is_too_large(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: an upload over the limit is answered by its length, before a byte of it is looked at."""

    def answer(request: HttpRequest) -> HttpResponse:
        length, most = request.META.get("CONTENT_LENGTH") or "0", settings.LARGEST_UPLOAD_BYTES
        if not length.isdecimal() or int(length) < most:
            return get_response(request)
        at_most, long = (written(bytes_ / 1e6, ",.0f") for bytes_ in (most, int(length)))
        megabytes = f"A file sent here can be at most {at_most} MB. This one is {long} MB."
        said = f"{megabytes} Film one spin from the flick to rest and no more, or film it smaller."
        return refused(request, said, status=413)

    return answer


def never_an_empty_page(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: an address that only takes what a page sends says so to somebody who types or reloads it."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.status_code != 405:
            return response
        said = refused(request, "This address only takes what a page sends to it. Open the page itself.", status=405)
        said["Allow"] = response["Allow"]
        return said

    return answer


def not_understood_page(request: HttpRequest, exception: Exception) -> HttpResponse:
    return refused(request, "What was sent could not be read. Go back and try it again from the page.", status=400)


def not_found_page(request: HttpRequest, exception: Exception) -> HttpResponse:
    return refused(request, "There is nothing at this address. The tag number or the link may be mistyped.", status=404)


def broken_page(request: HttpRequest) -> HttpResponse:
    """A disk that refuses is called so: Levelwind is not at fault, and a person can do something about it."""
    disk = trouble_in_words(sys.exc_info()[1])
    if disk:
        return refused(request, f"{disk}. What was saved before is safe; this was not saved.", status=507)
    return refused(
        request, "Levelwind itself failed here. What was saved is safe; the fault is in its log.", status=500
    )
