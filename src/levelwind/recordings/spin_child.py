"""The part of ``spin_file.read_spin`` that runs in the limited process: decode, analyse, answer in JSON."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from levelwind.core.codec import as_stored, from_stored
from levelwind.core.errors import LevelwindError, NoConvergenceError, NotDeterminedError
from levelwind.core.notes import Note, Question, plain
from levelwind.core.spin.model import SpinResult
from levelwind.core.spin.options import Bearing, SpinOptions
from levelwind.recordings.limited_messages import Answer
from levelwind.recordings.media import opened, pictures_of

if TYPE_CHECKING:
    from levelwind.core.spin.bearing import BearingHeard

Tell = Callable[[float, str], None]
HOW_SLOWED = Note.of("slowed_asked", "How many times slower than life does this film play?")
READING = 0.5
"""About the part of a film's time that goes into decoding it."""
SELDOM = ((12.0, 0.5), (25.0, 0.25))
"""A judgement: seldom does a flicked spool both begin slower than one of these and lose less than its fellow a second
on average. One filmed four times slower than life nearly always seems to: a speed divided by four, a loss by
sixteen."""


def analyse(
    source: bytes | Path,
    *,
    title: str,
    kind: str | None,
    said: Mapping[str, Any],
    of_sounds: Mapping[str, Any],
    tell: Tell = lambda part, doing: None,
) -> Answer:
    """Facts are those of ``SpinRead``; the blob is a film's still. Raises InputError for what is no recording."""
    options = from_stored(SpinOptions, said)
    if kind is None:
        return _table(source, title, options, tell)
    if _is_film(source, kind, title):
        return _film(source, title, options, tell)
    return _sound(source, title, options, from_stored(SpinOptions, of_sounds), tell)


def _is_film(source: bytes | Path, kind: str, title: str) -> bool:
    if kind not in ("mp4", "webm"):
        return False
    with opened(source, title) as container:
        return pictures_of(container) is not None


def _answer(source: str, found: SpinResult | LevelwindError, *blobs: bytes, **more: object) -> Answer:
    refused = " ".join(str(found).split()) if isinstance(found, LevelwindError) else ""
    analysis = {} if refused else as_stored(found)
    beside = {key: as_stored(value) for key, value in more.items() if value is not None}
    return Answer({"analysis": analysis | {"source": source} | beside, "refused": refused}, blobs)


def _film(source: bytes | Path, title: str, options: SpinOptions, tell: Tell) -> Answer:
    from levelwind.core.spin.film import NotFollowedError, watch
    from levelwind.recordings.video import decode_film

    film = decode_film(source, title=title, tell=lambda part, doing: tell(READING * part, doing))
    disc = None
    try:
        seen = watch(
            film.frames,
            film.t_s / (options.slowed or film.slowed or 1.0),
            options=options,
            rng=np.random.default_rng(1),
            progress=lambda part, doing: tell(READING + (1 - READING) * part, doing),
        )
    except (NotDeterminedError, NoConvergenceError) as why:
        if isinstance(why, NotFollowedError):
            disc = _disc(why.centre, why.radius)
        return _answer("video", why, film.still, disc=disc)
    disc, notes, questions = _disc(seen.centre, seen.radius), film.cautions, seen.result.questions
    if (options.marks or 1) > 1:
        whole = "a film shows whole turns by itself: how many marks there are changes no number here"
        notes += (Note.of("marks_unneeded", whole),)
    if film.slowed and options.slowed is None:
        slower = "the file says it plays {times} times slower than life: times are set right by that"
        notes += (Note.of("slowed_noted", slower, times=plain(film.slowed)),)
        questions += (Question("slowed", HOW_SLOWED, (film.slowed, 1.0)),)
    elif options.slowed is None and _seems_slowed(seen.result):
        rare = "so slow a spool that hardly slows is rare: this may be slow motion, whose clock is not life's"
        notes += (Note.of("slowed_likely", rare),)
        questions += (Question("slowed", HOW_SLOWED, (1.0, 2.0, 4.0, 8.0)),)
    found = replace(seen.result, cautions=(*notes, *seen.result.cautions), questions=questions)
    return _answer("video", found, film.still, disc=disc)


