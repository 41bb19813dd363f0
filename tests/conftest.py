"""Recordings are read in the test's own process unless it is marked ``limited``; simulations tell their figures."""

import os
import shutil
from collections.abc import Callable, Iterator
from itertools import groupby
from pathlib import Path

import pytest
from django.db import connection
from django.utils import timezone
from hypothesis import settings
from pytest_django import DjangoDbBlocker

from tests.full_size import FULL, cases
from tests.reading_here import reading_here

settings.register_profile("sample", max_examples=15, derandomize=True, deadline=None)
settings.register_profile("full", max_examples=100, deadline=None)
settings.load_profile(cases("sample", "full"))

Figure = Callable[..., None]
"""What was counted, of how many cases, what came of it and what is wanted."""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--figures", type=Path, help="write what the simulations came to into this page")


ORDER = [
    "tests/demo/test_seed.py",
    "tests/core/",
    "tests/browser/test_walk.py",
    "tests/browser/test_pages.py",
    "tests/",
    "",
]
"""One process seeds the demo while the other works on core; what takes long begins early, so neither ends alone."""


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if not FULL:
        left_out = [item for item in items if item.get_closest_marker("full_size")]
        items[:] = [item for item in items if item not in left_out]
        config.hook.pytest_deselected(items=left_out)
    items.sort(key=lambda item: next(n for n, start in enumerate(ORDER) if item.nodeid.startswith(start)))


@pytest.fixture(scope="session")
def django_db_keepdb() -> bool:
    """The book that lies there is taken as it is: ``django_db_modify_db_settings`` has just put it there."""
    return connection.vendor == "sqlite"


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, django_db_blocker: DjangoDbBlocker
) -> None:
    """Each process begins with a copy of the migrated book: to migrate takes ten seconds."""
    if connection.vendor == "sqlite":
        from tests.demo_shop import empty_book  # late: tests of core need no demo

        connection.settings_dict["TEST"]["MIGRATE"] = False
        with django_db_blocker.unblock():
            shutil.copy(empty_book(), connection.settings_dict["TEST"]["NAME"])


def pytest_unconfigure() -> None:
    """The folder that ``tests/settings.py`` made goes with the run; a worker's own too."""
    connection.close()
    shutil.rmtree(os.environ["LEVELWIND_DATA"], ignore_errors=True)


@pytest.fixture(autouse=True)
def read_here(request: pytest.FixtureRequest) -> Iterator[None]:
    if request.node.get_closest_marker("limited"):
        yield
    else:
        with reading_here():
            yield


@pytest.fixture
def figure(record_property: Callable[[str, object], None]) -> Figure:
    def keep(what: str, of: int, reached: str, wanted: str = "") -> None:
        record_property("figure", [what, str(of), reached, wanted])

    return keep


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """The figures as a page, one table a file of simulations; what ran takes the place of its older table."""
    page = config.getoption("--figures")
    if page is None:
        return
    reports = [report for kind in ("passed", "failed") for report in terminalreporter.stats.get(kind, [])]
    rows = [
        (report.nodeid.split("::")[0], value)
        for report in reports
        for name, value in report.user_properties
        if name == "figure" and report.when == "call"
    ]
    head, *older = page.read_text(encoding="utf-8").split("\n## ")
    tables = {table.split("`")[1]: table.rstrip() for table in older}
    for file, found in groupby(sorted(rows, key=lambda row: row[0]), lambda row: row[0]):
        lines = [f"`{file}`", "", f"Run on {timezone.localdate():%-d %B %Y}.", ""]
        lines += ["| counted | cases | reached | wanted |", "|---|---|---|---|"]
        tables[file] = "\n".join(lines + [f"| {' | '.join(row)} |" for _, row in found])
    page.write_text(
        "\n\n## ".join([head.rstrip(), *(tables[file] for file in sorted(tables))]) + "\n", encoding="utf-8"
    )
