"""Finds the table of numbers in a text or a workbook, whatever stands before it and however its numbers are written."""

import csv
import io
import re
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from levelwind.core.errors import InputError

MOST_ROWS = 1_500_000
MOST_WORKBOOK_ROWS = 100_000
MOST_UNPACKED = 300_000_000
_CHATTER = 400
"""Lines looked at to learn how the table is written; chatter before it must be shorter."""

_NUMBER = r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?"
_CELL = re.compile(
    rf"\s*(?:{_NUMBER}\s*[a-zA-Zµ]{{0,4}}|nan|-?inf|#?n/a|-{{1,3}}|(?:[\d-]+[ T])?\d+:\d+(?::\d+)?(?:[.,]\d+)?Z?)?\s*",
    re.I,
)
_ONE = re.compile(rf"\s*(?:{_NUMBER}\s*[a-zA-Zµ]{{0,4}}|nan|(?:[\d-]+[ T])?\d+:\d+(?::\d+)?(?:[.,]\d*)?Z?)\s*", re.I)
_WORDED = re.compile(r"[^\d\s.,+-]")
_FILLED = re.compile(rf"\s*(?:{_NUMBER}|nan|(?:[\d-]+[ T])?\d+:\d+)", re.I)


@dataclass(frozen=True, slots=True)
class Table:
    """Columns of cells as written, with their names if a header names them."""

    names: tuple[str, ...]
    cells: tuple[list[str], ...]
    """One list a column."""
    decimal_comma: bool


def read_table(data: bytes, name: str, allowed: str, *, least_columns: int = 2) -> Table:
    """The table in a file of which nothing is known but its bytes.

    ``least_columns`` of 1 takes a bare column of numbers for a table too. Raises InputError where there is none, with
    ``allowed`` for what would do.
    """
    try:
        if data[:4] == b"PK\x03\x04":
            return _from_workbook(data, name, least_columns)
        return _from_text(_text(data), least_columns)
    except csv.Error as error:
        raise InputError(name, f"no readable table ({error})", allowed) from error
    except _NoTableError as why:
        raise InputError(name, str(why), allowed) from None


class _NoTableError(Exception):
    """What the file was instead."""


def _from_workbook(data: bytes, name: str, least_columns: int) -> Table:
    rows = [[_cell(value) for value in row] for row in _workbook(data, name)]
    bare = [[cell for cell in row if cell.strip()] for row in rows]
    if least_columns == 1 and all(len(row) <= 1 for row in bare):
        return _one_column([row[0] for row in bare if row]) or _table(rows, False)
    return _table(rows, False)


def _from_text(text: str, least_columns: int) -> Table:
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines:
        raise _NoTableError("empty")
    if len(lines) > MOST_ROWS:
        raise _NoTableError(f"{len(lines)} rows long, more than the {MOST_ROWS} that are read")
    if least_columns == 1 and (column := _one_column(lines)):
        return column
    split, comma = _way_to_split(lines[:_CHATTER])
    return _table(list(split(lines)), comma)


def _one_column(lines: list[str]) -> Table | None:
    """Where nothing but numbers, one a line, follows what stands above them; the line above is their name.

    "1,25" is one number where the heading is no two: 1.25.
    """
    first = next((i for i, line in enumerate(lines[:_CHATTER]) if _ONE.fullmatch(line)), None)
    if first is None or not all(_ONE.fullmatch(line) for line in lines[first:_CHATTER]):
        return None
    above = lines[first - 1].strip() if first else ""
    comma = any("," in line for line in lines[first:])
    if re.search(r"[;\t|]" + ("|," if comma else ""), above):
        return None
    return Table((above,) if above else (), (lines[first:],), comma)


def _text(data: bytes) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encodings = ["utf-16"]
    elif data[1:200:2].count(0) > 0.8 * len(data[1:200:2]):
        encodings = ["utf-16-le"]
    elif data[0:200:2].count(0) > 0.8 * len(data[0:200:2]):
        encodings = ["utf-16-be"]
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not re.search(r"[\x00-\x08\x0e-\x1f\ufffe\uffff]", text):
            return text
    raise _NoTableError("not text")


