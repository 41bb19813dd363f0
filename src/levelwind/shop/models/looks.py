"""What was seen at a look, and readings as found and as left."""

from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job


class Seen(models.Model):
    """A finding looked for on a job: there, or not there. Not looked for has no row."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="seen")
    finding = models.CharField(max_length=60)
    present = models.BooleanField()
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "finding"], name="finding_seen_once")]

    def __str__(self) -> str:
        return f"{self.finding}: {'there' if self.present else 'not there'}"


class Lesson(models.Model):
    """What a job taught of its family's faults as it ended, kept so that nobody reads the pieces of thousands again.

    It counts while the job stands as it ended then (``stage``, ``since``) and is read by the same ``law``.
    """

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="lesson")
    stage = models.CharField(max_length=20)
    since = models.DateTimeField()
    law = models.CharField(max_length=16)
    found = models.JSONField("faults that were there", default=list)
    sound = models.JSONField("faults that were looked for and were not there", default=list)
    seen = models.JSONField("findings, there or not", default=dict)

    def __str__(self) -> str:
        return f"{self.job_id}: {', '.join(self.found) or 'nothing found'}"


def reading_path(reading: "Reading", name: str) -> str:
    return f"readings/{reading.sha256[:2]}/{reading.sha256}"


def still_path(reading: "Reading", name: str) -> str:
    return f"photos/{reading.sha256[:2]}/{reading.sha256}-still.jpg"


class Work(models.TextChoices):
    """How far the reading of a file has come."""

    WAITING = "waiting", "waiting to be read"
    UNDER_WAY = "under_way", "being read"
    STOPPED = "stopped", "stopped by hand"
    READ = "read", "read"


class Reading(models.Model):
    """One measurement with its file and its analysis. Never edited: a correction is another reading."""

    KINDS = [("pull", "pull"), ("spin", "spin"), ("end_float", "end float"), ("turn", "turn")]
    MOMENTS = [("found", "as found"), ("left", "as left")]

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="readings")
    kind = models.CharField(max_length=10, choices=KINDS)
    moment = models.CharField(max_length=5, choices=MOMENTS)
    typed = models.JSONField("values typed, SI", default=dict, blank=True)
    file = models.FileField(upload_to=reading_path, blank=True, max_length=200)
    file_name = models.CharField(max_length=120, blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    options = models.JSONField("what a person said of the file", default=dict, blank=True)
    still = models.FileField("a picture out of the film", upload_to=still_path, blank=True, max_length=200)
    work = models.CharField(max_length=9, choices=Work, default=Work.READ, db_index=True)
    part_done = models.FloatField(default=0)
    doing = models.CharField(max_length=60, blank=True)
    taken_by = models.CharField("the worker that reads it", max_length=32, blank=True)
    beat_at = models.DateTimeField("when that worker last said so", null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    analysis = models.JSONField(default=dict, blank=True)
    brief = models.JSONField("what it says beside other reels", default=dict, blank=True)
    refused = models.CharField("why it gave no number", max_length=300, blank=True)
    core_version = models.CharField(max_length=20)
    corrects = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrections")
    struck_out = models.BooleanField(default=False)
    invented = models.BooleanField(default=False)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [models.CheckConstraint(condition=models.Q(work__in=Work.values), name="reading_work_known")]
        indexes = [models.Index(fields=["job", "moment", "kind"], name="reading_of_job")]

    def __str__(self) -> str:
        return f"{self.name} {self.get_moment_display()}"

    @property
    def name(self) -> str:
        """As the pages call it where it is typed."""
        return "handle torque" if self.kind == "turn" else self.get_kind_display()

    @property
    def at_work(self) -> bool:
        return self.work in (Work.WAITING, Work.UNDER_WAY)

    @property
    def gives_number(self) -> bool:
        """A refused recording has an analysis too: its figure, and what it asks."""
        return bool(self.analysis) and not self.refused
