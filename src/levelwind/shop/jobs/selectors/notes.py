"""What was noted on a job and said on the telephone."""

from levelwind.shop.models import Job, JobNote


def note_latest(job: Job) -> JobNote | None:
    """The newest note or call that is not struck out."""
    return job.notes.filter(struck_at=None).first()
