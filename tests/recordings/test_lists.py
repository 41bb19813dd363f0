"""A list from elsewhere, however it is written; hostile ones are refused in a sentence and within bounds."""

import io
import json
import zipfile
from datetime import date, datetime
from typing import Any

import pytest
from openpyxl import Workbook

from levelwind.core.errors import InputError
from levelwind.recordings import lists
from levelwind.recordings.lists import MOST_COLUMNS, read_list

LIST = 'number;name;price\nQ-1;Wäscher, groß;1.250,50\n\nQ-2;"zwei\nZeilen";3,5\n'
READ = [[1, "number", "name", "price"], [2, "Q-1", "Wäscher, groß", "1.250,50"], [4, "Q-2", "zwei\nZeilen", "3,5"]]


def rows(data: bytes, **said: Any) -> list[list[Any]]:
    found: list[list[Any]] = json.loads(read_list(data, "a list", **said).rows)
    return found


def workbook(*sheets: list[list[Any]]) -> bytes:
    book, held = Workbook(), io.BytesIO()
    book.remove(book.worksheets[0])
    for number, cells in enumerate(sheets, 1):
        page = book.create_sheet(f"Sheet {number}")
        for row in cells:
            page.append(row)
    book.save(held)
    return held.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_letters_are_read_however_they_were_written(encoding: str) -> None:
    assert rows(LIST.encode(encoding)) == READ


def test_what_stands_between_cells_is_told_from_the_rows() -> None:
    for mark in ",;\t|":
        assert rows(f"a{mark}b\n1{mark}2\n".encode()) == [[1, "a", "b"], [2, "1", "2"]]
    assert rows(b"sep=;\na;b,c\n") == [[1, "a", "b,c"]]
    assert rows("ł;a".encode("cp1250"), encoding="cp1250") == [[1, "ł", "a"]]
    assert rows(b"name\nAnsa\n") == [[1, "name"], [2, "Ansa"]]


def test_a_workbooks_cells_are_text_and_nothing_is_reckoned() -> None:
    cells = [
        ["when", "sum", "n", "ok", "f"],
        [date(2025, 4, 3), 12.1, 5.0, True, "=1+1"],
        [datetime.fromisoformat("2025-04-03 09:05"), 0.1 + 0.2],
    ]
    data = workbook([["nothing"]], cells)
    assert read_list(data, "a list").sheets == ("Sheet 1", "Sheet 2")
    found = rows(data, prefer=["sheet 2"])
    assert found[1:] == [[2, "2025-04-03", "12.1", "5", "yes", "=1+1"], [3, "2025-04-03 09:05:00", "0.3"]]
    assert rows(data, sheet="Sheet 1") == [[1, "nothing"]]


def test_a_zip_of_lists_is_as_a_workbook_of_sheets() -> None:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        archive.writestr("owner.csv", "a\n1\n")
        archive.writestr("fits.csv", "b\n2\n")
    assert rows(held.getvalue(), prefer=["fits"]) == [[1, "b"], [2, "2"]]


def _spoilt(name: str, content: bytes) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook([["a"]]))) as was, zipfile.ZipFile(held, "w") as archive:
        for entry in was.namelist():
            archive.writestr(entry, content if entry == name else was.read(entry))
    return held.getvalue()


HOSTILE = {
    "nothing": b"",
    "a picture": b"\x89PNG\r\n\x1a\n\0\0\0",
    "half a workbook": workbook([["a"]])[:900],
    "a zip of nothing": b"PK\x05\x06" + b"\0" * 18,
    "no xml": _spoilt("xl/worksheets/sheet1.xml", b"<<<"),
    "too wide": b",".join([b"x"] * (MOST_COLUMNS + 1)),
    "an endless cell": b'a,b\n1,"' + b"x" * 200_000,
    "blanks": b" \n\n\t\n",
}


@pytest.mark.parametrize("what", HOSTILE)
def test_what_is_no_list_is_refused_in_a_sentence(what: str) -> None:
    with pytest.raises(InputError) as refusal:
        read_list(HOSTILE[what], what)
    assert str(refusal.value).startswith(what) and "\n" not in str(refusal.value)


def test_a_cell_of_tabs_is_read_at_once() -> None:
    assert len(rows(b'a,b\n1,"' + b"\t" * 130_000 + b'x"\n')) == 2


def test_what_unpacks_to_too_much_or_is_too_long_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lists, "MOST_ROWS", 2)
    with pytest.raises(InputError, match="over 2 rows long"):
        read_list(b"a,b\n1,2\n3,4\n", "a list")
    monkeypatch.setattr(lists, "MOST_UNPACKED", 1000)
    with pytest.raises(InputError, match="when unpacked"):
        read_list(workbook([["a"]]), "a list")


@pytest.mark.limited
def test_a_list_is_read_in_a_process_of_its_own() -> None:
    assert rows(workbook([["a", "b"], [1, 2]])) == [[1, "a", "b"], [2, "1", "2"]]
