"""Several people who press the same button at the same moment, each with a connection of their own."""

from collections.abc import Callable
from threading import Barrier, Thread

from django.db import connection

from levelwind.shop.models import Job


def at_once(job: Job, act: Callable[[Job], object], people: int = 8) -> list[Exception]:
    """Everybody reads the job, then all press at once; returns what was refused."""
    ready, refused = Barrier(people), []

    def press() -> None:
        try:
            own = Job.objects.get(pk=job.pk)
            ready.wait()
            act(own)
        except Exception as refusal:
            refused.append(refusal)
        finally:
            connection.close()

    threads = [Thread(target=press) for _ in range(people)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return refused
