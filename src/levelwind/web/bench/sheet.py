"""The measuring sheet: printed, laid with pieces, taken with the phone; what was measured goes on from here."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.core.errors import LevelwindError
from levelwind.core.fits import length
from levelwind.core.fits.outlines import Outline
from levelwind.core.fits.sheet import LINE_MM, PAPERS
from levelwind.core.fits.sheet import sheet as paper_of
from levelwind.core.fits.sheet_report import LOOKS, Asked, Words, asked_of, words_of
from levelwind.core.fits.sheet_sizes import Measured, Said, SaidOfPiece
from levelwind.core.writing import written
from levelwind.documents import measuring_sheet
from levelwind.recordings.sheet_photo import HOW_TO_GET_IT, can_read
from levelwind.shop.drag.selectors.plans import stack_now
from levelwind.shop.drag.services import drag_body_measured
from levelwind.shop.jobs.selectors.jobs import job_get
from levelwind.shop.models import Job, Part, SheetPicture
from levelwind.shop.parts.selectors.sheets import (
    SheetMeasured,
    SizeChange,
    Written,
    changes_at,
    sheet_find,
    sheet_list,
    sheet_measured,
    sizes_of,
    written_of,
)
from levelwind.shop.parts.selectors.shelf import part_with_number
from levelwind.shop.parts.services.sheets import part_measured, part_put_back, sheet_add, sheet_remove, sheet_say
from levelwind.shop.people.selectors import shop_get
from levelwind.web.pages import page, refused, spoken
from levelwind.web.papers import paper
from levelwind.web.requests import Request, key_in

LONGEST = 40
"""Letters of a field that are read."""

WAS = "was-"
"""Before the name of a field: a size that stands at a part, as the person has seen it."""

EVERY = 3
"""One point of an outline in so many is drawn: half a millimetre is fine enough to see."""


@dataclass(frozen=True, slots=True)
class SheetsContext:
    job: Job | None
    pictures: list[SheetPicture]
    papers: tuple[tuple[str, str], ...]
    own_paper: str
    cannot: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """A piece over the picture: its outlines as a path in mm of the printed sheet, and where its number stands."""

    number: int
    path: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class PieceRow:
    piece: Measured
    looks: str
    sizes: tuple[Words, ...]
    asks: tuple[tuple[str, str], ...]
    """Words and address of each question to the recogniser."""
    thickness: str
    round_edge: bool
    is_washer: bool
    has_sizes: bool
    written: Written | None


@dataclass(frozen=True, slots=True)
class SheetContext:
    sheet: SheetMeasured
    width: float
    height: float
    drawn: tuple[Drawn, ...]
    rows: tuple[PieceRow, ...]
    across: str
    down: str
    line: str
    bodies: Sequence[tuple[int, str]]
    """Of the job's drag stack: where a washer can be laid in."""
    refusal: str


@dataclass(frozen=True, slots=True)
class ReplaceContext:
    """Sizes of a part that would go, asked before they do."""

    picture: SheetPicture
    number: int
    part: Part
    changes: tuple[SizeChange, ...]


def sheets_page(request: Request) -> HttpResponse:
    """The sheet to print, a picture to send, and the pictures of before."""
    job = _job(request.GET.get("job", ""))
    own = "us-letter" if shop_get().paper == "us-letter" else "a4"
    names = tuple((key, "Letter" if key == "us-letter" else "A4") for key in PAPERS)
    return page(
        request,
        "bench/sheets.html",
        SheetsContext(job, sheet_list(job), names, own, "" if can_read() else HOW_TO_GET_IT),
    )


def sheet_paper(request: Request, size: str) -> HttpResponse:
    if size not in ("a4", "us-letter"):
        raise Http404(size)
    pdf = measuring_sheet.render("us-letter" if size == "us-letter" else "a4", shop_get().name, timezone.localdate())
    return paper(pdf, f"measuring-sheet-{size}")


