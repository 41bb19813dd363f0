"""One answer to a form that saves as you go: a line that says so, or what stands in the way, field by field."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.utils import timezone

from levelwind.web.forms import SavingForm
from levelwind.web.requests import Request


def save_and_answer(
    request: Request, form: SavingForm, *, then: str, also: Callable[[], str] = str
) -> HttpResponse | None:
    """Save the form; None where the page must be drawn again with what was refused.

    ``also`` draws the piece of page, marked ``hx-swap-oob``, that the change may have altered.
    """
    saved = form.save_as_you_go()
    if request.htmx:
        context = {"form": form, "saved": saved, "now": timezone.localtime()}
        return HttpResponse(render_to_string("parts/saved.html", context) + also())
    if not saved:
        return None
    messages.success(request, "Saved.")
    return redirect(then)
