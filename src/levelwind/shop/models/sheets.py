"""Pictures of the measuring sheet, with the pieces that were found on them."""

from django.db import models
from django.utils import timezone

from levelwind.core.writing import moment_in_words
from levelwind.shop.models.jobs import Job, photo_path


class SheetPicture(models.Model):
    """One picture, straightened. ``seen`` is what was found on it, ``said`` what a person said of print and pieces."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, null=True, blank=True, related_name="sheet_pictures")
    at = models.DateTimeField(default=timezone.now)
    by = models.CharField(max_length=80, blank=True)
    picture = models.FileField(upload_to=photo_path, max_length=200)
    sha256 = models.CharField("of the file as it came", max_length=64)
    picture_sha256 = models.CharField("of the picture as kept", max_length=64)
    seen = models.JSONField()
    said = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"Measuring sheet of {moment_in_words(timezone.localtime(self.at), long=True)}"
