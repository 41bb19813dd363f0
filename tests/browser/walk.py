"""One reel all the way through, as a person does it; the tutorial is written from the same steps."""

import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw
from playwright.sync_api import Locator, Page, expect

from levelwind.demo.simulation.conditions import PRESETS, Hand, Rig, Scale
from levelwind.demo.simulation.logs import simulate_log
from tests.browser.care import take_care
from tests.browser.conftest import Seat
from tests.core.spin.films import Scene, encoded, shoot
from tests.full_size import cases

OWNERS = {"phone": "Isolde Ferrant", "desktop": "Corvin Ashgrove"}
"""One each, since both walk through one shop."""
REEL = "Big old star drag, black side plates"
PATTERN = "Skellaby Strandel 35"


MUST_BE_READ_MS = 60_000

HALF_A_SECOND_LATER = """() => {
  const clock = performance.now.bind(performance);
  performance.now = () => clock() + 500;
}"""
"""The page takes a second tap within half a second for a slip of the thumb (``tray.js``)."""
AWAIT_DRAWN = """() => {
  window.drawn = new Promise((done) => document.addEventListener("htmx:afterSettle", () => done(true), { once: true }));
}"""


@dataclass
class Walk:
    """Where the walk is: who walks, the job's tag once it has one, and a folder for files to drop."""

    seat: Seat
    folder: Path
    tag: str = ""

    @property
    def page(self) -> Page:
        return self.seat.page

    def go(self, step: str) -> None:
        self.page.goto(f"/jobs/{self.tag}/{step}")

    def press(self, name: str, exact: bool = True) -> None:
        self.page.get_by_role("button", name=name, exact=exact).first.click()
        self.page.wait_for_load_state("networkidle")

    def fill(self, label: str, text: str) -> None:
        self.page.get_by_label(label, exact=False).first.fill(text)


def a_log(folder: Path, preset: str, seed: int) -> Path:
    """A scale's log, simulated and marked as invented in its first line."""
    log = simulate_log(PRESETS[preset], np.random.default_rng(seed), rig=Rig(), hand=Hand(pulls=2), scale=Scale())
    path = folder / f"scale-{preset.replace(' ', '-')}.csv"
    path.write_text(log.as_csv("kgf"))
    return path


def a_film(folder: Path, name: str, dry_rev_s2: float) -> Path:
    """A phone's film of a spool running down, a strip of tape on its flange, simulated."""
    path = folder / f"spin-{name}.mp4"
    path.write_bytes(filmed(dry_rev_s2))
    return path


@cache
def filmed(dry_rev_s2: float) -> bytes:
    scene = Scene(start_rev_s=10.0, dry_rev_s2=dry_rev_s2, oil_per_s=0.1, frames_per_s=30.0)
    frames, times = shoot(scene, np.random.default_rng(9))
    return encoded(frames, times - times[0])


def a_photo(folder: Path, name: str, colour: str) -> Path:
    """A drawn picture of a reel's side plate, lying on its side with the camera's note that it does."""
    picture = Image.new("RGB", (1600, 1200), "#e8e0cc")
    draw = ImageDraw.Draw(picture)
    draw.ellipse((350, 150, 1250, 1050), fill=colour, outline="#2b2620", width=18)
    draw.ellipse((720, 520, 880, 680), fill="#b08d3a", outline="#2b2620", width=10)
    draw.rectangle((790, 590, 1420, 640), fill="#4a4438")
    draw.text((40, 1120), "invented", fill="#2b2620", font_size=56)
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x8825] = {1: "N", 2: (50.0, 0.0, 0.0), 3: "W", 4: (4.0, 0.0, 0.0)}
    path, held = folder / f"{name}.jpg", io.BytesIO()
    picture.save(held, "JPEG", exif=exif)
    path.write_bytes(held.getvalue())
    return path


def bench(walk: Walk) -> None:
    walk.page.goto("/")
    expect(walk.page.get_by_role("heading", name="The bench")).to_be_visible()


def book_in(walk: Walk) -> None:
    page = walk.page
    page.get_by_role("link", name="Book in", exact=True).click()
    walk.press("Begin a booking")
    walk.fill("Owner’s name", OWNERS[walk.seat.size])
    page.get_by_text("Not in the book yet").click()
    walk.fill("E-mail", "owner@example.com")
    walk.fill("The reel, as its owner names it", REEL)
    walk.fill("Complaint", "The drag slips when a fish runs, and it is rough to crank.")
    with page.expect_response(lambda answer: "spool" in (answer.request.post_data or "")):
        walk.fill("What came with it", "Old line on the spool, no box.")
    page.reload()
    expect(page.get_by_label("Complaint").first).to_have_value(re.compile("drag slips"))
    page.locator("input[type=file]").first.set_input_files(a_photo(walk.folder, "found", "#55524a"))
    expect(page.locator(".pictures img").first).to_be_visible()


