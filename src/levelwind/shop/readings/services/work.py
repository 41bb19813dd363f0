"""Reading recordings beside the pages: each in its limited process, with progress, and able to stop.

A reading's row says where it stands: waiting, under way, stopped, read; a task of the queue only brings it to a worker.
Whoever takes it from waiting to under way signs the row, and writes what comes of it only while the row is under way
with that signature. So whoever stops or deletes it has the last word, and nothing is written twice. A worker says every
few seconds that it is still at it; of one that says nothing any more another takes it up. Where nobody works the queue
off (a script, the demonstration shop, a test) a recording is read at once by whoever uploads it.
"""

import logging
from collections.abc import Callable
from datetime import timedelta
from threading import Event
from time import monotonic, sleep
from uuid import uuid4

from django.db import InterfaceError, OperationalError, ProgrammingError, connection, transaction
from django.db.models import F, Q, QuerySet
from django.utils import timezone
from django_tasks import task
from django_tasks_db.models import DBTaskResult

from levelwind import __version__
from levelwind.core.errors import LevelwindError
from levelwind.recordings.limited import Stopped
from levelwind.shop.jobs.services.jobs import job_note
from levelwind.shop.models import Reading, Work
from levelwind.shop.queue import RECORDINGS, Workers, hand_in
from levelwind.shop.readings.selectors.brief import brief_to_keep
from levelwind.shop.readings.services.analysis import Found, analyse
from levelwind.shop.readings.services.files import still_keep

log = logging.getLogger(__name__)

TELL_S = 0.5
"""How often a reading's progress is written to the book: each is a write that waits for the disk."""
NEW_S = 0.1
"""And when something new is begun, which may go on for a while without another word."""
LOOK_S = 0.5
"""How often a worker looks whether the reading is still its own: so long a stop may take. Our choice."""
BEAT_S = 5.0
"""How often it says that it is still at it, where its progress does not. Our choice."""
LEASE = timedelta(seconds=60)
"""A worker that said nothing for longer was killed, or its machine sleeps. Our choice: a dozen beats."""
GLANCE_S = 0.05
"""How often a page that waits for a quick one looks."""
TRIES = 3
"""Workers that may end over one recording, or fail to reach its file, before it is called unreadable. Our choice."""
AWAY = timedelta(minutes=1)
"""So long a file that cannot be reached is left before the next try, twice as long before the one after. Our choice."""
BROKEN = "Levelwind itself failed on this file. The file is kept, and the fault is in Levelwind's log."
ENDED = f"{TRIES} workers ended over this file. It is kept; read it again from here if something else ended them."
GONE = "The file cannot be reached: is the shop's folder there? Read it again when it is."


def work_start(pk: int) -> None:
    """Read a waiting reading's recording: beside the pages once the book says so, or at once where nobody would."""
    if Workers.here is None:
        _read(pk)
    else:
        hand_in(recording_read, pk)


def work_wait(pk: int, seconds: float) -> None:
    """Wait until the reading is read or stopped, at most so long: a quick one is then shown without a second look."""
    last = monotonic() + seconds
    at_work = Reading.objects.filter(pk=pk, work__in=[Work.WAITING, Work.UNDER_WAY])
    while Workers.here and monotonic() < last and at_work.all().exists():
        sleep(GLANCE_S)


def work_resume() -> None:
    """When the app opens a book that is its alone: what a stopped server had under way waits again."""
    if connection.vendor == "sqlite":
        Reading.objects.filter(work=Work.UNDER_WAY).update(**_WAITING)


def readings_sweep() -> None:
    """Put back what a killed worker had, and bring tasks to what waits without any, as after a restore."""
    silent = Q(beat_at__lt=timezone.now() - LEASE) | Q(beat_at=None)  # none of those an earlier version began
    for reading in Reading.objects.filter(silent, work=Work.UNDER_WAY):
        if reading.tries < TRIES:
            _put_back(reading)
        else:
            _mine(reading).update(work=Work.READ, refused=ENDED, doing="")
    if not DBTaskResult.objects.filter(queue_name=RECORDINGS, status="READY").exists():
        for pk in Reading.objects.filter(work=Work.WAITING).values_list("pk", flat=True):
            hand_in(recording_read, pk)


@task(queue_name=RECORDINGS)
def recording_read(pk: int) -> None:
    """By whoever takes it first."""
    _read(pk)


