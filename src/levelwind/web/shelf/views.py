from django.http import HttpRequest, HttpResponse

from levelwind.web.pages import page


def shelf_page(request: HttpRequest) -> HttpResponse:
    return page(request, "shelf/shelf.html", None)
