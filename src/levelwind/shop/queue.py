"""Work beside the pages: tasks wait in the book, and are worked off in the app's own process or by `levelwind work`.

A task that is due is run by whoever takes it first. What a killed worker left is the task's own matter: each kind of
work has a sweep that puts back what was taken and never ended (``docs/decisions/task-queue.md``).
"""

import logging
from collections.abc import Callable, Sequence
from datetime import timedelta
from threading import Event, Thread
from time import monotonic
from typing import Any, ParamSpec
from uuid import uuid4

from django.db import close_old_connections, connections, transaction
from django.utils import timezone
from django_tasks.base import Task

from levelwind.core.errors import LevelwindError

log = logging.getLogger(__name__)

RECORDINGS = "recordings"
THREADS = {"default": 1, RECORDINGS: 2}
"""Of each process, by queue: a letter does not wait behind a film. Our choice, for a machine of two cores."""
PAUSE_S = 2.0
"""Between two looks at an empty queue: one read that finds nothing. Our choice; a letter may wait so long."""
SWEEP_S = 60.0
"""Between two sweeps for what a killed worker left. Our choice."""
KEPT = timedelta(days=14)
"""So long a task that is over stays in the book, to be looked at. Our choice."""
CLOSE_S = 5.0
"""So long the app waits at its closing for the task under way. Our choice; what is cut off is swept up later."""

Sweep = Callable[[], None]
"""Looks for something to do, and does it. Raises LevelwindError where nothing may be done any more."""
P = ParamSpec("P")


def hand_in(task: "Task[P, Any]", *args: P.args, **kwargs: P.kwargs) -> None:
    """Have it run as soon as what is being written is in the book; the workers of this process are woken for it."""
    task.enqueue(*args, **kwargs)
    if workers := Workers.here:
        transaction.on_commit(workers.wake)


def work_off(queue: str = "default", over: Callable[[], bool] = bool) -> None:
    """Run every task of a queue that is due now, in this thread, until it is over."""
    from django_tasks_db.management.commands.db_worker import Worker
    from django_tasks_db.models import DBTaskResult

    due = DBTaskResult.objects.ready().filter(queue_name=queue)
    while not over() and due.all().exists():
        Worker(
            queue_names=[queue],
            interval=0,
            batch=True,
            backend_name="default",
            startup_delay=False,
            max_tasks=1,
            worker_id=uuid4().hex,
            excluded_queue_names=[],
        ).run()


def tidy_up() -> None:
    """Forget tasks that were over long ago, or that a killed worker never ended."""
    from django_tasks_db.models import DBTaskResult

    long_ago = timezone.now() - KEPT
    DBTaskResult.objects.finished().filter(finished_at__lt=long_ago).delete()
    DBTaskResult.objects.running().filter(started_at__lt=long_ago).delete()


class Workers:
    """The threads of this process that work the queues off; while there are such, what is handed in is left to them.

    ``sweeps`` are looked to by the thread of the default queue. ``may_go_on`` is asked before each task; once it raises
    LevelwindError nothing more is taken, what is under way is put back, and ``outgrown`` says why.
    """

    here: "Workers | None" = None

    def __init__(self, sweeps: Sequence[Sweep] = (), may_go_on: Sweep = lambda: None) -> None:
        self.stop, self.outgrown, self._may_go_on = Event(), "", may_go_on
        queues = [queue for queue, threads in THREADS.items() for _ in range(threads)]
        self._woken = [Event() for _ in queues]
        self._threads = [
            Thread(target=self._work, args=(queue, woken, sweeps if not number else ()), name=queue, daemon=True)
            for number, (queue, woken) in enumerate(zip(queues, self._woken, strict=True))
        ]
        Workers.here = self
        for thread in self._threads:
            thread.start()

    def wake(self) -> None:
        """There is something to do: do not wait for the next look."""
        for woken in self._woken:
            woken.set()

    def close(self) -> None:
        self.stop.set()
        self.wake()
        for thread in self._threads:
            thread.join(CLOSE_S)
        Workers.here = None

    def _work(self, queue: str, woken: Event, sweeps: Sequence[Sweep]) -> None:
        """What is due, again and again, until told to stop. A book that does not answer is asked again later."""
        swept: float | None = None
        while not self.stop.is_set():
            woken.clear()
            try:
                close_old_connections()
                if self._over():
                    break
                if sweeps and (swept is None or monotonic() - swept > SWEEP_S):
                    for sweep in (tidy_up, *sweeps):
                        sweep()
                    swept = monotonic()
                work_off(queue, self._over)
            except Exception:
                log.exception("The queue could not be worked off; it is tried again")
                connections.close_all()
            woken.wait(PAUSE_S)
        connections.close_all()

    def _over(self) -> bool:
        try:
            self._may_go_on()
        except LevelwindError as refusal:
            self.outgrown = str(refusal)
            log.warning("Nothing more is worked off: %s", refusal)
            self.stop.set()
            self.wake()
        return self.stop.is_set()
