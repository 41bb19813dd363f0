"""Finds the table of numbers in a text or a workbook, whatever stands before it and however its numbers are written."""

import csv
import io
import re
import zipfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import chain, islice

from levelwind.core.errors import InputError
from levelwind.recordings.text import decoded

MOST_ROWS = 1_500_000
MOST_WORKBOOK_ROWS = 100_000
MOST_LISTED, MOST_LETTERS = 8, 40
MOST_KNOWN, AT_A_TIME = 16_384, 4096
"""Different cells of a column that are kept once, however often they come (our choice: a scale shows fewer), and rows
that are laid into columns at once."""
MOST_CELLS = 1_000_000
"""Of a workbook: ten columns of the most rows. Our choice; each cell takes some hundred bytes while it is read."""
MOST_UNPACKED, MOST_SHARED = 150_000_000, 30_000_000
"""Bytes of a workbook's parts together, and of the table of its texts, which is held in memory whole. Our choice: a
workbook of the most rows and ten columns unpacks to some 45 MB."""
_CHATTER = 400
"""Lines looked at to learn how the table is written; chatter before it must be shorter."""

# White space is taken whole (possessive): else a cell of a hundred thousand tabs is split in every way there is.
_NUMBER = r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?"
_GROUPED = r"[-+]?[1-9]\d{0,2}(?:[.,'’\s]\d{3})+(?:[.,]\d*)?"
_DATE = r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}"
_TIME = rf"\[?(?:{_DATE}[ T,]+)?\d+:\d+(?::\d+)?(?:[.,:]\d*)?\s*+(?:[ap]\.?m\.?)?(?:Z|[-+]\d\d:?\d\d)?\]?"
_POUNDS = r"[-+]?\d+\s*+lbs?\.?\s*+\d+(?:[.,]\d+)?\s*+oz\.?"
_CELL = re.compile(
    rf"\s*+(?:(?:{_GROUPED}|{_NUMBER})\s*+[a-zA-Zµ%°]{{0,4}}|{_POUNDS}|nan|-?inf|#?n/a|-{{1,3}}|{_TIME}|\[?{_DATE})?\s*+",
    re.I,
)
_ONE = re.compile(rf"\s*+(?:{_NUMBER}\s*+[a-zA-Zµ]{{0,4}}|nan|{_TIME})\s*+", re.I)
_WORDED = re.compile(r"[^\d\s.,+-]")
_FILLED = re.compile(rf"\s*+(?:{_NUMBER}|nan|{_TIME})", re.I)
_VALUE = re.compile(rf"\s*+(?:{_NUMBER}|{_TIME})\s*+", re.I)
_UNIT = re.compile(r"[\[(<]?\s*+(?!(?:t|f)$)(?:[a-zµ°%]{1,3}(?:/[a-z]{1,3})?)?\s*+[\])>]?", re.I)
"""A heading that is but a unit, or nothing: the row above it then names."""


@dataclass(frozen=True, slots=True)
class Table:
    """Columns of cells as written, with their names if a header names them."""

    names: tuple[str, ...]
    cells: tuple[list[str], ...]
    """One list a column."""
    decimal_comma: bool


def listed(names: Sequence[str]) -> str:
    """Headings for a sentence: the first few, each as far as it is worth reading."""
    more = f" and {len(names) - MOST_LISTED} more" if len(names) > MOST_LISTED else ""
    return ", ".join(name[:MOST_LETTERS] for name in names[:MOST_LISTED]) + more


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
    """The first sheet with a table in it: a report's first page may hold none."""
    why = _NoTableError("empty")
    for rows in _sheets(data, name):
        try:
            bare = [[cell for cell in row if cell.strip()] for row in rows]
            one = least_columns == 1 and all(len(row) <= 1 for row in bare)
            found = _one_column([row[0] for row in bare if row]) if one else None
            return found or _table(iter(rows))
        except _NoTableError as other:
            why = other if str(why) == "empty" else why
    raise why


def _from_text(text: str, least_columns: int) -> Table:
    lines = [line for line in text.splitlines() if line.strip()]
    del text
    if not lines:
        raise _NoTableError("empty")
    if len(lines) > MOST_ROWS:
        raise _NoTableError(f"{len(lines)} rows long, more than the {MOST_ROWS} that are read")
    if least_columns == 1 and (column := _one_column(lines)):
        return column
    split = _way_to_split(lines[:_CHATTER])
    return _table(split(_handed_over(lines)))


