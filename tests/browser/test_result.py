"""The picture of a reading pulled about with fingers, mouse, wheel and keys, and put right on the picture itself."""

import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.care import take_care, take_care_in_colours
from tests.browser.conftest import Seat
from tests.browser.test_measure import readings
from tests.browser.walk import MUST_BE_READ_MS, a_film
from tests.core.spin.films import Scene, encoded, shoot
from tests.web.recorded import log_of

WHOLE = (0.0, 1000.0)


def a_reading(seat: Seat, tmp_path: Path) -> Page:
    """The page of a log with three pulls."""
    (tmp_path / "three.csv").write_bytes(log_of(3))
    seat.page.goto(readings(seat) + "pull/")
    seat.page.locator("#file").set_input_files(tmp_path / "three.csv")
    seat.page.get_by_role("button", name="Send it").click()
    seat.page.wait_for_url(re.compile(r"/reading/\d+/$"))
    expect(seat.page.locator(".plot.own.live")).to_be_visible()
    return seat.page


def view(page: Page) -> tuple[float, float]:
    """From where to where the plot shows its curve, the whole being 0 to 1000."""
    left, _, width, _ = map(float, str(page.locator(".plot.own .curves").get_attribute("viewBox")).split())
    return round(left, 1), round(left + width, 1)


def area(page: Page) -> dict[str, float]:
    page.locator(".plot.own .plot-area").scroll_into_view_if_needed()
    box = page.locator(".plot.own .plot-area").bounding_box()
    assert box
    return {name: float(size) for name, size in box.items()}  # type: ignore[attr-defined]


def pulled(page: Page, from_share: float, to_share: float) -> None:
    box = area(page)
    y = box["y"] + 0.7 * box["height"]
    page.mouse.move(box["x"] + from_share * box["width"], y)
    page.mouse.down()
    page.mouse.move(box["x"] + to_share * box["width"], y, steps=4)
    page.mouse.up()


def test_buttons_mouse_and_a_double_tap(seat: Seat, tmp_path: Path) -> None:
    page = a_reading(seat, tmp_path)
    page.get_by_role("button", name="Closer").first.click()
    assert view(page) == (250.0, 750.0)
    pulled(page, 0.5, 0.3)
    assert view(page) == (pytest.approx(350.0, abs=3), pytest.approx(850.0, abs=3))
    pulled(page, 0.2, 0.9)
    assert view(page)[0] == WHOLE[0], "pulled past its start"
    page.locator(".plot.own .plot-area").dblclick(position={"x": 150, "y": 60})
    assert view(page) == WHOLE
    page.get_by_role("button", name="Wider").first.click()
    assert view(page) == WHOLE


def test_keys(seat: Seat, tmp_path: Path) -> None:
    page = a_reading(seat, tmp_path)
    page.locator(".plot.own .plot-box").focus()
    page.keyboard.press("+")
    left, right = view(page)
    assert right - left == pytest.approx(1000 / 1.5, abs=1)
    page.keyboard.press("ArrowLeft")
    assert view(page)[0] < left
    page.keyboard.press("Home")
    assert view(page) == WHOLE


@pytest.mark.parametrize("seat", ["desktop"], indirect=True)
def test_a_wheel_scrolls_the_page_until_the_plot_is_taken_hold_of(seat: Seat, tmp_path: Path) -> None:
    page = a_reading(seat, tmp_path)
    box = area(page)
    page.mouse.move(box["x"] + 100, box["y"] + 100)
    page.mouse.wheel(0, -200)
    assert view(page) == WHOLE
    page.mouse.click(box["x"] + 100, box["y"] + 100)
    page.mouse.wheel(0, -200)
    page.wait_for_function("document.querySelector('.plot.own .curves').getAttribute('viewBox') != '0 0 1000 100'")


def test_two_fingers(seat: Seat, tmp_path: Path) -> None:
    page = a_reading(seat, tmp_path)
    box = area(page)
    fingers = page.context.new_cdp_session(page)

    def touch(kind: str, *shares: float) -> None:
        places = [{"x": box["x"] + s * box["width"], "y": box["y"] + 90, "id": n} for n, s in enumerate(shares)]
        fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": places})

    touch("touchStart", 0.4)
    touch("touchStart", 0.4, 0.6)
    touch("touchMove", 0.3, 0.7)
    touch("touchMove", 0.2, 0.8)
    touch("touchEnd")
    assert view(page) == (pytest.approx(333.3, abs=15), pytest.approx(666.7, abs=15))


def boxes(page: Page, kind: str) -> list[dict[str, float]]:
    """Of what is seen of one kind on the plot, without the outlines drawn round it."""
    all_of_them = page.locator(f".plot.own {kind}").evaluate_all(
        "found => found.map((one) => one.getBoundingClientRect().toJSON()).filter((box) => box.width)"
    )
    return list(all_of_them)


def test_every_pull_bears_its_breakaway(seat: Seat, tmp_path: Path) -> None:
    assert len(boxes(a_reading(seat, tmp_path), ".breakaway .word")) == 3