def _workbook(data: bytes, name: str) -> Iterator[tuple[object, ...]]:
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            unpacked = sum(entry.file_size for entry in archive.infolist())
        if unpacked > MOST_UNPACKED:
            raise InputError(name, f"{unpacked / 1e6:.0f} MB when unpacked", f"at most {MOST_UNPACKED / 1e6:.0f} MB")
        sheet = load_workbook(io.BytesIO(data), read_only=True, data_only=True).worksheets[0]
        for count, row in enumerate(sheet.iter_rows(values_only=True)):
            if count >= MOST_WORKBOOK_ROWS:
                raise InputError(name, f"over {MOST_WORKBOOK_ROWS} rows long", "a longer one saved as csv")
            yield row
    except InputError:
        raise
    except Exception as error:  # openpyxl raises whatever its parsers do; a file from outside may be anything
        raise InputError(name, "not a workbook that can be read", "a table saved as xlsx, csv, tsv or txt") from error


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime | date | time):
        return value.isoformat(" ") if isinstance(value, datetime) else value.isoformat()
    return str(value.total_seconds()) if isinstance(value, timedelta) else str(value)


Splitter = Callable[[list[str]], Iterator[list[str]]]


def _way_to_split(lines: list[str]) -> tuple[Splitter, bool]:
    """The separator under which the most lines become rows of numbers, and whether decimals are commas."""
    ways: list[tuple[Splitter, bool]] = [
        (_by("\t"), False), (_by(";"), False), (_by(","), False), (_by("|"), False), (_by_blanks, False)
    ]  # fmt: skip
    scored = []
    for split, _ in ways:
        rows = list(split(lines))
        good = Counter(len(row) for row in rows if _numeric(row))
        width, count = max(good.items(), key=lambda item: (item[1], item[0]), default=(0, 0))
        scored.append((count if width > 1 else 0, split, rows, width))
    count, split, rows, width = max(scored, key=lambda item: item[0])
    if count == 0:
        raise _NoTableError(_what_it_is(lines))
    table = [row for row in rows if _numeric(row) and len(row) == width]
    comma = any(re.fullmatch(r"\s*[-+]?\d*,\d+\s*", cell) for row in table for cell in row)
    if split is ways[2][0] and _torn_decimals(table, rows):
        raise _NoTableError(
            "written with commas both between and inside its numbers, and no semicolons or tabs between"
        )
    return split, comma


def _by(separator: str) -> Splitter:
    return lambda lines: (row for row in csv.reader(lines, delimiter=separator, skipinitialspace=True))


def _by_blanks(lines: list[str]) -> Iterator[list[str]]:
    """At any blanks where that leaves numbers, else at two or more: a heading may be of several words."""
    return (
        re.split(r"\s{2,}", line.strip())
        if _WORDED.search(line) and "  " in line.strip() and not _numeric(line.split())
        else line.split()
        for line in lines
    )


def _numeric(row: list[str]) -> bool:
    """Whether at least two cells hold numbers and the rest hold numbers or nothing."""
    return sum(bool(_FILLED.match(c)) for c in row) >= 2 and all(_CELL.fullmatch(c) for c in row)


def _torn_decimals(table: list[list[str]], rows: list[list[str]]) -> bool:
    header = next((row for row in reversed(rows) if not _numeric(row) and any(row)), None)
    return len(table[0]) == 4 and header is not None and len(header) == 2


def _what_it_is(lines: list[str]) -> str:
    ones = sum(bool(re.fullmatch(rf"\s*{_NUMBER}\s*", line)) for line in lines)
    if ones >= 3:
        return "a table with one column"
    heading = len(lines) < 3 and bool(re.search(r"[,;\t|]\s*\S", lines[-1]))
    return "a header without readings" if heading else "without a table of numbers"


def _table(rows: list[list[str]], comma: bool) -> Table:
    """The longest run of rows of one width, and the header right above it."""
    widths = [len(row) if _numeric(row) else 0 for row in rows[: 4 * _CHATTER]]
    width = Counter(w for w in widths if w > 1).most_common(1)
    if not width:
        raise _NoTableError(_what_it_is([" ".join(row) for row in rows]))
    columns = width[0][0]
    first = widths.index(columns)
    body = [row if len(row) == columns else (row + [""] * columns)[:columns] for row in rows[first:] if any(row)]
    names = [""] * columns
    for row in rows[max(first - 2, 0) : first]:
        if len(row) == columns or (len(row) > columns and not any(row[columns:])):
            names = [f"{above} {cell.strip()}".strip() for above, cell in zip(names, row, strict=False)]
    return Table(tuple(names) if any(names) else (), tuple([row[i] for row in body] for i in range(columns)), comma)