def _seems_slowed(found: SpinResult) -> bool:
    (start_s, first), *_, (end_s, last) = found.longest.speed
    return _seldom(first, first - last, end_s - start_s)


def _seldom(first_rev_s: float, lost_rev_s: float, seconds: float) -> bool:
    """Whether few spools filmed at life's own speed begin so slowly and lose so little.

    >>> _seldom(11.0, 11.0, 30.0), _seldom(15.0, 15.0, 80.0), _seldom(15.0, 15.0, 40.0)
    (True, True, False)
    """
    return any(first_rev_s < rev_s and lost_rev_s < rev_s2 * seconds for rev_s, rev_s2 in SELDOM)


def _disc(centre: tuple[float, float], radius: float) -> dict[str, float]:
    return {"x": float(centre[0]), "y": float(centre[1]), "r": float(radius)}


def _sound(source: bytes | Path, title: str, options: SpinOptions, usual: SpinOptions, tell: Tell) -> Answer:
    from levelwind.core.spin.sound import analyse_sound
    from levelwind.recordings.sound import SAMPLE_HZ, decode_sound

    tell(0.0, "reading the sound")
    samples, damaged = decode_sound(source, title=title)
    tell(0.3, f"listening to {len(samples) / SAMPLE_HZ:.0f} s")
    broken = Note.of("breaks_off", "the recording breaks off before its end: only what could be read was used")
    notes = [broken] * damaged
    if options.marks is None and usual.marks:
        by_book = "read as {ticks} ticks a turn, as the pattern book says of this reel's click"
        notes.append(Note.of("ticks_by_pattern", by_book, ticks=usual.marks))
    dice = np.random.default_rng(1)
    try:
        found = analyse_sound(
            samples,
            SAMPLE_HZ,
            dice,
            options=replace(options, marks=options.marks or usual.marks),
            cautions=notes,
        )
    except (NotDeterminedError, NoConvergenceError) as why:
        return _answer("sound", why)
    bearing = options.bearing or usual.bearing
    return _answer("sound", found, bearing=_bearing(samples, found, bearing) if bearing else None)


def _bearing(samples: Any, found: SpinResult, bearing: Bearing) -> "BearingHeard":
    from levelwind.core.spin.bearing import BearingHeard, listen
    from levelwind.recordings.sound import SAMPLE_HZ

    try:
        return listen(samples, SAMPLE_HZ, found.longest, bearing)
    except NotDeterminedError as why:
        return BearingHeard((), Note.from_error(why))


def _table(source: bytes | Path, title: str, options: SpinOptions, tell: Tell) -> Answer:
    from levelwind.core.spin.table import analyse_passes, analyse_speeds
    from levelwind.recordings.spin_table import read_spin_table

    tell(0.0, "reading the table")
    table = read_spin_table(source, name=title)
    tell(0.5, "fitting the loss")
    dice, notes = np.random.default_rng(1), table.cautions
    try:
        if table.rev_s is not None:
            return _answer("table", analyse_speeds(table.time_s, table.rev_s, dice, options=options, cautions=notes))
        found = analyse_passes(table.time_s, dice, options=options, turns=table.turns, cautions=notes)
    except (NotDeterminedError, NoConvergenceError) as why:
        return _answer("table", why)
    return _answer("table", _asked_for_marks(found) if table.turns is None and options.marks is None else found)


def _asked_for_marks(found: SpinResult) -> SpinResult:
    note = Note.of("one_mark", "read as one mark a turn: with more, every speed here is that many times too high")
    question = Question("marks", Note.of("marks_asked", "How many marks are there in one turn?"), (1, 2, 3, 4, 6))
    return replace(found, cautions=(*found.cautions, note), questions=(*found.questions, question))
