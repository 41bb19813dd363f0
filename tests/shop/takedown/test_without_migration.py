"""In an older book a piece that is left out was a gate with a made-up key; there and back."""

import pytest
from django.db import connection

from tests.jobs import a_job
from tests.shop.migrating import migrate_to

BEFORE = "0009_whose_turn_it_is"


@pytest.mark.django_db(transaction=True)
def test_there_and_back() -> None:
    steps = a_job().steps_done
    steps.create(phase="gate", step="washers_in", note="yes")
    steps.create(phase="without", step="friction_1", note="not to be had")
    new = {("gate", "washers_in", "yes"), ("without", "friction_1", "not to be had")}
    migrate_to(BEFORE)
    assert _rows() == {("gate", "washers_in", "yes"), ("gate", "without:friction_1", "not to be had")}
    migrate_to(None)
    assert _rows() == new


def _rows() -> set[tuple[str, ...]]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT phase, step, note FROM shop_stepdone")
        return set(cursor.fetchall())
