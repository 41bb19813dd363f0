"""Whatever is sent to any address, the answer is a page or a sentence and never a fault."""

import re
from collections.abc import Iterator, Sequence
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from levelwind.shop.models import Stage
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db

KNOWN = {"tag": "26-0001", "moment": "left", "key": "main_gear", "step": "handle", "place": "main_gear", "kind": "pull"}
LONG, VAST = "x" * 5000, "9" * 300
ODD = {
    **dict.fromkeys(("number", "count", "pk", "minutes", "part"), VAST),
    **dict.fromkeys(("what", "text", "name", "why"), LONG),
    **dict.fromkeys(("do", "act", "stage", "turn", "fate"), "moon"),
    **{"then": "//elsewhere", "amount": "1e999", "at": "nan", "place": "\x00", "sum": "٣"},
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
