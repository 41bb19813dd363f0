"""Readings as found and as left: typed, or read from a file. Each is kept with its analysis and never edited."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from django.core.files.base import File
from django.db import transaction

from levelwind import __version__
from levelwind.core import pull, spin
from levelwind.core.codec import as_stored
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written
from levelwind.recordings import video
from levelwind.shop.jobs.services.jobs import job_note
from levelwind.shop.models import Job, Reading, Work
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.selectors.brief import brief_to_keep
from levelwind.shop.readings.selectors.options import options_in_words, options_joined
from levelwind.shop.readings.selectors.readings import versions_of_file
from levelwind.shop.readings.selectors.stored import LAWS
from levelwind.shop.readings.services.files import recording_keep, recording_limit, recording_name
from levelwind.shop.readings.services.work import work_start

LARGEST_BYTES = video.LARGEST_BYTES
"""Of any recording: that of a film. Logs, tables and sounds are held to less."""
RECORDED = ("pull", "spin")
"""Kinds that are read from a file."""
CALIPER_MM = 0.05
"""A judgement: how far apart two measurements of the same end float with a dial or a feeler gauge lie."""

TURN_SHARE = 0.1
"""A judgement: a spring scale on a handle knob reads within a tenth."""


def _end_float(end_float_mm: float) -> dict[str, object]:
    if not 0 <= end_float_mm <= 20:
        raise InputError("end float", f"{written(end_float_mm)} mm", "0 to 20 mm")
    value = Quantity(end_float_mm, max(0.0, end_float_mm - CALIPER_MM), end_float_mm + CALIPER_MM)
    return {"kind": "end_float", "status": "ok", "end_float_mm": as_stored(value), "cautions": []}


def _turn(torque_Nm: float) -> dict[str, object]:
    if not 0 < torque_Nm <= 20:
        raise InputError("handle torque", f"{written(torque_Nm)} N m", "more than 0 and at most 20 N m")
    value = Quantity(torque_Nm, torque_Nm * (1 - TURN_SHARE), torque_Nm * (1 + TURN_SHARE))
    return {"kind": "turn", "status": "ok", "torque_Nm": as_stored(value), "cautions": []}


ANALYSES: Mapping[str, Callable[..., dict[str, object]]] = {
    "pull": lambda **typed: as_stored(pull.typed(**typed)),
    "spin": lambda **typed: as_stored(spin.typed(**typed)),
    "end_float": _end_float,
    "turn": _turn,
}
"""What two or one typed numbers say, kind by kind; the keys carry their units."""


@transaction.atomic
def reading_type(*, job: Job, kind: str, moment: str, typed: Mapping[str, float], by: str = "") -> Reading:
    """Keep numbers read off a scale, a watch or a gauge. Raises InputError for one that cannot be."""
    if kind not in ANALYSES:
        raise InputError("kind of reading", repr(kind), "one of " + ", ".join(ANALYSES))
    reading = Reading(job=job, kind=kind, moment=moment, typed=dict(typed), analysis=ANALYSES[kind](**typed))
    return _keep(reading, f"{reading} kept.", by)


def recording_upload(
    *,
    job: Job,
    kind: str,
    moment: str,
    file: "File[bytes]",
    options: Mapping[str, Any] = MappingProxyType({}),
    by: str = "",
) -> Reading:
    """Keep a pull's log, or a spin's film, sound or table, and read it beside the pages.

    ``options`` is what a person says of it, as for ``reading_correct``. Only a file that is too large is refused, with
    InputError; one that gives no number is kept, and the reading comes to say why.
    """
    if kind not in RECORDED:
        raise InputError("kind of recording", repr(kind), "one of " + ", ".join(RECORDED))
    recording_limit(kind=kind, file=file)
    reading = Reading(job=job, kind=kind, moment=moment, file_name=recording_name(file), work=Work.WAITING)
    reading.options = options_joined(kind, {}, options)
    recording_keep(reading=reading, file=file)
    return _begin(reading, f"{reading} kept.", by)


def reading_correct(*, reading: Reading, options: Mapping[str, Any], by: str = "") -> Reading:
    """The same file, read again with what a person says of it; its earlier versions are struck out and kept.

    ``options``: fields of ``PullOptions`` or ``SpinOptions``; None takes back what was said before. Raises InputError
    for anything else and for a value that cannot be.
    """
    joined = options_joined(reading.kind, reading.options, options)
    return _again(reading, joined, options_in_words({name: joined.get(name) for name in options}), by)


def reading_read_again(*, reading: Reading, by: str = "") -> Reading:
    """The same file and the same words, read by the law of today; a correction like any other."""
    return _again(reading, reading.options, f"by law {LAWS[reading.kind]} of version {__version__}", by)


def reading_read_again_if_it_can(*, reading: Reading, by: str = "") -> Reading:
    """The same, but where today's law gives no number and the earlier one did, what it said counts on."""
    again = reading_read_again(reading=reading, by=by)
    if again.refused and not reading.refused:
        reading_take_instead(reading=reading, by=by)
    return again


