"""Reading recordings beside the pages: two at a time, each in its limited process, with progress, and able to stop.

A reading's row says where it stands: waiting, under way, stopped, read. Only the thread that took it from waiting to
under way writes what comes of it, and only while it is still under way; so whoever stops or deletes it has the last
word, and nothing is ever read twice at once. While the app is not open (a script, the demonstration shop, a test)
a recording is read at once by whoever uploads it.
"""

import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Event, Lock
from time import monotonic

from django.db import OperationalError, connections, transaction
from django.db.models import QuerySet

from levelwind import __version__
from levelwind.core.errors import LevelwindError
from levelwind.recordings.limited import Stopped
from levelwind.shop.jobs.services.jobs import job_note
from levelwind.shop.models import Reading, Work
from levelwind.shop.readings.selectors.brief import brief_to_keep
from levelwind.shop.readings.services.analysis import Found, analyse
from levelwind.shop.readings.services.files import still_keep

log = logging.getLogger(__name__)

AT_ONCE = 2
TELL_S = 0.5
"""How often a reading's progress is written to the book: each is a write that waits for the disk."""
NEW_S = 0.1
"""And when something new is begun, which may go on for a while without another word."""
BROKEN = "Levelwind itself failed on this file. The file is kept, and the fault is in Levelwind's log."


@dataclass(frozen=True, slots=True)
class _Task:
    stop: Event = field(default_factory=Event)
    over: Event = field(default_factory=Event)


class _Desk:
    """Who reads what, in this process. Closed until the app opens it."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.threads: ThreadPoolExecutor | None = None
        self.tasks: dict[int, _Task] = {}


_desk = _Desk()


def work_start(pk: int) -> None:
    """Read a waiting reading's recording: beside the pages once the book says so, or at once where none are open."""
    if _desk.threads is None:
        _read(pk, Event())
    else:
        transaction.on_commit(lambda: _hand_over(pk))


def work_wait(pk: int, seconds: float) -> None:
    """Wait until the reading is read or stopped, at most so long: a quick one is then shown without a second look."""
    task = _desk.tasks.get(pk)
    if task:
        task.over.wait(seconds)


def work_stop(pk: int) -> None:
    """End the limited process of a reading; the row says already that it was stopped."""
    task = _desk.tasks.get(pk)
    if task:
        task.stop.set()


def work_resume() -> None:
    """Open the desk, when the app opens: from now on read beside the pages, first what a stopped server left."""
    with _desk.lock:
        _desk.threads = _desk.threads or ThreadPoolExecutor(AT_ONCE, "reading")
    left = Reading.objects.exclude(pk__in=list(_desk.tasks))
    left.filter(work=Work.UNDER_WAY).update(work=Work.WAITING, part_done=0, doing="")
    for pk in left.filter(work=Work.WAITING).values_list("pk", flat=True):
        work_start(pk)


def work_close() -> None:
    """Close the desk, when the app closes: what is not read yet waits in the book for the next opening."""
    with _desk.lock:
        threads, _desk.threads = _desk.threads, None
    for task in list(_desk.tasks.values()):
        task.stop.set()
    if threads:
        threads.shutdown(cancel_futures=True)
    _desk.tasks.clear()


def _hand_over(pk: int) -> None:
    with _desk.lock:
        if _desk.threads is None:
            return
        before, task = _desk.tasks.get(pk), _Task()
        _desk.tasks[pk] = task
        _desk.threads.submit(_work, pk, task, before)


def _work(pk: int, task: _Task, before: _Task | None) -> None:
    """In a thread of the desk. One that was stopped and goes on waits for its stopped self to end."""
    try:
        if before:
            before.over.wait()
        _read(pk, task.stop)
    except Exception:
        log.exception("The reading %s could not be written down; it is read again when the app next opens", pk)
    finally:
        connections.close_all()
        with _desk.lock:
            if _desk.tasks.get(pk) is task:
                del _desk.tasks[pk]
        task.over.set()


def _read(pk: int, stop: Event) -> None:
    reading = _row(pk, Work.WAITING).select_related("job__pattern").first()
    taken = {"work": Work.UNDER_WAY, "part_done": 0, "doing": "opening the file"}
    if reading is None or not _row(pk, Work.WAITING).update(**taken):
        return
    try:
        _write_down(reading, _found(reading, stop))
    except Stopped:
        _row(pk, Work.UNDER_WAY).update(work=Work.WAITING, part_done=0, doing="")
    except Exception:
        log.exception("Reading the file of reading %s failed", pk)
        _row(pk, Work.UNDER_WAY).update(work=Work.READ, analysis={}, refused=BROKEN, doing="")


def _row(pk: int, work: Work) -> QuerySet[Reading]:
    return Reading.objects.filter(pk=pk, work=work)


def _found(reading: Reading, stop: Event) -> Found:
    try:
        return analyse(reading, progress=_teller(reading.pk, stop), stop=stop)
    except Stopped:
        raise
    except LevelwindError as refusal:
        return Found(refused=" ".join(str(refusal).split()))


def _teller(pk: int, stop: Event) -> Callable[[float, str], None]:
    """Writes progress to the row; stops the reading of one that somebody stopped elsewhere or deleted."""
    last, said = 0.0, ""

    def tell(part: float, doing: str) -> None:
        nonlocal last, said
        now = monotonic()
        if now - last < (TELL_S if doing == said else NEW_S):
            return
        last, said = now, doing
        try:
            if not _row(pk, Work.UNDER_WAY).update(part_done=min(max(part, 0.0), 1.0), doing=doing[:60]):
                stop.set()
        except OperationalError:
            log.warning("The progress of reading %s could not be written: the book is busy", pk)

    return tell


@transaction.atomic
def _write_down(reading: Reading, found: Found) -> None:
    if found.still:
        still_keep(reading=reading, jpeg=found.still)
    reading.analysis, reading.refused = found.analysis, found.refused[:300]
    written = _row(reading.pk, Work.UNDER_WAY).update(
        work=Work.READ,
        part_done=1,
        doing="",
        analysis=reading.analysis,
        brief=brief_to_keep(reading),
        refused=reading.refused,
        still=reading.still.name or "",
        core_version=__version__,
    )
    if written and found.refused:
        job_note(job=reading.job, text=f"{reading} gives no number: {found.refused}")
