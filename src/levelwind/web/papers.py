"""A paper that opens in the browser."""

from django.http import HttpResponse
from django.template.loader import render_to_string

from levelwind.core.writing import day_in_words
from levelwind.documents.picture import in_page
from levelwind.documents.takedown import TakedownGuide


def paper(pdf: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return answer


def guide_alone(guide: TakedownGuide, name: str) -> HttpResponse:
    """The guide as one page that needs nothing beside it, its pictures in it: a file to publish or to hand on."""
    steps = [(step, in_page(step.picture) if step.picture else "") for step in guide.steps]
    context = {
        "guide": guide,
        "dated": day_in_words(guide.dated),
        "steps": steps,
        "pictures": [(shown, in_page(shown)) for shown in guide.pictures],
    }
    answer = HttpResponse(render_to_string("guide_alone.html", context))
    answer["Content-Disposition"] = f'attachment; filename="{name}.html"'
    return answer
