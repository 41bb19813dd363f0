"""At the bench, by thumb: the step has the screen, its button lies under the thumb, presses are few."""

import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Error, Page, Route, expect

from tests.browser.care import take_care
from tests.browser.conftest import Seat
from tests.browser.walk import AWAIT_DRAWN, HALF_A_SECOND_LATER

PHONE = {"width": 390, "height": 844}
"""CSS pixels of a common phone, held upright."""
MOST_PRESSES = 14
"""For a drag of a star drag reel apart and together: 13 steps, 13 back, 16 gates, and calling it together. One by one
it took 43."""
KEYS = ["PageDown", "ArrowRight", "ArrowDown"]
PLACES = ["/book-in/", "/sheet/", "/patterns/add/", "/patterns/from-a-file/", "/fits/", "/counter/", "/counter/sell/"]
PLACES += [
    "/shelf/orders/plan/",
    "/shelf/suppliers/",
    "/counter/hours/",
    "/counter/lists/",
    "/counter/mail/",
    "/counter/letters/price/",
    "/counter/people/",
]
STEPS = {"booked_in": ["", "look-over/", "letters/new/other/", "readings/found/pull/", "readings/found/numbers/"]}
STEPS |= {
    "looked_over": ["price/", "notes/"],
    "price_sent": ["price/"],
    "agreed": ["price/", "apart/"],
    "together": ["prove/"],
    "proved": ["box/"],
}
LED_TO = {"/book-in/": r"/book-in/\d+/", "/shelf/": r"/shelf/part/\d+/", "/patterns/": r"/patterns/\d+/"}
LED_TO |= {"/shelf/bone-box/": r"/shelf/bone-box/\d+/", "/counter/": r"/counter/owners/\d+/"}
ONE_BUTTON = """() => {
  const seen = (one) => one.checkVisibility() && one.offsetWidth > 1;
  const all = (what) => [...document.querySelectorAll(what)].filter(seen);
  const one = all("main .act")[0] || all("main :is(button, .button):not(.quiet, .danger, .opens)")[0];
  const edge = one && one.getBoundingClientRect();
  const foot = all("nav.main")[0]?.getBoundingClientRect().top ?? innerHeight;
  return one ? [one.textContent.trim(), edge.top, edge.bottom, foot] : null;
}"""
"""What the one button says, its upper and lower edge, and where the main ways at the foot of the screen begin."""


@pytest.fixture
def seat(window: Callable[[str], Page]) -> Iterator[Seat]:
    page = window("phone")
    was = page.viewport_size
    page.set_viewport_size(PHONE)
    seat = Seat(page, "phone")
    with seat.watched():
        yield seat
    seat.leave()
    page.set_viewport_size(was)
    assert not seat.faults, seat.faults


def press(page: Page, how: str) -> None:
    """The big button by the thumb, or by a key of the foot pedal, and wait for what comes of it."""
    page.evaluate(HALF_A_SECOND_LATER)
    page.evaluate(AWAIT_DRAWN)
    page.locator(".thumb button.big").click() if how == "thumb" else page.keyboard.press(how)
    try:
        page.evaluate("() => window.drawn")
    except Error as gone:
        # The last press of a way leads to another page while its own is still awaited.
        assert "because of a navigation" in str(gone), gone
        page.wait_for_load_state()


def stands_on_one_screen(page: Page) -> bool:
    """Cautions, steps and gates stand above the button, and the button on the screen, with nothing scrolled."""
    top, title, big = (page.locator(at).bounding_box() for at in ("#now", "#now-title", ".thumb button.big"))
    assert top and title and big and page.evaluate("scrollY") == 0
    return top["y"] < 40 and title["y"] + title["height"] <= big["y"] and big["y"] + big["height"] <= PHONE["height"]


def test_a_drag_apart_and_together_by_thumb_and_pedal(seat: Seat) -> None:
    page = seat.page
    page.goto("/")
    page.goto(page.locator("tr", has_text="Wrackmouth Cobble Ness 12").get_by_role("link").first.get_attribute("href"))
    job = re.sub(r"(/jobs/[^/]+/).*", r"\1", page.url)
    page.goto(f"{job}apart/")
    page.get_by_role("button", name="Show the way in").click()
    big, title = page.locator(".thumb button.big"), page.locator("#now-title")
    presses, ways = 0, ["thumb", *KEYS]
    for at in ("apart", "together"):
        page.goto(f"{job}{at}/")
        while big.count():
            assert stands_on_one_screen(page)
            press(page, ways[presses % len(ways)])
            presses += 1
            if presses == 3:
                take_care(seat)
                before = title.inner_text()
                page.keyboard.press("PageUp")
                expect(title).not_to_have_text(before, use_inner_text=True)
                press(page, " ")
                expect(title).to_have_text(before, use_inner_text=True)
            page.evaluate("scrollTo(0, 0)")
    expect(page.locator(".title-block .stage")).to_contain_text("together")
    assert presses <= MOST_PRESSES


