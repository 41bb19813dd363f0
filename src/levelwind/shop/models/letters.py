"""Letters to an owner: the shop's own text for each kind, each letter kept as written, and how it went."""

import uuid

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job
from levelwind.shop.models.money import Bill
from levelwind.shop.models.prices import Price


class LetterKind(models.TextChoices):
    PRICE = "price", "the price"
    ASK_AGAIN = "ask_again", "ask again"
    READY = "ready", "it is ready"
    SENT = "sent", "it is sent"
    SENT_BACK = "sent_back", "it goes back unmended"
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
    price_said = models.CharField("the price it names", max_length=120, blank=True, default="")
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

    BY_HAND = [
        ("mail", "by e-mail"),
        ("message", "as a message"),
        ("post", "on paper, by post"),
        ("hand", "handed over"),
    ]
    WAYS = [*BY_HAND, ("server", "through the mail server")]
    STATES = [
        ("waiting", "waits to be sent"),
        ("under_way", "is being handed over"),
        ("sent", "sent"),
        ("refused", "refused"),
        ("stopped", "held back"),
    ]

    letter = models.OneToOneField(Letter, on_delete=models.CASCADE, related_name="went")
    way = models.CharField("how it went", max_length=7, choices=WAYS, default="", blank=True)
    state = models.CharField(max_length=9, choices=STATES)
    sent_at = models.DateTimeField(null=True, blank=True)
    by = models.CharField(max_length=80, blank=True)
    message_id = models.CharField("Message-ID", max_length=320, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    next_try_at = models.DateTimeField(null=True, blank=True)
    taken_at = models.DateTimeField("since when a worker has it", null=True, blank=True)
    said = models.CharField("the mail server's last words", max_length=500, blank=True)

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


class Enclosure(models.Model):
    """A paper that went with a letter through the mail server, as it went. The database refuses to change it."""

    went = models.ForeignKey(LetterWay, on_delete=models.CASCADE, related_name="enclosures")
    words = models.CharField(max_length=40)
    file_name = models.CharField(max_length=80)
    pdf = models.BinaryField()
    bill = models.ForeignKey(Bill, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.words


class MailServer(models.Model):
    """The one mail server that sends the shop's letters. Its password is not here: it lies beside the book."""

    SECURITY = [
        ("starttls", "encrypted after a plain greeting (STARTTLS)"),
        ("tls", "encrypted from the start (TLS)"),
        ("none", "not encrypted"),
    ]

    host = models.CharField("name of the server", max_length=253)
    port = models.PositiveIntegerField(default=587, validators=[MinValueValidator(1), MaxValueValidator(65535)])
    security = models.CharField("how it is spoken to", max_length=8, choices=SECURITY, default="starttls")
    account = models.CharField(max_length=254, blank=True)
    sender = models.EmailField("the letters come from")

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="mail_server_is_one")]

    def __str__(self) -> str:
        return f"{self.host}:{self.port}"

    def clean(self) -> None:
        here = self.host in ("localhost", "127.0.0.1", "::1")
        if self.security == "none" and self.account and not here:
            words = "The account’s password would cross the network for all to read: choose an encrypted way."
            raise ValidationError({"security": words})
