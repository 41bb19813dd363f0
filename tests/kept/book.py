"""The kept book, unpacked and opened, and what a person sees on its pages and papers."""

import html
import json
import re
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import typst
from django.core.management import call_command
from django.db import connection
from django.test import Client, override_settings

KEPT = Path(__file__).parent
UNSEEN = re.compile(r"<(script|style|svg|template)\b.*?</\1>|<[^>]*>", re.DOTALL)
NUMBER = r"[-−]?\d[\d,]*(?:\.\d+)?"
UNIT = r"(?:lbf|kgf|gf|ozf|N m|mN m|N|mm|rev/s²|rev/s|per s|per rev|s|%|g|lb)(?![\w²/])"
FIGURE = re.compile(rf"\${NUMBER}|{NUMBER}(?: \([^()]*\))?(?:[  ]to[  ]{NUMBER})?[  ]?{UNIT}")
ALL_WORDS = b'#show text: it => [#it#metadata(it.text)]\n#include "paper.typ"'


def unpack(folder: Path) -> Path:
    """The kept backup, made by the old version's own ``levelwind backup``."""
    with tarfile.open(KEPT / "book.tar.xz") as kept:
        kept.extractall(folder, filter="data")
    return folder


@contextmanager
def opened(backup: Path) -> Iterator[None]:
    """The book as this version has it, its tables brought up to date; the test run's own book waits meanwhile."""
    own = connection.settings_dict["NAME"]
    connection.close()
    connection.settings_dict["NAME"] = str(backup / "book.sqlite3")
    try:
        with override_settings(MEDIA_ROOT=backup / "media"):
            call_command("migrate", verbosity=0, interactive=False)
            yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = own


def figures(text: str) -> list[str]:
    """Every sum and every number with a unit in it, once, in order."""
    words = " ".join(html.unescape(UNSEEN.sub(" ", text)).split())
    return list(dict.fromkeys(FIGURE.findall(words)))


class Reader:
    """Opens addresses as a browser would, and reads papers by the words that typst is given to print."""

    def __init__(self) -> None:
        self._client = Client()
        self._compile = typst.compile
        self._words: list[str] = []

    def read(self, address: str) -> dict[str, Any]:
        """The status, and the figures of a page or a paper or all of an answer in JSON."""
        self._words = []
        typst.compile = self._printed
        try:
            answer = self._client.get(address)
        finally:
            typst.compile = self._compile
        body = b"".join(answer.streaming_content) if answer.streaming else answer.content  # type: ignore[attr-defined]
        kind = answer.headers.get("Content-Type", "").partition(";")[0]
        seen: dict[str, Any] = {"status": answer.status_code, "type": kind}
        if kind == "text/html":
            seen["figures"] = figures(body.decode())
        elif kind == "application/pdf":
            assert body.startswith(b"%PDF"), address
            seen["figures"] = figures(" ".join(self._words))
        elif kind == "application/json":
            seen["json"] = json.loads(body)
        else:
            seen["bytes"] = len(body)
        return seen

    def _printed(self, files: dict[str, bytes], **how: Any) -> Any:
        marked = {**files, "paper.typ": files["main.typ"], "main.typ": ALL_WORDS}
        runs = json.loads(typst.query(marked, "metadata", field="value", font_paths=how["font_paths"]))
        self._words += [run for run in runs if isinstance(run, str)]
        return self._compile(files, **how)
