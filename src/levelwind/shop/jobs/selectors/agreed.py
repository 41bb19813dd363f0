"""What the owner said to the prices of a job, and which word the work rests on."""

from django.db.models import QuerySet

from levelwind.shop.models import Job, Price, Stage, Word


def words_of(job: Job) -> QuerySet[Word]:
    return Word.objects.filter(price__job=job).select_related("price")


def word_newest(job: Job) -> Word | None:
    """The owner's latest word on this job, whatever it was."""
    return words_of(job).last()


def word_that_holds(job: Job) -> Word | None:
    """The yes the work rests on: the last word on the newest price that was not refused. None where there is none."""
    last = {word.price_id: word for word in words_of(job)}
    holding = [word for word in last.values() if word.said != "no"]
    return max(holding, key=lambda word: word.price.number, default=None)


def price_refused(job: Job) -> Price | None:
    """The price the owner said no to, as long as no other word came after it."""
    word = word_newest(job)
    return word.price if word and word.said == "no" else None


def stage_by_word(job: Job) -> Stage:
    """Where a reel that nobody has opened stands, by what was said of its prices."""
    if word_that_holds(job):
        return Stage.AGREED
    return Stage.PRICE_SENT if job.prices.filter(sent_at__isnull=False).exists() else Stage.LOOKED_OVER
