"""One part: what it is, where it fits, its ledger, what of it is on its way."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.drag.selectors.friction import KeptFriction, kept_rows
from levelwind.shop.drag.services import part_friction_forget
from levelwind.shop.editing import hanging_on
from levelwind.shop.models import Fit, Part, PartOrder, Pattern, Replacement, StockEntry
from levelwind.shop.parts.selectors.served import PlacesServed, part_fits
from levelwind.shop.parts.selectors.shelf import (
    Owing,
    entry_counts,
    part_entries,
    part_get,
    part_orders_open,
    part_with_number,
    still_out,
)
from levelwind.shop.parts.services.fits import fit_say, fit_take_back, part_replaces, part_replaces_not
from levelwind.shop.parts.services.merging import part_merge, part_merge_undo
from levelwind.shop.parts.services.orders import part_order_add
from levelwind.shop.parts.services.shelf import (
    GO_WITH_IT,
    part_delete,
    reel_use_say,
    stock_bought,
    stock_counted,
    stock_from_donor,
    stock_put_back,
    stock_returned,
    stock_thrown_away,
)
from levelwind.shop.parts.services.suppliers import offer_keep, offer_made_usual, offer_take_back
from levelwind.shop.patterns.selectors.patterns import pattern_find
from levelwind.web.pages import page, spoken
from levelwind.web.pattern_pick import PickForm, words_name
from levelwind.web.requests import Request, key_in
from levelwind.web.saving import save_and_answer
from levelwind.web.shelf.forms import EntryForm, FitForm, OfferForm, OrderForm, PartForm, ReplacesForm, UseForm
from levelwind.web.shelf.offers import OffersContext, offers_context

NEWEST = 10
ENTRIES_A_PAGE = 30


@dataclass(frozen=True, slots=True)
class EntryRow:
    entry: StockEntry
    after: int
    can_go_back: int


@dataclass(frozen=True, slots=True)
class PartContext:
    part: Part
    form: PartForm
    fits: tuple[PlacesServed, ...]
    can_take_back: bool
    replaces: tuple[Replacement, ...]
    replaced_by: tuple[Replacement, ...]
    instead: ReplacesForm
    newest: tuple[EntryRow, ...]
    earlier: Page[StockEntry]
    earlier_rows: tuple[EntryRow, ...]
    earlier_counts: tuple[tuple[int, str], ...]
    turned: bool
    orders: tuple[PartOrder, ...]
    friction: tuple[KeptFriction, ...]
    entry: EntryForm
    order: OrderForm
    fit: FitForm
    pick: PickForm
    hanging: tuple[str, ...]
    was: tuple[Part, ...]
    offers: OffersContext
    use: UseForm


def part_or_404(pk: int) -> Part:
    try:
        return part_get(pk)
    except Part.DoesNotExist:
        raise Http404(pk) from None


def draw(
    request: Request,
    part: Part,
    *,
    form: PartForm | None = None,
    entry: EntryForm | None = None,
    order: OrderForm | None = None,
    fit: FitForm | None = None,
    instead: ReplacesForm | None = None,
    offer: OfferForm | None = None,
    use: UseForm | None = None,
) -> HttpResponse:
    """The part's page; a form that was refused comes back with what was typed and a status that says so."""
    entries, out = part_entries(part), still_out(part)
    newest = tuple(entries[:NEWEST])
    fits = part_fits(part)
    pick = PickForm(request.GET if "pattern" in request.GET or words_name("pattern") in request.GET else None)
    earlier = Paginator(entries[NEWEST:], ENTRIES_A_PAGE).get_page(request.GET.get("page"))
    context = PartContext(
        part=part,
        form=form or PartForm(instance=part),
        fits=fits,
        can_take_back=any(row.fit for served in fits for row in served.rows),
        replaces=tuple(part.replaces.select_related("instead_of")),
        replaced_by=tuple(part.replaced_by.select_related("part")),
        instead=instead or ReplacesForm(),
        newest=_rows(newest, out),
        earlier=earlier,
        earlier_rows=_rows(earlier, out),
        earlier_counts=_earlier_counts(part, newest),
        turned="page" in request.GET,
        orders=tuple(part_orders_open(part)),
        friction=kept_rows(part),
        entry=entry or EntryForm(),
        order=order or OrderForm(initial={"supplier": part.supplier}),
        fit=fit or FitForm(pattern=pick.chosen),
        pick=pick,
        hanging=hanging_on(part, GO_WITH_IT),
        was=tuple(part.merged_from.all()),
        offers=offers_context(part, offer),
        use=use or UseForm(),
    )
    refused = any(one is not None for one in (form, entry, order, fit, instead, offer, use))
    return page(request, "shelf/part.html", context, status=422 if refused else 200)


