"""Book in: bookings begun, one of them as a page that saves as you type, and what was booked."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.drafts import (
    DraftReel,
    DraftRow,
    WasHere,
    draft_earlier,
    draft_get,
    draft_list,
    draft_owner,
    draft_reels,
)
from levelwind.shop.jobs.selectors.jobs import job_find
from levelwind.shop.jobs.selectors.photos import PhotoSpot, photo_list
from levelwind.shop.jobs.services.booking import draft_book_in
from levelwind.shop.jobs.services.drafts import (
    draft_begin,
    draft_owner_choose,
    draft_reel_add,
    draft_reel_put_back,
    draft_reel_take_away,
    draft_reels_add,
    draft_save,
    draft_stay_choose,
    draft_throw_away,
)
from levelwind.shop.models import Draft, Owner, Photo
from levelwind.shop.people.selectors import owner_get, owner_list, owner_namesakes
from levelwind.web.jobs.booking.forms import DraftForms, ReelDraft, draft_forms
from levelwind.web.pages import page, refused
from levelwind.web.pattern_pick import words_name
from levelwind.web.requests import Request, key_in

MOST_OWNERS = 8
FINISHED = "This booking is finished or thrown away. Its reels, if booked in, are on the bench."


@dataclass(frozen=True, slots=True)
class BookInContext:
    drafts: list[DraftRow]


@require_http_methods(["GET", "HEAD", "POST"])
def book_in_page(request: Request) -> HttpResponse:
    """Bookings begun and not finished; a POST begins one, for the owner named in it where there is one."""
    if request.method == "POST":
        draft = draft_begin(owner=owner_get(request.POST.get("owner", "")))
        return redirect("draft", draft.pk)
    return page(request, "jobs/book_in.html", BookInContext(drafts=draft_list()))


@dataclass(frozen=True, slots=True)
class Refusal:
    """What stands in the way, and the field where it does."""

    field_id: str
    where: str
    why: str


@dataclass(frozen=True, slots=True)
class DraftContext:
    draft: Draft
    forms: DraftForms
    owner: Owner | None
    matches: tuple[Owner, ...]
    finding: bool
    namesakes: bool
    away: list[DraftReel]
    photos: list[Photo]
    reels: tuple[tuple[DraftReel, ReelDraft, WasHere], ...]
    refusals: tuple[Refusal, ...] = ()

    @property
    def many(self) -> bool:
        """A crate: each reel is a row, the rest of it folded away."""
        return len(self.reels) > 1


def draft_context(draft: Draft, forms: DraftForms, *, finding: bool = False, booking: bool = False) -> DraftContext:
    owner = draft_owner(draft)
    name = str(draft.data.get("owner_name", ""))
    earlier = draft_earlier(draft)
    namesakes = owner_namesakes(name) if booking and not owner else []
    found = owner_list(name)[:MOST_OWNERS] if finding and name.strip() and not owner else namesakes
    return DraftContext(
        draft=draft,
        forms=forms,
        owner=owner,
        matches=tuple(found),
        finding=finding,
        namesakes=bool(namesakes),
        away=draft_reels(draft, "away"),
        photos=photo_list(PhotoSpot(draft=draft)),
        reels=tuple((reel, forms.reels[reel.key], earlier[reel.key]) for reel in draft_reels(draft)),
        refusals=_refusals(forms) if booking else (),
    )


def _refusals(forms: DraftForms) -> tuple[Refusal, ...]:
    titles = {id(form): f"Reel {place}" for place, form in enumerate(forms.reels.values(), 1)}
    titles |= {id(forms.owner): "Owner", id(forms.parcel): "Parcel"}
    return tuple(
        Refusal(form[name].id_for_label, titles[id(form)], str(why))
        for form in forms
        for name, errors in form.errors.items()
        for why in errors
    )


@require_http_methods(["GET", "HEAD", "POST"])
def draft_page(request: Request, pk: int) -> HttpResponse:
    """One booking. Every POST saves what was typed first; a button says what else to do."""
    draft = draft_get(pk)
    if draft is None:
        return refused(request, FINISHED, status=404)
    if request.method != "POST":
        return page(
            request, "jobs/book_in_draft.html", draft_context(draft, draft_forms(draft), finding="find" in request.GET)
        )
    try:
        clashes = _save(request, draft)
        if request.htmx:
            return _saved_fragment(request, draft, clashes)
        if clashes:
            return page(
                request, "jobs/book_in_draft.html", draft_context(draft, _clashing(request, draft, clashes)), status=409
            )
        verb, _, which = request.POST.get("do", "save").partition(" ")
        return ACTIONS.get(verb, _just_saved)(request, draft, which)
    except LevelwindError as refusal:
        return refused(request, refusal)


def _save(request: Request, draft: Draft) -> Mapping[str, str]:
    """Save the fields that came with what they were; whatever else was posted is not looked at."""
    sent = {name: _clean(str(text)) for name, text in request.POST.items()}
    forms = draft_forms(draft, sent)
    typed = {name: sent[name] for name in forms.names() if name in sent}
    typed |= {form.add_prefix("pattern"): str(form["pattern"].data) for form in forms.reels.values() if form.asked_for}
    was = {name: _clean(request.POST[f"was-{name}"]) for name in typed if f"was-{name}" in request.POST}
    return draft_save(draft=draft, was=was, now={name: typed[name] for name in was}).clashes


def _clean(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\x00", "")


def _clashing(request: Request, draft: Draft, clashes: Mapping[str, str]) -> DraftForms:
    """The forms with one's own text still in its box, and what somebody else saved there said beside it."""
    forms = draft_forms(draft, {name: _clean(request.POST[name]) for name in clashes})
    for form in forms:
        form.say_clashes(
            {name: clashes[form.add_prefix(name)] for name in form.fields if form.add_prefix(name) in clashes}
        )
    return forms


