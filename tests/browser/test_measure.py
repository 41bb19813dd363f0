"""Measuring with a script at hand: the stop-watch under a thumb and the space bar, and uploads that can be stopped."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.care import take_care, take_care_in_colours
from tests.browser.conftest import Seat
from tests.browser.test_pages import first_link

LOG = "time (s),force (N)\n" + "".join(f"{n / 20:.2f},{0 if n < 20 else 20 + n % 3}\n" for n in range(160))
PAGES = ("", "spin/", "pull/", "stop-watch/", "numbers/", "phone/")


def readings(seat: Seat) -> str:
    """The readings as found of a reel that is apart."""
    return first_link(seat, "/?stage=apart", r"^/jobs/[\d-]+/$") + "readings/found/"


def a_log(tmp_path: Path, name: str = "scale.csv") -> Path:
    path = tmp_path / name
    path.write_text(LOG)
    return path


def choose(page: Page, path: Path) -> None:
    page.locator("#file").set_input_files(path)


@pytest.mark.sampled
def test_every_page_that_measures(seat: Seat) -> None:
    there = readings(seat)
    for name in PAGES:
        seat.page.goto(there + name)
        take_care_in_colours(seat)
        for summary in seat.page.locator("main summary").all():
            summary.click()
        take_care_in_colours(seat)


def test_a_film_is_sent_as_soon_as_it_is_chosen_and_leads_to_its_reading(seat: Seat, tmp_path: Path) -> None:
    seat.page.goto(readings(seat) + "spin/")
    choose(seat.page, a_log(tmp_path, "spin.csv"))
    seat.page.wait_for_url(re.compile(r"/reading/\d+/$"))


def test_a_log_is_sent_by_its_button_with_what_was_said_of_it(seat: Seat, tmp_path: Path) -> None:
    seat.page.goto(readings(seat) + "pull/")
    choose(seat.page, a_log(tmp_path))
    seat.page.get_by_role("button", name="Send it").click()
    seat.page.wait_for_url(re.compile(r"/reading/\d+/$"))


def test_a_file_that_is_too_large_is_refused_before_it_is_sent(seat: Seat, tmp_path: Path) -> None:
    page = seat.page
    page.goto(readings(seat) + "spin/")
    page.eval_on_selector("form[data-recording]", "form => { form.dataset.most = 100 }")
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url) if request.method == "POST" else None)
    choose(page, a_log(tmp_path, "spin.mp4"))
    expect(page.locator(".sending .refusal")).to_contain_text("spin.mp4 is 0.0 MB; up to 0.0 MB is taken. Film shorter")
    assert not sent


def test_an_upload_is_stopped_or_fails_and_is_sent_again(seat: Seat, tmp_path: Path) -> None:
    page, held = seat.page, list[Route]()
    page.goto(readings(seat) + "spin/")
    page.route("**/spin/", lambda route: held.append(route))
    choose(page, a_log(tmp_path, "spin.csv"))
    expect(page.locator(".sending progress")).to_be_visible()
    take_care(seat)
    page.get_by_role("button", name="Stop sending").click()
    expect(page.locator(".sending")).to_contain_text("spin.csv was stopped; nothing was kept.")
    page.unroute("**/spin/")
    page.route("**/spin/", lambda route: route.abort())
    page.get_by_role("button", name="Send it again").click()
    expect(page.locator(".sending")).to_contain_text("the shop’s machine does not answer")
    page.unroute("**/spin/")
    page.get_by_role("button", name="Send it again").click()
    page.wait_for_url(re.compile(r"/reading/\d+/$"))


def test_a_try_is_timed_by_thumb_and_kept(seat: Seat) -> None:
    page = seat.page
    page.goto(readings(seat) + "stop-watch/")
    target = page.locator("#watch .target")
    before = target.bounding_box()
    tap = target.tap if seat.size == "phone" else target.click
    tap()
    expect(target).to_contain_text("Tap at rest")
    expect(page.locator(".seconds")).to_have_text(re.compile(r"^(0\.[3-9]|[1-9])"))
    assert target.bounding_box() == before
    tap()
    expect(target).to_contain_text("Tap at the flick")
    keep = page.get_by_role("button", name=re.compile(r"^Keep \d+\.\d s$"))
    expect(keep).to_have_count(1)
    take_care(seat)
    keep.click()
    expect(page.locator("#tries")).to_contain_text("Kept. See it")
    take_care(seat)


def test_the_space_bar_times_one_try_a_pair_and_leaves_other_buttons_alone(seat: Seat) -> None:
    page = seat.page
    page.emulate_media(reduced_motion="reduce")
    page.goto(readings(seat) + "stop-watch/")
    for focused in ("body", ".target"):
        page.eval_on_selector(focused, "one => one.focus()")
        page.keyboard.press("Space")
        expect(page.locator(".seconds")).to_have_text(re.compile(r"^\d+$"))
        expect(page.locator(".seconds")).to_have_text("1")
        page.keyboard.press("Space")
        expect(page.locator(".seconds")).to_have_text(re.compile(r"^\d+\.\d$"))
    expect(page.locator("#tries li")).to_have_count(2)
    page.get_by_role("button", name=re.compile("^Drop")).first.press("Space")
    expect(page.locator("#tries li")).to_have_count(1)
    expect(page.locator(".target strong")).to_have_text("Tap at the flick")


def test_a_refused_film_says_why_on_the_page(seat: Seat, tmp_path: Path) -> None:
    page = seat.page
    page.goto(readings(seat) + "spin/")
    page.get_by_text("Several marks").click()
    page.locator("#id_balls").fill("7")
    page.locator("#id_ball_mm").fill("")
    choose(page, a_log(tmp_path, "spin.csv"))
    expect(page.locator(".sending .refusal")).to_contain_text(
        "allowed is all three: balls, ball diameter and pitch diameter"
    )
