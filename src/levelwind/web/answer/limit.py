"""How often the public pages answer one address: told in the shared cache, so that every process counts the same."""

from django.core.cache import cache

MOST_A_MINUTE = 40
"""Pages and pictures for one address. Our choice: a page with its pictures, looked at a few times."""
MOST_WRONG = 10
"""Wrong links from one address in a quarter of an hour, as with wrong passwords."""
MINUTE_S, QUARTER_S = 60, 900


def too_often(address: str) -> bool:
    """Counts this request; whether the address has had its share, or guessed too often."""
    often = _counted(f"owner-link-{address}", MINUTE_S) > MOST_A_MINUTE
    return often or int(cache.get(_wrong(address)) or 0) >= MOST_WRONG


def wrong_link(address: str) -> None:
    _counted(_wrong(address), QUARTER_S)


def _wrong(address: str) -> str:
    return f"owner-link-wrong-{address}"


def _counted(key: str, seconds: int) -> int:
    if cache.add(key, 1, seconds):
        return 1
    try:
        return int(cache.incr(key))
    except ValueError:  # it ran out between the two
        return 1
