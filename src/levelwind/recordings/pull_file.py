"""A force log from any scale, read and measured in one limited process: its parser is as hostile as any decoder."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from hashlib import file_digest
from io import BytesIO
from pathlib import Path
from threading import Event
from typing import Any

from levelwind.core.codec import as_stored, from_stored
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.notes import Note, Question, newtons
from levelwind.core.pull.model import PullResult
from levelwind.core.pull.options import NOTHING_SAID, PullOptions
from levelwind.core.quantities import NEWTONS_PER, SCALE_UNITS
from levelwind.recordings.limited import Answer, Progress, run_limited

SECONDS, MEGABYTES = 600, 512
"""Of the processor, and of memory. Our choice: with its progress told and a stop at hand, long is better than refused;
a million rows of pulls, one after another, take two minutes and 400 MB."""
READING = 0.7
"""About the part of a log's time that goes into reading it, where it holds one pull."""

Tell = Callable[[float, str], None]


@dataclass(frozen=True, slots=True)
class PullRead:
    """What a log says. Without a result ``refused`` says why."""

    result: PullResult | None
    refused: str
    analysis: Mapping[str, Any]
    """What a reading keeps, as the limited process encoded it: the result's fields; "figure" wherever the log could be
    read; "questions", each a ``Question`` about the unit; "refused", why there is no result, as a note."""
    sha256: str


def read_pull(
    source: bytes | Path,
    *,
    name: str = "",
    options: PullOptions = NOTHING_SAID,
    progress: Progress | None = None,
    stop: Event | None = None,
) -> PullRead:
    """Read and measure a force log; ``options``: what a person says of it.

    Raises InputError for a file that is no force log, Stopped when ``stop`` was set. A log that can be read and yet
    gives no number is no error.
    """
    name = name or (source.name if isinstance(source, Path) else "the file")
    answer = run_limited(
        measure_log,
        source,
        name=name,
        seconds=SECONDS,
        megabytes=MEGABYTES,
        progress=progress or (lambda part, doing: None),
        stop=stop,
        title=name,
        said=as_stored(options),
    )
    analysis, what = dict(answer.facts), f"what {name} was found to say"
    if "refused" in analysis:
        return PullRead(None, str(from_stored(Note, analysis["refused"], what)), analysis, _sha256(source))
    return PullRead(from_stored(PullResult, analysis, what), "", analysis, _sha256(source))


def _sha256(source: bytes | Path) -> str:
    with BytesIO(source) if isinstance(source, bytes) else source.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()


def measure_log(
    source: bytes | Path,
    *,
    title: str,
    said: Mapping[str, Any],
    tell: Tell,
) -> Answer:
    """The part that touches the file; runs in the limited process."""
    from levelwind.core.pull import analyse
    from levelwind.core.pull.figure import points_of
    from levelwind.recordings.force_log import read_force_log

    options = from_stored(PullOptions, said)
    tell(0.05, "reading the log")
    try:
        log = read_force_log(source, name=title, options=options)
    except InputError:
        return _asked_for_unit(source, title, options)
    tell(READING, "finding the pulls")
    result, why = PullResult((), log.cautions, log.unit_found, log.sample_hz), None
    try:
        result = analyse(
            log.time_s,
            log.force_N,
            travel_m=log.travel_m,
            options=options,
            unit_found=log.unit_found,
            cautions=log.cautions,
            progress=lambda part: tell(READING + (1 - READING) * part, "measuring the pulls"),
        )
    except LevelwindError as refusal:
        why = Note.from_error(refusal)
    drawn = {"points": points_of(log.time_s, log.force_N, result.tare_N)}
    questions = _doubted(float(abs(log.force_N).max()), log.unit_found) if options.unit is None else ()
    asked = {"questions": questions} if questions else {}
    said = {"refused": as_stored(why)} if why else as_stored(result)
    return Answer({**said, "figure": as_stored(drawn), **as_stored(asked)})


def _asked_for_unit(source: bytes | Path, title: str, options: PullOptions) -> Answer:
    """Where a unit named makes the file readable, the unit is all that it lacks: ask. Else its refusal stands."""
    from levelwind.recordings.force_log import read_force_log

    log = read_force_log(source, name=title, options=replace(options, unit=options.unit or "N"))
    peak = float(abs(log.force_N).max())
    why = Note.of("unit_unknown", "The unit of force is not written in {file}: say which it is.", file=title)
    words = Note.of("unit_asked", "In which unit are the forces?")
    return Answer(as_stored({"refused": why, "questions": (Question("unit", words, tuple(likely_units(peak))),)}))


def _doubted(peak_N: float, unit: str) -> tuple[Question, ...]:
    """A question where the forces make no sense in the unit the file says."""
    others = [each for each in likely_units(peak_N / NEWTONS_PER[unit]) if each != unit]
    if _plausible(peak_N) or not others or not peak_N:  # no unit makes nothing into something
        return ()
    words = "A peak of {peak} is hard to believe: are the forces really in {unit}?"
    doubt = Note.of("peak_doubted", words, peak=newtons(peak_N, figures=3), unit=unit)
    return (Question("unit", doubt, tuple(others)),)


def likely_units(peak: float) -> list[str]:
    """Units a person may mean by a log of this highest number, those first in which a hanging scale shows it.

    >>> likely_units(2000.0)
    ['ozf', 'gf', 'N', 'kgf', 'lbf']
    """
    return sorted(SCALE_UNITS, key=lambda unit: not _plausible(peak * NEWTONS_PER[unit]))


def _plausible(peak_N: float) -> bool:
    from levelwind.recordings.force_log import LEAST_N, MOST_N

    return LEAST_N <= peak_N <= MOST_N
