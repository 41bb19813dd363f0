"""The shop's own mail server: its settings, its password, which is never shown again, and a try to oneself."""

from dataclasses import dataclass
from uuid import uuid4

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.shop.letters.mail_server import (
    Mail,
    NotSentError,
    hand_over,
    mail_server,
    mail_server_forget,
    message_id,
    password_keep,
    password_kept,
)
from levelwind.shop.models import MailServer
from levelwind.shop.people.selectors import shop_get
from levelwind.web.pages import page
from levelwind.web.requests import Request, sent


class ServerForm(forms.ModelForm):  # type: ignore[type-arg]
    password = forms.CharField(
        required=False,
        max_length=400,
        strip=False,
        label="the account’s password",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="Kept beside the book on this machine, not in it. Empty leaves the one that is kept.",
    )

    class Meta:
        model = MailServer
        fields = ["host", "port", "security", "account", "sender"]
        help_texts = {
            "host": "As your mail provider names its server for sending (SMTP).",
            "port": "By custom 587 with STARTTLS, 465 with TLS from the start.",
            "account": "Empty, where the server asks for none.",
        }


@dataclass(frozen=True, slots=True)
class ServerContext:
    form: ServerForm
    server: MailServer | None
    password: bool


@require_http_methods(["GET", "HEAD", "POST"])
def mail_server_page(request: Request) -> HttpResponse:
    server = mail_server()
    begun = server or MailServer(pk=1, sender=shop_get().email)
    form = ServerForm(sent(request), instance=begun)
    if request.method == "POST" and form.is_valid():
        form.save()
        if form.cleaned_data["password"]:
            password_keep(form.cleaned_data["password"])
        messages.success(request, "Saved. Send a try to yourself to see that it works.")
        return redirect("mail_server")
    context = ServerContext(form, server, bool(password_kept()))
    return page(request, "counter/mail_server.html", context, status=422 if form.errors else 200)


@require_POST
def mail_try(request: Request) -> HttpResponse:
    """One mail from the shop to the shop, at once, so that the server's own words stand on the page."""
    server = mail_server()
    if server is not None:
        name = shop_get().name or "the bench"
        words = "This is a try from Levelwind. Letters to owners go the same way."
        try:
            hand_over(Mail(name, server.sender, f"A try from {name}", words, message_id(uuid4(), server.sender)))
            messages.success(request, f"{server.host} took it. Look whether it has come to {server.sender}.")
        except NotSentError as refusal:
            messages.error(request, f"It was not sent. {refusal}")
    return redirect("mail_server")


@require_POST
def mail_server_away(request: Request) -> HttpResponse:
    """No mail server from now on, and no password kept. Letters that wait say so."""
    mail_server_forget()
    messages.success(request, "The mail server and its password are forgotten.")
    return redirect("mail_server")


urlpatterns = [
    path("mail/", mail_server_page, name="mail_server"),
    path("mail/try/", mail_try, name="mail_try"),
    path("mail/away/", mail_server_away, name="mail_server_away"),
]
