"""One reel through the whole shop in real Chromium, at phone and at desktop size, with axe on every page."""

from pathlib import Path

import pytest

from tests.browser.conftest import Seat
from tests.browser.walk import Walk, walk_through

pytestmark = pytest.mark.browser


def test_one_reel_all_the_way_through(seat: Seat, tmp_path: Path) -> None:
    walk_through(Walk(seat, tmp_path))
