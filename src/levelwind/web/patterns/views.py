from django.http import HttpRequest, HttpResponse

from levelwind.web.pages import page


def patterns_page(request: HttpRequest) -> HttpResponse:
    return page(request, "patterns/patterns.html", None)
