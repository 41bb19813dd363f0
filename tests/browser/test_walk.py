"""One reel through the whole shop in real Chromium, at phone and at desktop size, with axe on every page."""

import re
from pathlib import Path

from tests.browser.conftest import Seat
from tests.browser.walk import STEPS, Walk, walk_through

TUTORIAL = Path(__file__).parents[2] / "docs" / "tutorial.md"


def test_one_reel_all_the_way_through(seat: Seat, tmp_path: Path) -> None:
    walk_through(Walk(seat, tmp_path))


def test_the_tutorial_tells_the_same_walk() -> None:
    shown = re.findall(r"^!\[.*\]\(pictures/(.+)-desktop\.png\)$", TUTORIAL.read_text(), re.M)
    assert shown == [name for name, _ in STEPS]
