"""Readings to look at, their files made so that the truth is known."""

import io
from math import sin

from django.core.files.base import ContentFile
from PIL import Image

from levelwind.core.quantities import NEWTONS_PER
from levelwind.shop.models import Job, Reading
from levelwind.shop.readings.services.readings import recording_upload


def log_of(pulls: int = 3, running_N: float = 40.0, header: str = "time (s),force (N)") -> bytes:
    """Slack, a ramp to 1.25 times the running drag, a slip of four seconds, slack again; ``pulls`` times."""
    rows = [(n / 20, 0.02 * sin(n)) for n in range(40)]
    for _ in range(pulls):
        start = rows[-1][0] + 0.05
        rows += [(start + n / 20, 1.25 * running_N * n / 8) for n in range(9)]
        rows += [(start + 0.45 + n / 20, running_N * (1 + 0.01 * sin(2.3 * n))) for n in range(80)]
        rows += [(start + 4.5 + n / 20, 0.02 * sin(n)) for n in range(30)]
    return "\n".join([header, *(f"{t:.3f},{force:.4f}" for t, force in rows)]).encode()


def in_pounds(pounds: float) -> float:
    return pounds * NEWTONS_PER["lbf"]


def a_pull(job: Job, pulls: int = 3, moment: str = "found", **of_log: object) -> Reading:
    file = ContentFile(log_of(pulls, **of_log), name="scale.csv")  # type: ignore[arg-type]
    return recording_upload(job=job, kind="pull", moment=moment, file=file)


def a_spin(job: Job, moment: str = "found", first_rev_s: float = 10.0, loss_rev_s2: float = 2 / 3) -> Reading:
    """A table of speeds that fall evenly: dry friction alone, at rest after first ÷ loss seconds."""
    rest = int(first_rev_s / loss_rev_s2)
    rows = [f"{t / 2:.1f},{60 * (first_rev_s - loss_rev_s2 * t / 2):.2f}" for t in range(2 * rest + 1)]
    file = ContentFile("\n".join(["time (s),speed (rpm)", *rows]).encode(), name="spin.csv")
    return recording_upload(job=job, kind="spin", moment=moment, file=file)


def with_still(reading: Reading) -> Reading:
    """As if it were a film: with a picture of 640 by 480 and the spool found in its middle."""
    picture = io.BytesIO()
    Image.new("RGB", (640, 480), "grey").save(picture, "JPEG")
    reading.still.save("still.jpg", ContentFile(picture.getvalue()), save=False)
    reading.analysis = {**reading.analysis, "disc": {"x": 0.5, "y": 0.5, "r": 0.25}}
    reading.save(update_fields=["still", "analysis"])
    return reading
