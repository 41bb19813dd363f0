from django.http import HttpRequest, HttpResponse

from levelwind.web.pages import page


def counter_page(request: HttpRequest) -> HttpResponse:
    return page(request, "counter/counter.html", None)


def owner_page(request: HttpRequest, pk: int) -> HttpResponse:
    return page(request, "counter/owner.html", None)
