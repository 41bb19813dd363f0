"""Readings as found and as left: typed, or read from a file. Each is kept with its analysis and never edited."""

import hashlib
from collections.abc import Callable, Mapping

from django.core.files.base import ContentFile, File
from django.db import transaction

from levelwind import __version__
from levelwind.core import pull, spin
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.pull.report import figure
from levelwind.core.quantities import Quantity
from levelwind.recordings.force_log import read_force_log
from levelwind.shop.models import Job, Reading
from levelwind.shop.selectors.shops import shop_get
from levelwind.shop.services.jobs import job_note

LARGEST_BYTES = 50 * 2**20
CALIPER_MM = 0.05
"""A judgement: how far apart two measurements of the same end float with a dial or a feeler gauge lie."""

TURN_SHARE = 0.1
"""A judgement: a spring scale on a handle knob reads within a tenth."""


def _end_float(end_float_mm: float) -> dict[str, object]:
    if not 0 <= end_float_mm <= 20:
        raise InputError("end float", f"{end_float_mm:g} mm", "0 to 20 mm")
    value = Quantity(end_float_mm, max(0.0, end_float_mm - CALIPER_MM), end_float_mm + CALIPER_MM)
    return {"kind": "end_float", "status": "ok", "end_float_mm": value.as_dict(), "cautions": []}


def _turn(torque_Nm: float) -> dict[str, object]:
    if not 0 < torque_Nm <= 20:
        raise InputError("handle torque", f"{torque_Nm:g} N m", "more than 0 and at most 20 N m")
    value = Quantity(torque_Nm, torque_Nm * (1 - TURN_SHARE), torque_Nm * (1 + TURN_SHARE))
    return {"kind": "turn", "status": "ok", "torque_Nm": value.as_dict(), "cautions": []}


ANALYSES: Mapping[str, Callable[..., dict[str, object]]] = {
    "pull": lambda **typed: pull.typed(**typed).as_dict(),
    "spin": lambda **typed: spin.typed(**typed).as_dict(),
    "end_float": _end_float,
    "turn": _turn,
}
"""What two or one typed numbers say, kind by kind; the keys carry their units."""


@transaction.atomic
def reading_type(*, job: Job, kind: str, moment: str, typed: Mapping[str, float], by: str = "") -> Reading:
    """Keep numbers read off a scale, a watch or a gauge. Raises InputError for one that cannot be."""
    if kind not in ANALYSES:
        raise InputError("kind of reading", repr(kind), "one of " + ", ".join(ANALYSES))
    return _keep(Reading(job=job, kind=kind, moment=moment, typed=dict(typed), analysis=ANALYSES[kind](**typed)), by)


def pull_upload(*, job: Job, moment: str, file: "File[bytes]", unit: str = "auto", by: str = "") -> Reading:
    """Keep a force log and what was found in it. A log that gives no number is kept too, with the reason."""
    if (file.size or 0) > LARGEST_BYTES:
        raise InputError(f"size of {file.name}", f"{(file.size or 0) / 2**20:.0f} MB", "up to 50 MB")
    data = file.read()
    reading = Reading(
        job=job,
        kind="pull",
        moment=moment,
        file_name=str(file.name)[-120:],
        sha256=hashlib.sha256(data).hexdigest(),
        told={} if unit == "auto" else {"unit": unit},
    )
    analyse_log(reading, data)
    with transaction.atomic():
        reading.file.save("log", ContentFile(data), save=False)
        return _keep(reading, by)


def analyse_log(reading: Reading, data: bytes) -> None:
    """Fill in what the log says, or why it says nothing."""
    try:
        log = read_force_log(data, name=reading.file_name, unit=reading.told.get("unit", "auto"))
        result = pull.analyse(log.time_s, log.force_N, unit_found=log.unit_found)
    except LevelwindError as refusal:
        reading.analysis, reading.refused = {}, str(refusal)[:300]
        return
    curve = figure(log.time_s, log.force_N, result).as_dict()
    stored = result.as_dict()
    cautions = [*log.cautions, *result.cautions]
    reading.analysis, reading.refused = stored | {"cautions": cautions, "figure": curve}, ""


@transaction.atomic
def reading_read_again(*, reading: Reading, unit: str, by: str = "") -> Reading:
    """The same file, read with a unit that a person named; the earlier reading is struck out and kept."""
    if not reading.file:
        raise LevelwindError("This reading has no file to read again.")
    with reading.file.open("rb") as stored:
        data = stored.read()
    again = Reading(
        job=reading.job,
        kind=reading.kind,
        moment=reading.moment,
        file=reading.file.name,
        file_name=reading.file_name,
        sha256=reading.sha256,
        told=reading.told | {"unit": unit},
        corrects=reading,
        invented=reading.invented,
    )
    analyse_log(again, data)
    reading_strike_out(reading=reading, by=by)
    return _keep(again, by)


@transaction.atomic
def reading_strike_out(*, reading: Reading, struck_out: bool = True, by: str = "") -> Reading:
    """Leave a reading out of everything, or take it in again; it stays in the book either way."""
    reading.struck_out = struck_out
    reading.full_clean()
    reading.save(update_fields=["struck_out"])
    job_note(job=reading.job, text=f"{reading} {'struck out' if struck_out else 'taken in again'}.", by=by)
    return reading


def _keep(reading: Reading, by: str) -> Reading:
    reading.core_version = __version__
    reading.invented = reading.invented or shop_get().invented
    reading.full_clean()
    reading.save()
    what = "kept, but it gives no number" if reading.refused else "kept"
    job_note(job=reading.job, text=f"{reading} {what}.", by=by)
    return reading
