"""The counter: owners, who owes, whom to ask how the reel does, and the shop itself."""

from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from levelwind.core.errors import LevelwindError
from levelwind.shop.book.services.forgetting import owner_forget
from levelwind.shop.jobs.selectors.stays import Comebacks, comebacks
from levelwind.shop.models import Bill, Job, Owner, Sending
from levelwind.shop.money.selectors import owner_bills
from levelwind.shop.people.merging import owner_delete, owner_merge, owner_merge_undo
from levelwind.shop.people.selectors import (
    Debt,
    debt_list,
    follow_up_list,
    owner_get,
    owner_jobs,
    owner_list,
    owner_owes,
    owner_was,
    shop_get,
)
from levelwind.shop.people.services import owner_add, shop_open
from levelwind.web.counter.copies import Safe, safe
from levelwind.web.counter.forms import FirstShopForm, NewOwnerForm, OwnerForm, ShopForm
from levelwind.web.pages import page, refused
from levelwind.web.requests import Request
from levelwind.web.saving import save_and_answer

OWNERS_A_PAGE = JOBS_A_PAGE = 50
MOST_SHOWN = 20


@dataclass(frozen=True, slots=True)
class Found:
    """Those a search found; without words those who have a reel here, and by themselves the ``others``."""

    words: str
    owners: Page[Owner]
    others: Page[Owner] | None
    turned: bool

    @property
    def query(self) -> str:
        return urlencode({"owner": self.words}) if self.words else ""


@dataclass(frozen=True, slots=True)
class CounterContext:
    found: Found
    new: NewOwnerForm
    debts: list[Debt]
    debt_count: int
    owed_minor: int
    due: tuple[Sending, ...]
    due_count: int
    today: date
    safe: Safe


def owners_found(request: Request) -> Found:
    words, turned = request.GET.get("owner", "").strip(), "others" in request.GET
    leaf = request.GET.get("page")
    if words:
        return Found(words, Paginator(owner_list(words), OWNERS_A_PAGE).get_page(leaf), None, turned)
    here = Paginator(owner_list(here=True), MOST_SHOWN).get_page(leaf)
    others = Paginator(owner_list(here=False), OWNERS_A_PAGE).get_page(request.GET.get("others"))
    return Found(words, here, others, turned)


def counter_context(request: Request, new: NewOwnerForm) -> CounterContext:
    debts, today = debt_list(), timezone.localdate()
    due = follow_up_list(today)
    first_due = tuple(due[: MOST_SHOWN + 1])
    return CounterContext(
        found=owners_found(request),
        new=new,
        debts=debts[:MOST_SHOWN],
        debt_count=len(debts),
        owed_minor=sum(debt.owes_minor for debt in debts if debt.owes_minor > 0),
        due=first_due[:MOST_SHOWN],
        due_count=due.count() if len(first_due) > MOST_SHOWN else len(first_due),
        today=today,
        safe=safe(),
    )


@require_safe
def counter_page(request: Request) -> HttpResponse:
    """Who owes, whom to ask, and every owner; the list alone while somebody types in its search field."""
    if request.htmx:
        return render(request, "counter/owners.html", {"found": owners_found(request)})
    return page(request, "counter/counter.html", counter_context(request, NewOwnerForm()))


@require_http_methods(["POST"])
def owner_new(request: Request) -> HttpResponse:
    """Write an owner down who has no reel here yet."""
    form = NewOwnerForm(request.POST)
    if not form.is_valid():
        return page(request, "counter/counter.html", counter_context(request, form), status=422)
    return redirect("owner", owner_add(owner=form.instance).pk)


@dataclass(frozen=True, slots=True)
class OwnerContext:
    owner: Owner
    form: OwnerForm
    jobs: Page[Job]
    owes_minor: int
    bills: tuple[tuple[Bill, int], ...]
    same_words: str
    same: tuple[Owner, ...]
    merged_from: tuple[Owner, ...]


@require_http_methods(["GET", "HEAD", "POST"])
def owner_page(request: Request, pk: int) -> HttpResponse:
    owner = owner_get(pk)
    if owner is None:
        raise Http404(pk)
    form = OwnerForm(request.POST if request.method == "POST" else None, instance=owner)
    if request.method == "POST":
        answer = save_and_answer(request, form, then=request.path)
        if answer:
            return answer
    jobs = Paginator(owner_jobs(owner), JOBS_A_PAGE).get_page(request.GET.get("page"))
    words = request.GET.get("same", "").strip()
    context = OwnerContext(
        owner=owner,
        form=form,
        jobs=jobs,
        owes_minor=owner_owes(owner),
        bills=owner_bills(owner),
        same_words=words,
        same=tuple(owner_list(words).exclude(pk=owner.pk)[:MOST_SHOWN]) if words else (),
        merged_from=owner_was(owner),
    )
    return page(request, "counter/owner.html", context)


@require_http_methods(["POST"])
def owner_act(request: Request, pk: int, what: str) -> HttpResponse:
    """The same as another owner, two after all, forgotten, or taken away."""
    owner, by = owner_get(pk), request.user.get_username()
    if owner is None:
        raise Http404(pk)
    try:
        if what == "delete":
            owner_delete(owner=owner)
            messages.success(request, f"{owner} is taken out of the book.")
            return redirect("counter")
        if what == "forget":
            if "sure" not in request.POST:
                raise LevelwindError("Tick that you have read what goes and what stays: there is no way back.")
            owner = owner_forget(owner=owner)
            messages.success(request, f"Nothing in the book says any more who that was: {owner} stands in its place.")
            return redirect("owner", pk)
        if what == "two":
            return redirect("owner", owner_merge_undo(gone=owner, by=by).pk)
        other = owner_get(request.POST.get("owner", ""))
        if other is None:
            raise LevelwindError("That owner is not in the book.")
        return redirect("owner", owner_merge(gone=owner, into=other, by=by).pk)
    except LevelwindError as refusal:
        return refused(request, refusal)


@dataclass(frozen=True, slots=True)
class ShopContext:
    form: ShopForm
    comebacks: Comebacks


@require_http_methods(["GET", "HEAD", "POST"])
def shop_page(request: Request) -> HttpResponse:
    """What the shop's papers say and what its time costs."""
    if request.method == "POST":
        form = ShopForm(request.POST, instance=shop_open())
        answer = save_and_answer(request, form, then=request.path)
        if answer:
            return answer
    else:
        form = ShopForm(instance=shop_get())
    return page(request, "counter/shop.html", ShopContext(form=form, comebacks=comebacks()))


@dataclass(frozen=True, slots=True)
class FirstContext:
    form: FirstShopForm


@require_http_methods(["GET", "HEAD", "POST"])
def first_page(request: Request) -> HttpResponse:
    """An empty book: who the shop is and what its time costs, on one page, then the first reel."""
    if request.method == "POST":
        form = FirstShopForm(request.POST, instance=shop_open())
        answer = save_and_answer(request, form, then=reverse("book_in"), also=_letterhead_again)
        if answer:
            return answer
    else:
        form = FirstShopForm(instance=shop_get())
    return page(request, "counter/first.html", FirstContext(form=form))


def _letterhead_again() -> str:
    return render_to_string("counter/letterhead.html", {"shop": shop_get(), "again": True})
