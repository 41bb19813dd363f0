"""The book to take along: all its tables, and a quarter's bills and payments."""

import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import chain
from typing import IO

from django.conf import settings
from django.http import FileResponse, Http404, HttpResponse
from django.urls import path
from django.utils import timezone

from levelwind.core.writing import written_plainly
from levelwind.shop.book.selectors.lists import list_sheets
from levelwind.shop.book.selectors.quarters import Quarter, quarter_sheets, quarters
from levelwind.shop.book.selectors.tables import book_sheets
from levelwind.shop.book.sheets import Sheet, csv_write, csv_zip_write, workbook_write
from levelwind.web.pages import page
from levelwind.web.requests import Request

WRITERS: dict[str, Callable[[Iterable[Sheet], IO[bytes]], None]] = {
    "zip": csv_zip_write,
    "xlsx": workbook_write,
    "csv": csv_write,
}
LAST_YEAR = 9998
"""The calendar of Python ends a year later."""


@dataclass(frozen=True, slots=True)
class BookContext:
    quarters: list[Quarter]
    zone: str


def book_page(request: Request) -> HttpResponse:
    return page(request, "counter/book.html", BookContext(quarters(), timezone.get_current_timezone_name()))


def book_file(request: Request, kind: str) -> FileResponse:
    return sheets_file(chain(list_sheets(), book_sheets()), f"levelwind-{timezone.localdate():%Y-%m-%d}", kind)


def quarter_file(request: Request, year: int, number: int, kind: str) -> FileResponse:
    if not (1 <= year <= LAST_YEAR and 1 <= number <= 4):
        raise Http404
    quarter = Quarter(year, number)
    return sheets_file(quarter_sheets(quarter), f"bills-{quarter}", kind)


def sheets_file(sheets: Iterable[Sheet], name: str, kind: str) -> FileResponse:
    """Sheets as a workbook or a zip of CSVs; one alone as a CSV too."""
    if kind not in WRITERS:
        raise Http404
    file = tempfile.TemporaryFile(dir=settings.FILE_UPLOAD_TEMP_DIR)  # noqa: SIM115 - the answer closes it
    with written_plainly():
        WRITERS[kind](sheets, file)
    file.seek(0)
    return FileResponse(file, as_attachment=True, filename=f"{name}.{kind}")


urlpatterns = [
    path("book/", book_page, name="book"),
    path("book/all.<str:kind>", book_file, name="book_file"),
    path("book/<int:year>-<int:number>.<str:kind>", quarter_file, name="quarter_file"),
]
