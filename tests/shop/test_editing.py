"""Two people save the same thing: what each changed is kept, and nobody's words are lost without being told."""

import pytest
from django.core.exceptions import ValidationError

from levelwind.shop.editing import fields_save
from levelwind.shop.models import Job
from tests.jobs import a_job

pytestmark = pytest.mark.django_db


def test_different_fields_of_one_job_are_both_kept() -> None:
    job = a_job(serial="", came_with="")
    mine, theirs = Job.objects.get(pk=job.pk), Job.objects.get(pk=job.pk)
    assert fields_save(instance=mine, was={"serial": ""}, now={"serial": "A 12"}).fields == ("serial",)
    assert fields_save(instance=theirs, was={"came_with": ""}, now={"came_with": "rod bag"}).fields == ("came_with",)
    job.refresh_from_db()
    assert (job.serial, job.came_with) == ("A 12", "rod bag")


def test_the_second_into_the_same_field_is_told_and_not_written() -> None:
    job = a_job(serial="")
    fields_save(instance=Job.objects.get(pk=job.pk), was={"serial": ""}, now={"serial": "first"})
    saved = fields_save(instance=job, was={"serial": ""}, now={"serial": "second"})
    assert (saved.fields, dict(saved.clashes)) == ((), {"serial": "first"})
    assert Job.objects.get(pk=job.pk).serial == "first"


def test_the_same_words_twice_are_no_clash() -> None:
    job = a_job(serial="")
    fields_save(instance=Job.objects.get(pk=job.pk), was={"serial": ""}, now={"serial": "A 12"})
    saved = fields_save(instance=job, was={"serial": ""}, now={"serial": "A 12"})
    assert (saved.fields, dict(saved.clashes)) == ((), {})


def test_what_the_model_refuses_is_not_written() -> None:
    job = a_job()
    with pytest.raises(ValidationError):
        fields_save(instance=job, was={"reel": job.reel}, now={"reel": "x" * 121})
    assert Job.objects.get(pk=job.pk).reel == "Skerry 50"
