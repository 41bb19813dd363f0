"""What a reading's recording says, by the recordings' limited process, with what the shop knows of scale and reel."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event
from typing import Any

from levelwind.core.spin.bearing import Bearing
from levelwind.recordings.limits import Progress
from levelwind.recordings.pull_file import read_pull
from levelwind.recordings.spin_file import read_spin
from levelwind.shop.models import Pattern, Reading
from levelwind.shop.people.selectors import shop_get


@dataclass(frozen=True, slots=True)
class Found:
    """What is written into the reading's row."""

    analysis: Mapping[str, Any] = field(default_factory=dict)
    """As the recordings' limited process encoded it, with "given": what it was told. A refused recording has no result,
    yet what it takes to show it, ask about it and put it right; a file of which nothing could be read has nothing."""
    refused: str = ""
    still: bytes | None = None


def analyse(reading: Reading, *, progress: Progress, stop: Event) -> Found:
    """Raises LevelwindError for a file that is none of its kind, Stopped when ``stop`` was set."""
    return _pull(reading, progress, stop) if reading.kind == "pull" else _spin(reading, progress, stop)


def _pull(reading: Reading, progress: Progress, stop: Event) -> Found:
    given = {"capacity_N": shop_get().scale_most_N} | reading.told
    read = read_pull(_path(reading), name=reading.file_name, progress=progress, stop=stop, **given)
    return Found(_kept(read.analysis, given), read.refused)


def _spin(reading: Reading, progress: Progress, stop: Event) -> Found:
    known = _known_of_sounds(reading.job.pattern)
    told = dict(reading.told)
    insides = told.pop("bearing", None) or known.get("bearing")
    read = read_spin(
        _path(reading),
        name=reading.file_name,
        ticks=known.get("marks"),
        bearing=_bearing(insides) if insides else None,
        progress=progress,
        stop=stop,
        **told,
    )
    given = (known if read.source == "sound" else {}) | reading.told
    return Found(_kept(read.analysis, given), read.refused, read.still)


def _path(reading: Reading) -> Path:
    return Path(reading.file.path)


def _kept(analysis: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    return {**analysis, "given": {key: value for key, value in given.items() if value is not None}}


def _known_of_sounds(pattern: Pattern | None) -> dict[str, Any]:
    """What the pattern knows of a spool's sound: how often a turn its click ticks, and its bearing."""
    if pattern is None:
        return {}
    known: dict[str, Any] = {"marks": pattern.ticks_a_turn} if pattern.ticks_a_turn else {}
    return known | {"bearing": insides} if (insides := _insides(pattern)) else known


def _insides(pattern: Pattern) -> dict[str, float] | None:
    balls, ball, pitch = pattern.bearing_balls, pattern.bearing_ball_mm, pattern.bearing_pitch_mm
    return {"balls": balls, "ball_mm": ball, "pitch_mm": pitch} if balls and ball and pitch else None


def _bearing(insides: Mapping[str, float]) -> Bearing:
    return Bearing(int(insides["balls"]), insides["ball_mm"], insides["pitch_mm"])
