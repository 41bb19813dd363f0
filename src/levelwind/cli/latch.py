"""One at a time: the open app and a restore never work on the same book."""

from collections.abc import Iterator
from contextlib import contextmanager

from levelwind.core.errors import LevelwindError


@contextmanager
def the_only_one() -> Iterator[None]:
    """Hold the shop's latch, and finish a restore that was cut off.

    Raises LevelwindError while another process holds it; the system lets go of it at exit.
    """
    from django.conf import settings
    from filelock import FileLock, Timeout

    from levelwind.shop.book.services.backups import restore_finish

    latch = FileLock(settings.DATA / "latch", timeout=0)
    try:
        latch.acquire()
    except Timeout:
        raise LevelwindError(f"Levelwind is open on {settings.DATA}: close it there first.") from None
    with latch:
        restore_finish()
        yield
    latch.release()
