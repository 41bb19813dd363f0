"""Anything is found by whatever word is at hand, and says by what; triggers keep what is looked through."""

import re

import pytest
from django.db import connection

from levelwind.shop.finding.kept import findings_keep, findings_let_go
from levelwind.shop.finding.selectors import candidates, find
from levelwind.shop.models import Bill, Findable, Job, Owner, Part, Sending
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    owner = Owner.objects.create(name="Bram Quillane", phone="+44 (0)20 7946-0123", email="bram@quay.example")
    made = a_job(
        "26-0147",
        owner=owner,
        serial="SN 88-12",
        complaint="The drag slips, then it's \\new\\ again",
        pattern=a_pattern(),
    )
    made.parcel.tracking = "AB 1234 5678"
    made.parcel.save()
    Sending.objects.create(job=made, tracking="ZX-99001")
    Part.objects.create(number="T-114", name="Drag washer", kind="friction")
    Bill.objects.create(owner=owner, job=made, number="B26-0031")
    return made


def found(words: str) -> list[tuple[str, str]]:
    return [(one.kind, ", ".join(one.why)) for one in find(words).answers]


def test_by_every_number_and_word_and_it_says_which(job: Job) -> None:
    tracking = "tracking number of the way"
    assert found("26-0147") == [("job", "tag number")]
    assert found("88-12") == [("job", "serial number")]
    assert found("bram@quay") == [("owner", "e-mail"), ("job", "e-mail")]
    assert found("AB12345678") == found("ab 1234 5678") == [("job", f"{tracking} in")]
    assert found("zx-99001") == [("job", f"{tracking} home")]
    assert found("B26-0031") == [("bill", "bill number")]
    assert found("t-114") == [("part", "part number")]
    assert found("quillane slips") == [("job", "owner, complaint")]
    assert found("drag") == [("part", "name"), ("job", "complaint")]
    assert found("sn 88") == [("job", "serial number")]
    assert found("quillane moon") == found("§jo") == found('"') == found("100%") == found("") == found("\0") == []


@pytest.mark.parametrize(
    "typed", ["02079460123", "+44 20 7946 0123", "0044 20 79460123", "7946 0123", "(020) 7946-0123"]
)
def test_a_telephone_by_its_digits(job: Job, typed: str) -> None:
    assert found(typed)[0] == ("owner", "telephone")
    assert {kind for kind, _ in found(typed)} == {"owner", "job"}


@pytest.mark.parametrize("typed", ["Quilane", "qiullane", "quillanne", "qullane", "slisp quillane", "drga wahser"])
def test_a_slip_of_the_finger_is_forgiven_and_said(job: Job, typed: str) -> None:
    answer = find(typed)
    assert answer.answers and set(answer.read_as) & {"quillane", "slips", "drag", "washer"}


def test_what_is_changed_or_gone_is_found_no_more(job: Job) -> None:
    Owner.objects.filter(pk=job.owner_id).update(name="Tove Aldersund")
    assert found("quillane") == [] and [kind for kind, _ in found("aldersund")] == ["owner", "job", "bill"]
    job.pattern.model = "Sextant"
    job.pattern.save()
    assert sorted(found("sextant")) == [("job", "pattern"), ("pattern", "pattern")]
    Sending.objects.all().delete()
    assert found("zx-99001") == []
    Job.objects.filter(pk=job.pk).update(complaint="Clicks")
    Part.objects.all().delete()
    assert found("drag") == []


def test_a_book_of_before_is_filled_and_a_full_one_left(job: Job) -> None:
    before = set(Findable.objects.values_list("mark", "ref", "name", "phone"))
    findings_let_go()
    Job.objects.filter(pk=job.pk).update(serial="written meanwhile")
    findings_keep()
    assert set(Findable.objects.values_list("mark", "ref", "name", "phone")) == before
    assert found("meanwhile") == [("job", "serial number")]
    assert find("quilane").answers
    newest = Findable.objects.latest("pk").pk
    findings_keep()
    assert Findable.objects.latest("pk").pk == newest


def test_the_index_answers_and_no_table_is_read_through(job: Job) -> None:
    """SQLite's EXPLAIN QUERY PLAN; PostgreSQL takes an index by the table's size, so only that it can is held."""
    question, values = candidates([("quillane",), ("slips", "slip")])
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL enable_seqscan = off")
            where = question.partition("AND ")[2].partition(" ORDER")[0]
            cursor.execute("EXPLAIN SELECT * FROM shop_findable f WHERE " + where, values[1:4])  # noqa: S608
            assert "find_text" in str(cursor.fetchall())
        else:
            cursor.execute("EXPLAIN QUERY PLAN " + question, values)
            plan = "\n".join(row[3] for row in cursor.fetchall())
            assert plan.count("VIRTUAL TABLE INDEX") == 5
            assert not re.search(r"SCAN (f|shop_findable)\b", plan)
