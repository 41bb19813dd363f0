"""Taking back the last step of a job, whichever it was, by the service that the act has."""

from collections.abc import Callable

from django.db import transaction

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.last_step import last_step
from levelwind.shop.jobs.services.jobs import job_hold, job_step_back, job_take_up_again
from levelwind.shop.jobs.services.sendings import job_home_take_back
from levelwind.shop.models import Job
from levelwind.shop.money.selectors import price_latest
from levelwind.shop.money.services.prices import price_call_back, word_unsay
from levelwind.shop.takedown.services.apart import takedown_last_undone
from levelwind.shop.takedown.services.together import rebuild_last_undone


@transaction.atomic
def last_step_take_back(*, job: Job, press: str, why: str = "", by: str = "") -> Job:
    """Take back what was done last. ``press`` is of the page it was pressed on: pressed twice, it is taken back once.

    Raises LevelwindError where it is not safe, or where something was done since the page was drawn.
    """
    last = last_step(job_hold(job))
    if last.press != press:
        raise LevelwindError("Something was done with this reel since the page was loaded: look at what was last.")
    if last.back is None:
        raise LevelwindError(last.why_not)
    TAKES_BACK[last.back.key](job, why, by)
    job.refresh_from_db()
    return job


def _stepped(job: Job, why: str, by: str) -> None:
    job_step_back(job=job, by=by)


def _not_sent(job: Job, why: str, by: str) -> None:
    price = price_latest(job)
    if price is None:
        raise LevelwindError("There is no price to take back.")
    price_call_back(price=price, by=by)


def _ticked(job: Job, why: str, by: str) -> None:
    newest = job.steps_done.exclude(phase="without").order_by("at", "pk").last()
    on_apart = newest is None or newest.phase == "apart"
    (takedown_last_undone if on_apart else rebuild_last_undone)(job=job, by=by)


TAKES_BACK: dict[str, Callable[[Job, str, str], object]] = {
    "look_again": _stepped,
    "call_back": _not_sent,
    "unsay": lambda job, why, by: word_unsay(job=job, by=by),
    "close": _ticked,
    "open_again": _stepped,
    "prove_again": _stepped,
    "unbox": _stepped,
    "take_back": lambda job, why, by: job_home_take_back(job=job, why=why, by=by),
    "take_up": lambda job, why, by: job_take_up_again(job=job, by=by),
}
