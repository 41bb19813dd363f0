"""What the search looks through, written by the database's own triggers (shop/finding/kept.py) and by nobody else."""

from django.db import models


class Findable(models.Model):
    """One thing that can be found, with the words it can be found by, each in the column that says what it is."""

    MARKS = [("§jo", "job"), ("§ow", "owner"), ("§pa", "part"), ("§bi", "bill"), ("§pt", "pattern")]

    mark = models.CharField(max_length=3, choices=MARKS)
    ref = models.BigIntegerField("key of what is found")
    number = models.TextField("tag, part or bill number")
    name = models.TextField("the owner's name, or the part's")
    phone = models.TextField("telephone, its digits")
    mail = models.TextField("e-mail")
    reel = models.TextField()
    pattern = models.TextField()
    serial = models.TextField("serial number")
    complaint = models.TextField()
    came = models.TextField("tracking number on the way in")
    sent = models.TextField("tracking number on the way home")
    lies = models.TextField("the part's material and spot, by which the shelf alone is looked through", default="")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["mark", "ref"], name="findable_once")]

    def __str__(self) -> str:
        return f"{self.mark}{self.ref}"


class FindableWord(models.Model):
    """Every word that stands in names, reels and complaints: what a mistyped one is compared with."""

    word = models.CharField(max_length=40, unique=True)

    def __str__(self) -> str:
        return self.word
