"""What a job waited for in an older book becomes whose turn it is, and back."""

import pytest
from django.db import connection

from tests.jobs import a_job
from tests.shop.migrating import migrate_to

BEFORE = "0008_sum_of_each_picture"


@pytest.mark.django_db(transaction=True)
def test_there_and_back() -> None:
    tags = {"26-0001": "mine", "26-0002": "owner", "26-0003": "part"}
    for tag, turn in tags.items():
        a_job(tag, turn=turn)
    migrate_to(BEFORE)
    with connection.cursor() as cursor:
        cursor.execute("SELECT tag, waiting FROM shop_job")
        assert dict(cursor.fetchall()) == {"26-0001": "", "26-0002": "owner", "26-0003": "parts"}
    migrate_to(None)
    with connection.cursor() as cursor:
        cursor.execute("SELECT tag, turn FROM shop_job")
        assert dict(cursor.fetchall()) == tags
