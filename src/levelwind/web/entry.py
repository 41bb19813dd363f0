"""The door: signing in on the workshop network, and the pictures and files of the shop's book."""

from django.conf import settings
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.views.static import serve

sign_in_page = LoginView.as_view(template_name="sign_in.html", redirect_authenticated_user=True)
sign_out = LogoutView.as_view(next_page="sign_in")


def media_file(request: HttpRequest, name: str) -> HttpResponseBase:
    """A stored picture or recording. Its name is its content's hash, so it never changes."""
    answer = serve(request, name, document_root=str(settings.MEDIA_ROOT))
    answer["Cache-Control"] = "private, max-age=31536000, immutable"
    answer["X-Content-Type-Options"] = "nosniff"
    if not name.startswith("photos/"):
        answer["Content-Type"] = "application/octet-stream"
        answer["Content-Disposition"] = "attachment"
    return answer
