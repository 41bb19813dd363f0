"""Who may come in: people and their passwords, where they are signed in, who was refused, and codes on phones."""

from collections.abc import Callable
from dataclasses import dataclass

from axes.models import AccessFailureLog
from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.forms import PasswordChangeForm
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import password_validators_help_texts
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.people.accounts import (
    OpenDoor,
    door_close,
    door_key,
    doors_open,
    let_all_try_again,
    password_set,
    people_list,
    person_add,
    person_let_in,
    refused_lately,
)
from levelwind.shop.people.safekeeping import codes_close
from levelwind.web.pages import page, refused, spoken
from levelwind.web.requests import Request, sent

ONLY_WHO_RUNS_IT = "Only who runs the shop may do that, or whoever sits at its machine while it is not on the network."


class PersonForm(forms.Form):
    name = forms.CharField(max_length=150, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    password = forms.CharField(
        max_length=128, strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )


@dataclass(frozen=True, slots=True)
class PeopleContext:
    people: list[User]
    doors: list[OpenDoor]
    here: str
    """The key of the browser that looks."""
    refused: list[AccessFailureLog]
    form: PersonForm
    rules: list[str]
    may_manage: bool
    network: str


def may_manage(request: Request) -> bool:
    """Who runs the shop; and whoever sits at its machine, where a forgotten password is put right."""
    return not settings.NETWORK or bool(request.user.is_authenticated and request.user.is_superuser)


@require_http_methods(["GET", "HEAD", "POST"])
def people_page(request: Request) -> HttpResponse:
    form = PersonForm(sent(request))
    if request.method == "POST":
        if not may_manage(request):
            return refused(request, ONLY_WHO_RUNS_IT, status=403)
        if form.is_valid():
            try:
                person = person_add(**form.cleaned_data)
            except LevelwindError as refusal:
                form.add_error("password", spoken(refusal))
            else:
                messages.success(request, f"{person} may come in.")
                return redirect("people")
    all_doors, mine = doors_open(), may_manage(request)
    context = PeopleContext(
        people=people_list(),
        doors=[door for door in all_doors if mine or door.person == request.user],
        here=door_key(request.session.session_key),
        refused=refused_lately() if mine else [],
        form=form,
        rules=password_validators_help_texts(),
        may_manage=mine,
        network=settings.NETWORK,
    )
    return page(request, "counter/people.html", context, status=422 if form.errors else 200)


@require_POST
def person_act(request: Request, pk: int, what: str) -> HttpResponse:
    """Let somebody in no more, or again; give somebody another password."""
    person = next((person for person in people_list() if person.pk == pk), None)
    if person is None or what not in ("out", "in", "password"):
        raise Http404(what)
    if not may_manage(request):
        return refused(request, ONLY_WHO_RUNS_IT, status=403)
    try:
        if what == "password":
            password_set(person=person, password=request.POST.get("password", "")[:200])
            messages.success(request, f"{person} has another password; where the old one was signed in, it is out.")
        else:
            person_let_in(person=person, let_in=what == "in")
            messages.success(request, f"{person} may {'come in again' if what == 'in' else 'no longer come in'}.")
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect("people")


@require_POST
def door_act(request: Request) -> HttpResponse:
    """End a session: one's own anywhere, such as on a lost phone, or anybody's where one may."""
    key = request.POST.get("door", "")
    door = next((door for door in doors_open() if door.key == key), None)
    if door and not (may_manage(request) or door.person == request.user):
        return refused(request, ONLY_WHO_RUNS_IT, status=403)
    if door:
        door_close(key=key)
        messages.success(request, f"{door.person} is signed out there.")
    return redirect("people")


def _managed(does: Callable[[], None], said: str) -> Callable[[Request], HttpResponse]:
    @require_POST
    def act(request: Request) -> HttpResponse:
        if not may_manage(request):
            return refused(request, ONLY_WHO_RUNS_IT, status=403)
        does()
        messages.success(request, said)
        return redirect("people")

    return act


@require_POST
def codes_act(request: Request) -> HttpResponse:
    """Anybody of the shop may close the codes: who lost a phone should not have to ask."""
    codes_close()
    messages.success(request, "Every code that was shown is closed. A phone scans a new one.")
    return redirect("people")


@dataclass(frozen=True, slots=True)
class PasswordContext:
    form: PasswordChangeForm
    rules: list[str]


@require_http_methods(["GET", "HEAD", "POST"])
def password_page(request: Request) -> HttpResponse:
    """One's own password; everywhere else the old one is signed out."""
    if not request.user.is_authenticated:
        return redirect("people")
    form = PasswordChangeForm(request.user, sent(request))
    if request.method == "POST" and form.is_valid():
        update_session_auth_hash(request, form.save())
        messages.success(request, "Your password is changed. Everywhere else you are signed out.")
        return redirect("people")
    context = PasswordContext(form, password_validators_help_texts())
    return page(request, "counter/password.html", context, status=422 if form.errors else 200)


try_again_act = _managed(let_all_try_again, "Whoever had to wait may try again.")

urlpatterns = [
    path("people/", people_page, name="people"),
    path("people/password/", password_page, name="password"),
    path("people/doors/close/", door_act, name="door_close"),
    path("people/codes/close/", codes_act, name="codes_close"),
    path("people/try-again/", try_again_act, name="try_again"),
    path("people/<int:pk>/<str:what>/", person_act, name="person_act"),
]