def test_a_closed_face_goes_together_by_thumb(seat: Seat) -> None:
    """The demonstration's reel lies apart as far as its pick-up: each press puts in what its screen names."""
    page = seat.page
    page.goto("/")
    page.goto(page.locator("tr", has_text="Kessandry Hoodwell 9").get_by_role("link").first.get_attribute("href"))
    page.goto(re.sub(r"(/jobs/[^/]+/).*", r"\1together/", page.url))
    big, title, named = page.locator(".thumb button.big"), page.locator("#now-title"), []
    take_care(seat)
    while big.count():
        assert stands_on_one_screen(page), title.inner_text()
        named.append(title.inner_text())
        press(page, "thumb")
        page.evaluate("scrollTo(0, 0)")
    told = " ".join(named)
    assert told.index("pick-up pin") < told.index("spinner head nut") < told.index("front cover") < told.index("no rub")
    expect(page.locator(".title-block .stage")).to_contain_text("together")


def test_what_is_ticked_and_typed_without_a_network_is_sent_when_it_is_back(seat: Seat) -> None:
    page, told = seat.page, seat.page.locator("#connection")
    job = re.search(r'href="(/jobs/[\d-]+/)', page.request.get("/?stage=booked_in").text())
    assert job
    page.goto(f"{job[1]}look-over/")
    fresh = page.locator(".look.best .answers input:not(:checked)").first
    ticked = f"input[name='{fresh.get_attribute('name')}'][value='{fresh.get_attribute('value')}']"
    page.context.set_offline(True)
    page.locator(ticked).tap()
    expect(page.locator(ticked)).to_be_checked()
    expect(told).to_contain_text("is sent when it is back")
    take_care(seat)
    page.context.set_offline(False)
    expect(told).to_contain_text("all is sent")
    page.goto(job[1])
    expect(told).to_be_empty()
    page.context.set_offline(True)
    page.locator("[name=serial]").fill("8121 K")
    page.locator("[name=serial]").blur()
    expect(told).to_contain_text("is sent when it is back")
    page.get_by_role("button", name="Save whose turn it is").click()
    expect(page.locator("[name=serial]")).to_have_value("8121 K")
    page.context.set_offline(False)
    page.wait_for_url(re.compile("#turn$"))
    expect(page.locator("[name=serial]")).to_have_value("8121 K")
    page.goto(job[1])
    page.evaluate("Object.defineProperty(navigator, 'onLine', { get: () => false })")  # a bench without any network
    page.get_by_role("button", name="Save whose turn it is").click()
    page.wait_for_url(re.compile("#turn$"))
    page.goto(f"{job[1]}look-over/")
    expect(page.locator(ticked)).to_be_checked()


def test_a_press_that_is_not_answered_is_told_and_sent_once(seat: Seat) -> None:
    """No answer ever reaches the page (204 leaves it as it is); its clock runs a hundred times as fast here."""
    page, told, sent = seat.page, seat.page.locator("#connection"), list[str]()
    job = re.search(r'href="(/jobs/[\d-]+/)', page.request.get("/?stage=booked_in").text())
    assert job

    def never(route: Route) -> None:
        sent.append(route.request.url)
        route.fulfill(status=204)

    page.goto(job[1])
    page.evaluate(
        "(() => { const own = setTimeout; setTimeout = (does, ms, ...with_) => own(does, ms / 100, ...with_); })()"
    )
    page.route(lambda url: url.endswith("/turn/"), never)
    for said in ("sent once, however often you press", "it shows what was saved"):
        page.get_by_role("button", name="Save whose turn it is").click()
        expect(told).to_contain_text(said)
    take_care(seat)
    assert len(sent) == 1
    page.reload()
    expect(told).to_be_empty()


def test_the_keyboard_keeps_its_place_where_a_piece_is_put_away(seat: Seat) -> None:
    page = seat.page
    job = re.search(r'href="(/jobs/[\d-]+/)', page.request.get("/?stage=apart").text())
    assert job
    page.goto(f"{job[1]}apart/")
    for said in ("Put it in the scrap bag", "Take it out of the bag"):
        button = page.locator("details.piece button", has_text=said).first
        piece = button.locator("xpath=ancestor::details[contains(@class, 'piece')]").get_attribute("id")
        button.evaluate("(one) => { one.closest('details').open = true; one.focus(); }")
        page.keyboard.press("Enter")
        expect(page.locator(f"#{piece} > summary")).to_be_focused()


def test_the_one_button_of_a_page_stands_in_its_first_screen(seat: Seat) -> None:
    page = seat.page

    def first(start: str, shape: str) -> str:
        found = re.search(f'href="({shape})', page.request.get(start).text())
        assert found, start
        return found[1]

    jobs = {stage: first(f"/?stage={stage}", r"/jobs/[\d-]+/") for stage in STEPS}
    addresses = [jobs[stage] + step for stage, steps in STEPS.items() for step in steps]
    low = []
    for address in PLACES + addresses + [first(start, shape) for start, shape in LED_TO.items()]:
        page.goto(address, wait_until="domcontentloaded")
        button = page.evaluate(ONE_BUTTON)
        if button and not (button[1] >= 0 and button[2] <= button[3] + 1):
            low.append(f"{address}: {button}")
        assert button or "/patterns/" in address, f"{address} has no button"
    assert not low, low
