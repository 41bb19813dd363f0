"""A film of a spool running down in, its speed over time and what takes its speed away out.

Frames are luma, shape (n, h, w), about 160 pixels wide; times are those at which the first row of each is exposed, in
seconds. The speed's times are those at which the middle of the disc is exposed: some milliseconds later.
docs/physics/spin-film.md describes the steps.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.fitting import FloatArray, Generator
from levelwind.core.notes import Note, plain
from levelwind.core.options import Span
from levelwind.core.quantities import Quantity, whole
from levelwind.core.spin.film_disc import ROUND, Disc, find_disc
from levelwind.core.spin.film_phase import face_of
from levelwind.core.spin.film_run import Run, speed_seen
from levelwind.core.spin.film_search import View, is_hard, last_run
from levelwind.core.spin.film_steady import Steady, apart_in, steady
from levelwind.core.spin.film_track import CLEAR_TURNS, Rest
from levelwind.core.spin.model import Spin, SpinResult
from levelwind.core.spin.options import NOTHING_SAID, SpinOptions
from levelwind.core.spin.part import LEAST_S, only, part_of
from levelwind.core.spin.part import WHAT as PART
from levelwind.core.spin.verdict import spin_from_fit
from levelwind.core.writing import written

Progress = Callable[[float, str], None]

FILM_FRAMES = 30
"""Frames of a film, or a part of one, at the least. Our choice: a second of a phone's film."""
PICTURE_PIXELS = 32
"""Pixels of height and width at the least. Our choice: a spool would be smaller than the smallest disc that is
found."""
RIM_OUTSIDE = 0.08
"""Part of the disc's edge that may lie along the picture's rim before it counts as cut off. Our choice."""
FLICK_S = 0.4
"""s before a run that are left out when one before it is looked for: about as long as a hand's flick (common practice,
no source)."""
FLICK_OVER = 0.4
"""Part of a film that is left out where the spool is looked for once more without the flick. Our choice: the flick is
mostly over by then, and the spool still turns."""
FURTHER_APART = 4
"""Times as far apart that frames are compared once more where nothing is found to turn, or it cannot be followed: what
plays in slow motion without its file saying so was taken at 120 or 240 a second (our choice), and from one frame to the
next a mark's edge moves by less than what compression hides."""
EARLIER_S, EARLIER_LIVELY = 1.0, 0.5
"""s that must lie before a run, and part of their frames in which something moves, for another run to be looked for.
Our choice."""
SAME_RUN = 0.9
"""Part of a run's first speed that the one before it may still have there and be the same run, lost for a while. Our
choice: a flick makes a spool faster by more."""
FILM_LATE_S = 0.1
"""s; a run that begins no later than this after its film began before it. Our choice: three frames of a phone."""
CREEP = (0.5, 1.4)
"""Parts of the creep before rest, as the law has it, that a spool takes; too slow to be seen. Set on made films:
docs/decisions/spin-intervals.md."""
MOST_CREEP = 10.0
"""Creeps after which the law's own stop is no longer believed against the film's. Our choice."""
LEAST_DRY_REV_S2 = 0.02
"""rev/s²; dry friction is taken as no less where the creep is worked out. Our choice: keeps it from being endless."""
FAINT_GREY_LEVELS = 9.0
"""Grey levels of 255 below which a film that cannot be followed is told to be too faint. Of made films the refused ones
had 3 to 8, and none under 8 was read: our choice."""
SPEEDS_TOLD = 4
"""Other speeds that look alike that are told at the most. Our choice: more would only confuse."""


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
    options: SpinOptions = NOTHING_SAID,
    rng: Generator,
    progress: Progress | None = None,
) -> Watched:
    """The spins in a film, and the spool.

    ``options``: only frames ``between_s`` are looked at, times stay those of the film; ``mark_at`` chooses where two
    spools turn. Angles are seen, not counted, whatever the marks. ``t_s`` are those of life, however slow it plays.
    ``progress`` is told the part done, 0 to 1, and what is being done. Raises InputError for what is no film or a
    part outside it; NotDeterminedError where nothing turns; its kind NotFollowedError, which knows the spool that was
    seen, where the turning cannot be followed.
    """
    times = np.asarray(t_s, dtype=np.float64)
    _checked(frames, times)
    between_s, mark_at = options.between_s, options.mark_at
    if between_s is not None:
        frames, times = _part(frames, times, between_s)
    tell = progress or (lambda part, what: None)
    tell(0.0, "holding the picture still")
    look = partial(_looked, frames, times, mark_at, rng, cut=between_s is not None)
    apart = apart_in(times)
    further = min(FURTHER_APART * apart, len(frames) // FURTHER_APART)
    try:
        disc, found = look(apart, tell)
    except NotDeterminedError as why:
        try:
            disc, found = look(further, lambda part, what: tell(0.7 + 0.3 * part, f"{what}, pictures further apart"))
        except NotDeterminedError:
            raise why from None
    h, w = frames.shape[1:]
    tell(1.0, "done")
    notes = (*only(between_s), *_about_all(disc, found))
    return Watched(SpinResult(tuple(found), notes, "video"), *_placed(disc, h, w))


def _looked(
    frames: NDArray[np.uint8],
    t_s: FloatArray,
    mark_at: tuple[float, float] | None,
    rng: Generator,
    apart: int,
    tell: Progress,
    *,
    cut: bool,
) -> tuple[Disc, list[Spin]]:
    """The spool and its spins, by frames that lie ``apart`` compared for what moves."""
    held = steady(frames, apart)
    tell(0.55, "finding the spool")
    h, w = frames.shape[1:]
    at = (mark_at[0] * w - 0.5, mark_at[1] * h - 0.5) if mark_at else None
    disc = find_disc(frames, held, at)
    tell(0.7, "following the mark")
    try:
        return disc, _spins(View.of(face_of(frames, held, disc), t_s, apart), rng, cut=cut)
    except NotDeterminedError as why:
        try:
            return _without_flick(frames, held, t_s, at, rng, cut=cut)
        except NotDeterminedError:
            raise NotFollowedError(_why_not(disc) or str(why), *_placed(disc, h, w)) from why


def _without_flick(
    frames: NDArray[np.uint8],
    held: Steady,
    t_s: FloatArray,
    at: tuple[float, float] | None,
    rng: Generator,
    *,
    cut: bool,
) -> tuple[Disc, list[Spin]]:
    """The spool by what moves once the flick is over: a hand changes the picture more than a small mark does."""
    disc = find_disc(frames, held, at, since=FLICK_OVER)
    return disc, _spins(View.of(face_of(frames, held, disc), t_s, held.apart), rng, cut=cut)


def _placed(disc: Disc, height: int, width: int) -> tuple[tuple[float, float], float]:
    """Centre and radius as in ``Watched``."""
    return ((disc.x + 0.5) / width, (disc.y + 0.5) / height), disc.long / width


def _part(frames: NDArray[np.uint8], t_s: FloatArray, between_s: Span) -> tuple[NDArray[np.uint8], FloatArray]:
    start, end = part_of(float(t_s[0]), float(t_s[-1]), between_s, LEAST_S)
    inside = slice(int(np.searchsorted(t_s, start)), int(np.searchsorted(t_s, end, "right")))
    if inside.stop - inside.start < FILM_FRAMES:
        raise InputError(PART, f"{inside.stop - inside.start} frames", f"at least {FILM_FRAMES} frames")
    return frames[inside], t_s[inside]


def _checked(frames: NDArray[np.uint8], t_s: FloatArray) -> None:
    if (
        frames.ndim != 3
        or frames.dtype != np.uint8
        or len(frames) != len(t_s)
        or min(frames.shape[1:]) < PICTURE_PIXELS
    ):
        raise InputError(
            "frames", f"{frames.dtype} {frames.shape}", "uint8, shape (n, h, w), a time each, 32 pixels and more"
        )
    if not np.all(np.isfinite(t_s)) or np.any(np.diff(t_s) <= 0):
        raise InputError("the times of the frames", "not rising", "each later than the one before")
    if len(frames) < FILM_FRAMES or t_s[-1] - t_s[0] < LEAST_S:
        raise InputError(
            "the film",
            f"{written(t_s[-1] - t_s[0] if len(t_s) else 0, '.1f')} s long",
            f"at least {written(LEAST_S)} s, from the flick to rest",
        )


def _spins(view: View, rng: Generator, *, cut: bool) -> list[Spin]:
    """The last spin, and one before it where the film shows two flicks; a film ``cut`` by hand begins where it does."""
    run, rest, others = last_run(view)
    spin = _described(view, run, rest, others, rng, cut=cut)
    before = view.before(run.fit.start_s - FLICK_S)
    if len(before.t_s) < FILM_FRAMES or before.t_s[-1] - before.t_s[0] < EARLIER_S:
        return [spin]
    if before.face.lively.mean() < EARLIER_LIVELY:
        return [spin]
    try:
        earlier, moved, others = last_run(before)
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
    if earlier.fit.speed(run.fit.start_s) > SAME_RUN * run.fit.start_rev_s:
        start = plain(run.fit.start_s, "s", decimals=1)
        note = Note.of("mark_lost_before", "the mark could not be followed before {start}", start=start)
        return [replace(spin, cautions=(*spin.cautions, note))]
    return [_described(before, earlier, moved, others, rng, cut=cut, flicked=True), spin]


def _described(
    view: View, run: Run, rest: Rest | None, others: list[float], rng: Generator, *, cut: bool, flicked: bool = False
) -> Spin:
    """``flicked``: what is seen of it ends with another flick, and not with the film."""
    notes = _cautions(view, run, cut=cut)
    if rest is None:
        notes.append(_not_seen_to_rest(others, flicked))
    spin = spin_from_fit(
        run.fit, rng, stop_seen=rest is not None, cautions=notes, seen=lambda times: speed_seen(run.fit, times)
    )
    if rest is not None:
        return replace(spin, spin_time_s=_rest_time(run, rest, spin.spin_time_s))
    return _one_of_several(spin, others, 1 / float(np.median(np.diff(view.t_s))), notes) if others else spin


def _one_of_several(spin: Spin, others: list[float], frames_per_s: float, cautions: list[Note]) -> Spin:
    """The spin without what depends on which of the speeds is true: losses and spin time; the first speed holds all.

    It holds them less whole frame rates too: how far fits to the same pictures differ says how sure one of them is.
    """
    assert spin.initial_rev_s
    first = spin.initial_rev_s
    near = [speed - frames_per_s * round((speed - first.value) / frames_per_s) for speed in others]
    widened = Quantity(first.value, min(first.low, *others, *near), max(first.high, *others, *near))
    return replace(
        spin,
        initial_rev_s=widened,
        spin_time_s=None,
        losses=None,
        energy_share=None,
        cautions=tuple(cautions),
        draws=None,
    )


def _not_seen_to_rest(others: list[float], flicked: bool) -> Note:
    ends = "it was flicked again" if flicked else "the film ends"
    also = ", ".join(f"{speed:.0f}" for speed in sorted(others)[:SPEEDS_TOLD])
    alike = (
        "{ends} before the spool rests, so its speed is only the likeliest of several that look alike "
        "at this frame rate"
    )
    if not also:
        return Note.of("speeds_alike", alike, ends=ends)
    return Note.of("speeds_alike", alike + ": it may have begun at {also} rev/s", ends=ends, also=also)


def _rest_time(run: Run, rest: Rest, by_law: Quantity | None) -> Quantity:
    """Seconds from the start to rest: the law's own where that agrees with the creep after what was seen to move.

    From d turns before rest it creeps for about √(2 d / dry friction). Where the law stops later than that allows,
    friction rises towards rest, and it is the creep that counts; where it stops sooner, what was seen to move after
    that was the hand. The interval holds both, and the law's own to its nearer side.

    Where even half a creep after what was seen to move lies past the whole creep after what moved clearly, the picture
    wandered, and not the spool: then it is what moved clearly that counts.
    """
    dry = max(float(run.fit.law.loss(0.0)), LEAST_DRY_REV_S2)
    creep, clear_creep = (float(np.sqrt(2 * turns / dry)) for turns in (rest.unseen_turns, CLEAR_TURNS))
    seen, frame = rest.moved_s - run.fit.start_s, float(np.median(np.diff(run.fit.time_s)))
    predicted = min(run.fit.stop_s - run.fit.start_s, seen + MOST_CREEP * creep)
    soonest, latest = seen + CREEP[0] * creep - frame / 2, seen + CREEP[1] * creep + frame / 2
    clear = rest.clearly_s - run.fit.start_s
    if soonest > clear + clear_creep:
        seen, creep, soonest = clear, clear_creep, clear + CREEP[0] * clear_creep - frame / 2
    likely = predicted if predicted <= latest else seen + creep
    early = predicted if by_law is None else min(predicted, by_law.low)
    return Quantity(likely, max(0.0, soonest if soonest < predicted else early), max(latest, predicted))


def _cautions(view: View, run: Run, *, cut: bool) -> list[Note]:
    notes = []
    if not cut and run.fit.start_s - view.t_s[0] < FILM_LATE_S:
        late = "the film starts after the flick: how fast the spool was before is not known"
        notes.append(Note.of("after_the_flick", late))
    if is_hard(run):
        notes.append(Note.of("mark_hard", "the mark is hard to follow in this film: the speed may be wrong"))
    return notes


def _why_not(disc: Disc) -> str:
    """Why no spool could be followed, as far as the shape of what moves tells; empty where it does not."""
    if disc.rivals:
        return "more than one spool turns in this film and the largest could not be followed: point out the mark of one"
    if disc.grey_levels < FAINT_GREY_LEVELS:
        return (
            f"the mark is too faint to follow: what turns changes the picture by only {whole(disc.grey_levels)} grey "
            "levels of 255, and compression leaves little of that; stick on a broad strip of bright tape, light it "
            "well and film it from nearer"
        )
    if disc.short < ROUND * disc.long:
        return "what turns in this film is not one round spool: film one alone, whole, square on, hands away"
    return ""


def _about_all(disc: Disc, spins: list[Spin]) -> list[Note]:
    notes = []
    if disc.outside > RIM_OUTSIDE:
        notes.append(Note.of("spool_cut", "part of the spool is outside the picture: film it whole"))
    if disc.rivals:
        rivals = "more than one spool turns in this film: the largest was measured; point out the mark of another"
        notes.append(Note.of("spools", rivals))
    if len(spins) > 1:
        notes.append(Note.of("flicks", "{flicks} flicks in one film: each is a spin of its own", flicks=len(spins)))
    return notes
