"""Work beside the pages: tasks wait in the book, and are worked off in the app's own process or by `levelwind work`.

A task that is due is run by whoever takes it first. What a killed worker left is the task's own matter: each kind of
work has a sweep that puts back what was taken and never ended (``docs/decisions/task-queue.md``).
"""

import logging
from collections.abc import Callable, Sequence
from datetime import timedelta
from threading import Event, Thread
from time import monotonic
from uuid import uuid4

from django.db import close_old_connections, connections
from django.utils import timezone

log = logging.getLogger(__name__)

PAUSE_S = 2.0
"""Between two looks at an empty queue: one read that finds nothing. Our choice; a letter may wait so long."""
SWEEP_S = 60.0
"""Between two sweeps for what a killed worker left. Our choice."""
KEPT = timedelta(days=14)
"""So long a task that is over stays in the book, to be looked at. Our choice."""
CLOSE_S = 5.0
"""So long the app waits at its closing for the task under way. Our choice; what is cut off is swept up later."""

Sweep = Callable[[], None]


def work_off() -> None:
    """Run every task that is due now, in this thread."""
    from django_tasks_db.management.commands.db_worker import Worker
    from django_tasks_db.models import DBTaskResult

    if not DBTaskResult.objects.ready().exists():
        return
    Worker(
        queue_names=["default"],
        interval=0,
        batch=True,
        backend_name="default",
        startup_delay=False,
        max_tasks=None,
        worker_id=uuid4().hex,
        excluded_queue_names=[],
    ).run()


def keep_working(stop: Event, sweeps: Sequence[Sweep]) -> None:
    """Work off what is due, again and again, until told to stop. A book that does not answer is asked again later."""
    swept: float | None = None
    while not stop.is_set():
        try:
            close_old_connections()
            if swept is None or monotonic() - swept > SWEEP_S:
                for sweep in (tidy_up, *sweeps):
                    sweep()
                swept = monotonic()
            work_off()
        except Exception:
            log.exception("The queue could not be worked off; it is tried again")
            connections.close_all()
        stop.wait(PAUSE_S)
    connections.close_all()


def tidy_up() -> None:
    """Forget tasks that were over long ago, or that a killed worker never ended."""
    from django_tasks_db.models import DBTaskResult

    long_ago = timezone.now() - KEPT
    DBTaskResult.objects.finished().filter(finished_at__lt=long_ago).delete()
    DBTaskResult.objects.running().filter(started_at__lt=long_ago).delete()


class Beside:
    """A thread of the open app that works the queue off."""

    def __init__(self, sweeps: Sequence[Sweep]) -> None:
        self.stop = Event()
        self.thread = Thread(target=keep_working, args=(self.stop, sweeps), name="queue", daemon=True)
        self.thread.start()

    def close(self) -> None:
        self.stop.set()
        self.thread.join(CLOSE_S)