_WAITING = {"work": Work.WAITING, "part_done": 0, "doing": ""}


def _read(pk: int) -> None:
    reading = _taken(pk)
    if reading is None:
        return
    try:
        _write_down(reading, _found(reading))
    except Stopped:
        _put_back(reading, tries=reading.tries - 1)
    except FileNotFoundError:
        _try_later(reading)
    except (OperationalError, InterfaceError, ProgrammingError):
        # the book's, not the file's: it went away, or a newer version is changing its tables
        if Workers.here is None:
            raise
        log.exception("The book did not take what reading %s came to; it is read again", pk)
    except Exception:
        log.exception("Reading the file of reading %s failed", pk)
        _mine(reading).update(work=Work.READ, analysis={}, refused=BROKEN, doing="")


def _taken(pk: int) -> Reading | None:
    signed = {"taken_by": uuid4().hex, "beat_at": timezone.now(), "tries": F("tries") + 1}
    waiting = Reading.objects.filter(pk=pk, work=Work.WAITING)
    if not waiting.update(work=Work.UNDER_WAY, part_done=0, doing="opening the file", **signed):
        return None
    taken = Reading.objects.filter(pk=pk, taken_by=signed["taken_by"])
    return taken.select_related("job__pattern").first()


def _mine(reading: Reading) -> QuerySet[Reading]:
    return Reading.objects.filter(pk=reading.pk, work=Work.UNDER_WAY, taken_by=reading.taken_by)


@transaction.atomic
def _put_back(reading: Reading, **more: int) -> None:
    if _mine(reading).update(**_WAITING, **more):
        hand_in(recording_read, reading.pk)


@transaction.atomic
def _try_later(reading: Reading) -> None:
    """Where nobody would come back to it, that is said at once."""
    if reading.tries >= TRIES or Workers.here is None:
        _mine(reading).update(work=Work.READ, refused=GONE, doing="")
    elif _mine(reading).update(**_WAITING | {"doing": "the file cannot be reached; it is tried again"}):
        recording_read.using(run_after=timezone.now() + AWAY * reading.tries).enqueue(reading.pk)


def _found(reading: Reading) -> Found:
    stop = _Stop(reading)
    try:
        return analyse(reading, progress=_teller(reading, stop), stop=stop)
    except Stopped:
        raise
    except LevelwindError as refusal:
        return Found(refused=" ".join(str(refusal).split()))


class _Stop(Event):
    """Set once the workers of this process close, or the reading is another's: stopped by hand, deleted, taken over."""

    def __init__(self, reading: Reading) -> None:
        super().__init__()
        self._reading, self._workers = reading, Workers.here
        self._looked = self._beat = monotonic()

    def is_set(self) -> bool:
        if not super().is_set() and (self._closing() or self._lost()):
            self.set()
        return super().is_set()

    def _closing(self) -> bool:
        return self._workers is not None and self._workers.stop.is_set()

    def _lost(self) -> bool:
        now = monotonic()
        if now - self._looked < LOOK_S:
            return False
        self._looked = now
        try:
            if now - self._beat < BEAT_S:
                return not _mine(self._reading).exists()
            self._beat = now
            return not _mine(self._reading).update(beat_at=timezone.now())
        except OperationalError:
            return False  # a busy book says nothing: it is asked again


def _teller(reading: Reading, stop: Event) -> Callable[[float, str], None]:
    """Writes progress to the row; stops the reading of one that is no more this worker's."""
    last, said = 0.0, ""

    def tell(part: float, doing: str) -> None:
        nonlocal last, said
        now = monotonic()
        if now - last < (TELL_S if doing == said else NEW_S):
            return
        last, said = now, doing
        told = {"part_done": min(max(part, 0.0), 1.0), "doing": doing[:60], "beat_at": timezone.now()}
        try:
            if not _mine(reading).update(**told):
                stop.set()
        except OperationalError:
            log.warning("The progress of reading %s could not be written: the book is busy", reading.pk)

    return tell


@transaction.atomic
def _write_down(reading: Reading, found: Found) -> None:
    if found.still:
        still_keep(reading=reading, jpeg=found.still)
    reading.analysis, reading.refused = found.analysis, found.refused[:300]
    written = _mine(reading).update(
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
