"""What was done to a reel, from where its pieces are: new ones in it, and a rebuild that is finished."""

from collections.abc import Sequence

from levelwind.shop.jobs.selectors.jobs import reel_is_open
from levelwind.shop.models import Job, Piece
from levelwind.shop.takedown.selectors.pieces import Work, job_work

MOST_NAMED = 6
"""So many pieces are named in one sentence; our choice."""


def what_was_done(job: Job) -> tuple[str, ...]:
    """A sentence each, for the proof sheet. No stage and no single tick makes one: a reel in pieces was not rebuilt."""
    new = tuple(job.pieces.filter(replaces__isnull=False, where="reel").values_list("name", flat=True))
    return (*_opened(job), *((f"Renewed: {', '.join(new)}.",) if new else ()))


def _opened(job: Job) -> tuple[str, ...]:
    if job.pattern is None:
        return ()
    work = job_work(job)
    if not work.taken:
        return ()
    if work.questions or reel_is_open(job):
        return (_left_open(work),)
    whole = {place for step in work.layout.rules.steps for place in step.frees} <= work.opened
    return (
        "Taken apart, cleaned, oiled and greased, put together."
        if whole
        else "Opened in part, cleaned, oiled and greased there, put together.",
    )


def _left_open(work: Work) -> str:
    """Each piece out of the reel, with what became of it where the job ended so, and each that is not here yet."""
    lying = [piece for piece in work.pieces if piece.where == "cell"]
    said = ["Opened, and not put together."]
    for fate, words in (("", "out of the reel"), *Piece.FATES):
        names = [piece.name for piece in lying if piece.fate == fate]
        said += [f"{words.capitalize()}: {some_names(names)}."] if names else []
    coming = [piece.name for piece in work.pieces if piece.where == "order"]
    said += [f"On order: {some_names(coming)}."] if coming else []
    return " ".join(said)


def some_names(names: Sequence[str]) -> str:
    """The first few, and that there are others.

    >>> some_names(["pinion", "yoke"])
    'pinion, yoke'
    """
    return ", ".join((*names[:MOST_NAMED], *(("and others",) if len(names) > MOST_NAMED else ())))