def test_ticks_and_words_keep_to_what_is_seen(seat: Seat, tmp_path: Path) -> None:
    page = a_reading(seat, tmp_path)
    for _ in range(3):
        page.get_by_role("button", name="Closer").first.click()
        ticks = page.locator(".plot.own .x-ticks text").all_text_contents()
        assert 2 <= len(ticks) <= 11
        frame = area(page)
        words, shapes = (boxes(page, kind) for kind in (".word", ".dot > :is(circle, rect, path)"))
        for box in words:
            assert frame["x"] - 1 <= box["left"]
            assert box["right"] <= frame["x"] + frame["width"] + 1
        for one, other in ((a, b) for a in words for b in words + shapes if a is not b):
            apart = one["right"] <= other["left"] or other["right"] <= one["left"]
            assert apart or one["bottom"] <= other["top"] or other["bottom"] <= one["top"]


def opened(page: Page, summary: str) -> Locator:
    page.locator("summary", has_text="Put it right").click()
    page.locator("summary", has_text=summary).click()
    return page.locator("details details[open] form[data-ends]")


def test_a_handle_is_drawn_a_tap_moves_the_nearest_and_the_fields_follow(seat: Seat, tmp_path: Path) -> None:
    page = a_reading(seat, tmp_path)
    form = opened(page, "Pull 2:")
    start, end = form.get_by_label("Starts at"), form.get_by_label("Ends at")
    was = float(start.input_value()), float(end.input_value())
    grip = page.locator(".handle .grip").nth(1).bounding_box()
    assert grip
    page.mouse.move(grip["x"] + 24, grip["y"] + 80)
    page.mouse.down()
    page.mouse.move(grip["x"] + 44, grip["y"] + 80, steps=3)
    page.mouse.up()
    assert float(end.input_value()) > was[1]
    assert float(start.input_value()) == was[0]
    page.locator(".plot.own .plot-area").click(position={"x": 40, "y": 80})
    assert float(start.input_value()) < was[0]
    start.fill("3")
    x = float(str(page.locator(".handle").first.get_attribute("x")).rstrip("%"))
    first, last = (float(str(page.locator(".plot.own").get_attribute(f"data-{each}"))) for each in ("from", "to"))
    assert x == pytest.approx(100 * (3 - first) / (last - first), abs=0.1)


def test_a_pull_is_ignored_on_its_page_and_the_earlier_version_taken_back(seat: Seat, tmp_path: Path) -> None:
    page = a_reading(seat, tmp_path)
    first = page.url
    opened(page, "Pull 3:").get_by_role("button", name="Ignore this pull").click()
    page.wait_for_url(lambda url: url != first and "/reading/" in url)
    expect(page.locator(".plot.own .stretch")).to_have_count(2)
    page.locator("#versions").get_by_role("button", name="Take this one instead").first.click()
    expect(page.locator(".plot.own .stretch")).to_have_count(3)


def sent(seat: Seat, film: Path) -> Page:
    seat.page.goto(readings(seat) + "spin/")
    seat.page.locator("#file").set_input_files(film)
    seat.page.wait_for_url(re.compile(r"/reading/\d+/$"))
    return seat.page


def test_a_tap_on_the_still_says_where_the_mark_is(seat: Seat, tmp_path: Path) -> None:
    # Both sizes walk through one shop, where one file sent twice is one file's versions: a film for each.
    page = sent(seat, a_film(tmp_path, "tapped", dry_rev_s2={"phone": 4.0, "desktop": 4.4}[seat.size]))
    said = page.get_by_role("heading", name="What it says")
    expect(said).to_be_visible(timeout=MUST_BE_READ_MS)
    first = page.url
    page.locator("summary", has_text="Put it right").click()
    page.locator("summary", has_text="Where the mark is").click()
    still = page.locator("input[type=image]")
    box = still.bounding_box()
    assert box
    still.click(position={"x": 0.5 * box["width"], "y": 0.35 * box["height"]})
    page.wait_for_url(lambda url: url != first and "/reading/" in url)
    expect(said).to_be_visible(timeout=MUST_BE_READ_MS)
    versions = page.locator("#versions li")
    expect(versions).to_have_count(2)
    expect(versions.last).to_contain_text("This one")
    expect(versions.last).to_contain_text("with the spool shown in the picture")
    take_care(seat)


@cache
def long_film() -> bytes:
    return encoded(*shoot(Scene(start_rev_s=25.0, dry_rev_s2=1.2, oil_per_s=0.05), np.random.default_rng(9)))


@pytest.mark.parametrize("seat", ["phone"], indirect=True)
def test_a_long_film_is_stopped_in_its_midst_and_read_after_all(seat: Seat, tmp_path: Path) -> None:
    film = tmp_path / "long.mp4"
    film.write_bytes(long_film())
    page = sent(seat, film)
    expect(page.locator("progress")).to_be_visible()
    take_care(seat)
    page.get_by_role("button", name="Stop reading it").click()
    expect(page.get_by_role("heading", name="Stopped")).to_be_visible()
    take_care(seat)
    page.get_by_role("button", name="Read it after all").click()
    expect(page.get_by_role("heading", name="What it says")).to_be_visible(timeout=MUST_BE_READ_MS)


@pytest.mark.sampled
def test_with_everything_open_nothing_is_too_wide_too_small_or_unnamed(seat: Seat, tmp_path: Path) -> None:
    page = a_reading(seat, tmp_path)
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    take_care_in_colours(seat)
