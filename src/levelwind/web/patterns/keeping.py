"""Keeping the pattern book: copied, merged, retired; its papers; out to a file and in again."""

from dataclasses import dataclass
from urllib.parse import quote

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.documents import parts_list
from levelwind.documents import takedown as guide
from levelwind.shop.book.services.pattern_file_pictures import LARGEST_ZIP
from levelwind.shop.book.services.pattern_files import pattern_file, pattern_file_with_pictures, pattern_read
from levelwind.shop.models import Build, Pattern
from levelwind.shop.papers.selectors.pattern_sheets import parts_list_sheet, pattern_guide
from levelwind.shop.patterns.services.keeping import pattern_copy, pattern_delete, pattern_merge, pattern_retire
from levelwind.web.pages import page, refused, spoken
from levelwind.web.papers import guide_alone, paper
from levelwind.web.patterns.forms import MergeForm
from levelwind.web.requests import Request, key_in


@dataclass(frozen=True, slots=True)
class FileContext:
    refusal: str


@require_POST
def copy_act(request: Request, pk: int) -> HttpResponse:
    """“As this pattern, except”: a new one that begins as this one."""
    words = {name: request.POST.get(name, "")[:60] for name in ("maker", "model", "size")}
    try:
        new = pattern_copy(pattern=get_object_or_404(Pattern, pk=pk), **words)
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect("pattern", new.pk)


@require_POST
def merge_act(request: Request, pk: int) -> HttpResponse:
    gone = get_object_or_404(Pattern, pk=pk)
    form = MergeForm(request.POST, pattern=gone)
    if not form.is_valid():
        return refused(request, str(form.errors["into"][0]))
    into = form.cleaned_data["into"]
    try:
        pattern_merge(gone=gone, into=into)
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect("pattern", into.pk)


@require_POST
def retire_act(request: Request, pk: int) -> HttpResponse:
    pattern_retire(pattern=get_object_or_404(Pattern, pk=pk), retired=request.POST.get("retired") == "yes")
    return redirect(reverse("pattern", args=[pk]) + "#keep")


@require_POST
def delete_act(request: Request, pk: int) -> HttpResponse:
    pattern = get_object_or_404(Pattern, pk=pk)
    try:
        pattern_delete(pattern=pattern)
    except LevelwindError as refusal:
        return refused(request, refusal)
    messages.success(request, f"{pattern} is taken out of the book.")
    return redirect("patterns")


def _build(request: Request, pattern: Pattern) -> Build | None:
    return pattern.builds.filter(pk=key_in(request.GET.get("build"))).first()


def parts_list_paper(request: Request, pk: int) -> HttpResponse:
    pattern = get_object_or_404(Pattern, pk=pk)
    return paper(parts_list.render(parts_list_sheet(pattern, _build(request, pattern))), f"parts-list-{pk}")


def guide_paper(request: Request, pk: int, ending: str) -> HttpResponse:
    pattern, name = get_object_or_404(Pattern, pk=pk), f"takedown-pattern-{pk}"
    try:
        sheet = pattern_guide(pattern, _build(request, pattern))
    except LevelwindError as refusal:
        return refused(request, refusal)
    return paper(guide.render(sheet), name) if ending == "pdf" else guide_alone(sheet, name)


def file_out(request: Request, pk: int) -> HttpResponse:
    pattern = get_object_or_404(Pattern, pk=pk)
    if "photos" in request.GET:
        answer, ending = HttpResponse(pattern_file_with_pictures(pattern), content_type="application/zip"), "zip"
    else:
        answer, ending = HttpResponse(pattern_file(pattern), content_type="application/json"), "json"
    answer["Content-Disposition"] = f"attachment; filename*=UTF-8''{quote(str(pattern), safe='')}.{ending}"
    return answer


def file_in_page(request: Request) -> HttpResponse:
    """A pattern from a file; what stands in its way is said, and nothing is written then."""
    if request.method != "POST":
        return page(request, "patterns/file.html", FileContext(""))
    file = request.FILES.get("file")
    try:
        if not isinstance(file, UploadedFile):
            raise LevelwindError("Choose a file.")
        content = file.read(LARGEST_ZIP + 1)
        pattern, lacking = pattern_read(content=content, said_by=request.user.get_username())
    except LevelwindError as refusal:
        return page(request, "patterns/file.html", FileContext(spoken(refusal)), status=422)
    if lacking:
        messages.info(request, f"Not in this book, and so not said of it: {', '.join(lacking)[:400]}.")
    return redirect("pattern", pattern.pk)


urlpatterns = [
    path("from-a-file/", file_in_page, name="pattern_file_in"),
    path("<int:pk>/copy/", copy_act, name="pattern_copy"),
    path("<int:pk>/merge/", merge_act, name="pattern_merge"),
    path("<int:pk>/retire/", retire_act, name="pattern_retire"),
    path("<int:pk>/take-away/", delete_act, name="pattern_delete"),
    path("<int:pk>/parts-list.pdf", parts_list_paper, name="pattern_parts_list"),
    path("<int:pk>/takedown.pdf", guide_paper, {"ending": "pdf"}, name="pattern_guide"),
    path("<int:pk>/takedown.html", guide_paper, {"ending": "html"}, name="pattern_guide_alone"),
    path("<int:pk>/pattern.json", file_out, name="pattern_file_out"),
]
