"""What a reading's recording says, by the recordings' limited process, with what the shop knows of scale and reel."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event
from typing import Any

from levelwind.core.options import options_from, said_in
from levelwind.core.pull import PullOptions
from levelwind.core.spin import Bearing, SpinOptions
from levelwind.recordings.limited import Progress
from levelwind.recordings.pull_file import read_pull
from levelwind.recordings.spin_file import read_spin
from levelwind.shop.models import Pattern, Reading
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.selectors.stored import LAWS


@dataclass(frozen=True, slots=True)
class Found:
    """What is written into the reading's row."""

    analysis: Mapping[str, Any] = field(default_factory=dict)
    """As the recordings' limited process encoded it, with "given": the options it was read with, and "law": the version
    of the law that read it. A refused recording has no result, yet what it takes to show it, ask about it and put it
    right; a file of which nothing could be read has nothing."""
    refused: str = ""
    still: bytes | None = None


def analyse(reading: Reading, *, progress: Progress, stop: Event) -> Found:
    """Raises LevelwindError for a file that is none of its kind, Stopped when ``stop`` was set, and FileNotFoundError
    where the shop's folder is out of reach."""
    return _pull(reading, progress, stop) if reading.kind == "pull" else _spin(reading, progress, stop)


def _pull(reading: Reading, progress: Progress, stop: Event) -> Found:
    of_the_shop = {"capacity_N": shop_get().scale_most_N}
    options = options_from(PullOptions, of_the_shop | reading.options, "pull")
    read = read_pull(_path(reading), name=reading.file_name, options=options, progress=progress, stop=stop)
    return Found(_kept("pull", read.analysis, said_in(options)), read.refused)


def _spin(reading: Reading, progress: Progress, stop: Event) -> Found:
    options, of_sounds = options_from(SpinOptions, reading.options, "spin"), _known_of_sounds(reading.job.pattern)
    read = read_spin(
        _path(reading), name=reading.file_name, options=options, of_sounds=of_sounds, progress=progress, stop=stop
    )
    given = (said_in(of_sounds) if read.source == "sound" else {}) | said_in(options)
    return Found(_kept("spin", read.analysis, given), read.refused, read.still)


def _path(reading: Reading) -> Path:
    path = Path(reading.file.path)
    if not path.exists():
        raise FileNotFoundError(path)
    return path


def _kept(kind: str, analysis: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    return {**analysis, "given": given, "law": LAWS[kind]}


def _known_of_sounds(pattern: Pattern | None) -> SpinOptions:
    """What the pattern knows of a spool's sound: how often a turn its click ticks, and its bearing."""
    if pattern is None:
        return SpinOptions()
    balls, ball_mm, pitch_mm = pattern.bearing_balls, pattern.bearing_ball_mm, pattern.bearing_pitch_mm
    bearing = Bearing(balls, ball_mm, pitch_mm) if balls and ball_mm and pitch_mm else None
    return SpinOptions(marks=pattern.ticks_a_turn or None, bearing=bearing)
