"""A list brought into the book: the file as it came, which column holds what, and what came of it."""

from django.db import models
from django.utils import timezone


class Import(models.Model):
    """One list. The file and its rows are let go of once it is in the book; what was not taken stays, to be mended.

    ``made`` is what came by it, so that it can be taken back: packed, as `levelwind.shop.book.packed` has it.
    """

    KINDS = [
        ("owners", "owners"),
        ("shelf", "parts on the shelf"),
        ("fits", "parts lists and fits"),
        ("limits", "limits of wear"),
        ("replacements", "replacements"),
        ("jobs", "past jobs"),
    ]
    STATES = [
        ("open", "not in the book yet"),
        ("under_way", "being written into the book"),
        ("done", "in the book"),
        ("taken_back", "taken back"),
        ("dropped", "put aside"),
    ]

    kind = models.CharField("what is listed", max_length=12, choices=KINDS)
    state = models.CharField(max_length=11, choices=STATES, default="open")
    file_name = models.CharField(max_length=120)
    data = models.BinaryField("the file as it came", default=bytes)
    sheets = models.JSONField("the file's sheets", default=list)
    sheet = models.CharField(max_length=120, blank=True)
    written = models.JSONField("how it is written", default=dict)
    rows = models.BinaryField("its rows, packed", default=bytes)
    head_row = models.PositiveIntegerField("row of the headings, 0 for none", default=1)
    headings_digest = models.CharField(max_length=64, db_index=True)
    matched = models.JSONField("which column holds what", default=dict)
    counts = models.JSONField("how many rows of each sort", default=dict)
    refused_rows = models.BinaryField("rows not taken, packed", default=bytes)
    made = models.BinaryField("what came by it, packed", default=bytes)
    said = models.CharField("why it is not in the book", max_length=300, blank=True)
    begun_at = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField("since when it is being written", null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    by = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["-begun_at", "-pk"]

    def __str__(self) -> str:
        return self.file_name