def booked_in(walk: Walk) -> None:
    walk.press("Book in")
    walk.tag = walk.page.locator("a.tag-number").first.inner_text()
    assert re.fullmatch(r"\d\d-\d{4}", walk.tag)


def as_it_came_in(walk: Walk) -> None:
    walk.go("")
    page = walk.page
    page.get_by_label("Pattern").select_option(label=PATTERN)
    walk.fill("Line on the reel", "30 lb nylon")
    walk.fill("Strength", "30 lb")
    walk.fill("Diameter", "0.55")
    page.get_by_label("Diameter").first.blur()
    expect(page.locator("#saved")).to_contain_text("Saved")


def pull(walk: Walk, moment: str, log: Path) -> None:
    walk.go(f"readings/{moment}/")
    walk.page.get_by_role("link", name="Pull the line").click()
    walk.page.get_by_label("The log").set_input_files(log)
    walk.page.get_by_role("button", name="Send it").click()
    walk.page.wait_for_url("**/reading/*/")
    expect(walk.page.get_by_text("Start-up ratio").first).to_be_visible(timeout=MUST_BE_READ_MS)


def spin(walk: Walk, moment: str, film: Path) -> None:
    walk.go(f"readings/{moment}/spin/")
    walk.page.get_by_label("Choose a film, a sound or a table").set_input_files(film)
    walk.page.wait_for_url("**/reading/*/")
    expect(walk.page.get_by_role("heading", name="What it says")).to_be_visible(timeout=MUST_BE_READ_MS)


def pull_found(walk: Walk) -> None:
    pull(walk, "found", a_log(walk.folder, "dry leather", 4))
    expect(walk.page.locator("polyline")).not_to_have_count(0)


def film(walk: Walk) -> None:
    walk.go("readings/found/")
    walk.page.get_by_role("link", name="Film the spin").click()
    expect(walk.page.get_by_role("heading", name="Film the spin")).to_be_visible()


def spin_found(walk: Walk) -> None:
    spin(walk, "found", a_film(walk.folder, "found", dry_rev_s2=3.0))
    walk.go("readings/found/")
    expect(walk.page.get_by_text("spin time").first).to_be_visible()
    walk.page.go_back()


def look_over(walk: Walk) -> None:
    walk.go("look-over/")
    hunches = walk.page.locator("#hunches")
    before = hunches.inner_text()
    walk.page.locator(".look.best .answers label").first.click()
    expect(hunches).not_to_have_text(before, use_inner_text=True)


def price(walk: Walk) -> None:
    walk.press("Looked over: price it")
    walk.press("Make up the price")
    walk.fill("Ready on", (datetime.now(UTC) + timedelta(days=21)).date().isoformat())
    walk.press("Promise it")
    expect(walk.page.get_by_text("Chance of keeping it")).to_be_visible()
    expect(walk.page.locator("#totals")).to_contain_text("In all")


def agreed(walk: Walk) -> None:
    walk.press("Mark the price sent")
    walk.page.get_by_label("yes", exact=True).check()
    walk.press("Write it down")
    expect(walk.page.locator(".title-block .stage")).to_contain_text("agreed")


def way_in(walk: Walk) -> None:
    walk.go("apart/")
    walk.press("Show the way in")
    expect(walk.page.locator("#now button.big")).to_be_visible()


def apart(walk: Walk) -> None:
    tick_through(walk, "Done", "Apart as far as needed")
    for washer in walk.page.locator("details.piece", has_text="drag washer").all():
        judge_worn(walk, washer)


def tick_through(walk: Walk, button: str, last: str) -> None:
    """Press the one big button until the page says the work is done."""
    title = walk.page.locator("#now-title")
    for _ in range(90):
        big = walk.page.locator("#now button.big", has_text=button)
        if not big.count():
            break
        press_and_wait(walk, big)
    expect(title).to_contain_text(last)


def press_and_wait(walk: Walk, button: Locator) -> None:
    """Press, and wait until the page has drawn what came of it."""
    walk.page.evaluate(HALF_A_SECOND_LATER)
    walk.page.evaluate(AWAIT_DRAWN)
    button.click()
    walk.page.evaluate("() => window.drawn")


