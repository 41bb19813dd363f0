"""What a book says is carried over as its tables change: back to an older shape, and to the newest again.

One way back and one forward for all that is held: each takes every migration between through its steps.
"""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from levelwind.shop.finding.kept import findings_keep, findings_let_go
from levelwind.shop.models import Job, Sending
from levelwind.shop.sums import sums_keep, sums_let_go
from tests.jobs import a_job

WITHOUT_A_PIECE_AS_A_GATE, WAITING_IN_WORDS = "0009_whose_turn_it_is", "0008_sum_of_each_picture"
"""The last migrations before a piece left out had a phase of its own, and before it was said whose turn it is."""


def _migrate_to(name: str | None) -> None:
    """To the migration of this name; None for the newest."""
    findings_let_go()
    sums_let_go()
    executor = MigrationExecutor(connection)
    executor.migrate([("shop", name)] if name else executor.loader.graph.leaf_nodes("shop"))
    findings_keep()
    sums_keep()


@pytest.mark.full_size
@pytest.mark.django_db(transaction=True)
def test_there_and_back() -> None:
    turns = {"26-0001": "mine", "26-0002": "owner", "26-0003": "part"}
    jobs = [a_job(tag, turn=turn) for tag, turn in turns.items()]
    steps = jobs[0].steps_done
    steps.create(phase="gate", step="washers_in", note="yes")
    steps.create(phase="without", step="friction_1", note="not to be had")
    Job.objects.filter(pk=jobs[0].pk).update(stage="home")
    sent = Sending.objects.create(job=jobs[0], sent_at=timezone.now())
    Sending.objects.create(job=jobs[1])

    _migrate_to(WITHOUT_A_PIECE_AS_A_GATE)
    assert _rows("SELECT phase, step, note FROM shop_stepdone") == {
        ("gate", "washers_in", "yes"),
        ("gate", "without:friction_1", "not to be had"),
    }
    _migrate_to(WAITING_IN_WORDS)
    assert _rows("SELECT tag, waiting FROM shop_job") == {("26-0001", ""), ("26-0002", "owner"), ("26-0003", "parts")}

    _migrate_to(None)
    assert _rows("SELECT tag, turn FROM shop_job") == set(turns.items())
    assert _rows("SELECT phase, step, note FROM shop_stepdone") == {
        ("gate", "washers_in", "yes"),
        ("without", "friction_1", "not to be had"),
    }
    # what an older version sent home has long been in the carrier's hand
    handed_over = Sending.objects.order_by("job__tag").values_list("handed_over_at", flat=True)
    assert list(handed_over) == [sent.sent_at, None]


def _rows(question: str) -> set[tuple[str, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(question)
        return set(cursor.fetchall())
