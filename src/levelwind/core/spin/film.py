"""A film of a spool running down in, its speed over time and what takes its speed away out.

Frames are luma, shape (n, h, w), about 160 pixels wide; times are those at which the first row of each is exposed, in
seconds. The speed's times are those at which the middle of the disc is exposed: some milliseconds later.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.notes import Note, plain
from levelwind.core.quantities import Quantity
from levelwind.core.spin.film_disc import ROUND, Disc, find_disc
from levelwind.core.spin.film_phase import Face, face_of, harmonics
from levelwind.core.spin.film_run import Run, follow, speed_seen
from levelwind.core.spin.film_steady import steady
from levelwind.core.spin.film_track import STILL_TURNS, Track, coherence, rest_begins_s, track_back
from levelwind.core.spin.model import Spin, SpinResult
from levelwind.core.spin.part import WHAT as PART
from levelwind.core.spin.part import Between, only, part_of
from levelwind.core.spin.shares import Generator
from levelwind.core.spin.verdict import spin_from_fit

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
Progress = Callable[[float, str], None]

LEAST_S = 1.5
LEAST_FRAMES = 30
FALL_AT_REST = 3.0
"""rev/s²; where the search for the last deceleration before rest begins."""
FASTEST_REV_S = 100.0
GUESSES = 6
SURE_OFF = 0.02
"""Turns; phases that lie further than this from the law in the middle are not those of one spool keeping to it."""
FOLLOWED = 0.8
HARDLY = 0.5
LEAST_SLOWING = 0.05
EDGE = 0.08
ALIKE = 2.0
"""A run of at most this many times the best one's doubt may be the true one as well: a judgement."""
GAP_S = 0.4
"""A hand needs about this long to flick."""
CREEPS = (0.5, 1.4)
"""Of the last creep, too slow to be seen, how much of what the law makes of it a spool needs: on generated films."""


@dataclass(frozen=True, slots=True)
class Watched:
    """A film's spins and the spool they were read from, so that a drawing can ring it."""

    result: SpinResult
    centre: tuple[float, float]
    """Across and down, as fractions of the picture's width and height."""
    radius: float
    """The longer one of the disc as it is seen, as a fraction of the picture's width."""


class NotFollowedError(NotDeterminedError):
    """A spool was seen and could not be followed. ``centre`` and ``radius`` say which, as in ``Watched``."""

    def __init__(self, why: str, centre: tuple[float, float], radius: float) -> None:
        self.why, self.centre, self.radius = why, centre, radius
        super().__init__(why)

    def __reduce__(self) -> tuple[type["NotFollowedError"], tuple[str, tuple[float, float], float]]:
        """All three, so that the error survives a trip from a worker process."""
        return type(self), (self.why, self.centre, self.radius)


def watch(
    frames: NDArray[np.uint8],
    t_s: FloatArray,
    *,
    marks: int = 1,
    rng: Generator,
    progress: Progress | None = None,
    between_s: Between | None = None,
    mark_at: tuple[float, float] | None = None,
) -> Watched:
    """The spins in a film, and the spool. ``marks`` is checked only: angles are seen, not counted.

    ``progress`` is told the part done, 0 to 1, and what is being done. Only frames ``between_s`` are looked at; times
    stay those of the film. ``mark_at`` is a point on the spool or its mark, across and down, as fractions of the
    upright picture's width and height: it chooses where two spools turn. Raises InputError for what is no film or a
    part outside it; NotDeterminedError where nothing turns; its kind NotFollowedError, which knows the spool that was
    seen, where the turning cannot be followed.
    """
    times = np.asarray(t_s, dtype=np.float64)
    _checked(frames, times, marks, mark_at)
    if between_s is not None:
        frames, times = _part(frames, times, between_s)
    tell = progress or (lambda part, what: None)
    tell(0.0, "holding the picture still")
    held = steady(frames)
    tell(0.55, "finding the spool")
    h, w = frames.shape[1:]
    disc = find_disc(frames, held, (mark_at[0] * w - 0.5, mark_at[1] * h - 0.5) if mark_at else None)
    centre, radius = ((disc.x + 0.5) / w, (disc.y + 0.5) / h), disc.long / w
    tell(0.7, "following the mark")
    view = _View.of(face_of(frames, held, disc), times)
    try:
        found = _spins(view, rng, cut=between_s is not None)
    except NotDeterminedError as why:
        raise NotFollowedError(_why_not(disc) or str(why), centre, radius) from why
    tell(1.0, "done")
    notes = (*only(between_s), *_about_all(disc, found))
    return Watched(SpinResult(tuple(found), notes, "video"), centre, radius)


def _part(frames: NDArray[np.uint8], t_s: FloatArray, between_s: Between) -> tuple[NDArray[np.uint8], FloatArray]:
    start, end = part_of(float(t_s[0]), float(t_s[-1]), between_s, LEAST_S)
    inside = slice(int(np.searchsorted(t_s, start)), int(np.searchsorted(t_s, end, "right")))
    if inside.stop - inside.start < LEAST_FRAMES:
        raise InputError(PART, f"{inside.stop - inside.start} frames", f"at least {LEAST_FRAMES} frames")
    return frames[inside], t_s[inside]


