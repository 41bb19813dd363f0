"""An odd reel, on a phone: a build of its pattern, a step checked while it is typed, one more piece at the bench."""

import re
from urllib.parse import quote

import pytest
from playwright.sync_api import expect

from tests.browser.care import take_care
from tests.browser.conftest import Seat
from tests.browser.test_pages import first_link


@pytest.mark.parametrize("seat", ["phone"], indirect=True)
def test_a_reel_with_an_odd_piece_and_two_builds(seat: Seat) -> None:
    page = seat.page
    job = first_link(seat, "/?stage=apart", r"^/jobs/[\d-]+/$")
    page.goto(f"{job}apart/")
    every = page.locator("#one-more label").last.text_content() or ""
    name = every.strip().removeprefix("every ")
    pattern = first_link(seat, f"/patterns/?q_pattern={quote(name)}", r"^/patterns/\d+/$")
    for name, until in (("early", "1970"), ("late", "")):
        page.goto(f"{pattern}build/add/")
        page.get_by_label("What it is called").fill(name)
        page.get_by_label("Made until").fill(until)
        page.get_by_role("button", name="Save").click()
        expect(page.get_by_role("heading", level=1)).to_have_text(name)
    take_care(seat)
    page.get_by_role("link", name="Takedown", exact=True).click()
    take_care(seat)
    page.get_by_role("link", name=re.compile("^Change: ")).last.click()
    page.get_by_text("What comes off").scroll_into_view_if_needed()
    ticked = page.locator("input[name=frees]:checked")
    while ticked.count():
        ticked.first.uncheck()
    expect(page.locator("#findings")).to_contain_text("at least one place")
    take_care(seat)

    page.goto(f"{job}apart/")
    page.locator("#build > summary").click()
    late = page.locator("#which-build option", has_text=re.compile("^late")).get_attribute("value")
    page.locator("#which-build").select_option(late)
    page.get_by_role("button", name="Choose this build").click()
    expect(page.locator("#build > summary")).to_have_text("Build: late")
    page.locator("#one-more > summary").click()
    page.get_by_label("What it is", exact=True).fill("brass spacer")
    page.get_by_role("button", name="Give it a cell").click()
    expect(page.locator("#tray")).to_contain_text("brass spacer")
    take_care(seat)