def _handed_over(lines: list[str]) -> Iterator[str]:
    """One by one, and gone from the list: a million lines are not kept beside their cells."""
    lines.reverse()
    while lines:
        yield lines.pop()


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
    try:
        return decoded(data).replace("\N{MINUS SIGN}", "-")
    except UnicodeError:
        raise _NoTableError("not text") from None


def _sheets(data: bytes, name: str) -> Iterator[list[list[str]]]:
    """The cells of each sheet as text, without its empty rows."""
    from openpyxl import load_workbook

    left, cells = MOST_WORKBOOK_ROWS, MOST_CELLS
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            sizes = [(entry.filename.casefold(), entry.file_size) for entry in archive.infolist()]
        for size, most in (
            (sum(size for _, size in sizes), MOST_UNPACKED),
            (max((size for part, size in sizes if "sharedstrings" in part), default=0), MOST_SHARED),
        ):
            if size > most:
                raise InputError(name, f"{size / 1e6:.0f} MB when unpacked", f"at most {most / 1e6:.0f} MB")
        for sheet in load_workbook(io.BytesIO(data), read_only=True, data_only=True).worksheets:
            sheet.reset_dimensions()  # what the file says of its size may be wrong either way
            rows = []
            for row in sheet.iter_rows(values_only=True):
                if any(value is not None for value in row):
                    rows.append([_cell(value) for value in row])
                    left -= 1
                cells -= len(row)
                if left < 0:
                    raise InputError(name, f"over {MOST_WORKBOOK_ROWS} rows long", "a longer one saved as csv")
                if cells < 0:
                    raise InputError(name, f"over {MOST_CELLS} cells large", "the table alone, or saved as csv")
            yield rows
    except (InputError, MemoryError):
        raise
    except Exception as error:  # openpyxl raises whatever its parsers do; a file from outside may be anything
        raise InputError(name, "not a workbook that can be read", "a table saved as xlsx, csv, tsv or txt") from error


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime | date | time):
        return value.isoformat(" ") if isinstance(value, datetime) else value.isoformat()
    return str(value.total_seconds()) if isinstance(value, timedelta) else str(value).replace("\N{MINUS SIGN}", "-")


Splitter = Callable[[Iterable[str]], Iterator[list[str]]]


def _way_to_split(lines: list[str]) -> Splitter:
    """The separator under which the most lines become rows of numbers."""
    comma = _by(",")
    best = (0, 0.0)
    split, rows = comma, [[""]]
    for way in (_by("\t"), _by(";"), comma, _by("|"), _by_blanks):
        found = list(way(lines))
        shape, count = _shape(found)
        if (count, score := shape.count(True) / len(shape)) > best if shape else False:
            best, split, rows = (count, score), way, found
    if best[0] == 0:
        raise _NoTableError(_what_it_is(lines))
    if split is comma and _torn(rows):
        raise _NoTableError(
            "written with commas both between and inside its numbers, and no semicolons or tabs between"
        )
    return split


def _by(separator: str) -> Splitter:
    return lambda lines: (row for row in csv.reader(lines, delimiter=separator, skipinitialspace=True))


def _by_blanks(lines: Iterable[str]) -> Iterator[list[str]]:
    """At any blanks where that leaves numbers, else at two or more: a heading may be of several words."""
    return (
        re.split(r"\s{2,}", line.strip())
        if _WORDED.search(line) and "  " in line.strip() and not _numeric(line.split())
        else line.split()
        for line in lines
    )


def _numeric(row: list[str]) -> bool:
    """Whether at least two cells hold numbers and the rest hold numbers or nothing."""
    kinds = _kinds(row)
    return len(kinds) > 1 and all(kinds)


def _kinds(row: list[str]) -> tuple[bool, ...]:
    """Of each cell whether it holds a number or nothing, and not words; none where under two are numbers."""
    kinds = tuple(bool(_CELL.fullmatch(cell)) for cell in row)
    return kinds if sum(kind and bool(_FILLED.match(cell)) for kind, cell in zip(kinds, row, strict=True)) > 1 else ()


def _shape(rows: list[list[str]]) -> tuple[tuple[bool, ...], int]:
    """What most rows of numbers look like and how many do; with a column of words only where hardly one is without."""
    seen = Counter(kinds for row in rows if (kinds := _kinds(row)))
    plain = max(((n, len(kinds), kinds) for kinds, n in seen.items() if all(kinds)), default=(0, 0, ()))
    worded = max(((n, len(kinds), kinds) for kinds, n in seen.items() if not all(kinds)), default=(0, 0, ()))
    count, _, kinds = worded if worded[0] > max(2, 2 * plain[0]) else plain
    return kinds, count


