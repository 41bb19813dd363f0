"""A list of whatever columns, from a CSV, a workbook or a zip of CSVs: its cells as text, read in the limited process.

Nothing in it is reckoned: a formula arrives as its text, a day as year-month-day.
"""

import csv
import io
import json
import zipfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import PurePath
from typing import Any

from levelwind.core.errors import InputError
from levelwind.recordings.limited import run_limited
from levelwind.recordings.limited_messages import Answer
from levelwind.recordings.text import decoded

LARGEST_BYTES = 20_000_000
"""Of a file; our choice: fifty thousand rows of twelve columns are some five million."""
MOST_ROWS = 200_000
MOST_COLUMNS = 120
MOST_LETTERS = 60_000_000
MOST_UNPACKED = 300_000_000
SECONDS, MEGABYTES = 90, 512
ALLOWED = "a list saved as CSV or as a workbook (XLSX)"
ENCODINGS = {
    "": "as its first bytes tell",
    "utf-8-sig": "UTF-8",
    "utf-16": "UTF-16",
    "cp1252": "Western European (Windows)",
    "cp1250": "Central European (Windows)",
    "mac_roman": "Western European (older Mac)",
    "cp850": "Western European (DOS)",
}
SEPARATORS = {"": "as its rows tell", ",": "comma", ";": "semicolon", "\t": "tab", "|": "upright stroke"}
LOOKED_AT = 200
"""Rows by which it is told what stands between the cells; our choice."""

Row = list[Any]
"""The row's number in the file as people count, from 1, then a cell a column as text."""
Numbered = Iterator[tuple[int, list[str]]]


@dataclass(frozen=True, slots=True)
class ListRead:
    """One sheet of a file; ``rows`` is JSON, a ``Row`` for each that holds anything."""

    sheets: tuple[str, ...]
    sheet: str
    separator: str
    """Empty in a workbook."""
    rows: bytes

    def cells(self) -> list[Row]:
        listed: list[Row] = json.loads(self.rows)
        return listed


def read_list(
    data: bytes, name: str, *, sheet: str = "", prefer: Sequence[str] = (), encoding: str = "", separator: str = ""
) -> ListRead:
    """The sheet of this name, else the first that is called as one of ``prefer``, else the first.

    Raises InputError in one sentence for what is no list, is damaged, too large, or has no such sheet.
    """
    if not data:
        raise InputError(name, "empty", ALLOWED)
    if len(data) > LARGEST_BYTES:
        raise InputError(name, f"{len(data) / 1e6:.0f} MB", f"at most {LARGEST_BYTES / 1e6:.0f} MB")
    answer = run_limited(
        take_apart,
        data,
        name=name,
        seconds=SECONDS,
        megabytes=MEGABYTES,
        title=name,
        sheet=sheet,
        prefer=list(prefer),
        encoding=encoding,
        separator=separator,
    )
    facts = answer.facts
    return ListRead(tuple(facts["sheets"]), str(facts["sheet"]), str(facts["separator"]), answer.blobs[0])


def take_apart(data: bytes, *, title: str, sheet: str, prefer: list[str], encoding: str, separator: str) -> Answer:
    """The part of ``read_list`` that runs in the limited process."""
    try:
        if data[:4] == b"PK\x03\x04":
            found = _packed(data, title)
        else:
            found = {"": lambda: _of_text(data, title, encoding, separator)}
        names = list(found)
        chosen = sheet if sheet in found else next((n for n in names if n.casefold() in prefer), names[0])
        between, rows = found[chosen]()
        kept = _bounded(rows, title)
    except (InputError, MemoryError):
        raise
    except Exception as error:  # openpyxl raises whatever its parsers do; a file from outside may be anything
        raise InputError(title, f"not to be read ({type(error).__name__})", ALLOWED) from error
    if not kept:
        raise InputError(title, "empty", ALLOWED)
    blob = json.dumps(kept, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "replace")
    return Answer({"sheets": names, "sheet": chosen, "separator": between}, (blob,))


Sheets = dict[str, Callable[[], tuple[str, Numbered]]]


