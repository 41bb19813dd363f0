"""The box home, as its page shows it."""

from levelwind.shop.models import Job, Sending

VOLUME_CM3_PER_KG = 5000
"""What carriers charge a light, large box as: so much of its volume counts as a kilogram. Older tariffs say 6 000; the
carrier's rules decide (public pages on dimensional weight, see the shop's cautions)."""


def sending_get(job: Job) -> Sending:
    """The job's box, or an unsaved empty one: looking at the page writes nothing."""
    return Sending.objects.filter(job=job).first() or Sending(job=job)


def volume_weight_g(sending: Sending) -> int | None:
    """What the box counts as by its volume, in grams; None until all three sides are known.

    >>> volume_weight_g(Sending(length_mm=300, width_mm=200, height_mm=150))
    1800
    """
    if sending.length_mm is None or sending.width_mm is None or sending.height_mm is None:
        return None
    volume_cm3 = sending.length_mm * sending.width_mm * sending.height_mm / 1000
    return round(volume_cm3 / VOLUME_CM3_PER_KG * 1000)
