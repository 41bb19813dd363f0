"""Pictures of the pattern book: a step as it looks, and a reel laid out with its places numbered."""

from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import photo_path
from levelwind.shop.models.patterns import Pattern


class PatternPicture(models.Model):
    """A picture of a pattern; without ``step`` an exploded one.

    ``numbers`` are rows of ``place`` with ``across`` and ``down``, from 0 to 1 of the picture's width and height.
    """

    pattern = models.ForeignKey(Pattern, on_delete=models.CASCADE, related_name="pictures")
    step = models.CharField(max_length=60, blank=True)
    caption = models.CharField(max_length=120, blank=True)
    numbers = models.JSONField("numbers put on it", default=list, blank=True)
    picture = models.ImageField(upload_to=photo_path, max_length=200)
    thumbnail = models.ImageField(upload_to=photo_path, max_length=200)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    sha256 = models.CharField("of the file as it came", max_length=64)
    picture_sha256 = models.CharField("of the picture as kept", max_length=64)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return self.caption or ("Picture of a step" if self.step else "Exploded picture")