def _packed(data: bytes, title: str) -> Sheets:
    """A workbook's sheets, or the CSVs in a zip."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        entries = archive.infolist()
        unpacked = sum(entry.file_size for entry in entries)
        if unpacked > MOST_UNPACKED:
            raise InputError(title, f"{unpacked / 1e6:.0f} MB when unpacked", f"at most {MOST_UNPACKED / 1e6:.0f} MB")
        names = [entry.filename for entry in entries]
        if "[Content_Types].xml" in names:
            return _workbook(data, title)
        files = [name for name in names if PurePath(name).suffix.lower() in (".csv", ".tsv", ".txt")]
    if not files:
        raise InputError(title, "a zip without a CSV in it", ALLOWED)
    return {PurePath(name).stem: _from_zip(data, name, title) for name in files}


def _from_zip(data: bytes, name: str, title: str) -> Callable[[], tuple[str, Numbered]]:
    def read() -> tuple[str, Numbered]:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _of_text(archive.read(name), title, "", "")

    return read


def _workbook(data: bytes, title: str) -> Sheets:
    from openpyxl import load_workbook

    book = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
    if not book.worksheets:
        raise InputError(title, "a workbook without a sheet", ALLOWED)
    return {page.title: _from_page(page) for page in book.worksheets}


def _from_page(page: Any) -> Callable[[], tuple[str, Numbered]]:
    def rows() -> Numbered:
        page.reset_dimensions()  # what the file says of its size may be wrong either way
        for number, row in enumerate(page.iter_rows(values_only=True), 1):
            if any(value is not None for value in row):
                yield number, [_cell(value) for value in row]

    return lambda: ("", rows())


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.12g}" if abs(value) < 1e12 else repr(value)
    if isinstance(value, datetime):
        at_midnight = value.time() == time()
        return value.date().isoformat() if at_midnight else value.isoformat(" ", "seconds")
    if isinstance(value, date | time):
        return value.isoformat()
    return str(getattr(value, "text", value))  # an array's formula is an object that has its text


def _of_text(data: bytes, title: str, encoding: str, separator: str) -> tuple[str, Numbered]:
    try:
        text = decoded(data, encoding)
    except UnicodeError:
        written = f"no text in {ENCODINGS.get(encoding, encoding)}" if encoding else "no text"
        raise InputError(title, written, ALLOWED) from None
    first, _, rest = text.partition("\n")
    if first.strip().casefold().startswith("sep=") and len(first.strip()) == 5:  # a line some spreadsheets write ahead
        text, separator = rest, separator or first.strip()[4]
    between = separator or _between(text)
    return between, _numbered(csv.reader(io.StringIO(text, newline=""), delimiter=between), title)


def _numbered(reader: Iterator[list[str]], title: str) -> Numbered:
    from levelwind.recordings.text import NO_LETTERS

    try:
        for number, row in enumerate(reader, 1):
            if any(cell.strip() for cell in row):
                yield number, [NO_LETTERS.sub(" ", cell) for cell in row]
    except csv.Error as error:
        raise InputError(title, f"no readable list ({error})", ALLOWED) from error


def _between(text: str) -> str:
    """The separator under which most of the first rows come out alike, and widest; a comma where none does."""
    best, chosen = (0.0, 0), ","
    for mark in (",", ";", "\t", "|"):
        rows: list[int] = []
        try:
            for row in csv.reader(io.StringIO(text, newline=""), delimiter=mark):
                rows += [len(row)] if any(cell.strip() for cell in row) else []
                if len(rows) == LOOKED_AT:
                    break
        except csv.Error:
            continue
        width = max(set(rows), key=rows.count, default=0)
        found = (rows.count(width) / len(rows) if width > 1 else 0.0, width)
        best, chosen = (found, mark) if found > best else (best, chosen)
    return chosen


def _bounded(rows: Numbered, title: str) -> list[list[Any]]:
    kept: list[list[Any]] = []
    letters = 0
    for number, row in rows:
        while row and not row[-1].strip():
            row.pop()
        letters += sum(map(len, row))
        if len(row) > MOST_COLUMNS:
            raise InputError(title, f"{len(row)} columns wide", f"at most {MOST_COLUMNS}")
        if len(kept) >= MOST_ROWS:
            raise InputError(title, f"over {MOST_ROWS:,} rows long", f"at most {MOST_ROWS:,}: send it in parts")
        if letters > MOST_LETTERS:
            raise InputError(title, "more text than a list holds", f"at most {MOST_LETTERS / 1e6:.0f} million letters")
        kept.append([number, *row])
    return kept
