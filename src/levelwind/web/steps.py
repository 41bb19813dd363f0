"""The eight steps of a reel's way, on its own pages and, small, wherever its job is a row."""

from levelwind.shop.jobs.life import Move, reached
from levelwind.shop.models import Job, Stage

STEPS = [
    ("job", "Book in", Stage.BOOKED_IN),
    ("look_over", "Look over", Stage.LOOKED_OVER),
    ("price", "Price", Stage.AGREED),
    ("apart", "Apart", Stage.APART),
    ("parts", "Parts", Stage.TOGETHER),
    ("together", "Together", Stage.TOGETHER),
    ("prove", "Prove", Stage.PROVED),
    ("box", "Box and home", Stage.HOME),
]
"""Address name, title, and the stage from which the step counts as done."""


def marks(job: Job, move: Move) -> tuple[str, ...]:
    """Of each step: "done", "next", or nothing yet."""
    following = "" if job.is_over else move.step
    return tuple(
        "done" if reached(job.stage, stage) else "next" if name == following else "" for name, _, stage in STEPS
    )
