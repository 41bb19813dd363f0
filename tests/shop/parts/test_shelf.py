"""The shelf: counts are sums of the ledger, never fewer than none, and what was taken goes back no more than once."""

from threading import Barrier, Thread

import pytest
from django.db import DatabaseError, connection, transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.finding.selectors import find
from levelwind.shop.models import Part, StockEntry
from levelwind.shop.parts.selectors.shelf import Stock, part_entries, part_get, part_list, stock_of, washers
from levelwind.shop.parts.services.orders import part_order_add
from levelwind.shop.parts.services.shelf import (
    part_add,
    stock_bought,
    stock_counted,
    stock_from_donor,
    stock_put_back,
    stock_take,
    stock_thrown_away,
)
from tests.emptied import emptied_afterwards, triggers_back
from tests.jobs import a_job

__all__ = ["emptied_afterwards", "triggers_back"]


@pytest.fixture
def part(db: None) -> Part:
    return part_add(number="T-17", name="drag washer", kind="friction_washer", spot="drawer 4", count=3)


def test_a_new_part_is_counted_as_it_is_entered(part: Part) -> None:
    assert stock_of(part) == Stock(new=3, used=0)
    assert part.entries.get().why == "counted"


@pytest.mark.parametrize(("number", "name"), [("", "washer"), ("T-18", "  ")])
@pytest.mark.django_db
def test_a_part_needs_number_and_name(number: str, name: str) -> None:
    with pytest.raises(LevelwindError, match="a number and a name"):
        part_add(number=number, name=name)


def test_a_number_is_given_once(part: Part) -> None:
    with pytest.raises(LevelwindError, match="t-17 already"):
        part_add(number=" t-17 ", name="another")


def test_new_and_second_hand_are_kept_apart(part: Part) -> None:
    stock_bought(part=part, count=4, unit_cost_minor=120)
    stock_from_donor(part=part, count=2, note="off a dead reel")
    stock_thrown_away(part=part, count=1, used=True)
    assert stock_of(part) == Stock(new=7, used=1)


def test_bought_parts_cost_what_the_part_costs_unless_it_is_said(part: Part) -> None:
    part.cost_minor = 90
    assert stock_bought(part=part, count=1).unit_cost_minor == 90
    assert stock_bought(part=part, count=1, unit_cost_minor=0).unit_cost_minor == 0


def test_a_count_enters_the_difference_and_nothing_where_the_book_was_right(part: Part) -> None:
    entry = stock_counted(part=part, count=1)
    assert entry is not None and entry.change == -2
    assert stock_counted(part=part, count=1) is None
    assert stock_counted(part=part, count=2, used=True) is not None
    assert stock_of(part) == Stock(new=1, used=2)


@pytest.mark.parametrize("count", [0, -1, 10_001])
def test_an_absurd_count_is_refused(part: Part, count: int) -> None:
    with pytest.raises(InputError, match=f"count was {count}"):
        stock_bought(part=part, count=count)


def test_no_more_is_taken_than_there_is(part: Part) -> None:
    job = a_job()
    with pytest.raises(LevelwindError, match="Only 3 new of T-17 drag washer on the shelf, and 4 wanted"):
        stock_take(part=part, job=job, count=4)
    with pytest.raises(LevelwindError, match="No second-hand T-17 drag washer is left"):
        stock_take(part=part, job=job, used=True)
    with pytest.raises(LevelwindError, match="Only 3 new"):
        stock_thrown_away(part=part, count=5)
    assert stock_of(part) == Stock(new=3, used=0)
    assert not job.events.exists()


def test_what_was_taken_goes_back_once(part: Part) -> None:
    taken = stock_take(part=part, job=a_job(), count=2)
    stock_put_back(taken=taken, count=1)
    stock_put_back(taken=taken)
    assert stock_of(part).new == 3
    with pytest.raises(LevelwindError, match="0 of T-17 can be put back"):
        stock_put_back(taken=taken)


def test_what_was_bought_is_not_put_back(part: Part) -> None:
    with pytest.raises(LevelwindError, match="can be put back"):
        stock_put_back(taken=stock_bought(part=part, count=1), count=1)


def test_taking_is_written_in_the_jobs_history(part: Part) -> None:
    job = a_job()
    stock_take(part=part, job=job, count=2, by="Ansa")
    event = job.events.get()
    assert event.text == "2 × T-17 drag washer taken from the shelf." and event.by == "Ansa"


def test_the_ledger_says_how_many_there_were_after_each_entry(part: Part) -> None:
    stock_bought(part=part, count=4)
    stock_from_donor(part=part, count=2)
    stock_thrown_away(part=part, count=5)
    assert [vars(row)["after"] for row in part_entries(part)] == [2, 2, 7, 3]


@pytest.mark.parametrize("sql", ["UPDATE shop_stockentry SET change = 9", "DELETE FROM shop_stockentry"])
def test_the_database_itself_refuses_to_edit_the_ledger(part: Part, sql: str) -> None:
    with pytest.raises(DatabaseError, match="never edited or taken away"), transaction.atomic():
        connection.cursor().execute(sql)
    assert StockEntry.objects.get().change == 3


def test_an_entry_is_neither_edited_nor_taken_away(part: Part) -> None:
    entry = part.entries.get()
    entry.change = 9
    with pytest.raises(LevelwindError, match="never edited"):
        entry.save()
    with pytest.raises(LevelwindError, match="never taken away"):
        entry.delete()


def test_two_people_after_the_last_one(emptied_afterwards: None) -> None:
    """The one who comes second is refused in words, and the shelf does not go under none."""
    part, jobs = part_add(number="T-1", name="dog", count=1), [a_job("26-0001"), a_job("26-0002")]
    together, said = Barrier(2), []

    def take(tag: int) -> None:
        together.wait()
        try:
            stock_take(part=part, job=jobs[tag])
            said.append("taken")
        except LevelwindError as refusal:
            said.append(str(refusal))
        finally:
            connection.close()

    hands = [Thread(target=take, args=(tag,)) for tag in (0, 1)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    assert sorted(said) == ["No new T-1 dog is left on the shelf: nothing was taken.", "taken"]
    assert stock_of(part) == Stock(new=0, used=0)


def test_the_list_counts_new_second_hand_and_on_order(part: Part) -> None:
    stock_from_donor(part=part, count=2)
    part_order_add(part=part, count=5)
    part_order_add(part=part, count=1)
    row = vars(part_get(part.pk))
    assert (row["new"], row["used"], row["here"], row["on_order"]) == (3, 2, 5, 6)


def test_views_and_search(part: Part) -> None:
    dog = part_add(number="D-1", name="dog", kind="dog")
    dog.keep_at_least = 2
    dog.save()
    part_order_add(part=dog)
    assert list(part_list(words="washer drawer")) == [part]
    assert list(part_list(view="short")) == list(part_list(view="order")) == [dog]
    assert list(part_list(view="here")) == washers(("friction_washer",)) == [part]
    assert not part_list(words="washer dog")
    assert list(part_list(words="DRAWER")) == list(part_list(words="wa dr")) == [part]
    assert not part_list(words="w%er") and not part_list(words='dr"wer') and not part_list(words="dra\0wer OR dog")
    Part.objects.filter(pk=part.pk).update(spot="tin 3", material="cork 50%")
    assert list(part_list(words="tin 50%")) == [part] and not part_list(words="drawer")
    assert not find("cork").answers and find("washer").answers
