"""The pages a code on the screen opens on the phone: the same care as at the bench, and no way into the shop."""

import sqlite3
from pathlib import Path

import pytest
from django.core import signing
from playwright.sync_api import expect

from levelwind.web.readings.spot import SALT
from tests.browser.care import take_care, take_care_in_colours
from tests.browser.conftest import Seat
from tests.browser.walk import MUST_BE_READ_MS, a_film

PAGES = ("", "spin/", "pull/", "stop-watch/", "numbers/")


@pytest.fixture
def code(seat: Seat, shop_folder: Path) -> str:
    """The address in a code that the shop's own machine would show for a reel that is together."""
    data = shop_folder / "data"
    with sqlite3.connect(data / "book.sqlite3") as book:
        (job,) = book.execute("SELECT id FROM shop_job WHERE stage = 'together' ORDER BY id LIMIT 1").fetchone()
    key = (data / "secret-key").read_text()
    return f"/m/{signing.dumps([job, 'left'], key=key, salt=SALT, compress=True)}/"


@pytest.mark.sampled
def test_every_page_of_the_phones_code(seat: Seat, code: str) -> None:
    for name in PAGES:
        seat.page.goto(code + name)
        take_care_in_colours(seat)
        expect(seat.page.get_by_role("link", name="Bench", exact=True)).to_have_count(0)


def test_a_film_from_the_phone_is_read_and_put_right_there(seat: Seat, code: str, tmp_path: Path) -> None:
    page = seat.page
    page.goto(code + "spin/")
    page.locator("#file").set_input_files(a_film(tmp_path, "phone", dry_rev_s2=2.0))
    page.wait_for_url(f"**{code}reading/*/")
    expect(page.get_by_role("heading", name="What it says")).to_be_visible(timeout=MUST_BE_READ_MS)
    take_care(seat)
    page.get_by_text("Not right? Put it right").click()
    take_care(seat)
    first = page.url
    page.get_by_text("Where the spin starts and ends").click()
    page.locator("#from-spin").fill("1.5")
    page.get_by_role("button", name="Read only this part").click()
    page.wait_for_url(lambda url: url != first)
    expect(page.get_by_role("heading", name="What it says")).to_be_visible(timeout=MUST_BE_READ_MS)
    take_care(seat)