def _checked(frames: NDArray[np.uint8], t_s: FloatArray, marks: int, mark_at: tuple[float, float] | None) -> None:
    if frames.ndim != 3 or frames.dtype != np.uint8 or len(frames) != len(t_s) or min(frames.shape[1:]) < 32:
        raise InputError(
            "frames", f"{frames.dtype} {frames.shape}", "uint8, shape (n, h, w), a time each, 32 pixels and more"
        )
    if not np.all(np.isfinite(t_s)) or np.any(np.diff(t_s) <= 0):
        raise InputError("the times of the frames", "not rising", "each later than the one before")
    if not 1 <= marks <= 60:
        raise InputError("marks a turn", marks, "1 to 60")
    if mark_at is not None and not all(0 <= part <= 1 for part in mark_at):
        raise InputError("the place of the mark", mark_at, "0 to 1 across and 0 to 1 down the picture")
    if len(frames) < LEAST_FRAMES or t_s[-1] - t_s[0] < LEAST_S:
        raise InputError(
            "the film",
            f"{t_s[-1] - t_s[0] if len(t_s) else 0:.1f} s long",
            f"at least {LEAST_S:g} s, from the flick to rest",
        )


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """The face of the spool over some stretch of the film."""

    face: Face
    z: ComplexArray
    t_s: FloatArray

    @classmethod
    def of(cls, face: Face, t_s: FloatArray) -> "_View":
        return cls(face, harmonics(face), t_s)

    def until(self, end_s: float) -> "_View":
        part = self.t_s < end_s
        face = Face(self.face.seen[part], self.face.turn, self.face.lively[part])
        return _View(face, self.z[part], self.t_s[part])


def _spins(view: _View, rng: Generator, *, cut: bool) -> list[Spin]:
    """The last spin, and one before it where the film shows two flicks; a film ``cut`` by hand begins where it does."""
    run, rest, others = _last_run(view)
    spin = _described(view, run, rest, others, rng, cut=cut)
    before = view.until(run.fit.start_s - GAP_S)
    if len(before.t_s) < LEAST_FRAMES or before.t_s[-1] - before.t_s[0] < 1.0 or before.face.lively.mean() < 0.5:
        return [spin]
    try:
        earlier, moved, others = _last_run(before)
    except NotDeterminedError:
        return [
            replace(
                spin,
                cautions=(
                    *spin.cautions,
                    Note.of("lost_before", "something turned or moved before this spin and could not be followed"),
                ),
            )
        ]
    if earlier.fit.speed(run.fit.start_s) > 0.9 * run.fit.start_rev_s:
        start = plain(run.fit.start_s, "s", decimals=1)
        note = Note.of("mark_lost_before", "the mark could not be followed before {start}", start=start)
        return [replace(spin, cautions=(*spin.cautions, note))]
    return [_described(before, earlier, moved, others, rng, cut=cut, flicked=True), spin]


def _last_run(view: _View) -> tuple[Run, float | None, list[float]]:
    """The run that ends the stretch; when it last moved if it stopped; other speeds it may have begun at if not."""
    rest = rest_begins_s(view.z, view.t_s)
    seeds = _seeds(view) if rest is None else [(rest + 0.05, 0.0, FALL_AT_REST, way) for way in (1, -1)]
    tracks = [(_track(view, *seed), seed[3]) for seed in seeds]
    tracks = [each for each in tracks if len(each[0].t_s) >= 4]
    if rest is not None:
        tracks = [max(tracks, key=lambda each: float(np.sum(each[0].coherence)))] if tracks else []
    runs = []
    for track, way in tracks:
        try:
            runs.append(follow(view.face, view.z if way > 0 else np.conj(view.z), view.t_s, track, way))
        except NotDeterminedError:
            continue
    if rest is None:
        runs = [run for run in runs if _slows(run) and not _hard(run)]
    if not runs:
        raise NotDeterminedError(
            "something moves in this film, but no spool could be followed: film its mark whole, from the flick to rest"
        )
    best = min(runs, key=_doubt)
    if best.followed < HARDLY:
        raise NotDeterminedError("the mark could not be followed: it is hidden, too faint, or leaves the picture")
    others = [run.fit.start_rev_s for run in runs if run is not best and _doubt(run) < ALIKE * _doubt(best)]
    return best, rest, others


def _slows(run: Run) -> bool:
    """Whether it slows at all: a spool at rest looks like one that turns a whole number of times a frame for ever."""
    return run.fit.end_rev_s < (1 - LEAST_SLOWING) * run.fit.start_rev_s


def _hard(run: Run) -> bool:
    return run.median_off > SURE_OFF or run.followed < FOLLOWED


def _doubt(run: Run) -> float:
    """Small for a run of many turns that keeps to the law."""
    length = float(run.fit.time_s[-1]) - run.fit.start_s
    return (run.median_off + 0.002) / max(run.followed * length, 1e-3)