def _saved_fragment(request: Request, draft: Draft, clashes: Mapping[str, str]) -> HttpResponse:
    forms = _clashing(request, draft, clashes)
    drawn = list(forms)[1:] if draft_owner(draft) else forms
    earlier = draft_earlier(draft).values()
    reels = draft_reels(draft)
    rows = reels if len(reels) > 1 else []
    context = {"forms": drawn, "earlier": earlier, "rows": rows, "saved": not clashes, "now": timezone.localtime()}
    return render(request, "jobs/booking_saved.html", context)


def _words(request: Request) -> dict[str, str]:
    """What was typed to find patterns by, which no draft keeps."""
    return {name: _clean(str(text)) for name, text in request.POST.items() if name.endswith(words_name(""))}


def _just_saved(request: Request, draft: Draft, which: str) -> HttpResponse:
    forms = draft_forms(draft, _words(request))
    if any(form.errors.get("pattern") for form in forms.reels.values()):
        return page(request, "jobs/book_in_draft.html", draft_context(draft, forms), status=422)
    messages.success(request, "Saved.")
    return redirect("draft", draft.pk)


def _find(request: Request, draft: Draft, which: str) -> HttpResponse:
    return redirect(f"{reverse('draft', args=[draft.pk])}?find=1#owner")


def _choose(request: Request, draft: Draft, which: str) -> HttpResponse:
    draft_owner_choose(draft=draft, owner=owner_get(which))
    return redirect(f"{reverse('draft', args=[draft.pk])}#owner")


def _add(request: Request, draft: Draft, which: str) -> HttpResponse:
    key = draft_reel_add(draft=draft, copy_of=_key(which))
    return redirect(f"{reverse('draft', args=[draft.pk])}#reel{key}")


def _more(request: Request, draft: Draft, which: str) -> HttpResponse:
    key = draft_reels_add(draft=draft, count=_key(request.POST.get("copies", "").strip()))
    return redirect(f"{reverse('draft', args=[draft.pk])}#reel{key}")


