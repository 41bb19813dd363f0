"""Writing down what was seen at a look."""

from django.db import transaction

from levelwind.core.errors import InputError
from levelwind.reference.stuck import stuck
from levelwind.shop.jobs.selectors.hunches import job_net
from levelwind.shop.jobs.services.jobs import job_advance, job_hold, job_note
from levelwind.shop.models import Job, Seen, Stage

SIGHTS = {"yes": True, "no": False, "": None}
"""As a page says it: there, not there, not looked for."""


@transaction.atomic
def finding_record(*, job: Job, finding: str, sight: str, by: str = "") -> None:
    """Note that a finding is there ("yes"), is not there ("no"), or was not looked for after all ("")."""
    if sight not in SIGHTS:
        raise InputError("sight", repr(sight), "yes, no or nothing")
    job_net(job).finding(finding)
    present = SIGHTS[sight]
    if present is None:
        Seen.objects.filter(job=job, finding=finding).delete()
    else:
        Seen.objects.update_or_create(job=job, finding=finding, defaults={"present": present})


@transaction.atomic
def job_corrosion_grade(*, job: Job, grade: str, by: str = "") -> Job:
    """How far the reel is corroded, by its looks; nothing takes it back."""
    job_hold(job)
    grades = stuck().grades
    if grade and grade not in grades:
        raise InputError("corrosion", repr(grade[:40]), "one of " + ", ".join(grades))
    if job.corrosion != grade:
        job.corrosion = grade
        job.full_clean()
        job.save(update_fields=["corrosion"])
        job_note(job=job, text=f"Corrosion: {grades[grade].name if grade else 'not graded after all'}.", by=by)
    return job


@transaction.atomic
def job_looked_over(*, job: Job, by: str = "") -> Job:
    """Call the looking done; what was seen stays open to change."""
    seen = Seen.objects.filter(job=job, present=True).count()
    job_note(job=job, text=f"Looked over: {seen} finding{'' if seen == 1 else 's'} there.", by=by)
    return job_advance(job=job, stage=Stage.LOOKED_OVER, by=by)
