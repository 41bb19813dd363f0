"""The docs as a site under Help: every link on every page leads somewhere, and the app serves it."""

from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from django.test import Client

from levelwind.web.help import views

ROOT = Path(__file__).parents[2]


class Links(HTMLParser):
    """The addresses a page loads or leads to, and the places on it that can be led to."""

    def __init__(self, page: Path) -> None:
        super().__init__()
        self.leads: list[str] = []
        self.places: set[str] = set()
        self.feed(page.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        self.places.add(told.get("id") or "")
        self.leads += [lead for name in ("href", "src") if (lead := told.get(name))]


def test_every_page_is_built_and_every_link_leads_somewhere() -> None:
    pages = {page: Links(page) for page in views.SITE.rglob("*.html")}
    written = {path.relative_to(ROOT / "docs").with_suffix("") for path in (ROOT / "docs").rglob("*.md")}
    assert written <= {page.relative_to(views.SITE).with_suffix("") for page in pages}, "make docs builds the site anew"
    elsewhere, nowhere = set[str](), list[str]()
    for page, links in pages.items():
        for lead in links.leads:
            parts = urlsplit(lead)
            if parts.scheme or lead.startswith("/"):
                elsewhere.add(lead)
                continue
            to = (page.parent / unquote(parts.path)).resolve() if parts.path else page
            if not to.is_file() or (to in pages and parts.fragment and parts.fragment not in pages[to].places):
                nowhere.append(f"{page.relative_to(views.SITE)}: {lead}")
    assert not nowhere
    assert elsewhere == {"/"}, "the help leads to the bench, and to nobody else's site"


@pytest.mark.django_db
def test_the_app_serves_it(client: Client, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert '<a href="/help/">Help</a>' in client.get("/").content.decode()
    answer = client.get("/help/")
    assert b"Begin with" in b"".join(answer) and "script-src 'self'" in answer["Content-Security-Policy"]
    assert client.get("/help/how-to/measure-a-reel.html").status_code == 200
    assert client.get("/help/nothing.html").status_code == 404
    assert client.get("/help/..%2f..%2fviews.py").status_code == 400
    monkeypatch.setattr(views, "SITE", tmp_path)
    answer = client.get("/help/")
    assert answer.status_code == 404 and "“make docs” builds it" in answer.content.decode()