def _track(view: _View, last_s: float, rev_s: float, fall: float, way: int) -> Track:
    return track_back(view.z if way > 0 else np.conj(view.z), view.t_s, last_s, rev_s, fall)


def _seeds(view: _View) -> list[tuple[float, float, float, int]]:
    """Where no stop is seen: the likeliest last speeds in every zone of the frame rate, in both senses of rotation."""
    middle = float(view.t_s[-1]) - 0.16
    block = np.abs(view.t_s - middle) <= 0.16
    speeds, falls = np.arange(0.0, FASTEST_REV_S, 0.15), np.arange(0.0, 13.0, 1.5)
    ranked: list[tuple[float, float, float, int]] = []
    for way in (1, -1):
        z = view.z[block] if way > 0 else np.conj(view.z[block])
        score = coherence(z, view.t_s[block] - middle, speeds, falls)
        best = score.max(1)
        for _ in range(GUESSES):
            i = int(best.argmax())
            ranked.append((float(best[i]), float(speeds[i]), float(falls[score[i].argmax()]), way))
            best[np.abs(speeds - speeds[i]) < 1.5] = -1.0
    ranked.sort(key=lambda each: (-round(each[0], 3), each[1]))  # of those that look alike the slower ones first
    return [(middle, speed, fall, way) for _, speed, fall, way in ranked[:GUESSES]]


def _described(
    view: _View, run: Run, rest: float | None, others: list[float], rng: Generator, *, cut: bool, flicked: bool = False
) -> Spin:
    """``flicked``: what is seen of it ends with another flick, and not with the film."""
    notes = _cautions(view, run, cut=cut)
    if rest is None:
        notes.append(_not_seen_to_rest(others, flicked))
    spin = spin_from_fit(
        run.fit, rng, stop_seen=rest is not None, cautions=notes, seen=lambda times: speed_seen(run.fit, times)
    )
    if rest is not None:
        return replace(spin, spin_time_s=_rest_time(run, rest))
    return _one_of_several(spin, others, notes) if others else spin


def _one_of_several(spin: Spin, others: list[float], cautions: list[Note]) -> Spin:
    """Without what hangs on which speed it is: the losses are quite other ones at another, and the first speed any."""
    assert spin.initial_rev_s
    first = spin.initial_rev_s
    widened = Quantity(first.value, min(first.low, *others), max(first.high, *others))
    return replace(
        spin, initial_rev_s=widened, spin_time_s=None, losses=None, energy_share=None, cautions=tuple(cautions)
    )


def _not_seen_to_rest(others: list[float], flicked: bool) -> Note:
    ends = "it was flicked again" if flicked else "the film ends"
    also = ", ".join(f"{speed:.0f}" for speed in sorted(others)[:4])
    alike = (
        "{ends} before the spool rests, so its speed is only the likeliest of several that look alike "
        "at this frame rate"
    )
    if not also:
        return Note.of("speeds_alike", alike, ends=ends)
    return Note.of("speeds_alike", alike + ": it may have begun at {also} rev/s", ends=ends, also=also)


def _rest_time(run: Run, last_moved_s: float) -> Quantity:
    """From the start to rest: it creeps √(2 · turns / dry friction) longer than it is seen to move.

    Where the law stops sooner, what was seen to move after that was the hand. The interval holds both.
    """
    creep = float(np.sqrt(2 * STILL_TURNS / max(float(run.fit.law.loss(0.0)), 0.02)))
    seen, frame = last_moved_s - run.fit.start_s, float(np.median(np.diff(run.fit.time_s)))
    foretold = min(run.fit.stop_s - run.fit.start_s, seen + 10 * creep)
    likely = min(seen + creep, foretold)
    soonest, latest = seen + CREEPS[0] * creep - frame / 2, seen + CREEPS[1] * creep + frame / 2
    return Quantity(likely, max(0.0, min(soonest, foretold)), max(latest, foretold))


def _cautions(view: _View, run: Run, *, cut: bool) -> list[Note]:
    notes = []
    if not cut and run.fit.start_s - view.t_s[0] < 0.1:
        late = "the film starts after the flick: how fast the spool was before is not known"
        notes.append(Note.of("after_the_flick", late))
    if _hard(run):
        notes.append(Note.of("mark_hard", "the mark is hard to follow in this film: the speed may be wrong"))
    return notes


def _why_not(disc: Disc) -> str:
    """What the shape of what moves says of it."""
    if disc.rivals:
        return "more than one spool turns in this film and the largest could not be followed: point out the mark of one"
    if disc.short < ROUND * disc.long:
        return "what turns in this film is not one round spool: film one alone, whole, square on, hands away"
    return ""


def _about_all(disc: Disc, spins: list[Spin]) -> list[Note]:
    notes = []
    if disc.outside > EDGE:
        notes.append(Note.of("spool_cut", "part of the spool is outside the picture: film it whole"))
    if disc.rivals:
        rivals = "more than one spool turns in this film: the largest was measured; point out the mark of another"
        notes.append(Note.of("spools", rivals))
    if len(spins) > 1:
        notes.append(Note.of("flicks", "{flicks} flicks in one film: each is a spin of its own", flicks=len(spins)))
    return notes
