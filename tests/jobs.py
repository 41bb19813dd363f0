"""A job to test with, booked in as a person would."""

from typing import Any

from levelwind.shop.models import Job, Owner, Parcel, Pattern


def a_pattern(**facts: Any) -> Pattern:
    given = {"maker": "Tarn & Wey", "model": "Skerry", "size": "50", "family": "star_drag"}
    return Pattern.objects.create(**given | facts)


def a_job(tag: str = "26-0001", **facts: Any) -> Job:
    owner = facts.pop("owner", None) or Owner.objects.create(name="Ansa Vell")
    parcel = facts.pop("parcel", None) or Parcel.objects.create(owner=owner)
    given = {"reel": "Skerry 50", "complaint": "the drag slips"}
    return Job.objects.create(tag=tag, owner=owner, parcel=parcel, **given | facts)