def judge_worn(walk: Walk, piece: Locator) -> None:
    if not piece.evaluate("element => element.open"):
        piece.locator("summary").first.click()
    with walk.page.expect_response(lambda answer: answer.request.method == "POST"):
        piece.get_by_label("worn", exact=True).check()


def parts(walk: Walk) -> None:
    walk.go("parts/")
    take = walk.page.get_by_role("button", name="Take new")
    expect(take.first).to_be_visible()
    while take.count():
        left = take.count()
        take.first.click()
        walk.page.wait_for_load_state("networkidle")
        assert take.count() < left


def drag(walk: Walk) -> None:
    walk.go("drag/")
    expect(walk.page.locator("svg.drawing").first).to_be_visible()
    expect(walk.page.get_by_text("Near empty").first).to_be_visible()


def gates(walk: Walk) -> None:
    walk.go("together/")
    expect(walk.page.locator("#now.gate, #now .gate-ask").first).to_be_visible()


def together(walk: Walk) -> None:
    for _ in range(120):
        big = walk.page.locator("#now button.big")
        if "call it together" in big.first.inner_text():
            break
        press_and_wait(walk, big.first)
    expect(walk.page.get_by_text("Every piece is in")).to_be_visible()
    walk.page.evaluate(HALF_A_SECOND_LATER)
    walk.press("Yes to all of it: call it together")
    expect(walk.page.locator(".title-block .stage")).to_contain_text("together")


def prove(walk: Walk) -> None:
    pull(walk, "left", a_log(walk.folder, "greased woven", 5))
    spin(walk, "left", a_film(walk.folder, "left", dry_rev_s2=1.0))
    walk.go("prove/")
    walk.page.locator("input[type=file]").first.set_input_files(a_photo(walk.folder, "left", "#3d5a52"))
    expect(walk.page.locator(".pictures img").first).to_be_visible()
    expect(walk.page.locator("polyline")).to_have_count(4)
    expect(walk.page.locator(".verdict-list")).to_contain_text("tart-up ratio")
    expect(walk.page.locator(".verdict-list")).to_contain_text("dry friction takes less off the speed")


def bill(walk: Walk) -> None:
    walk.press("Proved: bill it and box it")
    walk.press("Make the bill")
    owed = walk.page.locator("#money tfoot .number").inner_text()
    walk.page.locator("#money").get_by_label("Sum").fill(owed)
    walk.press("Take a payment")
    expect(walk.page.locator("#money")).to_contain_text("All paid")
    number = walk.page.get_by_role("link", name="Bill B").inner_text().split()[1]
    walk.seat.paper("bill", f"/bills/{number}.pdf")
    for name in ("tag", "price", "takedown", "proof", "old-parts"):
        walk.seat.paper(name, f"/jobs/{walk.tag}/{name}.pdf")


def home(walk: Walk) -> None:
    page = walk.page
    page.get_by_label("old parts are bagged", exact=False).check()
    walk.fill("Weight, g", "1150")
    walk.fill("Carrier", "Coast carrier")
    page.get_by_label("Carrier").blur()
    expect(page.locator("#saved")).to_contain_text("Saved")
    walk.press("Box it")
    walk.press("Send it home")
    expect(page.locator(".title-block .stage")).to_contain_text("home")


STEPS: list[tuple[str, Callable[[Walk], None]]] = [
    ("bench", bench),
    ("book-in", book_in),
    ("booked-in", booked_in),
    ("job", as_it_came_in),
    ("pull", pull_found),
    ("film", film),
    ("spin", spin_found),
    ("look-over", look_over),
    ("price", price),
    ("agreed", agreed),
    ("apart", way_in),
    ("tray", apart),
    ("parts", parts),
    ("drag", drag),
    ("gates", gates),
    ("together", together),
    ("prove", prove),
    ("bill", bill),
    ("home", home),
]
"""In the order of docs/tutorial.md, which shows each step's picture."""


WITH_CARE = cases(("phone",), ("phone", "desktop"))
"""Every kind of page is looked at with axe at both sizes elsewhere; the walk adds what stands on it midway."""


def walk_through(walk: Walk) -> None:
    """Every step in turn; after each, the page is looked over with care and its picture kept."""
    for name, do in STEPS:
        do(walk)
        if walk.seat.size in WITH_CARE:
            take_care(walk.seat)
        walk.seat.picture(name)
