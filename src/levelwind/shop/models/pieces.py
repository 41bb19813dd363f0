"""Every piece of a reel that is apart, and where it is: never nowhere."""

from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job
from levelwind.shop.models.patterns import Part


class Piece(models.Model):
    """What sits, sat or will sit in one place. A new piece names the old one whose place it takes.

    Of a job that ended, a piece that lay in the tray has a ``fate``, and ``cell`` is where it lies again if the job is
    taken up.
    """

    STATES = [
        ("", "not judged"),
        ("good", "good"),
        ("clean", "clean it"),
        ("worn", "worn"),
        ("broken", "broken"),
        ("missing", "missing"),
    ]
    FATES = [("bag", "goes home in a bag as it is"), ("spares", "kept for spares")]
    WHERE = [("reel", "in the reel"), ("cell", "in the tray"), ("scrap", "in the scrap bag"), ("order", "on order")]

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="pieces")
    place = models.CharField(max_length=60)
    name = models.CharField(max_length=120)
    count = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=8, choices=STATES, default="", blank=True)
    where = models.CharField(max_length=6, choices=WHERE, default="reel")
    cell = models.PositiveSmallIntegerField(null=True, blank=True)
    fate = models.CharField("what became of it as its job ended", max_length=6, choices=FATES, default="", blank=True)
    measured_mm = models.JSONField(default=dict, blank=True)
    part = models.ForeignKey(Part, on_delete=models.PROTECT, null=True, blank=True, related_name="pieces")
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by")
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(where="cell", cell__isnull=False)
                | (~models.Q(where="cell") & models.Q(cell__isnull=True)),
                name="piece_has_a_cell_only_in_the_tray",
            ),
            models.UniqueConstraint(
                fields=["job", "place"], condition=models.Q(replaces__isnull=True), name="piece_once_a_place"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class StepDone(models.Model):
    """A step of the takedown or a step or gate of the rebuild, ticked off; or a place whose piece is left out.

    ``step`` is the key of the step or gate; of a piece the reel goes home without, on purpose, the key of its place.
    """

    PHASES = [("apart", "apart"), ("together", "together"), ("gate", "gate"), ("without", "goes home without")]

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="steps_done")
    phase = models.CharField(max_length=8, choices=PHASES)
    step = models.CharField(max_length=60)
    at = models.DateTimeField(default=timezone.now)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [models.UniqueConstraint(fields=["job", "phase", "step"], name="step_done_once")]

    def __str__(self) -> str:
        return f"{self.phase}: {self.step}"


class DragPlan(models.Model):
    """A drag stack chosen for a job, with what it was computed to do. The newest one counts."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="drag_plans")
    stack = models.JSONField()
    setup = models.JSONField("how it is clamped, and which part lies where", default=dict, blank=True)
    found = models.JSONField("the stack as found", default=dict, blank=True)
    computed = models.JSONField(default=dict)
    core_version = models.CharField(max_length=20)
    at = models.DateTimeField(default=timezone.now)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"drag for {self.job.tag}"
