"""With JavaScript off the same pages still do the same work."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

pytestmark = pytest.mark.browser


@pytest.fixture
def plain(browser: Browser, shop: str) -> Iterator[Page]:
    context = browser.new_context(base_url=shop, java_script_enabled=False)
    page = context.new_page()
    page.set_default_timeout(15_000)
    yield page
    context.close()


def test_a_reel_is_booked_in_looked_over_and_priced(plain: Page) -> None:
    plain.goto("/book-in/")
    plain.get_by_role("button", name="Begin a booking").click()
    plain.get_by_label("Owner’s name").fill("Tamsin Orrick")
    plain.get_by_label("The reel, as its owner names it").fill("Small fixed spool")
    plain.get_by_label("Complaint").fill("bail will not close")
    plain.get_by_role("button", name="Book in", exact=True).click()
    plain.locator("a.tag-number").first.click()
    plain.get_by_label("Serial").fill("A 1204")
    plain.get_by_role("button", name="Save", exact=True).first.click()
    expect(plain.get_by_label("Serial")).to_have_value("A 1204")
    plain.get_by_role("link", name="Look over").click()
    plain.locator(".look.best .answers label").first.click()
    plain.get_by_role("button", name="Done with this look: show the next").click()
    plain.get_by_role("button", name="Looked over: price it").click()
    plain.get_by_role("button", name="Make up the price").click()
    plain.get_by_label("Likely").first.fill("75")
    plain.get_by_role("button", name="Save", exact=True).first.click()
    expect(plain.get_by_label("Likely").first).to_have_value("75.00")
