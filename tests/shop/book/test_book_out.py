"""The book to take along: every table, no secret, no cell taken for a formula, a quarter by the shop's own clock."""

import csv
import io
import zipfile
from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from levelwind.shop.book.selectors.quarters import Quarter, quarter_of, quarter_sheets, quarters
from levelwind.shop.book.sheets import bare, guarded
from levelwind.shop.models import Bill, MoneyEntry
from tests.jobs import a_job

FORMULAS = ["=1+1", "+49 30 1", "-5", "@SUM(A1)", "\t=1", "\r=1", "'=1", "it's", "#N/A"]


def tables(content: bytes) -> dict[str, list[list[str]]]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {
            name.removesuffix(".csv"): list(csv.reader(io.StringIO(archive.read(name).decode("utf-8-sig"), newline="")))
            for name in archive.namelist()
        }


@pytest.mark.django_db
def test_every_table_goes_out_both_ways_and_nothing_secret(client: Client) -> None:
    User.objects.create_user("tove", password="a secret of hers")
    client.force_login(User.objects.get())
    jobs = [a_job(f"26-{n:04d}", complaint=text, declared_minor=3940) for n, text in enumerate(FORMULAS)]
    jobs[0].reach = ["pinion"]
    jobs[0].save()
    content = b"".join(client.get("/counter/book/all.zip"))
    out = tables(content)
    ours = {model._meta.db_table for model in apps.get_app_config("shop").get_models()}
    with connection.cursor() as cursor:
        assert {f"shop_{name}" for name in out.keys() - LISTS} == ours - {"shop_findable", "shop_findableword"}
        assert ours <= set(connection.introspection.table_names(cursor))
    assert all(len(rows[0]) == len(set(rows[0])) for rows in out.values())
    heads, *rows = out["job"]
    complaint, declared, reach = (heads.index(words) for words in HEADS)
    assert [bare(row[complaint]) for row in rows] == FORMULAS
    assert not any(row[complaint].startswith(("=", "+", "-", "@", "\t", "\r")) for row in rows)
    assert (rows[0][declared], rows[0][reach]) == ("39.40", '["pinion"]')
    book = load_workbook(io.BytesIO(b"".join(client.get("/counter/book/all.xlsx"))))
    cells = [row[complaint] for row in book["job"].iter_rows(min_row=2)]
    assert [cell.data_type for cell in cells] == ["s"] * len(FORMULAS)
    assert [cell.value for cell in cells][:4] == FORMULAS[:4]
    assert list(book.sheetnames) == list(out)
    secrets = [User.objects.get().password, client.session.session_key or "none"]
    everything = str(out)
    assert not any(secret in everything for secret in secrets)


LISTS = {"owners", "shelf", "fits", "limits of wear", "replacements", "past jobs"}
"""Stand before the tables: see test_lists_in."""
HEADS = ("Complaint, in the owner's words", "Value declared (USD)", "Places to be reached")


@given(st.text(alphabet="'=+-@\t\r\nab", max_size=6))
def test_what_is_guarded_is_no_formula_and_comes_back(text: str) -> None:
    assert bare(guarded(text)) == text
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


@pytest.mark.django_db
def test_a_quarter_is_one_of_the_shops_own_clock_and_each_entry_counts_on_its_day(client: Client) -> None:
    job = a_job()
    bill = Bill.objects.create(
        owner=job.owner, job=job, number="B26-0001", issued_at=datetime(2026, 3, 31, 9, tzinfo=UTC)
    )
    rows = [
        ("charge", 10000, datetime(2026, 3, 31, 9, tzinfo=UTC), bill),
        ("tax", 2000, datetime(2026, 3, 31, 9, tzinfo=UTC), bill),
        ("payment", -12000, datetime(2026, 3, 31, 22, 30, tzinfo=UTC), None),
        ("credit", -1000, datetime(2026, 4, 2, tzinfo=UTC), bill),
        ("tax", -200, datetime(2026, 4, 2, tzinfo=UTC), bill),
        ("refund", 1200, datetime(2026, 4, 2, tzinfo=UTC), None),
    ]
    for kind, amount, at, on in rows:
        rate = 20 if kind in ("charge", "tax", "credit") else None
        MoneyEntry.objects.create(job=job, kind=kind, text=kind, amount_minor=amount, at=at, bill=on, tax_percent=rate)
    first, second = Quarter(2026, 1), Quarter(2026, 2)
    out = {"bills": [("B26-0001", Decimal(100), Decimal(20), Decimal(120))], "tax": [(20, 100, 20)]}
    assert _read(first) == out | {"payments": [Decimal(120)]}
    # half past ten in the evening in Greenwich is the next day, and the next quarter, in a summer an hour or two ahead
    with timezone.override(ZoneInfo("Europe/Berlin")):
        assert _read(first) == out | {"payments": []}
        assert _read(second) == {
            "bills": [("B26-0001", Decimal(-10), Decimal(-2), Decimal(-12))],
            "tax": [(20, -10, -2)],
            "payments": [Decimal(120), Decimal(-12)],
        }
        assert quarter_of(datetime(2026, 12, 31, 23, 30, tzinfo=UTC)) == Quarter(2027, 1)
    assert quarters()[-1] == first
    page = client.get("/counter/book/").content.decode()
    assert "/counter/book/2026-1.zip" in page and "/counter/book/" in client.get("/counter/").content.decode()
    assert set(tables(b"".join(client.get("/counter/book/2026-1.zip")))) == {"bills", "tax", "payments"}
    assert client.get("/counter/book/2026-5.zip").status_code == client.get("/counter/book/all.exe").status_code == 404
    assert client.get("/counter/book/99999-1.zip").status_code == 404


def _read(quarter: Quarter) -> dict[str, list[object]]:
    bills, tax, payments = (list(sheet.rows) for sheet in quarter_sheets(quarter))
    return {
        "bills": [(row[0], *row[3:6]) for row in bills],
        "tax": [tuple(row) for row in tax],
        "payments": [row[-1] for row in payments],
    }
