"""A job is one reel's stay in the shop."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from levelwind.shop.models.patterns import Build, Pattern
from levelwind.shop.models.people import Owner, Parcel


class Stage(models.TextChoices):
    BOOKED_IN = "booked_in", "booked in"
    LOOKED_OVER = "looked_over", "looked over"
    PRICE_SENT = "price_sent", "price sent"
    AGREED = "agreed", "agreed"
    APART = "apart", "apart"
    TOGETHER = "together", "together"
    PROVED = "proved", "proved"
    BOXED = "boxed", "boxed"
    HOME = "home", "home"
    SENT_BACK = "sent_back", "sent back unmended"
    SPARES = "spares", "kept for spares"
    SOLD = "sold", "sold"


ENDED = (Stage.HOME, Stage.SENT_BACK, Stage.SPARES, Stage.SOLD)
OPEN = tuple(stage for stage in Stage if stage not in ENDED)


class Turn(models.TextChoices):
    MINE = "mine", "my turn"
    OWNER = "owner", "the owner's turn"
    PART = "part", "short of a part"


class AfterNo(models.TextChoices):
    """What follows where the owner's newest word is a no; nothing while it is not."""

    NOTHING = "", "no no stands"
    ASK = "ask", "to be said"
    AGREED = "agreed", "finish what was agreed before"
    BACK = "back", "put it together and send it back"


LEAVE = [
    ("", "nothing: clean it, and what it needs"),
    ("paint", "paint and lacquer, on or off"),
    ("polish", "polish"),
    ("polish,paint", "polish, paint and lacquer"),
    ("cleaning,polish,paint", "all of it: leave it as it is, not even cleaned"),
]
"""What an owner or a collector may forbid, by the keys of the book's own list."""


WATERS = [("", "not said"), ("fresh", "fresh water"), ("salt", "salt water")]
"""It decides how soon a reel wants a service."""


class Reel(models.Model):
    """One and the same reel over several stays. A reel that was here once needs none."""

    since = models.DateTimeField("since when its stays are known as one reel's", default=timezone.now)

    def __str__(self) -> str:
        return f"a reel known since {self.since:%Y-%m-%d}"


