"""A paper that opens in the browser."""

from django.http import HttpResponse


def paper(pdf: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return answer
