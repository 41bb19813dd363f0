"""Rows under headings, written as CSV in a zip or as a workbook. No cell is ever taken for a formula."""

import csv
import io
import json
import re
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import IO, Any

from django.utils import timezone

MOST_LETTERS = 32_767
"""In a cell of a workbook: Excel specifications and limits (Microsoft's own page of that name), from memory."""
CUT = " … (whole in the CSV)"
_TAKEN_FOR_A_FORMULA = re.compile(r"'*[=+\-@\t\r\n]")
_NOT_IN_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")

Cell = str | int | float | bool | Decimal | date | datetime | None


@dataclass(frozen=True, slots=True)
class Sheet:
    name: str
    headings: tuple[str, ...]
    rows: Iterable[Sequence[object]]


def guarded(text: str) -> str:
    """A text that a spreadsheet would take for a formula, with the apostrophe before it that tells it otherwise.

    OWASP, CSV Injection: cells that begin with = + - @, a tab or a line's end; from memory. One that begins with
    apostrophes before such a letter gets one more, so that `bare` gives back what was there.

    >>> guarded("=1+1"), guarded("'=1"), guarded("it's")
    ("'=1+1", "''=1", "it's")
    """
    return f"'{text}" if _TAKEN_FOR_A_FORMULA.match(text) else text


def bare(cell: str) -> str:
    """What a guarded text was.

    >>> bare(guarded("-5 kg")), bare("'quoted'")
    ('-5 kg', "'quoted'")
    """
    return cell[1:] if cell.startswith("'") and _TAKEN_FOR_A_FORMULA.match(cell) else cell


def csv_zip_write(sheets: Iterable[Sheet], into: IO[bytes]) -> None:
    """One file a sheet."""
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as archive:
        for sheet in sheets:
            with archive.open(f"{sheet.name}.csv", "w") as raw:
                csv_write([sheet], raw)


def csv_write(sheets: Iterable[Sheet], into: IO[bytes]) -> None:
    """The one sheet there is, in UTF-8 with the mark by which spreadsheets know it."""
    (sheet,) = sheets
    file = io.TextIOWrapper(into, "utf-8-sig", newline="")
    writer = csv.writer(file)
    writer.writerow(sheet.headings)
    writer.writerows([_as_text(value) for value in row] for row in sheet.rows)
    file.flush()
    file.detach()


def _as_text(value: object) -> object:
    cell = _cell(value)
    if isinstance(cell, str):
        return guarded(cell)
    return cell.isoformat(" ", "seconds") if isinstance(cell, datetime) else cell


def workbook_write(sheets: Iterable[Sheet], into: IO[bytes]) -> None:
    """One workbook with a sheet for each, its headings kept in sight."""
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    book = Workbook(write_only=True)
    for sheet in sheets:
        page = book.create_sheet(sheet.name[:31])
        page.freeze_panes = "A2"
        heads = [WriteOnlyCell(page, heading) for heading in sheet.headings]
        for head in heads:
            head.font = Font(bold=True)
        page.append(heads)
        for row in sheet.rows:
            page.append([_for_workbook(_cell(value), page) for value in row])
    book.save(into)


def _for_workbook(shown: Cell, page: Any) -> Any:
    """A text that would be reckoned or taken for an error is told to be text."""
    from openpyxl.cell import WriteOnlyCell

    if isinstance(shown, datetime):
        return shown.replace(tzinfo=None)
    if not isinstance(shown, str):
        return shown
    text = _short(shown)
    if guarded(text) == text and not text.startswith("#"):
        return text
    cell = WriteOnlyCell(page, text)
    cell.data_type = "s"
    cell.quotePrefix = True
    return cell


def _short(text: str) -> str:
    text = _NOT_IN_XML.sub(" ", text)
    return text if len(text) <= MOST_LETTERS else text[: MOST_LETTERS - len(CUT)] + CUT


def _cell(value: object) -> Cell:
    """A time by the shop's own clock; what has parts as JSON."""
    if isinstance(value, datetime):
        return timezone.localtime(value)
    if value is None or isinstance(value, str | int | float | Decimal | date):
        return value
    return json.dumps(value, ensure_ascii=False, default=str)