class Job(models.Model):
    """One reel's stay in the shop, from the box it came in to the box it goes home in.

    ``layers`` are its pattern's as they were when taking apart began, null before; ``says`` is this reel's own on top.
    """

    tag = models.CharField("tag number", max_length=12, unique=True)
    owner = models.ForeignKey(Owner, on_delete=models.PROTECT, related_name="jobs")
    parcel = models.ForeignKey(Parcel, on_delete=models.PROTECT, related_name="jobs")
    pattern = models.ForeignKey(Pattern, on_delete=models.PROTECT, null=True, blank=True, related_name="jobs")
    build = models.ForeignKey(Build, on_delete=models.PROTECT, null=True, blank=True, related_name="jobs")
    clear_family = models.CharField("family that its looks tell, while it has no pattern", max_length=40, blank=True)
    reel = models.CharField("the reel, as its owner names it", max_length=120)
    history = models.ForeignKey(
        Reel, verbose_name="which reel", on_delete=models.PROTECT, null=True, blank=True, related_name="stays"
    )
    comeback_of = models.OneToOneField(
        "self",
        verbose_name="the stay whose guarantee it comes back under",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="comeback",
    )
    free = models.BooleanField("nothing is charged, under the guarantee", default=False)
    serial = models.CharField("serial number", max_length=60, blank=True)
    complaint = models.TextField("complaint, in the owner's words", blank=True)
    came_with = models.TextField("what came with it", blank=True)
    looked_like = models.TextField("how it looked", blank=True)
    declared_minor = models.PositiveBigIntegerField("value declared", null=True, blank=True)
    leave = models.CharField("what its owner forbids", max_length=40, choices=LEAVE, default="", blank=True)
    leave_note = models.CharField("why it is left as it is", max_length=200, blank=True)
    water = models.CharField("water it is fished in", max_length=5, choices=WATERS, default="", blank=True)
    hours_a_year = models.PositiveSmallIntegerField(
        "hours it is fished in a year",
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(5000)],
    )
    corrosion = models.CharField("how far it is corroded, by its looks", max_length=20, blank=True)
    line_name = models.CharField("line on the reel", max_length=80, blank=True)
    line_strength_N = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.1)])
    tippet_strength_N = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.1)])
    line_diameter_mm = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.02)])
    stage = models.CharField(max_length=12, choices=Stage, default=Stage.BOOKED_IN, db_index=True)
    ended_from = models.CharField("stage at which it ended", max_length=12, choices=Stage, default="", blank=True)
    stage_since = models.DateTimeField(default=timezone.now)
    turn = models.CharField("whose turn it is", max_length=5, choices=Turn, default=Turn.MINE)
    short_of = models.CharField("which part it is short of, beside those on order", max_length=120, blank=True)
    ceiling_minor = models.PositiveBigIntegerField("the most the owner agreed to, with tax", null=True, blank=True)
    after_no = models.CharField("what follows a no", max_length=6, choices=AfterNo, default="", blank=True)
    urgent = models.BooleanField("goes ahead of all others", default=False)
    waiting_since = models.DateTimeField("since when it is not mine", null=True, blank=True)
    paused_since = models.DateTimeField("since when the promise waits", null=True, blank=True)
    promised_on = models.DateField(null=True, blank=True, db_index=True)
    promise_chance = models.FloatField(null=True, blank=True)
    booked_in_at = models.DateTimeField(default=timezone.now, db_index=True)
    reach = models.JSONField("places to be reached", default=list, blank=True)
    layers = models.JSONField("the layout it began with", null=True, blank=True)
    kept_from = models.CharField("the pattern's newer layout that it was kept from", max_length=64, blank=True)
    says = models.JSONField("what this reel has otherwise than its pattern", default=dict, blank=True)
    verdict = models.TextField("verdict, in your words", blank=True)
    done_note = models.TextField("what was done", blank=True)
    bought_minor = models.PositiveBigIntegerField("what the shop paid for it", null=True, blank=True)
    asks_minor = models.PositiveBigIntegerField("what it is to be sold for", null=True, blank=True)
    sold_for = models.OneToOneField(
        "shop.MoneyEntry",
        verbose_name="what it was sold for",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="reel_sold",
    )
    bill_draft = models.JSONField("lines of a bill not yet made", null=True, blank=True)

    class Meta:
        ordering = ["-booked_in_at", "-pk"]
        indexes = [
            models.Index(fields=["stage", "promised_on"], name="job_stage_promise"),
            models.Index(fields=["pattern", "stage", "-stage_since"], name="job_pattern_stage"),
            models.Index(fields=["owner", "stage"], name="job_owner_stage"),
            models.Index(fields=["-stage_since", "-id", "stage"], name="job_ended_last"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(promise_chance__isnull=True)
                | models.Q(promise_chance__gte=0, promise_chance__lte=1),
                name="job_promise_chance_0_to_1",
            ),
            models.CheckConstraint(condition=models.Q(stage__in=Stage.values), name="job_stage_known"),
            models.CheckConstraint(condition=models.Q(turn__in=Turn.values), name="job_turn_known"),
            models.CheckConstraint(
                condition=~models.Q(turn=Turn.MINE) | models.Q(short_of=""), name="job_of_mine_short_of_nothing"
            ),
            models.CheckConstraint(
                condition=models.Q(free=False) | models.Q(comeback_of__isnull=False), name="job_free_as_a_comeback"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tag} {self.reel}"

    @property
    def is_over(self) -> bool:
        return self.stage in ENDED

    @property
    def is_own(self) -> bool:
        """A reel of the shop's own, mended to be sold: nobody is asked, and nobody is billed."""
        return self.owner.kind == "shop"


class JobEvent(models.Model):
    """What happened to a job, in a sentence; read as its history."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="events")
    at = models.DateTimeField(default=timezone.now)
    by = models.CharField(max_length=80, blank=True)
    text = models.CharField(max_length=300)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.text


class Draft(models.Model):
    """A booking begun and not finished: every field as typed, so that a closed tab loses nothing."""

    data = models.JSONField(default=dict, blank=True)
    begun_at = models.DateTimeField(default=timezone.now)
    saved_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["-saved_at"]

    def __str__(self) -> str:
        return str(self.data.get("owner_name") or "a booking begun")


def photo_path(photo: "Photo", name: str) -> str:
    return f"photos/{photo.sha256[:2]}/{photo.sha256}-{name}"


class Photo(models.Model):
    """A picture, upright, without position data, with a thumbnail."""

    MOMENTS = [("found", "as found"), ("step", "at a step"), ("piece", "of a piece"), ("left", "as left")]

    job = models.ForeignKey(Job, on_delete=models.CASCADE, null=True, blank=True, related_name="photos")
    draft = models.ForeignKey(Draft, on_delete=models.CASCADE, null=True, blank=True, related_name="photos")
    moment = models.CharField(max_length=5, choices=MOMENTS, default="found")
    step = models.CharField(max_length=60, blank=True)
    place = models.CharField(max_length=60, blank=True)
    caption = models.CharField(max_length=120, blank=True)
    picture = models.ImageField(upload_to=photo_path, width_field="width", height_field="height", max_length=200)
    thumbnail = models.ImageField(upload_to=photo_path, max_length=200)
    width = models.PositiveIntegerField(default=0)
    height = models.PositiveIntegerField(default=0)
    sha256 = models.CharField("of the file as it came", max_length=64)
    picture_sha256 = models.CharField("of the picture as kept", max_length=64, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(job__isnull=False, draft__isnull=True)
                | models.Q(job__isnull=True, draft__isnull=False),
                name="photo_of_a_job_or_a_draft",
            )
        ]

    def __str__(self) -> str:
        return self.caption or self.get_moment_display()