def _again(reading: Reading, options: Mapping[str, Any], how: str, by: str) -> Reading:
    if not reading.file:
        raise LevelwindError("This reading has no file to read again.")
    again = Reading(
        job=reading.job,
        kind=reading.kind,
        moment=reading.moment,
        file=reading.file.name,
        file_name=reading.file_name,
        sha256=reading.sha256,
        options=options,
        work=Work.WAITING,
        corrects=reading,
        invented=reading.invented,
    )
    reading.struck_out = True
    with transaction.atomic():
        reading.save(update_fields=["struck_out"])
        _strike_out_others(again, by)
        return _begin(again, f"{again} read again {how}.", by)


@transaction.atomic
def reading_take_instead(*, reading: Reading, by: str = "") -> Reading:
    """Let this version of a file count again, and no other."""
    _strike_out_others(reading, by)
    return reading_strike_out(reading=reading, struck_out=False, by=by)


def _strike_out_others(reading: Reading, by: str) -> None:
    """Of the versions of one file, one counts."""
    for other in versions_of_file(reading).exclude(pk=reading.pk).filter(struck_out=False):
        reading_strike_out(reading=other, by=by)


@transaction.atomic
def reading_stop(*, reading: Reading, by: str = "") -> Reading:
    """Stop reading a recording; its file stays. One that is read already stays read."""
    at_work = Reading.objects.filter(pk=reading.pk, work__in=[Work.WAITING, Work.UNDER_WAY])
    if at_work.update(work=Work.STOPPED, doing=""):
        job_note(job=reading.job, text=f"Reading the file of the {reading} was stopped.", by=by)
    reading.refresh_from_db()
    return reading


def reading_go_on(*, reading: Reading, by: str = "") -> Reading:
    """Read a recording after all whose reading was stopped."""
    if Reading.objects.filter(pk=reading.pk, work=Work.STOPPED).update(work=Work.WAITING, part_done=0, tries=0):
        work_start(reading.pk)
    reading.refresh_from_db()
    return reading


def _begin(reading: Reading, words: str, by: str) -> Reading:
    with transaction.atomic():
        _keep(reading, words, by)
    work_start(reading.pk)
    reading.refresh_from_db()
    return reading


@transaction.atomic
def reading_strike_out(*, reading: Reading, struck_out: bool = True, by: str = "") -> Reading:
    """Leave a reading out of everything, or take it in again; it stays in the book either way."""
    reading.struck_out = struck_out
    reading.full_clean()
    reading.save(update_fields=["struck_out"])
    job_note(job=reading.job, text=f"{reading} {'struck out' if struck_out else 'taken in again'}.", by=by)
    return reading


def _keep(reading: Reading, words: str, by: str) -> Reading:
    reading.core_version = __version__
    reading.brief = brief_to_keep(reading)
    reading.invented = reading.invented or shop_get().invented
    reading.full_clean()
    reading.save()
    job_note(job=reading.job, text=words, by=by)
    return reading
