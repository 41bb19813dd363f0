"""The two ends that are not home, and the way back."""

import pytest
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.services.booking import job_book_in
from levelwind.shop.jobs.services.jobs import job_end, job_take_up_again
from levelwind.shop.jobs.services.sendings import job_send_home
from levelwind.shop.models import BoneReel, Job, Owner, Parcel, Stage

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    reels = [Job(reel="old star drag", looked_like="frame cracked")]
    return job_book_in(owner=Owner(name="Tove"), parcel=Parcel(), reels=reels)[0]


def test_a_reel_kept_for_spares_lies_in_the_bone_box_once(job: Job) -> None:
    for _ in range(2):
        job_end(job=job, stage=Stage.SPARES, why="owner wants no part of it")
    bones = BoneReel.objects.get()
    assert (bones.reel, bones.condition, bones.job) == ("old star drag", "frame cracked", job)
    assert "owner wants no part of it" in job.events.first().text  # type: ignore[union-attr]


def test_a_reel_sent_back_after_all_leaves_the_bone_box(job: Job) -> None:
    job_end(job=job, stage=Stage.SPARES)
    job_end(job=job, stage=Stage.SENT_BACK)
    assert not BoneReel.objects.exists()
    assert Job.objects.get().stage == Stage.SENT_BACK


def test_home_is_not_one_of_these_ends(job: Job) -> None:
    with pytest.raises(InputError, match="sent back unmended or kept for spares"):
        job_end(job=job, stage=Stage.HOME)


def test_what_went_home_is_not_kept_and_what_was_kept_does_not_go_home(job: Job) -> None:
    job_send_home(job=job)
    with pytest.raises(LevelwindError, match="is home: take it back, or book it in again first"):
        job_end(job=job, stage=Stage.SPARES)
    other = job_book_in(owner=job.owner, parcel=Parcel(), reels=[Job(reel="a fly reel")])[0]
    job_end(job=other, stage=Stage.SPARES)
    with pytest.raises(LevelwindError, match="is kept for spares: take it up again first"):
        job_send_home(job=other)


def test_a_job_is_taken_up_again(job: Job) -> None:
    job_end(job=job, stage=Stage.SPARES)
    job_take_up_again(job=job)
    assert Job.objects.get().stage == Stage.LOOKED_OVER
    assert not BoneReel.objects.exists()


def test_a_stripped_reel_cannot_be_taken_up_again(job: Job) -> None:
    job_end(job=job, stage=Stage.SPARES)
    BoneReel.objects.update(stripped_on=timezone.localdate())
    with pytest.raises(LevelwindError, match="stripped"):
        job_take_up_again(job=job)
    assert Job.objects.get().stage == Stage.SPARES


def test_a_job_on_the_bench_cannot_be_taken_up_again(job: Job) -> None:
    with pytest.raises(LevelwindError, match="on the bench"):
        job_take_up_again(job=job)