def _torn(rows: list[list[str]]) -> bool:
    """Split at commas that stand inside numbers: four cells under a heading of two, or thousands left over."""
    header = next((row for row in reversed(rows) if not _numeric(row) and any(row)), None)
    numeric = [row for row in rows if _numeric(row)]
    width = Counter(len(row) for row in numeric).most_common(1)[0][0] if numeric else 0
    if width == 4 and header is not None and len(header) == 2:
        return True
    return any(len(row) > width and re.fullmatch(r"\d{3}(\.\d*)?", row[-1].strip()) for row in numeric)


def _what_it_is(lines: list[str]) -> str:
    if not lines:
        return "empty"
    ones = sum(bool(re.fullmatch(rf"\s*{_NUMBER}\s*", line)) for line in lines)
    if ones >= 3:
        return "a table with one column"
    heading = len(lines) < 3 and bool(re.search(r"[,;\t|]\s*\S", lines[-1]))
    return "a header without readings" if heading else "without a table of numbers"


def _table(rows: Iterator[list[str]]) -> Table:
    """The rows from the first of the commonest shape on, and the header right above them.

    Each row is taken apart as it comes: a list for each of a million rows takes as much as all that stands in them.
    """
    head = list(islice(rows, 4 * _CHATTER))
    shape, _ = _shape(head)
    if not shape:
        raise _NoTableError(_what_it_is([" ".join(row) for row in head]))
    first = next(i for i, row in enumerate(head) if _kinds(row) == shape)
    while first and len(head[first - 1]) == len(shape) and any(map(_VALUE.fullmatch, head[first - 1])):
        first -= 1  # a reading that failed is no heading
    columns = _columns(filter(any, chain(head[first:], rows)), len(shape))
    names = _names(head[:first], len(shape), [any(cells) for cells in columns])
    return Table(names if any(names) else (), columns, _decimal_comma(columns))


def _columns(rows: Iterator[list[str]], width: int) -> tuple[list[str], ...]:
    """Of rows of whatever length; cells that are alike are kept once, as long as there are few of them."""
    columns: tuple[list[str], ...] = tuple([] for _ in range(width))
    known: tuple[dict[str, str], ...] = tuple({} for _ in range(width))
    while some := [row if len(row) == width else (row + [""] * width)[:width] for row in islice(rows, AT_A_TIME)]:
        for column, words, cells in zip(columns, known, zip(*some, strict=True), strict=True):
            if len(words) < MOST_KNOWN:
                words.update((cell, cell) for cell in set(cells) - words.keys())
            column.extend(map(words.get, cells, cells))
    return columns


def _names(above: list[list[str]], width: int, filled: list[bool]) -> tuple[str, ...]:
    """From the row right above the table, and the one above that where it holds but units."""
    names = [""] * width
    for row in reversed(above[-2:]):
        if len(row) == width + 1 and row[0] in ("#", "%", "//"):
            row = row[1:]
        fits = not any(row[width:]) if len(row) >= width else not any(filled[len(row) :]) and len(row) > 1
        if not fits or any(map(_VALUE.fullmatch, row)):
            break
        cells = [cell.strip() for cell in row] + [""] * width
        names = [
            f"{cell} ({below.strip('[](<>) ')})" if cell and below else cell or below
            for cell, below in zip(cells, names, strict=False)
        ]
        if not all(_UNIT.fullmatch(cell) for cell in cells):
            break
    return tuple(names)


def _decimal_comma(columns: Sequence[list[str]]) -> bool:
    """Whether a comma is where the fractions begin: both marks are also written between thousands."""
    votes, grouped, bare = Counter[str](), False, False
    for cell in (
        cell.strip() for cells in columns for cell in cells[:_CHATTER] if _CELL.fullmatch(cell) and ":" not in cell
    ):
        found = re.match(r"[-+]?([\d.,'’\s]*\d[.,]?)", cell)
        if found is None or re.fullmatch(_DATE, cell):
            continue
        last = max(found[1].rfind("."), found[1].rfind(","))
        mark, other = (found[1][last], ",."[found[1][last] == ","]) if last >= 0 else ("", "")
        if not mark:
            bare = bare or len(found[1]) > 1
        elif other in found[1] or not re.fullmatch(rf"[1-9]\d{{0,2}}(?:\{mark}\d{{3}})+", found[1]):
            votes[mark] += 1
        elif found[1].count(mark) > 1:
            votes[other] += 1
        else:
            grouped = grouped or mark == ","
    return votes[","] > votes["."] or (grouped and not votes and not bare)
