"""Reading a recording after it was uploaded."""

import logging

import numpy as np

from levelwind import __version__
from levelwind.core import pull
from levelwind.core.errors import LevelwindError
from levelwind.core.pull.report import figure
from levelwind.core.spin.model import SpinResult
from levelwind.core.spin.report import figure as spin_figure
from levelwind.core.spin.sound import analyse_sound
from levelwind.core.spin.table import analyse_passes, analyse_speeds
from levelwind.recordings.force_log import read_force_log
from levelwind.recordings.sound import kind_of, read_sound
from levelwind.recordings.spin_table import read_spin_table
from levelwind.recordings.video import film_spin
from levelwind.shop.models import Reading, Work

log = logging.getLogger(__name__)


def work_start(pk: int) -> None:
    """Read the recording of a reading that waits for it."""
    reading = Reading.objects.filter(pk=pk, work=Work.WAITING).first()
    if reading is None:
        return
    try:
        reading.analysis, reading.refused = _read(reading), ""
    except LevelwindError as refusal:
        reading.analysis, reading.refused = {}, str(refusal)[:300]
    reading.work, reading.part_done, reading.core_version = Work.READ, 1.0, __version__
    reading.save(update_fields=["analysis", "refused", "work", "part_done", "core_version"])


def work_wait(pk: int, seconds: float) -> None:
    """Wait for a reading under way, at most so long."""


def work_resume() -> None:
    """Read whatever a stopped server left waiting or under way."""


def _read(reading: Reading) -> dict[str, object]:
    with reading.file.open("rb") as stored:
        data = stored.read()
    return _pull(reading, data) if reading.kind == "pull" else _spin(reading, data)


def _pull(reading: Reading, data: bytes) -> dict[str, object]:
    told = reading.told
    found = read_force_log(data, name=reading.file_name, unit=told.get("unit", "auto"))
    result = pull.analyse(
        found.time_s,
        found.force_N,
        spans_s=told.get("spans_s"),
        capacity_N=told.get("capacity_N"),
        unit_found=found.unit_found,
        cautions=found.cautions,
    )
    return result.as_dict() | {"figure": figure(found.time_s, found.force_N, result).as_dict()}


def _spin(reading: Reading, data: bytes) -> dict[str, object]:
    result = _spin_result(data, reading.file_name, reading.told.get("marks"), reading.told.get("slowed"))
    return result.as_dict() | {"figure": spin_figure(result).as_dict()}


def _spin_result(data: bytes, name: str, marks: int | None, slowed: float | None) -> SpinResult:
    kind, dice = kind_of(data), np.random.default_rng(1)
    if kind in ("mp4", "webm"):
        return film_spin(data, marks=marks, slowed=slowed, name=name)
    if kind:
        sound = read_sound(data, name=name)
        return analyse_sound(sound.samples, sound.sample_hz, dice, marks=marks)
    table = read_spin_table(data, name=name)
    if table.rev_s is not None:
        return analyse_speeds(table.time_s, table.rev_s, dice, cautions=table.cautions)
    return analyse_passes(table.time_s, dice, marks=marks or 1, turns=table.turns, cautions=table.cautions)
