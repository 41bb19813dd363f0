"""What was noted on a job and said on the telephone, each with its day. A wrong one is struck out and stays."""

from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job


class JobNote(models.Model):
    """A note, or a call with what came of it. Its words never change: what was wrong is struck out and noted anew."""

    KINDS = [("note", "a note"), ("called", "I called the owner"), ("rang", "the owner called")]
    OUTCOMES = [("spoke", "we spoke"), ("message", "I left a message"), ("nobody", "nobody answered")]

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="notes")
    kind = models.CharField(max_length=6, choices=KINDS, default="note")
    outcome = models.CharField("what came of the call", max_length=7, choices=OUTCOMES, default="", blank=True)
    text = models.TextField("what", max_length=2000, blank=True)
    at = models.DateTimeField("when", default=timezone.now)
    by = models.CharField(max_length=80, blank=True)
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.CharField(max_length=80, blank=True)
    struck_why = models.CharField("why it is struck out", max_length=200, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind="called") & ~models.Q(outcome="")
                | ~models.Q(kind="called") & models.Q(outcome=""),
                name="note_outcome_of_a_call_made",
            ),
            models.CheckConstraint(
                condition=~models.Q(text="") | models.Q(kind="called"), name="note_without_words_is_a_call_made"
            ),
        ]

    def __str__(self) -> str:
        return self.get_outcome_display() if self.kind == "called" else self.get_kind_display()

    @property
    def head(self) -> str:
        """In a few words: "I called the owner: nobody answered"."""
        words = ": ".join(filter(None, (self.get_kind_display(), self.get_outcome_display())))
        return f"{words[:1].upper()}{words[1:]}"
