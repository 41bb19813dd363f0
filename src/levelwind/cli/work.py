"""levelwind work: the queue alone, for a shop of many benches."""

import argparse
import signal
from contextlib import AbstractContextManager, nullcontext
from threading import Event

LOOK_S = 1.0
"""A wait without end would not hear Ctrl-C on Windows."""


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser(
        "work",
        help="work off what waits in the queue: recordings to be read, letters to be sent",
        description="The open app does this itself. Where the book is in PostgreSQL, as many of these may run beside "
        "it as one likes, on as many machines. Ctrl-C ends it.",
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from levelwind.cli.django_setup import bring_up_to_date, set_up

    set_up()
    with _beside_the_app():
        bring_up_to_date()
        from levelwind.core.errors import LevelwindError
        from levelwind.recordings.limited import keep_readers_ready
        from levelwind.shop.book.services.imports import imports_sweep
        from levelwind.shop.book.services.versions import refuse_an_outgrown_book
        from levelwind.shop.letters.mail import letters_sweep
        from levelwind.shop.queue import Workers
        from levelwind.shop.readings.services.work import readings_sweep, work_resume

        stop = Event()
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, lambda *_: stop.set())
        keep_readers_ready()
        work_resume()
        workers = Workers([readings_sweep, letters_sweep, imports_sweep], refuse_an_outgrown_book)
        print("Working off the queue (Ctrl-C ends it)", flush=True)
        while not (stop.wait(LOOK_S) or workers.outgrown):
            pass
        workers.close()
        if workers.outgrown:
            raise LevelwindError(workers.outgrown)
    return 0


def _beside_the_app() -> AbstractContextManager[None]:
    """A book in one file belongs to one process at a time: the open app works its queue off already."""
    from django.db import connection

    from levelwind.cli.latch import the_only_one

    return the_only_one() if connection.vendor == "sqlite" else nullcontext()
