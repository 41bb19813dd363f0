"""Pages of a big book: what each question reads, by the database's own plan; `bench/big_book.py` has the figures."""

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from levelwind.shop.models import Job, Part, StockEntry
from levelwind.shop.people.services import hours_keep
from tests.jobs import a_job, a_pattern
from tests.plans import plans_of

pytestmark = pytest.mark.django_db

LARGE = (
    r"shop_(job|part|partstock|piece|photo|stepdone|stockentry|moneyentry|fit|patternplace|priceline|promise|reading"
    r"|seen|sending)"
)
"""Tables that grow with every reel or list."""
OF_FEW = "part_in_a_measure"
"""An index that holds a few rows of a large table only: read through, it reads these alone."""


def plans(client: Client, address: str) -> list[str]:
    """How SQLite goes about each question of the page."""
    with CaptureQueriesContext(connection) as asked:
        assert client.get(address).status_code == 200
    return plans_of(asked)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own plans")
@pytest.mark.parametrize(
    ("address", "index"),
    [
        ("/", "job_stage_promise"),
        ("/?due=late", "job_stage_promise"),
        ("/?ended", "job_ended_last"),
        ("/patterns/", "job_pattern_stage"),
        ("/shelf/", "part_offered"),
        ("/shelf/?view=here", "shop_partstock_here"),
        ("/shelf/?view=short", "shop_partstock_short"),
        ("/shelf/?view=order", "shop_partstock_on_order"),
        ("/counter/", "shop_balance_owes_minor"),
        ("/counter/promises/", "promise_newest"),
        ("/jobs/26-0001/parts/", "shop_piece_job_id"),
        ("/jobs/26-0001/box/", "shop_stockentry_job_id"),
        ("/jobs/26-0001/ready/", "job_ended_last"),
    ],
)
def test_no_page_reads_a_large_table_through(client: Client, address: str, index: str) -> None:
    """The page's own index is used. None is read through but in the order of the page's rows, of which so many are
    read as are shown, or to be counted."""
    hours_keep(hours=[8.0] * 5 + [0.0, 0.0])
    a_job(pattern=a_pattern())
    a_job("26-0002", owner=Job.objects.get().owner, stage="home")
    StockEntry.objects.create(part=Part.objects.create(number="W-1"), change=2, why="bought")
    lines = plans(client, address)
    scans = [line for line in lines if re.match(rf"SCAN {LARGE}\b", line) and "COVERING INDEX" not in line]
    assert not [line for line in scans if index not in line and OF_FEW not in line]
    assert any(f"INDEX {index}" in line for line in lines)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own plans")
def test_a_word_on_the_shelf_is_looked_for_among_its_letters_once(client: Client) -> None:
    """Once for the count and once for the page, and never again for each part."""
    Part.objects.create(number="W-1", name="washer")
    lines = plans(client, "/shelf/?q_part=washer")
    found = [n for n, line in enumerate(lines) if line.startswith("SCAN find_text VIRTUAL TABLE INDEX 0:M")]
    assert len(found) == 2
    for n in found:
        assert lines[n - 2].startswith("SEARCH shop_part USING INTEGER PRIMARY KEY")
        assert (lines[n - 1].split()[0], lines[n + 1]) == ("LIST", "SEARCH f USING INTEGER PRIMARY KEY (rowid=?)")


@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own plans")
def test_a_year_is_read_by_what_went_home_in_it_alone(client: Client) -> None:
    """Each of its sums begins at the day of sending; no table is read through, be it in an index's order."""
    a_job(stage="home")
    lines = plans(client, "/counter/sunday/")
    assert not [line for line in lines if re.match(rf"SCAN ({LARGE}|shop_price)\b", line)]
    assert sum("INDEX sending_sent_at" in line for line in lines) == 5
    assert any("INDEX job_ended_last (stage_since>? AND stage_since<?)" in line for line in lines)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own plans")
def test_a_promise_looks_at_the_newest_reels_without_sorting_all_that_went_home(client: Client) -> None:
    hours_keep(hours=[8.0] * 5 + [0.0, 0.0])
    a_job(pattern=a_pattern())
    assert not [line for line in plans(client, "/jobs/26-0001/ready/") if "FOR DISTINCT" in line]
