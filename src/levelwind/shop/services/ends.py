"""The two ends of a job that are not home, and the way back from them."""

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.models import BoneReel, Job, Stage
from levelwind.shop.services.jobs import job_move, job_note

OTHER_ENDS = (Stage.SENT_BACK, Stage.SPARES)


@transaction.atomic
def job_end(*, job: Job, stage: Stage, why: str = "", by: str = "") -> Job:
    """Send the reel back unmended, or keep it for spares: then it lies in the bone box, whole."""
    if stage not in OTHER_ENDS:
        raise InputError("end of the job", stage, "sent back unmended or kept for spares")
    job_move(job=job, stage=stage, by=by)
    if why:
        job_note(job=job, text=f"{stage.label.capitalize()}: {why}", by=by)
    if stage == Stage.SPARES and not job.bone_reels.exists():
        bones = BoneReel(job=job, pattern=job.pattern, reel=job.reel, condition=job.looked_like)
        bones.full_clean()
        bones.save(force_insert=True)
    if stage == Stage.SENT_BACK:
        _out_of_the_bone_box(job)
    return job


@transaction.atomic
def job_take_up_again(*, job: Job, by: str = "") -> Job:
    """Back on the bench, at looked over. Refused where the reel was stripped for its parts meanwhile."""
    if job.stage not in OTHER_ENDS:
        raise LevelwindError("This job did not end: it is on the bench.")
    _out_of_the_bone_box(job)
    return job_move(job=job, stage=Stage.LOOKED_OVER, by=by)


def _out_of_the_bone_box(job: Job) -> None:
    bones = job.bone_reels.all()
    if any(reel.stripped_on for reel in bones):
        raise LevelwindError("This reel lies stripped in the bone box: its parts are on the shelf.")
    bones.delete()
