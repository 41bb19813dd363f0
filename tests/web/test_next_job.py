"""Which job next, as the bench says it; and what is put aside for a day."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.core import supply
from levelwind.shop.models import Job, Owner, Parcel, Stage
from levelwind.shop.money import foretold, next_job
from levelwind.shop.people.services import hours_keep
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


def test_the_bench_says_which_job_next_and_why_and_one_press_puts_it_aside(client: Client) -> None:
    """Three reels alike, the second from the crate of the fourth; the first is promised for today, and one waits."""
    today = timezone.localdate()
    one, two = (Parcel.objects.create(owner=Owner.objects.create(name=name)) for name in ("Ansa Vell", "Bo Tarrin"))
    alike = {"stage": Stage.APART, "pattern": a_pattern()}
    for tag, parcel, days in (("26-0001", one, 1), ("26-0002", two, 30), ("26-0003", one, 31)):
        a_job(tag, owner=parcel.owner, parcel=parcel, promised_on=today + timedelta(days=days), **alike)
    a_job("26-0004", owner=one.owner, parcel=one, turn="owner", stage=Stage.PRICE_SENT)

    def said(answer: object) -> str:
        return " ".join(answer.content.decode().split())  # type: ignore[attr-defined]

    asked = {"hx-request": "true"}
    assert 'hx-get="/next/"' in said(client.get("/")) and 'hx-get="/next/"' not in said(client.get("/?turn=mine"))
    assert "Enter your hours at the bench" in said(client.get("/next/", headers=asked))
    hours_keep(hours=[4] * 7)
    words = said(client.get("/next/", headers=asked))
    assert "<html" not in words and "26-0004" not in words
    next_one, then = words.split("Then ")
    assert "26-0001" in next_one and ">Renew and put together</a>" in then
    assert then.index("26-0003") < then.index("26-0002") and "(from the same crate)" in then
    assert "(the same kind of reel)" in then
    for _ in range(2):  # pressed twice
        words = said(client.post("/next/aside/", {"tag": "26-0001"}, headers=asked))
    assert "1 put aside for today" in words and words.index("26-0003") and "26-0001" not in words
    assert client.post("/next/aside/", {"tag": "26-0003"}).headers["Location"] == "/"
    client.post("/next/aside/", {"tag": "26-0002"})
    assert "3 put aside for today" in said(client.get("/next/")) and "Next:" not in said(client.get("/next/"))
    client.post("/next/aside/", {})
    assert "26-0001" in said(client.get("/next/")) and "put aside" not in said(client.get("/next/"))
    Job.objects.update(turn="owner")
    assert "Nothing is waiting for you" in said(client.get("/next/"))
    assert 'hx-get="/next/"' not in said(client.get("/"))


def test_futures_and_turns_are_played_once_while_the_bench_stands_as_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    hours_keep(hours=[4] * 7)
    job, played = a_job(stage=Stage.APART, pattern=a_pattern(), promised_on=timezone.localdate()), list[str]()
    foretold._futures.cache_clear()
    next_job._turns.cache_clear()

    def watched(name: str) -> None:
        real = getattr(supply, name)
        monkeypatch.setattr(supply, name, lambda *given: (played.append(name), real(*given))[1])

    watched("futures")
    watched("turns")
    for urgent, times in ((False, 1), (True, 2)):
        Job.objects.update(urgent=urgent)
        for _ in range(2):
            assert next_job.next_job() and foretold.foretold(job)
        assert sorted(played) == times * ["futures"] + times * ["turns"]
