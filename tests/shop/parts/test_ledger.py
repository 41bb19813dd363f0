"""Ledgers only grow: the models refuse, and so does the database when somebody goes round them."""

import pytest
from django.db import DatabaseError, connection, transaction

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import MoneyEntry
from tests.jobs import a_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def entry() -> MoneyEntry:
    return MoneyEntry.objects.create(job=a_job(), kind="charge", text="work", amount_minor=6000)


def test_an_entry_is_not_edited(entry: MoneyEntry) -> None:
    entry.amount_minor = 1
    with pytest.raises(LevelwindError, match="never edited"):
        entry.save()


def test_an_entry_is_not_taken_away(entry: MoneyEntry) -> None:
    with pytest.raises(LevelwindError, match="never taken away"):
        entry.delete()
    with pytest.raises(LevelwindError, match="never taken away"):
        MoneyEntry.objects.all().delete()
    with pytest.raises(LevelwindError, match="never edited"):
        MoneyEntry.objects.update(amount_minor=1)


WAYS_ROUND = ["UPDATE shop_moneyentry SET amount_minor = 1", "DELETE FROM shop_moneyentry"]
if connection.vendor == "postgresql":
    WAYS_ROUND.append("TRUNCATE shop_moneyentry CASCADE")


@pytest.mark.parametrize("sql", WAYS_ROUND)
def test_the_database_itself_refuses(entry: MoneyEntry, sql: str) -> None:
    connection.check_constraints()
    with pytest.raises(DatabaseError, match="never edited or taken away"), transaction.atomic():
        connection.cursor().execute(sql)
    assert MoneyEntry.objects.get().amount_minor == 6000