def _take_away(request: Request, draft: Draft, which: str) -> HttpResponse:
    draft_reel_take_away(draft=draft, key=_key(which))
    return redirect(f"{reverse('draft', args=[draft.pk])}#reels")


def _put_back(request: Request, draft: Draft, which: str) -> HttpResponse:
    draft_reel_put_back(draft=draft, key=_key(which))
    return redirect(f"{reverse('draft', args=[draft.pk])}#reel{_key(which)}")


def _same(request: Request, draft: Draft, which: str) -> HttpResponse:
    key, _, earlier = which.partition("-")
    draft_stay_choose(draft=draft, key=_key(key), earlier=job_find(key_in(earlier)))
    return redirect(f"{reverse('draft', args=[draft.pk])}#reel{_key(key)}")


def _another(request: Request, draft: Draft, which: str) -> HttpResponse:
    draft_stay_choose(draft=draft, key=_key(which), earlier=None)
    return redirect(f"{reverse('draft', args=[draft.pk])}#reel{_key(which)}")


def _name(request: Request, draft: Draft, which: str) -> HttpResponse:
    return redirect("draft_naming", draft.pk, _key(which))


def _key(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 6 else 0


def _throw_away(request: Request, draft: Draft, which: str) -> HttpResponse:
    draft_throw_away(draft=draft)
    messages.success(request, "The booking is thrown away.")
    return redirect("book_in")


def _book_in(request: Request, draft: Draft, which: str) -> HttpResponse:
    """Book it in if nothing stands in the way; otherwise the page again, with what does beside its field."""
    forms, owner = draft_forms(draft, _words(request)), draft_owner(draft)
    _must(forms, owner, two_of_a_name=which == "anyway")
    if any(form.errors for form in forms):
        context = draft_context(draft, forms, booking=True)
        return page(request, "jobs/book_in_draft.html", context, status=422)
    jobs = draft_book_in(
        draft=draft,
        owner=owner or forms.owner.instance,
        parcel=forms.parcel.instance,
        reels={key: form.instance for key, form in forms.reels.items()},
        by=request.user.get_username(),
    )
    return redirect("parcel", jobs[0].parcel_id)


def _must(forms: DraftForms, owner: Owner | None, *, two_of_a_name: bool) -> None:
    """What a booking cannot do without, said beside the field where it is lacking."""
    name = forms.owner.texts.get("owner_name", "").strip()
    if owner:
        forms.owner.errors.clear()
    elif not name:
        forms.owner.add_error("name", "Enter whose reel it is: find the owner, or fill in a new one.")
    elif not two_of_a_name and owner_namesakes(name):
        forms.owner.add_error(
            "name", "An owner of this name is in the book already: choose them, or say below that these are two."
        )
    for form in forms.reels.values():
        if not (form["reel"].data or "").strip():
            form.add_error("reel", "Name the reel as its owner does, or take it away from this booking.")
    if not forms.reels:
        forms.parcel.add_error("came_by", "There is no reel in this booking: add one.")


ACTIONS: dict[str, Callable[[Request, Draft, str], HttpResponse]] = {
    "find": _find,
    "choose": _choose,
    "add": _add,
    "copy": _add,
    "more": _more,
    "take_away": _take_away,
    "put_back": _put_back,
    "throw_away": _throw_away,
    "same": _same,
    "another": _another,
    "name": _name,
    "book_in": _book_in,
}
"""What a button may ask for, by its first word."""


@require_GET
def draft_owners_fragment(request: Request, pk: int) -> HttpResponse:
    """Owners who match what is being typed, each with a button that chooses them."""
    name = request.GET.get("owner_name", "").strip()
    found = tuple(owner_list(name)[:MOST_OWNERS]) if len(name) > 1 else ()
    return render(request, "jobs/book_in_owners.html", {"matches": found, "finding": len(name) > 1})


urlpatterns = [
    path("book-in/", book_in_page, name="book_in"),
    path("book-in/<int:pk>/", draft_page, name="draft"),
    path("book-in/<int:pk>/owners/", draft_owners_fragment, name="draft_owners"),
]