@require_POST
def sheet_add_act(request: Request) -> HttpResponse:
    file = request.FILES.get("picture") or request.FILES.get("camera")
    if not file:
        return refused(request, "No picture came: choose one, then press the button.")
    try:
        picture = sheet_add(file=file, job=_job(request.POST.get("job", "")), by=request.user.get_username())
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect("sheet", picture.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def sheet_page(request: Request, pk: int) -> HttpResponse:
    """The picture with what is measured on it; a POST says what the lines measure and how thick the pieces are."""
    picture = _found(pk)
    if request.method != "POST":
        return _draw(request, picture)
    try:
        sheet_say(picture=picture, said=_said(request.POST.dict(), len(picture.seen.get("pieces", ()))))
    except LevelwindError as refusal:
        return _draw(request, picture, spoken(refusal))
    return redirect(request.path)


@require_POST
def sheet_remove_act(request: Request, pk: int) -> HttpResponse:
    picture = _found(pk)
    back = _sheets(picture.job)
    sheet_remove(picture=picture)
    return redirect(back)


@require_POST
def sheet_part_act(request: Request, pk: int, number: int) -> HttpResponse:
    """A piece's sizes written at a part of the shelf; where others stand there, they are shown first."""
    sheet, named = sheet_measured(_found(pk)), request.POST.get("part", "")[:LONGEST]
    try:
        seen = _seen_there(request.POST.dict())
        part = part_with_number(named.strip())
        changes = changes_at(part, sizes_of(sheet, number)) if part else ()
        if part and any(each.replaces and seen.get(each.what) != each.before for each in changes):
            return page(request, "bench/sheet_part.html", ReplaceContext(sheet.picture, number, part, changes))
        part = part_measured(
            sheet=sheet, number=number, part_number=named, replacing=seen, by=request.user.get_username()
        )
    except LevelwindError as refusal:
        return refused(request, refusal)
    messages.success(request, f"Its sizes are written down at {part}.")
    return redirect("part", part.pk)


@require_POST
def sheet_back_act(request: Request, pk: int, number: int) -> HttpResponse:
    """The sizes that stood at the part before."""
    picture = _found(pk)
    try:
        part = part_put_back(picture=picture, number=number)
    except LevelwindError as refusal:
        return refused(request, refusal)
    messages.success(request, f"{part} has the sizes again that it had before.")
    return redirect(reverse("sheet", args=[pk]) + f"#piece-{number}")


@require_POST
def sheet_lay_act(request: Request, pk: int, number: int) -> HttpResponse:
    """A washer's sizes laid into the stack of the job's drag."""
    picture = _found(pk)
    try:
        if picture.job is None:
            raise LevelwindError("This picture belongs to no job: send it from the job's parts.")
        _lay(picture.job, sheet_measured(picture), number, key_in(request.POST.get("body")))
    except LevelwindError as refusal:
        return refused(request, refusal)
    messages.success(request, f"Piece {number} is laid into the stack with its measured sizes.")
    return redirect("drag", picture.job.tag)


def _lay(job: Job, sheet: SheetMeasured, number: int, body: int) -> None:
    sheet.piece(number)
    sizes = sizes_of(sheet, number)
    if not {"outer diameter", "inner diameter", "thickness"} <= sizes.keys():
        raise LevelwindError(f"Piece {number} has no thickness yet: type what the caliper says, then lay it in.")
    drag_body_measured(
        job=job,
        body=body,
        outer_mm=sizes["outer diameter"],
        inner_mm=sizes["inner diameter"],
        thickness_mm=sizes["thickness"],
    )


def _seen_there(sent: Mapping[str, str]) -> dict[str, float]:
    """Sizes of a part as the page that asked has shown them."""
    shown = {key.removeprefix(WAS): text[:LONGEST] for key, text in sent.items() if key.startswith(WAS)}
    return {what: length(text, what).value_mm for what, text in shown.items()}


def _found(pk: int) -> SheetPicture:
    picture = sheet_find(pk)
    if picture is None:
        raise Http404(pk)
    return picture


def _job(tag: str) -> Job | None:
    try:
        return job_get(tag) if tag else None
    except Job.DoesNotExist:
        return None


def _sheets(job: Job | None) -> str:
    return reverse("sheets") + (f"?job={job.tag}" if job else "")


def _said(sent: Mapping[str, str], count: int) -> Said:
    """Raises InputError that names the field and what was typed."""

    def mm(key: str, what: str) -> float | None:
        text = sent.get(key, "")[:LONGEST]
        return length(text, what).value_mm if text.strip() else None

    pieces = {
        n: SaidOfPiece(mm(f"thick-{n}", f"thickness of piece {n}"), f"round-{n}" in sent) for n in range(1, count + 1)
    }
    return Said(mm("across", "printed line across"), mm("down", "printed line down"), pieces)


def _draw(request: Request, picture: SheetPicture, refusal: str = "") -> HttpResponse:
    sheet = sheet_measured(picture)
    whole, kept = paper_of(sheet.seen.paper), written_of(picture)
    bodies: Sequence[tuple[int, str]] = ()
    if picture.job is not None and sheet.pieces:
        bodies = _bodies(picture.job)
    context = SheetContext(
        sheet=sheet,
        width=whole.width_mm,
        height=whole.height_mm,
        drawn=_drawn(sheet),
        rows=tuple(_row(sheet, piece, kept.get(piece.number)) for piece in sheet.pieces),
        across=_mm(sheet.said.across_mm),
        down=_mm(sheet.said.down_mm),
        line=written(LINE_MM),
        bodies=bodies,
        refusal=refusal,
    )
    return page(request, "bench/sheet.html", context, status=422 if refusal else 200)


def _mm(value: float | None) -> str:
    return "" if value is None else written(value)


def _bodies(job: Job) -> list[tuple[int, str]]:
    """Of the stack as it stands; none where this reel has no stack yet."""
    try:
        stack, _ = stack_now(job)
    except LevelwindError:
        return []
    return [(n, body.name) for n, body in enumerate(stack.bodies, start=1)]


def _drawn(sheet: SheetMeasured) -> tuple[Drawn, ...]:
    drawn = []
    for number, piece in enumerate(sheet.seen.pieces, start=1):
        if not piece.outer.points:
            continue
        xs, ys = [x for x, _ in piece.outer.points], [y for _, y in piece.outer.points]
        edges = " ".join(_path(edge) for edge in (piece.outer, *piece.holes))
        drawn.append(Drawn(number, edges, round(max(xs) + 1, 1), round(min(ys) + 1, 1)))
    return tuple(drawn)


def _path(edge: Outline) -> str:
    """Points are drawn one by one: an edge may have gaps, where a shadow hid it."""
    return " ".join(f"M{x:.2f} {y:.2f}h0" for x, y in edge.points[::EVERY])


def _row(sheet: SheetMeasured, piece: Measured, written: Written | None) -> PieceRow:
    said = sheet.said_of(piece.number)
    job = sheet.picture.job
    return PieceRow(
        piece=piece,
        looks=LOOKS[piece.looks],
        sizes=tuple(words_of(size) for size in piece.sizes),
        asks=tuple((asked.words, _address(asked, job)) for asked in asked_of(piece, said)),
        thickness=_mm(said.height_mm),
        round_edge=said.round_edge,
        is_washer=bool(piece.size("outer diameter") and piece.size("inner diameter")),
        has_sizes=bool(sizes_of(sheet, piece.number)),
        written=written,
    )


def _address(asked: Asked, job: Job | None) -> str:
    query = {"piece": asked.piece, **asked.fields} | ({"job": job.tag} if job else {})
    return f"{reverse('fits')}?{urlencode(query)}"


urlpatterns = [
    path("sheet/", sheets_page, name="sheets"),
    path("sheet/add/", sheet_add_act, name="sheet_add"),
    path("sheet/paper/<str:size>.pdf", sheet_paper, name="sheet_paper"),
    path("sheet/<int:pk>/", sheet_page, name="sheet"),
    path("sheet/<int:pk>/remove/", sheet_remove_act, name="sheet_remove"),
    path("sheet/<int:pk>/<int:number>/part/", sheet_part_act, name="sheet_part"),
    path("sheet/<int:pk>/<int:number>/back/", sheet_back_act, name="sheet_back"),
    path("sheet/<int:pk>/<int:number>/lay/", sheet_lay_act, name="sheet_lay"),
]