def _rows(entries: Iterable[StockEntry], out: Mapping[Owing, int]) -> tuple[EntryRow, ...]:
    return tuple(EntryRow(row, vars(row)["after"], _back(row, out)) for row in entries)


def _earlier_counts(part: Part, newest: Sequence[StockEntry]) -> tuple[tuple[int, str], ...]:
    """How many lines of each sort lie before the newest, the commonest sort first."""
    earlier = Counter(entry_counts(part))
    earlier.subtract(entry.why for entry in newest)
    words = dict(StockEntry.WHY)
    return tuple((lines, words[why]) for why, lines in earlier.most_common() if lines > 0)


def _back(entry: StockEntry, out: Mapping[Owing, int]) -> int:
    return max(0, out.get((entry.used, entry.job_id, entry.piece_id), 0)) if entry.why == "taken" else 0


def _pattern(asked: str) -> Pattern | None:
    return pattern_find(key_in(asked))


def _to(part: Part, anchor: str = "") -> HttpResponseRedirect:
    return redirect(reverse("part", args=[part.pk]) + anchor)


def part_page(request: Request, pk: int) -> HttpResponse:
    part = part_or_404(pk)
    if request.method != "POST":
        return draw(request, part)
    form = PartForm(request.POST, instance=part)
    return save_and_answer(request, form, then=request.path) or draw(request, part_or_404(pk), form=form)


@require_POST
def entry_act(request: Request, pk: int) -> HttpResponse:
    """One more line in the part's ledger."""
    part, form = part_or_404(pk), EntryForm(request.POST)
    if form.is_valid():
        try:
            messages.success(request, _enter(part, form, request.user.get_username()))
            return _to(part, "#ledger")
        except LevelwindError as refusal:
            form.add_error("count", spoken(refusal))
    return draw(request, part, entry=form)


def _enter(part: Part, form: EntryForm, by: str) -> str:
    given = form.cleaned_data
    count, used, note = given["count"], given["used"], given["note"]
    if given["why"] == "counted":
        entry = stock_counted(part=part, count=count, used=used, note=note, by=by)
        return "Counted, and the book set right." if entry else "Counted: the book was right."
    if given["why"] == "thrown":
        stock_thrown_away(part=part, count=count, used=used, note=note, by=by)
        return f"{count} thrown away."
    if given["why"] == "returned":
        stock_returned(part=part, count=count, used=used, note=note, by=by)
        return f"{count} sent back to the supplier."
    if given["why"] == "donor":
        stock_from_donor(part=part, count=count, note=note, by=by)
    else:
        stock_bought(part=part, count=count, unit_cost_minor=given["unit_cost_minor"], note=note, by=by)
    return f"{count} put on the shelf."


@require_POST
def put_back_act(request: Request, pk: int, entry: int) -> HttpResponse:
    part = part_or_404(pk)
    taken = get_object_or_404(StockEntry, pk=entry, part=part)
    try:
        stock_put_back(taken=taken, by=request.user.get_username())
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return _to(part, "#ledger")


@require_POST
def order_act(request: Request, pk: int) -> HttpResponse:
    part, form = part_or_404(pk), OrderForm(request.POST)
    if form.is_valid():
        try:
            part_order_add(part=part, by=request.user.get_username(), **form.cleaned_data)
            return _to(part, "#orders")
        except LevelwindError as refusal:
            form.add_error("expected_on", spoken(refusal))
    return draw(request, part, order=form)


