"""Letters to an owner: the shop's own text for each kind, each letter kept as written, and how it went."""

import uuid

from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job
from levelwind.shop.models.prices import Price


class LetterKind(models.TextChoices):
    PRICE = "price", "the price"
    ASK_AGAIN = "ask_again", "ask again"
    READY = "ready", "it is ready"
    SENT = "sent", "it is sent"
    THANKS = "thanks", "thanks"
    SERVICE = "service", "time for a service"
    OTHER = "other", "a word about the reel"


class LetterText(models.Model):
    """The shop's own text for a kind of letter, in place of the one that comes with Levelwind."""

    kind = models.CharField(max_length=9, choices=LetterKind, unique=True)
    subject = models.CharField(max_length=200)
    body = models.TextField(max_length=6000)

    def __str__(self) -> str:
        return self.get_kind_display()


class Letter(models.Model):
    """A letter as it was written. The database refuses to change it; how it went stands beside it."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="letters")
    kind = models.CharField(max_length=9, choices=LetterKind)
    price = models.ForeignKey(Price, on_delete=models.PROTECT, null=True, blank=True, related_name="letters")
    once = models.UUIDField("of the page it was written on", unique=True, default=uuid.uuid4)
    to_name = models.CharField(max_length=120)
    to_email = models.EmailField("to", blank=True)
    subject = models.CharField(max_length=200)
    body = models.TextField("text", max_length=8000)
    written_at = models.DateTimeField(default=timezone.now)
    by = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["-written_at", "-pk"]

    def __str__(self) -> str:
        return self.subject


class LetterWay(models.Model):
    """How a letter went to its owner, or that it was held back. Without one, it is written and no more."""

    WAYS = [
        ("mail", "by e-mail"),
        ("message", "as a message"),
        ("post", "on paper, by post"),
        ("hand", "handed over"),
    ]
    STATES = [("sent", "sent"), ("stopped", "held back")]

    letter = models.OneToOneField(Letter, on_delete=models.CASCADE, related_name="went")
    way = models.CharField("how it went", max_length=7, choices=WAYS, default="", blank=True)
    state = models.CharField(max_length=9, choices=STATES)
    sent_at = models.DateTimeField(null=True, blank=True)
    by = models.CharField(max_length=80, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state="sent", sent_at__isnull=False)
                | ~models.Q(state="sent") & models.Q(sent_at__isnull=True),
                name="letter_sent_has_its_day",
            )
        ]

    def __str__(self) -> str:
        return f"{self.letter}: {self.get_state_display()}"
