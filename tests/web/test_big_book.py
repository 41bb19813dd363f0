"""Pages of a big book: what each question reads, by the database's own plan; `bench/big_book.py` has the figures."""

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from levelwind.shop.models import Job, Part, StockEntry
from tests.jobs import a_job, a_pattern
from tests.plans import plans_of

pytestmark = pytest.mark.django_db

LARGE = (
    r"shop_(job|part|piece|photo|stepdone|stockentry|moneyentry|fit|patternplace|price|priceline|reading|seen|sending)"
)
"""Tables that grow with every reel or list."""


def plans(client: Client, address: str) -> list[str]:
    """How SQLite goes about each question of the page."""
    with CaptureQueriesContext(connection) as asked:
        assert client.get(address).status_code == 200
    return plans_of(asked)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own plans")
@pytest.mark.parametrize(
    ("address", "in_order_of"),
    [
        ("/", ""),
        ("/?due=late", ""),
        ("/?ended", "job_ended_last"),
        ("/patterns/", ""),
        ("/shelf/", "part_offered"),
        ("/shelf/?view=here", ""),
        ("/shelf/?view=short", ""),
        ("/shelf/?view=order", ""),
        ("/counter/", ""),
        ("/jobs/26-0001/parts/", ""),
        ("/jobs/26-0001/box/", ""),
    ],
)
def test_no_page_reads_a_large_table_through(client: Client, address: str, in_order_of: str) -> None:
    """But for an index in the order of the page's rows, of which so many are read as are shown, or that is counted."""
    a_job(pattern=a_pattern())
    a_job("26-0002", owner=Job.objects.get().owner, stage="home")
    StockEntry.objects.create(part=Part.objects.create(number="W-1"), change=2, why="bought")
    lines = plans(client, address)
    scans = [line for line in lines if re.match(rf"SCAN {LARGE}\b", line) and "COVERING INDEX" not in line]
    assert not [line for line in scans if not in_order_of or in_order_of not in line]
    assert not in_order_of or any(in_order_of in line for line in lines)
