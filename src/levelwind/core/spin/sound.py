"""The sound of something that ticks as a spool turns, from the flick to rest: samples in, spins out.

What repeats along the law is called a cycle: it may be one tick, several ticks, or a whole turn; ``ticks`` tells which.
docs/physics/spin.md describes the steps.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import Generator
from levelwind.core.notes import Note, Question, plain
from levelwind.core.options import Span
from levelwind.core.spin.fit import LawFit
from levelwind.core.spin.model import Spin, SpinResult
from levelwind.core.spin.options import NOTHING_SAID, SpinOptions
from levelwind.core.spin.part import LEAST_S, later, only, part_of
from levelwind.core.spin.sound_ends import trimmed
from levelwind.core.spin.sound_envelope import Envelope, envelope_of
from levelwind.core.spin.sound_map import CombMap, comb_map, slow_comb_map
from levelwind.core.spin.sound_phase import Followed, fit_followed, follow
from levelwind.core.spin.sound_search import Path, paths
from levelwind.core.spin.ticks import LEAST_UNLIKE, one_is_heard, ticks_a_cycle, ticks_a_turn
from levelwind.core.spin.verdict import spin_from_fit

TRAIN_GAIN = 150.0
"""Log likelihood ratio of ticks on a law against none, from which they are believed: voices and noise reach less. Our
choice, judged on made recordings."""
WORTH_A_LOOK = 90.0
"""Score of a path beside the first one, below which it is not followed: none with less ever led to ticks worth
``TRAIN_GAIN``. Set on made recordings."""
PLAIN_GAIN = 600.0
"""Log likelihood ratio from which slower ticks need not be looked for. Our choice, for speed."""
SURE_GAIN = 2000.0
"""Log likelihood ratio from which no other path is looked along: half and twice the rate were never likelier than one
like this. Set on made recordings."""
MOST_STRETCH_GAIN = 100.0
"""Gain of one stretch at the most: ticks are told by many of them. Our choice."""
LEAST_TICKS, LEAST_TOLD_PART = 25, 0.75
"""Ticks followed at the least, and part of the stretches between the ends that must tell a phase. Our choice."""
SLOWS_TO = 0.93
"""Part of its first rate that a train must come down to: what slows less is a clock, a fan, a voice. Our choice."""
LOOSE_TICKS = (0.12, 0.06, 0.04)
"""Ticks that the law may be out from one stretch to the next, at the first, second and third look, as the law gets
nearer. Our choice."""
MOST_RESIDUAL = 0.07
"""Ticks; a law that is out by more in the median has not caught the ticks. Our choice."""
AROUND_PATH_S, FURTHER_S, ENDED_S = 0.2, 1.5, 0.5
"""s beyond the ends found so far to which ticks are looked for: at the first look, at nearer ones, and before the start
once the ends are trimmed. Our choice."""
LEAST_ROWS = 20
"""Moments of the map that must lie before or after a train for another to be looked for: two seconds. Our choice."""
SOUND_LATE_S = 0.25
"""s; a train that begins no later than this after its recording began before it. Our choice: two stretches."""
STOP_IN_S = 0.1
"""s before the end of the recording by which a stop must come to have been heard. Our choice."""
LOST_PART = 0.25
"""Part of the first speed; where ticks are lost above it, that is told. Our choice: much of the run is then not
heard."""
FASTER = 1.1
"""A flick makes a spool this many times faster at the least. Our choice."""
UNLIKE_IF_TOLD = 0.4
"""Part of the ticks' own power that lines of unlike ticks must have to show that fewer ticks were followed than a
person tells. Our choice: much more than where nobody tells, so that a person is seldom contradicted."""


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """A train of ticks that was followed, its law in cycles, and its log likelihood ratio against no ticks."""

    followed: Followed
    fit: LawFit
    gain: float


def analyse_sound(
    samples: NDArray[np.float32],
    sample_hz: float,
    rng: Generator,
    *,
    options: SpinOptions = NOTHING_SAID,
    cautions: Iterable[Note] = (),
) -> SpinResult:
    """Speed over time and losses from a recording in which something ticks, ``marks`` of the ``options`` times a turn.

    Only what is heard ``between_s`` counts; times stay those of the recording. Raises InputError for a part outside
    it, NotDeterminedError, with the reason, where there is silence, no ticking, or ticking that does not slow.
    """
    marks, between_s = options.marks, options.between_s
    samples, from_s = _part(samples, sample_hz, between_s)
    envelope = envelope_of(samples, sample_hz)
    heard = _all_heard(envelope, rng, marks)
    cycles, told = _all_cycles(envelope, heard, marks)
    cut = from_s > 0
    found = (_spin(envelope, each, a_turn, rng, cut=cut) for each, a_turn in zip(heard, cycles, strict=True))
    spins = tuple(later(spin, from_s) for spin in found)
    notes = [*cautions, *only(between_s)]
    if len(spins) > 1:
        several = "{flicks} flicks in one recording: each is a spin of its own"
        notes.append(Note.of("flicks", several, flicks=len(spins)))
    questions: tuple[Question, ...] = ()
    if marks is not None and marks > 1 and not told:
        notes.append(
            Note.of(
                "ticks_not_shown",
                "read with {ticks} ticks a turn, which the ticks themselves do not show: "
                "with another number every speed here is out by as much",
                ticks=marks,
            )
        )
    if marks is None:
        notes.append(_marks_note(told))
        if not told:
            questions = (
                Question("marks", Note.of("ticks_asked", "How many ticks are there in one turn?"), (1, 2, 3, 4, 6)),
            )
    return SpinResult(spins, tuple(notes), "sound", questions)


def _part(samples: NDArray[np.float32], sample_hz: float, between_s: Span | None) -> tuple[NDArray[np.float32], float]:
    """The samples to be heard, and when they begin."""
    if between_s is None:
        return samples, 0.0
    start, end = part_of(0.0, len(samples) / sample_hz, between_s, LEAST_S)
    first = round(start * sample_hz)
    return samples[first : round(end * sample_hz)], first / sample_hz


def _marks_note(told: int | None) -> Note:
    if told:
        alike = "read as {ticks} ticks a turn, because the ticks are not alike and come round so"
        return Note.of("ticks_heard", alike, ticks=plain(told))
    return Note.of("one_tick", "read as one tick a turn: with more, every speed here is that many times too high")


def _all_heard(envelope: Envelope, rng: Generator, marks: int | None) -> list[Heard]:
    """The likeliest train of ticks, and any other before or after it."""
    length = len(envelope.at) / envelope.hz
    combs = comb_map(envelope.at, envelope.hz)
    first = _likeliest(envelope, paths(combs, rng), (0.0, length), marks)
    if first is None or first.gain < PLAIN_GAIN:
        slow = _likeliest(envelope, paths(slow_comb_map(envelope.at, envelope.hz), rng), (0.0, length), marks)
        first = max((each for each in (first, slow) if each), key=lambda each: each.gain, default=None)
    if first is None:
        raise NotDeterminedError("nothing in this recording ticks as a spool running down does")
    heard = [first]
    for low, high in ((0.0, first.followed.from_s - AROUND_PATH_S), (first.followed.to_s + AROUND_PATH_S, length)):
        rest = _between(combs, low, high)
        found = (path for path in (paths(rest, rng, most=1) if rest else ()) if path.score > WORTH_A_LOOK)
        if (other := _likeliest(envelope, found, (low, high), marks)) and _flicked_between(first, other):
            heard.append(other)
    return sorted(heard, key=lambda each: each.followed.from_s)


def _flicked_between(one: Heard, other: Heard) -> bool:
    """Whether the later of two trains is faster than the earlier predicts; else it is the rest of the same run.

    Compared in ticks a second: the cycle that was followed may be a tick in one train and several in the other.
    """
    before, after = sorted((one, other), key=lambda each: each.followed.from_s)
    predicted = float(before.fit.speed(after.followed.from_s)) * ticks_a_cycle(before.followed.power)
    return after.fit.start_rev_s * ticks_a_cycle(after.followed.power) > FASTER * predicted


def _between(combs: CombMap, low: float, high: float) -> CombMap | None:
    rows = (combs.time_s > low) & (combs.time_s < high)
    return CombMap(combs.time_s[rows], combs.rates_hz, combs.score[rows]) if rows.sum() > LEAST_ROWS else None


def _likeliest(
    envelope: Envelope, found: Iterable[Path], within: tuple[float, float], marks: int | None
) -> Heard | None:
    """The likeliest train of ticks along the paths found that still holds at a nearer look."""
    looks: list[Heard] = []
    for path in found:
        if look := _looked(
            envelope, path, (path.from_s - AROUND_PATH_S, path.to_s + AROUND_PATH_S), marks, LOOSE_TICKS[0]
        ):
            looks.append(look)
            if look.gain > SURE_GAIN:
                break
    for first in sorted(looks, key=lambda look: -look.gain):
        heard = _nearer(envelope, first, within, marks)
        if heard is not None:
            return _ended(envelope, heard, within, marks)
    return None


def _ended(envelope: Envelope, heard: Heard, within: tuple[float, float], marks: int | None) -> Heard | None:
    """The train without stretches at its ends that the law does not predict, followed once more by the law of the rest.

    None if no train is left.
    """
    kept = trimmed(heard.followed, heard.fit.law)
    if kept is heard.followed:
        return heard
    fit = fit_followed(kept, 1, heard.fit.law, float(heard.fit.speed(kept.time_s[0])))
    between = (max(within[0], kept.from_s - ENDED_S), within[1])
    again = follow(envelope, fit.law, fit.start_s, fit.start_rev_s, between, every=marks or 1, loose=LOOSE_TICKS[-1])
    if again is None:
        return None
    again = trimmed(again, fit.law)
    fit = fit_followed(again, 1, fit.law, float(fit.speed(again.time_s[0])))
    ended = Heard(again, fit, _gain(again))
    return ended if _holds(ended) else None


def _gain(followed: Followed) -> float:
    return float(np.sum(np.minimum(followed.gain, MOST_STRETCH_GAIN)))


def _nearer(envelope: Envelope, heard: Heard, within: tuple[float, float], marks: int | None) -> Heard | None:
    """The train followed twice more, each time as far as it goes; None if it does not hold."""
    for loose in LOOSE_TICKS[1:]:
        followed, fit = heard.followed, heard.fit
        path = Path(fit.law, fit.start_s, fit.start_rev_s, followed.from_s, followed.to_s, heard.gain)
        again = _looked(envelope, path, (max(within[0], followed.from_s - FURTHER_S), within[1]), marks, loose)
        if again is None:
            return None
        heard = again
    return heard if _holds(heard) else None


def _looked(
    envelope: Envelope, path: Path, between: tuple[float, float], marks: int | None, loose: float
) -> Heard | None:
    followed = follow(envelope, path.law, path.start_s, path.start_hz, between, every=marks or 1, loose=loose)
    if followed is None:
        return None
    rate = float(path.rate(followed.time_s[:1])[0])
    fit = fit_followed(followed, 1, path.law, rate, coarse=loose != LOOSE_TICKS[-1])
    return Heard(followed, fit, _gain(followed))


def _holds(heard: Heard) -> bool:
    """Whether what was followed are ticks that slow, and no voice and no chance."""
    followed, fit = heard.followed, heard.fit
    ticks = followed.ticks[-1] - followed.ticks[0]
    told = len(followed.time_s) / followed.all_windows
    slows = fit.end_rev_s < SLOWS_TO * fit.start_rev_s
    near = float(np.median(np.abs(fit.residuals))) < MOST_RESIDUAL
    return bool(heard.gain > TRAIN_GAIN and ticks > LEAST_TICKS and told > LEAST_TOLD_PART and slows and near)


def _all_cycles(envelope: Envelope, heard: list[Heard], marks: int | None) -> tuple[list[float], int | None]:
    """Cycles a turn of each train, and the ticks a turn that the sound tells: of one spool, so the same for all."""
    found = [_cycles_a_turn(envelope, each, marks) for each in heard]
    counts = {told for _, told in found if told}
    told = counts.pop() if len(counts) == 1 else None
    if marks is None:
        found = [
            each if each[1] == told else _cycles_a_turn(envelope, train, told or 1)
            for each, train in zip(found, heard, strict=True)
        ]
    return [a_turn for a_turn, _ in found], told


def _cycles_a_turn(envelope: Envelope, heard: Heard, marks: int | None) -> tuple[float, int | None]:
    """Cycles a turn for what was followed, and how many ticks make a turn if the sound itself tells."""
    held = ticks_a_cycle(heard.followed.power)
    first, last = (int(t * envelope.hz) for t in (heard.followed.from_s, heard.followed.to_s))
    here, ticks = envelope.at[first:last], heard.fit.phase(np.arange(first, last) / envelope.hz) * held
    least = LEAST_UNLIKE if marks is None else UNLIKE_IF_TOLD
    told = ticks_a_turn(here, ticks, least=least)
    if told and one_is_heard(here, ticks, told):
        a_tick = told
        told = ticks_a_turn(here, ticks / a_tick, least=least)
    elif told and marks and marks % told:
        # strong lines that so many marks cannot make show that a cycle is only a part of a tick
        a_tick = told
    else:
        a_tick = 1
    return (marks or told or 1) * a_tick / held, told


def _spin(envelope: Envelope, heard: Heard, cycles_a_turn: float, rng: Generator, *, cut: bool) -> Spin:
    fit = fit_followed(heard.followed, cycles_a_turn, heard.fit.law, heard.fit.start_rev_s, bent=True)
    length = len(envelope.at) / envelope.hz
    stop_seen = fit.stop_s < length - STOP_IN_S
    end = min(float(heard.followed.time_s[-1]), fit.stop_s)
    notes = []
    if not cut and heard.followed.from_s < SOUND_LATE_S:
        late = "the recording starts after the flick: the first speed is where it starts"
        notes.append(Note.of("after_the_flick", late))
    if stop_seen and fit.end_rev_s > LOST_PART * fit.start_rev_s:
        unheard = "ticks are no longer heard below {speed}: from there on it is worked out"
        notes.append(Note.of("ticks_lost", unheard, speed=plain(fit.end_rev_s, "rev/s", decimals=1)))
    return spin_from_fit(fit, rng, end_s=end, stop_seen=stop_seen, cautions=notes)
