"""For every test: recordings are read in its own process, unless it is marked ``limited``."""

from collections.abc import Iterator

import pytest

from tests.reading_here import reading_here


@pytest.fixture(autouse=True)
def read_here(request: pytest.FixtureRequest) -> Iterator[None]:
    if request.node.get_closest_marker("limited"):
        yield
    else:
        with reading_here():
            yield
