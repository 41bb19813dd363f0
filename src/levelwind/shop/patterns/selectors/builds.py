"""Which build of its pattern a reel is."""

import re
from collections.abc import Iterable

from levelwind.shop.models import Build, Job


def serial_order(text: str) -> tuple[str, int] | None:
    """A serial number as its letters and its figures, so that numbers stand in order; None where it is neither.

    >>> serial_order("B 0471"), serial_order("unknown")
    (('b', 471), None)
    """
    found = re.fullmatch(r"([a-z]*)[\s./-]*(\d{1,18})", text.strip().lower())
    return (found[1], int(found[2])) if found else None


def build_find(pattern: int, pk: int) -> Build | None:
    """A build of the pattern with this key."""
    return Build.objects.select_related("pattern").filter(pattern=pattern, pk=pk).first()


def builds_likely(job: Job, builds: Iterable[Build]) -> tuple[Build, ...]:
    """Of these builds of its pattern, those whose serial numbers take in the reel's own."""
    return tuple(build for build in builds if _takes_in(build, job.serial))


def _takes_in(build: Build, serial: str) -> bool:
    here = serial_order(serial)
    first, last = serial_order(build.serial_from), serial_order(build.serial_to)
    ends = [end for end in (first, last) if end]
    if here is None or not ends or any(end[0] != here[0] for end in ends):
        return False
    return (first is None or first <= here) and (last is None or here <= last)
