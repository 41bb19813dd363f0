"""What holds on every page: nothing sideways, axe finds nothing, every target can be hit with a thumb."""

import json
from typing import Any

from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import Seat

RULES = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}
OF_COLOUR = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}
"""Those of RULES that another colour scheme could break, by axe-core's list: nothing else of a page changes with it."""
ASK = "options => axe.run(options).then(answer => answer.violations)"


def take_care(seat: Seat) -> None:
    """Raise AssertionError where the open page scrolls sideways or breaks WCAG 2.2 AA as far as axe can tell."""
    seat.page.evaluate(Axe().axe_script)
    look(seat, RULES)


def take_care_in_both(seat: Seat) -> None:
    """In light by every rule, then in dark by those of colour, and back in light."""
    take_care(seat)
    seat.page.emulate_media(color_scheme="dark", reduced_motion="reduce")  # no colour is caught half way
    look(seat, OF_COLOUR)
    seat.page.emulate_media(color_scheme="light", reduced_motion="no-preference")


def look(seat: Seat, rules: dict[str, Any]) -> None:
    page = seat.page
    sideways = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert sideways <= 0, f"{page.url} is {sideways} px wider than a {seat.size}"
    found = page.evaluate(ASK, {"runOnly": rules, "resultTypes": ["violations"]})
    told = [(rule["id"], [node["target"] for node in rule["nodes"]][:4], rule["help"]) for rule in found]
    assert not told, f"{page.url} on a {seat.size}: {json.dumps(told, indent=1)}"
