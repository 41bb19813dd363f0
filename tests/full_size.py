"""How many cases are drawn: a few seeded ones in ``make test``, all of them in ``make prove-numbers``."""

import os
from typing import TypeVar

Size = TypeVar("Size")

FULL = bool(os.environ.get("LEVELWIND_FULL_SIZE"))


def cases(sample: Size, full: Size) -> Size:
    """The first ``sample`` of the same seeds, or all ``full`` of them."""
    return full if FULL else sample
