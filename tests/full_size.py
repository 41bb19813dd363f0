"""How many cases a simulation draws: a few seeded ones in ``make test``, all of them in ``make prove-numbers``."""

import os

FULL = bool(os.environ.get("LEVELWIND_FULL_SIZE"))


def cases(sample: int, full: int) -> int:
    """The first ``sample`` of the same seeds, or all ``full`` of them."""
    return full if FULL else sample
