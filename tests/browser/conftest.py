"""A real shop opened as a person opens it, and a real Chromium at phone and desktop size."""

import io
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, Error, Page, Response
from pytest_django import DjangoDbBlocker

from tests.demo_shop import demo_copy
from tests.full_size import FULL

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--in-process-gpu",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    return {"executable_path": CHROMIUM, "args": ARGUMENTS}


@pytest.fixture(scope="session")
def shop_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the demo shop's book lies."""
    return tmp_path_factory.mktemp("shop")


@pytest.fixture(scope="session")
def shop(shop_folder: Path, django_db_blocker: DjangoDbBlocker) -> Iterator[str]:
    """A copy of the demo shop, opened by the command in the README; gives its address."""
    with django_db_blocker.unblock():
        demo_copy(shop_folder / "data")
    log = shop_folder / "open.log"
    environment = os.environ | {"LEVELWIND_DATA": str(shop_folder / "data"), "DJANGO_SETTINGS_MODULE": ""}
    environment.pop("DJANGO_SETTINGS_MODULE")
    with log.open("w") as out:
        command = [sys.executable, "-m", "levelwind.cli", "open", "--demo", "--port", "0"]
        server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=out, text=True, env=environment)
    assert server.stdout is not None
    line = server.stdout.readline()
    address = re.search(r"http://\S+?(?=/)", line)
    assert address, f"the shop did not open: {line!r} {log.read_text()}"
    yield address[0]
    server.terminate()
    server.wait(timeout=20)


SIZES = ["phone", "desktop"]
BY_TURNS = ("test_result", "test_measure", "test_phone")
"""Files of single gestures: ``make test`` tries each at one of both sizes, `make prove-numbers` at both."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out one size of each gesture that has both, by turns. Whole pages keep both."""
    gestures: dict[str, list[pytest.Item]] = {}
    for item in items:
        function = item.nodeid.partition("[")[0]
        if item.path.stem in BY_TURNS and "::test_every_" not in function:
            gestures.setdefault(function, []).append(item)
    both = [sizes for sizes in gestures.values() if len(sizes) == len(SIZES)]
    for item in (item for sizes in both for item in sizes):
        item.add_marker(pytest.mark.sampled)
    left_out = [] if FULL else [sizes[turn % 2] for turn, sizes in enumerate(both)]
    items[:] = [item for item in items if item not in left_out]
    config.hook.pytest_deselected(items=left_out)


@pytest.fixture(scope="session")
def window(browser: Browser, playwright: Any, shop: str) -> Iterator[Callable[[str], Page]]:
    """One window a size, kept from test to test: a new one is a second of work for both cores."""
    sizes = {"phone": dict(playwright.devices["Pixel 7"]), "desktop": {"viewport": {"width": 1280, "height": 900}}}

    @cache
    def opened(size: str) -> Page:
        page = browser.new_context(base_url=shop, **sizes[size]).new_page()
        page.set_default_timeout(15_000)
        return page

    yield opened


@pytest.fixture(params=SIZES)
def seat(request: pytest.FixtureRequest, window: Callable[[str], Page]) -> Iterator["Seat"]:
    """Somebody at the bench (desktop) or with the phone in a greasy hand, who has not been here before."""
    seat = Seat(window(request.param), request.param)
    with seat.watched():
        yield seat
    seat.leave()
    assert not seat.faults, seat.faults


class Seat:
    """A page, its size, and what went wrong on it without being looked for."""

    def __init__(self, page: Page, size: str) -> None:
        self.page, self.size = page, size
        self.faults: list[str] = []

    @contextmanager
    def watched(self) -> Iterator[None]:
        ears: list[tuple[Any, Callable[[Any], None]]] = [("pageerror", self.failed), ("response", self.answered)]
        for event, ear in ears:
            self.page.on(event, ear)
        yield
        for event, ear in ears:
            self.page.remove_listener(event, ear)

    def failed(self, error: Error) -> None:
        self.faults.append(f"{self.page.url}: {error}")

    def answered(self, answer: Response) -> None:
        if answer.status >= 500:
            self.faults.append(f"{answer.status} {answer.url}")

    def leave(self) -> None:
        """Nothing of one test is left for the next."""
        self.page.unroute_all()
        self.page.evaluate("() => { localStorage.clear(); sessionStorage.clear(); }")
        self.page.context.clear_cookies()
        self.page.emulate_media(color_scheme="light", reduced_motion="no-preference")
        self.page.goto("about:blank")

    def picture(self, name: str) -> None:
        """Keep a picture for the docs, where a folder for them is named."""
        folder = os.environ.get("LEVELWIND_PICTURES")
        if folder:
            self.page.evaluate("scrollTo(0, 0)")
            taken = Image.open(io.BytesIO(self.page.screenshot()))
            # Paper, ink and brass need few colours; the docs stay light.
            taken.convert("RGB").quantize(96).save(Path(folder) / f"{name}-{self.size}.png", optimize=True)

    def paper(self, name: str, address: str) -> None:
        """Open a paper, and keep it beside the pictures."""
        answer = self.page.request.get(address)
        assert answer.ok and answer.body().startswith(b"%PDF-"), f"{address}: {answer.status}"
        folder = os.environ.get("LEVELWIND_PICTURES")
        if folder and self.size == "desktop":
            (Path(folder) / f"{name}.pdf").write_bytes(answer.body())
