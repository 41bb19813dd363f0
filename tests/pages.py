"""What a browser without JavaScript would send back from a page: every field as drawn, some typed into."""

import re
from html.parser import HTMLParser
from typing import Any


class _Fields(HTMLParser):
    """The successful controls of every form of a page (HTML Standard, 4.10.22.4), buttons and files left out."""

    def __init__(self) -> None:
        super().__init__()
        self.fields: dict[str, str] = {}
        self._select = self._area = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        name = said.get("name") or ""
        if tag == "input" and name and said.get("type") not in ("file", "submit", "search"):
            if said.get("type") not in ("checkbox", "radio") or "checked" in said:
                self.fields[name] = said.get("value") or ""
        elif tag == "select":
            self._select = name
            self.fields[name] = ""
        elif tag == "option" and self._select and "selected" in said:
            self.fields[self._select] = said.get("value") or ""
        elif tag == "textarea":
            self._area = name
            self.fields[name] = ""

    def handle_endtag(self, tag: str) -> None:
        self._select = "" if tag == "select" else self._select
        self._area = "" if tag == "textarea" else self._area

    def handle_data(self, data: str) -> None:
        if self._area:
            self.fields[self._area] += data


def typed_into(answer: Any, **typed: str) -> dict[str, str]:
    """The page's fields with ``typed`` in place of some; a name with a hyphen is written with two underscores."""
    reader = _Fields()
    reader.feed(answer.content.decode())
    fields = {name: text.removeprefix("\n") for name, text in reader.fields.items()}
    return fields | {name.replace("__", "-"): text for name, text in typed.items()}


def last_press(page: str) -> str:
    """The press of a job's page that takes back what was done last."""
    found = re.search(r'name="press" value="([^"]+)"', page)
    assert found, "nothing to take back"
    return found[1]
