"""The plan of the invented shop: its clock, its names and addresses, the order its stories are told in."""

import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from random import Random

import pytest
from django.utils import timezone

from levelwind.core.hunches import pointed_to
from levelwind.demo.before import NOT_SEEN_SINCE
from levelwind.demo.clock import scripted_clock
from levelwind.demo.names import SHOP
from levelwind.demo.owners import KEEPERS, phone
from levelwind.demo.parts import ITEMS
from levelwind.demo.patterns import BY_CODE, COMMON, KINDS, LATELY, SELDOM
from levelwind.demo.stays import CURRENT, past
from levelwind.demo.teller import Story, Teller
from levelwind.demo.troubles import TROUBLES, Trouble
from levelwind.reference.families import families, family
from levelwind.reference.faults import load_net
from levelwind.shop.models import Stage

RESERVED = re.compile(r"[a-z.'-]+@example\.(com|org)")
"""Second-level domains reserved for examples: RFC 2606, section 3."""

FICTIONAL = re.compile(r"555-01\d\d")
"""The hundred numbers kept for fiction in the North American numbering plan."""


def test_the_scripted_clock_is_what_django_asks_and_only_meanwhile() -> None:
    with scripted_clock() as clock:
        clock.now = clock.moment(100, 9)
        assert timezone.now() == clock.now
        assert timezone.localdate() == clock.today - timedelta(days=100)
    assert abs(timezone.now() - datetime.now(tz=timezone.get_current_timezone())) < timedelta(minutes=1)


def test_the_real_clock_is_back_even_after_a_fault() -> None:
    with pytest.raises(ZeroDivisionError), scripted_clock() as clock:
        clock.now = clock.moment(100)
        raise ZeroDivisionError
    assert timezone.now().date() >= clock.today


def test_stories_are_told_in_the_order_of_time_and_none_goes_beyond_the_end() -> None:
    told: list[tuple[str, datetime]] = []

    def story(name: str, days: tuple[int, ...]) -> Story:
        for day in days:
            yield clock.moment(day)
            told.append((name, timezone.now()))

    with scripted_clock() as clock:
        teller = Teller(clock)
        teller.begin(story("first", (9, 3, 0)))
        teller.begin(story("second", (5, 1)))
        teller.tell()
    assert [name for name, _ in told] == ["first", "second", "first", "second"]
    assert told == sorted(told, key=lambda one: one[1])
    assert told[-1][1] <= clock.end < timezone.now()


def test_a_story_may_begin_others() -> None:
    told: list[str] = []

    def child(moment: datetime) -> Iterator[datetime]:
        yield moment
        told.append("child")

    def parent() -> Iterator[datetime]:
        yield clock.moment(5)
        teller.begin(child(clock.moment(4)))
        yield clock.moment(3)
        told.append("parent")

    with scripted_clock() as clock:
        teller = Teller(clock)
        teller.begin(parent())
        teller.tell()
    assert told == ["child", "parent"]


def test_the_same_seed_gives_the_same_year_and_another_gives_another() -> None:
    assert past(Random(1)) == past(Random(1))
    assert past(Random(1)) != past(Random(2))


def test_every_address_and_number_is_one_that_cannot_be_real() -> None:
    owners = (*KEEPERS, *NOT_SEEN_SINCE)
    addresses = [keeper.email for keeper in owners] + [str(SHOP["email"])]
    numbers = [phone(number) for number in range(len(owners))] + [str(SHOP["phone"])]
    assert [address for address in addresses if not RESERVED.fullmatch(address)] == []
    assert [number for number in numbers if not FICTIONAL.fullmatch(number)] == []
    assert len(set(numbers)) == len(numbers) and len(set(addresses)) == len(addresses)


def test_the_book_holds_what_was_asked_for() -> None:
    assert 40 <= len(KEEPERS) <= 45
    assert 18 <= len(COMMON) <= 25 and len({kind.maker for kind in KINDS}) >= 6
    assert {kind.family for kind in COMMON} == {"star_drag", "fixed_spool", "fixed_spool_vintage"}
    assert sorted(kind.family for kind in (*SELDOM, *LATELY)) == sorted(set(families()) - {"star_drag", "fixed_spool"})
    assert {kind.code for kind in KINDS} == {
        stay.code for arrival in (*past(Random(1)), *CURRENT) for stay in arrival.stays
    }
    assert len(ITEMS) >= 80
    assert sum(len(arrival.stays) for arrival in CURRENT) == 74
    assert [len(arrival.stays) for arrival in CURRENT if arrival.owner == "saltfern"] == [12]
    assert {stay.until for arrival in CURRENT for stay in arrival.stays} == set(Stage) - {Stage.SOLD}


@pytest.mark.parametrize("what", TROUBLES, ids=lambda what: f"{what.family} {what.key}")
def test_a_trouble_speaks_of_places_and_findings_there_are(what: Trouble) -> None:
    kin, net = family(what.family), load_net(what.family)
    findings = {finding.key for finding in net.findings}
    assert {*what.there, *what.not_there, *what.inside} <= findings
    assert {*what.reach, *(place for place, _ in what.worn)} <= {place.key for place in kin.places}
    assert set(what.only) <= set(BY_CODE)
    if what.key != "service":
        understood = sum(bool(pointed_to(net, words)) for words in what.words)
        assert understood >= len(what.words) - 1, "the owner's words should mostly be words the hunches know"
