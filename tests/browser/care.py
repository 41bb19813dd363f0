"""What holds on every page: nothing sideways, axe finds nothing, every target can be hit with a thumb."""

import json

from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import Seat

RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}


def take_care(seat: Seat) -> None:
    """Raise AssertionError where the open page scrolls sideways or breaks WCAG 2.2 AA as far as axe can tell."""
    page = seat.page
    sideways = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert sideways <= 0, f"{page.url} is {sideways} px wider than a {seat.size}"
    found = Axe().run(page, options=RULES).response["violations"]
    told = [(rule["id"], [node["target"] for node in rule["nodes"]][:4], rule["help"]) for rule in found]
    assert not told, f"{page.url} on a {seat.size}: {json.dumps(told, indent=1)}"
