"""One at a time: the open app and a restore never work on the same book."""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager

from levelwind.core.errors import LevelwindError


@contextmanager
def the_only_one() -> Iterator[None]:
    """Hold the shop's latch, and finish a restore that was cut off.

    Raises LevelwindError while another process holds it; the system lets go of it at exit.
    """
    from django.conf import settings

    from levelwind.shop.book.services.backups import restore_finish

    with (settings.DATA / "latch").open("w") as latch:
        try:
            fcntl.flock(latch, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise LevelwindError(f"Levelwind is open on {settings.DATA}: close it there first.") from None
        restore_finish()
        yield
