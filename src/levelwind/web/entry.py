"""The door: signing in on the workshop network, and the pictures and files of the shop's book."""

from typing import Any

from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.static import serve

from levelwind.shop.people.accounts import DEVICE, SINCE
from levelwind.shop.people.selectors import shop_get

LONGEST_DEVICE = 120


class SignIn(LoginView):
    template_name = "sign_in.html"
    redirect_authenticated_user = True

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """What it is signed in with is kept with the session, so that a lost phone's can be told and ended."""
        answer: HttpResponse = super().form_valid(form)
        self.request.session[DEVICE] = self.request.headers.get("User-Agent", "")[:LONGEST_DEVICE]
        self.request.session[SINCE] = timezone.now().isoformat()
        return answer

    def get_context_data(self, **more: Any) -> dict[str, Any]:
        return super().get_context_data(**more, shop=shop_get())


sign_in_page = SignIn.as_view()
sign_out = LogoutView.as_view(next_page="sign_in")


def locked_out(request: HttpRequest, *_: object, **__: object) -> HttpResponse:
    """Too many wrong passwords from one address, or for one name."""
    minutes = round(settings.AXES_COOLOFF_TIME.total_seconds() / 60)
    context = {"form": AuthenticationForm(request), "wait": minutes, "shop": shop_get()}
    return render(request, "sign_in.html", context, status=429)


def media_file(request: HttpRequest, name: str) -> HttpResponseBase:
    """A stored picture or recording. Its name is its content's hash, so it never changes."""
    answer = serve(request, name, document_root=str(settings.MEDIA_ROOT))
    answer["Cache-Control"] = "private, max-age=31536000, immutable"
    answer["X-Content-Type-Options"] = "nosniff"
    if not name.startswith("photos/"):
        answer["Content-Type"] = "application/octet-stream"
        answer["Content-Disposition"] = "attachment"
    return answer
