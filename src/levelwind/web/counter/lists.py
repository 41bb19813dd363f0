"""Bringing a list in: the file, its columns beside our fields, what would come of it, and one press."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django_htmx.http import HttpResponseClientRefresh

from levelwind.core.errors import LevelwindError
from levelwind.recordings.lists import LARGEST_BYTES
from levelwind.shop.book.selectors.columns import KINDS, Kind
from levelwind.shop.book.selectors.imports import import_get, import_list, import_progress, refused_sheet
from levelwind.shop.book.selectors.plans import plan_of, refused_of, table_of
from levelwind.shop.book.services.import_undo import import_take_back
from levelwind.shop.book.services.imports import (
    import_begin,
    import_drop,
    import_match,
    import_read_again,
    import_start,
    import_stop,
)
from levelwind.shop.models import Import
from levelwind.web.counter.book import sheets_file
from levelwind.web.counter.lists_shown import MatchRow, Preview, match_rows, preview
from levelwind.web.pages import page, refused
from levelwind.web.requests import Request

MOST_LISTED = 50
ACCEPT = ".csv,.tsv,.txt,.xlsx,.xlsm,.zip"


@dataclass(frozen=True, slots=True)
class ListsContext:
    kinds: tuple[Kind, ...]
    kind: str
    lists: tuple[Import, ...]
    refusal: str
    accept: str
    most_mb: int


@require_http_methods(["GET", "HEAD", "POST"])
def lists_page(request: Request) -> HttpResponse:
    """Send a list, or go on with one that was sent before."""
    kind, refusal = request.POST.get("kind", request.GET.get("kind", "owners")), ""
    if request.method == "POST":
        try:
            return redirect("list", _begun(request, kind).pk)
        except LevelwindError as why:
            refusal = f"{why}."
    context = ListsContext(
        kinds=tuple(KINDS.values()),
        kind=kind,
        lists=tuple(import_list()[:MOST_LISTED]),
        refusal=refusal,
        accept=ACCEPT,
        most_mb=LARGEST_BYTES // 1_000_000,
    )
    return page(request, "counter/lists.html", context, status=422 if refusal else 200)


def _begun(request: Request, kind: str) -> Import:
    file = request.FILES.get("file")
    if file is None or not file.size:
        raise LevelwindError("Choose the file first: a list saved as CSV or as a workbook (XLSX)")
    if file.size > LARGEST_BYTES:
        raise LevelwindError(f"The file can be at most {LARGEST_BYTES / 1e6:.0f} MB. It is {file.size / 1e6:.0f} MB.")
    name = file.name or "a list"
    return import_begin(kind=kind, file_name=name, data=file.read(), by=request.user.get_username())


@dataclass(frozen=True, slots=True)
class OpenContext:
    one: Import
    kind: Kind
    rows: tuple[MatchRow, ...]
    preview: Preview


@dataclass(frozen=True, slots=True)
class ListContext:
    one: Import
    kind: Kind
    part: float
    doing: str
    refused_here: bool


@require_safe
def list_page(request: Request, pk: int) -> HttpResponse:
    one = _list(pk)
    kind = KINDS[one.kind]
    if one.state == "open":
        table = table_of(one)
        plan = plan_of(one, table)
        context = OpenContext(one, kind, match_rows(kind, table, plan), preview(one, plan, table))
        return page(request, "counter/list_open.html", context)
    return page(request, "counter/list.html", _told(one, kind))


def _told(one: Import, kind: Kind) -> ListContext:
    part, doing = import_progress(one)
    return ListContext(one, kind, part, doing, bool(one.refused_rows))


@require_safe
def progress_fragment(request: Request, pk: int) -> HttpResponse:
    """How far the writing has come; the whole page anew once it is over."""
    one = _list(pk)
    if one.state != "under_way":
        return HttpResponseClientRefresh()
    return render(request, "counter/list_progress.html", {"page": _told(one, KINDS[one.kind])})


@require_POST
def list_match(request: Request, pk: int) -> HttpResponse:
    """Keep which column holds what. What is changed is looked at before it can be imported."""
    one = _list(pk)
    before = dict(one.matched)
    fields = KINDS[one.kind].fields
    chosen = {field.key: request.POST.get(f"column-{field.key}", "") for field in fields}
    try:
        import_match(
            one=one,
            columns={key: int(text) for key, text in chosen.items() if text.isdecimal() and len(text) < 5},
            same={field.key: request.POST.get(f"same-{field.key}", "") for field in fields if field.same},
            decimal=request.POST.get("decimal", ""),
            order=request.POST.get("order", ""),
            known=request.POST.get("known", "skip"),
        )
        if request.POST.get("do") != "import":
            return redirect(f"{reverse('list', args=[pk])}#preview")
        if _otherwise(_list(pk).matched, before):
            messages.info(request, "Something was changed above: look at what would come of it, then press once more.")
            return redirect(f"{reverse('list', args=[pk])}#preview")
        import_start(one=one, by=request.user.get_username())
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect("list", pk)


def _otherwise(now: Mapping[str, object], before: Mapping[str, object]) -> bool:
    """Whether anything of how the list is matched is another than it was looked at."""
    usual = {"columns": {}, "same": {}, "decimal": "", "order": "", "known": "skip"}
    return any(now.get(name, value) != before.get(name, value) for name, value in usual.items())


@require_POST
def list_read(request: Request, pk: int) -> HttpResponse:
    """Another sheet, other letters, another separator, headings in another row."""
    row = request.POST.get("head_row", "")
    sheet = request.POST.get("sheet", "")
    one = _list(pk)
    try:
        import_read_again(
            one=one,
            sheet=sheet,
            encoding=request.POST.get("encoding", ""),
            separator=request.POST.get("separator", ""),
            head_row=int(row) if row.isdecimal() and len(row) < 7 and sheet == one.sheet else None,
        )
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect("list", pk)


def _pressed(act: Callable[[Import, Request], str]) -> Callable[[Request, int], HttpResponse]:
    @require_POST
    def press(request: Request, pk: int) -> HttpResponse:
        try:
            return redirect(act(_list(pk), request), *(() if act is _dropped else (pk,)))
        except LevelwindError as refusal:
            return refused(request, refusal)

    return press


def _dropped(one: Import, request: Request) -> str:
    import_drop(one=one)
    messages.success(request, f"{one} is put aside: nothing of it is in the book.")
    return "lists"


def _stopped(one: Import, request: Request) -> str:
    import_stop(one=one)
    messages.info(request, "It is being stopped.")
    return "list"


def _taken_back(one: Import, request: Request) -> str:
    import_take_back(one=one, by=request.user.get_username())
    return "list"


@require_safe
def refused_file(request: Request, pk: int, kind: str) -> FileResponse:
    """The rows that are not taken, each with its reason, to be mended and sent again."""
    one = _list(pk)
    sheet = refused_of(plan_of(one), table_of(one)) if one.state == "open" else refused_sheet(one)
    if sheet is None:
        raise Http404(pk)
    return sheets_file([sheet], f"not-taken-{one.pk}", kind)


def _list(pk: int) -> Import:
    one = import_get(pk)
    if one is None or one.state == "dropped":
        raise Http404(pk)
    return one


urlpatterns = [
    path("lists/", lists_page, name="lists"),
    path("lists/<int:pk>/", list_page, name="list"),
    path("lists/<int:pk>/match/", list_match, name="list_match"),
    path("lists/<int:pk>/read/", list_read, name="list_read"),
    path("lists/<int:pk>/progress/", progress_fragment, name="list_progress"),
    path("lists/<int:pk>/stop/", _pressed(_stopped), name="list_stop"),
    path("lists/<int:pk>/drop/", _pressed(_dropped), name="list_drop"),
    path("lists/<int:pk>/back/", _pressed(_taken_back), name="list_back"),
    path("lists/<int:pk>/not-taken.<str:kind>", refused_file, name="list_refused"),
]
