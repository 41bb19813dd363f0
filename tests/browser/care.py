"""What holds on every page: light, nothing sideways, axe finds nothing, every target can be hit with a thumb."""

import json

from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import Seat
from tests.full_size import cases

RULES = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
SCHEMES = {"phone": cases(("light",), ("light", "dark")), "desktop": cases(("dark",), ("light", "dark"))}
"""In which colours a page is looked at: to judge them is most of axe's work, and they do not go by the page's size."""
MOST_BYTES = 150_000
"""Of a page as it is written; and of it with all it is drawn with, pictures left out, as sent."""
CARRIES = """() => {
  const page = performance.getEntriesByType("navigation")[0];
  const drawn = performance.getEntriesByType("resource").filter((one) => /[.](css|js|woff2)$/.test(one.name));
  return [page.decodedBodySize, drawn.reduce((sum, one) => sum + one.encodedBodySize, page.encodedBodySize),
    document.querySelectorAll("link[rel=stylesheet]").length, document.querySelectorAll("script").length];
}"""
"""How large the page is, how much is sent for it, how many style sheets and how many scripts it asks for."""
ASK = """async (options) => {
  const bars = [...document.querySelectorAll(".act")];
  for (const bar of bars) bar.style.position = "static";
  const answer = await axe.run(options);
  for (const bar of bars) bar.style.position = "";
  return answer.violations;
}"""
"""The bar of buttons lies at its own place meanwhile: what is half under it is not small, it is scrolled to."""


def take_care(seat: Seat, *, colours: bool = True) -> None:
    """Raise AssertionError where the open page scrolls sideways or breaks WCAG 2.2 AA as far as axe can tell.

    Whether colours stand out is most of axe's work: it can be left to other pages of the same style sheet.
    """
    page = seat.page
    sideways = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    size, sent, sheets, scripts = page.evaluate(CARRIES)
    told = f"{page.url}: {size} bytes, {sent} sent, {sheets} and {scripts}"
    assert size < MOST_BYTES and sent < MOST_BYTES and (sheets, scripts) == (1, 2), told
    assert sideways <= 0, f"{page.url} is {sideways} px wider than a {seat.size}"
    page.evaluate(Axe().axe_script)
    found = page.evaluate(
        ASK, {"runOnly": RULES, "resultTypes": ["violations"], "rules": {"color-contrast": {"enabled": colours}}}
    )
    told = [(rule["id"], [node["target"] for node in rule["nodes"]][:4], rule["help"]) for rule in found]
    assert not told, f"{page.url} on a {seat.size}: {json.dumps(told, indent=1)}"


def take_care_in_colours(seat: Seat, *, colours: bool = True) -> None:
    for scheme in SCHEMES[seat.size]:
        seat.page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # no colour is caught half way
        take_care(seat, colours=colours)
    seat.page.emulate_media(color_scheme="light", reduced_motion="no-preference")
    if seat.size == "phone":
        reflows(seat)


def reflows(seat: Seat) -> None:
    """At 320 px, a desktop's page drawn four times as large, nothing scrolls sideways (WCAG 2.2, 1.4.10)."""
    page, was = seat.page, seat.page.viewport_size
    assert was
    page.set_viewport_size({"width": 320, "height": 640})
    sideways = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    page.set_viewport_size(was)
    assert sideways <= 0, f"{page.url} is {sideways} px wider than 320 px"
