"""The book taken along and a list brought in, on a phone: sent, matched, looked at, imported, taken back."""

from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.care import take_care
from tests.browser.conftest import Seat

JOBS = "Customer;Reel;Received;Fee\nAnsa Vell;Skerry 50;3/4/2019;85,00\nBram;;5/6/2019;1\n"


@pytest.mark.parametrize("seat", ["phone"], indirect=True)
def test_the_book_goes_out_and_a_list_comes_in(seat: Seat, tmp_path: Path) -> None:
    page = seat.page
    page.goto("/counter/")
    page.get_by_role("link", name="The book to take along").click()
    with page.expect_download() as taken:
        page.get_by_role("link", name="One file for each table").click()
    book = tmp_path / "book.zip"
    taken.value.save_as(book)
    page.goto("/counter/")
    page.get_by_role("link", name="Bring a list in").click()
    take_care(seat)
    page.get_by_label("Owners").check()
    page.get_by_label("The file").set_input_files(book)
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_text("Nothing would come into the book")).to_be_visible()  # all of them are in it already
    page.get_by_role("button", name="Put this list aside").click()

    old = tmp_path / "old.csv"
    old.write_text(JOBS)
    page.get_by_label("Past jobs").check()
    page.get_by_label("The file").set_input_files(old)
    page.get_by_role("button", name="Read it").click()
    page.get_by_label("the day, then the month").check()
    page.get_by_text("What else a list may hold").click()
    page.get_by_label("What was charged").select_option(label="Fee: 85,00")
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_text("Row 3: the reel: nothing stands there")).to_be_visible()
    take_care(seat)
    page.get_by_role("button", name="Import 1 past job").click()
    expect(page.get_by_text("In the book since")).to_be_visible()
    with page.expect_download() as refused:
        page.get_by_role("link", name="CSV").click()
    assert "Why it was not taken" in Path(refused.value.path()).read_text("utf-8-sig")
    take_care(seat)
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_text("Taken back on")).to_be_visible(timeout=15_000)
