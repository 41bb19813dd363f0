"""With JavaScript off the same pages still do the same work."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.walk import MUST_BE_READ_MS, a_film
from tests.web.recorded import log_of


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


def test_a_reel_is_measured(plain: Page, tmp_path: Path) -> None:
    plain.goto("/?stage=together")
    links = plain.eval_on_selector_all("a[href]", "all => all.map((one) => one.getAttribute('href'))")
    there = next(link for link in links if re.fullmatch(r"/jobs/[\d-]+/", link)) + "readings/left/"
    plain.goto(there + "numbers/")
    plain.get_by_role("textbox", name="Breakaway").fill("14 lb")
    plain.get_by_role("textbox", name="Running").fill("12 lb")
    plain.get_by_role("button", name="Keep them").click()
    expect(plain.get_by_text("14.0 lbf").or_(plain.get_by_text("14 lbf")).first).to_be_visible()

    (tmp_path / "scale.csv").write_bytes(log_of(3, header="time (s),force"))
    plain.goto(there + "pull/")
    plain.locator("#file").set_input_files(tmp_path / "scale.csv")
    plain.get_by_role("button", name="Send it").click()
    look_again_until(plain, plain.get_by_role("heading", name="In which unit are the forces?"))
    plain.get_by_role("button", name="N", exact=True).click()
    look_again_until(plain, plain.locator(".plot.own .stretch").first)
    expect(plain.locator(".plot.own .stretch")).to_have_count(3)
    plain.locator("summary", has_text="Put it right").click()
    plain.locator("summary", has_text="Pull 2:").click()
    plain.get_by_role("button", name="Ignore this pull").locator("visible=true").click()
    expect(plain.locator(".plot.own .stretch")).to_have_count(2)

    plain.goto(there + "spin/")
    plain.locator("#file").set_input_files(a_film(tmp_path, "plain", dry_rev_s2=4.0))
    plain.get_by_role("button", name="Send it").click()
    look_again_until(plain, plain.get_by_role("heading", name="What it says"))


def look_again_until(plain: Page, answer: Locator) -> None:
    """A recording that takes longer than its sending is asked for by hand."""
    looks = MUST_BE_READ_MS // 1000
    while not answer.is_visible() and (looks := looks - 1):
        plain.get_by_role("link", name="Look again").click()
    expect(answer).to_be_visible()
