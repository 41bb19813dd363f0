"""Stock and balances as the triggers keep them, against the ledgers added up; and what `prove` says otherwise."""

from datetime import timedelta

import pytest
from django.db import connection
from django.db.models import F, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.book.services.asked import InAFile
from levelwind.shop.book.services.soundness import _sums
from levelwind.shop.models import Balance, MoneyEntry, Owner, Part, PartOrder, PartStock, StockEntry
from levelwind.shop.parts.selectors.shelf import part_list
from levelwind.shop.people.selectors import debt_list
from levelwind.shop.sums import sums_keep, sums_let_go
from tests.jobs import a_job

pytestmark = pytest.mark.django_db


def stock_by_ledger() -> dict[int, tuple[int, int, int, int]]:
    """New, second-hand, both, on order: of each part, added up here."""
    found = {}
    for part in Part.objects.all():
        changes = [(entry.used, entry.change) for entry in part.entries.all()]
        new, used = (sum(change for second, change in changes if second is which) for which in (False, True))
        coming = sum(part.orders.filter(arrived_on=None).values_list("count", flat=True))
        found[part.pk] = (new, used, new + used, coming)
    return found


def stock_kept() -> dict[int, tuple[int, int, int, int]]:
    rows = PartStock.objects.values_list("part", "new", "used", "here", "on_order")
    return {part: (new, used, here, coming) for part, new, used, here, coming in rows}


def balances_by_ledger() -> dict[int, int]:
    owed = MoneyEntry.objects.annotate(whose=Coalesce("owner", "job__owner")).order_by().values("whose")
    sums = dict(owed.annotate(owes=Sum("amount_minor")).values_list("whose", "owes"))
    return {pk: sums.get(pk, 0) for pk in Owner.objects.values_list("pk", flat=True)}


def balances_kept() -> dict[int, int]:
    return dict(Balance.objects.values_list("owner", "owes_minor"))


def test_the_stock_kept_is_the_ledgers_through_all_that_moves_it() -> None:
    washer, screw = Part.objects.bulk_create([Part(number="W-1", keep_at_least=3), Part(number="S-1")])
    assert stock_kept() == {washer.pk: (0, 0, 0, 0), screw.pk: (0, 0, 0, 0)}
    for used, change, why in ((False, 5, "bought"), (True, 2, "donor"), (False, -3, "taken"), (True, -1, "thrown")):
        StockEntry.objects.create(part=washer, used=used, change=change, why=why)
        assert stock_kept() == stock_by_ledger()
    assert [part.number for part in part_list(view="here")] == ["W-1"] and not part_list(view="short")
    StockEntry.objects.create(part=washer, change=-1, why="taken")
    assert [(part.number, part.new, part.used, part.here) for part in part_list(view="short")] == [("W-1", 1, 1, 2)]
    Part.objects.filter(pk=washer.pk).update(keep_at_least=2)
    assert not part_list(view="short")
    order = PartOrder.objects.create(part=screw, count=4)
    PartOrder.objects.create(part=screw, count=1)
    assert stock_kept()[screw.pk] == (0, 0, 0, 5) and [part.number for part in part_list(view="order")] == ["S-1"]
    PartOrder.objects.filter(pk=order.pk).update(count=F("count") + 3, part=washer)
    assert stock_kept() == stock_by_ledger() and stock_kept()[washer.pk][3] == 7
    PartOrder.objects.filter(pk=order.pk).update(arrived_on=timezone.localdate())
    assert stock_kept() == stock_by_ledger()
    PartOrder.objects.filter(pk=order.pk).update(arrived_on=None)
    PartOrder.objects.filter(part=washer).delete()
    assert stock_kept() == stock_by_ledger()
    PartOrder.objects.filter(part=screw).delete()
    screw.delete()
    assert list(stock_kept()) == [washer.pk]


def test_the_balance_kept_is_the_ledgers_also_where_a_job_turns_out_to_be_somebody_elses() -> None:
    job, other = a_job(), Owner.objects.create(name="Bo Tarn")
    MoneyEntry.objects.create(job=job, kind="charge", text="work", amount_minor=6000)
    MoneyEntry.objects.create(owner=other, kind="payment", text="paid ahead", amount_minor=-900)
    assert balances_kept() == balances_by_ledger() == {job.owner_id: 6000, other.pk: -900}
    assert [(debt.owner, debt.owes_minor) for debt in debt_list()] == [(job.owner, 6000), (other, -900)]
    type(job).objects.filter(pk=job.pk).update(owner=other)
    assert balances_kept() == balances_by_ledger() == {job.owner_id: 0, other.pk: 5100}
    Owner.objects.filter(pk=job.owner_id).update(merged_into=other)
    assert [(debt.owner, debt.owes_minor) for debt in debt_list()] == [(other, 5100)]


def test_an_older_book_gets_its_sums_and_prove_holds_them_to_the_ledgers() -> None:
    sums_let_go()
    part, job = Part.objects.create(number="W-1", keep_at_least=1), a_job()
    StockEntry.objects.create(part=part, change=4, why="bought", at=timezone.now() - timedelta(days=9))
    PartOrder.objects.create(part=part, count=2)
    MoneyEntry.objects.create(job=job, kind="charge", text="work", amount_minor=6000)
    sums_keep()
    assert stock_kept() == stock_by_ledger() == {part.pk: (4, 0, 4, 2)}
    assert balances_kept() == balances_by_ledger() == {job.owner_id: 6000}
    sums_keep()
    StockEntry.objects.create(part=part, change=1, why="bought")
    assert stock_kept() == stock_by_ledger()
    if connection.vendor != "sqlite":
        return
    book = connection.connection
    _sums(InAFile(book), "the shop")
    for model, changed, said in (
        (PartStock, {"here": 9}, "the stock of a part kept otherwise than its ledger has it: W-1"),
        (PartStock, {"on_order": 9}, "a part with another count on order than its orders come to: W-1"),
        (Balance, {"owes_minor": 9}, "an owner's balance kept otherwise than the money ledger has it: Ansa Vell"),
    ):
        before = model.objects.values(*changed).get()
        model.objects.update(**changed)
        with pytest.raises(LevelwindError, match=said):
            _sums(InAFile(book), "the shop")
        model.objects.update(**before)
    _sums(InAFile(book), "the shop")
