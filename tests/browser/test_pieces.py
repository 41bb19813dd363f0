"""Every piece of the pages looks as on its picture in the docs: light, dark, high contrast, on a phone, pointed at."""

import io
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageChops
from playwright.sync_api import Page

from tests.browser.care import take_care
from tests.browser.conftest import Seat

PICTURES = Path(__file__).parents[2] / "docs" / "pictures"
TILE = 8
"""Pixels each way of the tiles that are compared. Our choice: a thin rule is an eighth of one."""
MOST = 8.0
"""Grey levels of 255 that a tile may differ by on average; the pictures' palette alone takes up to 5. Our choice."""
LOOKS: dict[str, tuple[int, dict[str, Any]]] = {
    "light": (900, {"color_scheme": "light"}),
    "dark": (900, {"color_scheme": "dark"}),
    "contrast": (900, {"color_scheme": "light", "forced_colors": "active"}),
    "phone": (390, {"color_scheme": "light"}),
}
POINTED_AT = {
    "hover": ".row > :nth-child(1)",
    "focus-visible": ".row > :nth-child(2), .field :is(input, select, textarea)",
}
PRESSED = "document.querySelectorAll('.row > :nth-child(4)').forEach((one) => one.classList.add('pressed'))"
SPOILT = "document.documentElement.style.setProperty('--brass', '#7d6c10')"
"""The brass with a little more green."""


@pytest.fixture
def seat(window: Callable[[str], Page]) -> Iterator[Seat]:
    page = window("desktop")
    was = page.viewport_size
    assert was
    seat = Seat(page, "desktop")
    with seat.watched():
        yield seat
    page.emulate_media(forced_colors="none")
    seat.leave()
    page.set_viewport_size(was)
    assert not seat.faults, seat.faults


def taken(page: Page) -> Image.Image:
    return Image.open(io.BytesIO(page.screenshot(full_page=True, animations="disabled"))).convert("RGB")


def apart(one: Image.Image, other: Image.Image) -> float:
    """By how many grey levels the two differ where they differ most."""
    if one.size != other.size:
        return 255.0
    bands = ImageChops.difference(one, other).split()
    most = ImageChops.lighter(ImageChops.lighter(bands[0], bands[1]), bands[2])
    return float(most.reduce(TILE).getextrema()[1])  # type: ignore[arg-type]


def as_on_its_picture(page: Page, name: str) -> None:
    now = taken(page)
    if folder := os.environ.get("LEVELWIND_PICTURES"):
        now.quantize(256, kmeans=2, dither=Image.Dither.NONE).save(Path(folder) / f"pieces-{name}.png", optimize=True)
    elif (differs := apart(now, Image.open(PICTURES / f"pieces-{name}.png").convert("RGB"))) > MOST:
        now.save(f"pieces-{name}-now.png")
        raise AssertionError(f"{name}: {differs:.0f} grey levels; look at pieces-{name}-now.png, then `make docs`")


def test_every_piece_in_every_state(seat: Seat) -> None:
    page = seat.page
    for name, (width, media) in LOOKS.items():
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(reduced_motion="reduce", **media)
        page.goto("/help/pieces/")
        page.evaluate("document.fonts.ready")
        as_on_its_picture(page, name)
        if name != "contrast":
            take_care(seat)
        page.emulate_media(forced_colors="none")
    page.set_viewport_size({"width": 900, "height": 900})
    page.goto("/help/pieces/")
    looks = page.context.new_cdp_session(page)
    looks.send("DOM.enable")
    looks.send("CSS.enable")
    root = looks.send("DOM.getDocument")["root"]["nodeId"]
    for state, where in POINTED_AT.items():
        for node in looks.send("DOM.querySelectorAll", {"nodeId": root, "selector": where})["nodeIds"]:
            looks.send("CSS.forcePseudoState", {"nodeId": node, "forcedPseudoClasses": [state]})
    page.evaluate(PRESSED)
    as_on_its_picture(page, "pointed-at")
    looks.detach()
    page.goto("/help/pieces/")
    page.evaluate(SPOILT)
    light = Image.open(PICTURES / "pieces-light.png").convert("RGB")
    assert apart(taken(page), light) > MOST, "a colour that is a little off would not be seen"