@require_POST
def offer_act(request: Request, pk: int) -> HttpResponse:
    """Another supplier has this part."""
    part, form = part_or_404(pk), OfferForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        try:
            offer_keep(part=part, supplier=given["supplier"], cost_minor=given["cost_minor"], pack=given["pack"] or 1)
            return _to(part, "#offers")
        except LevelwindError as refusal:
            form.add_error("supplier", spoken(refusal))
    return draw(request, part, offer=form)


@require_POST
def use_act(request: Request, pk: int) -> HttpResponse:
    """What a reel uses up of it; without an amount, what was said is taken back."""
    part, form = part_or_404(pk), UseForm(request.POST)
    if form.is_valid():
        reel_use_say(part=part, family=form.cleaned_data["family"], amount=form.cleaned_data["amount"])
        return _to(part, "#uses")
    return draw(request, part, use=form)


@require_POST
def offer_changed_act(request: Request, pk: int, offer: int) -> HttpResponse:
    """That one has it no more; or it is ordered there as a rule from now on."""
    part = part_or_404(pk)
    row = part.offers.filter(pk=offer).first()
    if row and "usual" in request.POST:
        offer_made_usual(offer=row)
    elif row:
        offer_take_back(offer=row)
    return _to(part, "#offers")


@require_POST
def fit_act(request: Request, pk: int) -> HttpResponse:
    """Say that this part serves a place of a pattern."""
    part = part_or_404(pk)
    pattern = _pattern(request.POST.get("pattern", ""))
    if pattern is None:
        raise Http404("pattern")
    form = FitForm(request.POST, pattern=pattern)
    if form.is_valid():
        given = form.cleaned_data
        sure = None if given["sure"] is None else given["sure"] / 100
        try:
            fit_say(
                part=part,
                pattern=pattern,
                place=given["place"],
                basis=given["basis"],
                said_by=given["said_by"] or request.user.get_username(),
                sure=sure,
                serves=given["serves"] != "no",
            )
            return _to(part, "#fits")
        except LevelwindError as refusal:
            form.add_error("place", spoken(refusal))
    return draw(request, part, fit=form)


@require_POST
def fit_take_back_act(request: Request, pk: int, fit: int) -> HttpResponse:
    part = part_or_404(pk)
    fit_take_back(fit=get_object_or_404(Fit, pk=fit, part=part))
    return _to(part, "#fits")


@require_POST
def replaces_act(request: Request, pk: int) -> HttpResponse:
    """Say that this part serves wherever another one does."""
    part, form = part_or_404(pk), ReplacesForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        said_by = given["said_by"] or request.user.get_username()
        try:
            part_replaces(part=part, instead_of=given["instead_of"], said_by=said_by)
            return _to(part, "#fits")
        except LevelwindError as refusal:
            form.add_error("instead_of", spoken(refusal))
    return draw(request, part, instead=form)


@require_POST
def replaces_not_act(request: Request, pk: int, replacement: int) -> HttpResponse:
    part = part_or_404(pk)
    part_replaces_not(replacement=get_object_or_404(Replacement, pk=replacement, part=part))
    return _to(part, "#fits")


@require_POST
def same_act(request: Request, pk: int) -> HttpResponse:
    """The same as the part of this number; or, without one, two parts after all."""
    part, by = part_or_404(pk), request.user.get_username()
    number = request.POST.get("same_as", "").strip()
    try:
        if "two" in request.POST:
            return _to(part_merge_undo(gone=part, by=by))
        other = part_with_number(number)
        if other is None:
            raise LevelwindError(f"There is no part “{number[:40]}” on the shelf.")
        return _to(part_merge(gone=part, into=other, by=by))
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
        return _to(part)


@require_POST
def delete_act(request: Request, pk: int) -> HttpResponse:
    part = part_or_404(pk)
    try:
        part_delete(part=part)
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
        return _to(part)
    messages.success(request, f"{part} is taken out of the book.")
    return redirect("shelf")


@require_POST
def friction_forget_act(request: Request, pk: int, condition: str) -> HttpResponse:
    """Let go of the friction that the shop's pulls gave for this part in one condition."""
    part = part_or_404(pk)
    try:
        part_friction_forget(part=part, condition=condition, by=request.user.get_username())
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return _to(part)
