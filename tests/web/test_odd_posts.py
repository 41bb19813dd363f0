"""Whatever is sent to any address, the answer is a page or a sentence and never a fault."""

import errno
import re
from collections.abc import Iterator, Sequence
from typing import Any
from unittest.mock import Mock

import pytest
from django.db.utils import OperationalError
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from levelwind.shop.models import BoneReel, Part, PartOrder, PlaceLimit, Stage
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db

KNOWN = {"tag": "26-0001", "moment": "left", "key": "main_gear", "step": "handle", "place": "main_gear", "kind": "pull"}
LONG, VAST = "x" * 5000, "9" * 300
ODD = {
    **dict.fromkeys(("number", "count", "pk", "minutes", "part"), VAST),
    **dict.fromkeys(("what", "text", "name", "why"), LONG),
    **dict.fromkeys(("do", "act", "stage", "turn", "fate"), "moon"),
    **{
        "then": "//elsewhere",
        "back": "moon",
        "line": VAST,
        "amount": "1e999",
        "at": "nan",
        "place": "\x00",
        "sum": "٣",
    },
}


def addresses(patterns: Sequence[URLPattern | URLResolver], before: str = "/") -> Iterator[str]:
    for pattern in patterns:
        path = before + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from addresses(pattern.url_patterns, path)
        else:
            yield re.sub(r"<(?:(\w+):)?(\w+)>", lambda m: "1" if m[1] == "int" else KNOWN.get(m[2], "x"), path)


@pytest.mark.parametrize("sent", [{}, ODD], ids=["nothing", "oddities"])
def test_no_address_fails_at_what_is_sent_to_it(sent: dict[str, Any]) -> None:
    a_job(pattern=a_pattern(), stage=Stage.APART)
    client = Client(raise_request_exception=False)
    paths = list(addresses(get_resolver().url_patterns))
    assert len(paths) > 80
    assert [path for path in paths if client.post(path, sent).status_code >= 500] == []


@pytest.mark.parametrize("then", ["moon", "//elsewhere.example/", "javascript:alert(1)", VAST])
def test_a_button_pressed_from_nowhere_leads_to_the_list(client: Client, then: str) -> None:
    order = PartOrder.objects.create(part=Part.objects.create(number="B-7", name="bearing"))
    answer = client.post(f"/shelf/orders/{order.pk}/arrived/", {"then": then})
    assert (answer.status_code, answer.headers["Location"]) == (302, "/shelf/orders/")


@pytest.mark.parametrize("count", ["0" * 12 + "9" * 30, VAST * 20, "-1", "one"])
def test_a_count_that_is_no_count_is_refused_in_words(client: Client, count: str) -> None:
    part, bone = Part.objects.create(number="B-7", name="bearing"), BoneReel.objects.create(reel="Skerry 50")
    answer = client.post(f"/shelf/bone-box/{bone.pk}/strip/", {f"part-{part.pk}": count})
    assert answer.status_code == 422 and "can be a whole number from 0 to" in answer.content.decode()


def test_a_limit_that_cannot_be_is_refused_before_the_next_one_is_written(client: Client) -> None:
    pattern = a_pattern()
    sent = {"limit0-new_mm": "½", "limit1-new_mm": "2", "limit1-least_mm": "1"}
    answer = client.post(f"/patterns/{pattern.pk}/place/bridge_screws/limits/", sent)
    assert answer.status_code == 422 and not PlaceLimit.objects.exists()


def test_a_full_disk_is_called_so_and_a_fault_of_ours_is_not(monkeypatch: pytest.MonkeyPatch) -> None:
    client = Client(raise_request_exception=False)
    for error, status, said in (
        (OSError(errno.ENOSPC, "No space left on device"), 507, "The disk is full."),
        (OperationalError("database or disk is full"), 507, "The disk is full."),
        (OperationalError("no such table"), 500, "Levelwind itself failed here."),
    ):
        monkeypatch.setattr("levelwind.web.shelf.orders.part_orders_open", Mock(side_effect=error))
        answer = client.get("/shelf/orders/")
        assert answer.status_code == status and said in answer.content.decode()
