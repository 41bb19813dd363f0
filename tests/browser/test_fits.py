"""The answer moves while a size is typed, by thumb; a tick outside the form counts too."""

import pytest
from playwright.sync_api import expect

from tests.browser.care import take_care
from tests.browser.conftest import Seat


@pytest.mark.parametrize("seat", ["phone"], indirect=True)
def test_the_answer_moves_as_sizes_are_typed(seat: Seat) -> None:
    page = seat.page
    page.goto("/")
    page.get_by_role("link", name="What is this piece?").click()
    page.get_by_label("Diameter", exact=True).fill("2.95")
    leader = page.locator("#answer .leader").first
    expect(leader).to_contain_text("M3x0.5")
    page.get_by_label("Pitch", exact=True).fill("72 tpi")
    expect(leader).to_contain_text("M3x0.35")
    page.get_by_label("Left", exact=True).check()
    expect(leader).to_contain_text("left hand")
    take_care(seat)
