"""Which run down a film shows: back from rest where the stop is seen, else from the likeliest of several last speeds.

Frames are taken at even times, so a speed and the same speed plus the frame rate look alike. Seen to rest, there is no
doubt. Where the film ends before, several last speeds are followed back, and the runs are compared.
"""

from dataclasses import dataclass

import numpy as np

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import ComplexArray, FloatArray
from levelwind.core.spin.film_phase import Face, harmonics
from levelwind.core.spin.film_run import Run, follow
from levelwind.core.spin.film_track import Rest, Track, coherence, rest_seen, track_back

JUST_BEFORE_REST_S = 0.05
"""s before the picture stands still at which the search begins. Our choice: a frame or two,
in which it surely turns."""
FALL_AT_REST_REV_S2 = 3.0
"""rev/s²; deceleration near which that of the last block is looked for. Our choice: of a spool with usual dry
friction."""
FASTEST_LAST_REV_S, SPEED_STEP_REV_S = 100.0, 0.15
"""rev/s; last speeds that are tried where the stop is not seen, and their step. Our choice: twice the fastest flick
(common practice, no source), in steps of a tenth of a block's resolution."""
STEEPEST_LAST_REV_S2, FALL_STEP_REV_S2 = 13.0, 1.5
"""rev/s²; decelerations that are tried with them, and their step. Our choice: likewise."""
LAST_BLOCK_S = 0.16
"""s; half of the block at the end of the film from which they are tried. Our choice: five frames of a phone to a
side."""
GUESSES, GUESSES_APART_REV_S = 6, 1.5
"""Last speeds that are followed back, and rev/s that they differ by at the least. Our choice: at 30 frames a second
they reach past 60 rev/s in both senses."""
SCORE_DECIMALS = 3
"""Decimals to which two scores are alike; of such the slower speed goes first. Our choice: at even frame times they are
alike to rounding."""
TRACKED_BLOCKS = 4
"""Blocks that a track must have to be followed. Our choice: fewer do not make a curve."""
HARD_OFF_TURNS, HARD_FOLLOWED = 0.02, 0.8
"""Turns that the phases may lie from the law in the median, and part of them that must lie near it: beyond, the mark is
hard to follow, and a run whose stop was not seen is not believed. Our choice, judged on made films."""
LEAST_FOLLOWED = 0.5
"""Part of the phases that must lie near the law for a run to be told at all. Our choice."""
LEAST_SLOWING = 0.05
"""Part of its first speed that a run must lose if its stop was not seen: a spool at rest looks like one that turns a
whole number of times a frame for ever. Our choice."""
DOUBT_ALIKE = 2.0
"""A run of at most this many times the best one's doubt may be the true one as well. Our choice."""
DOUBT_OFF_TURNS = 0.002
"""Turns added to the median distance in a run's doubt: below that it is noise. Our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """The face of the spool over some stretch of the film, with its harmonics, shape (n, orders), and times in s."""

    face: Face
    z: ComplexArray
    t_s: FloatArray
    apart: int = 1
    """Frames from one to the next that it is compared with."""

    @classmethod
    def of(cls, face: Face, t_s: FloatArray, apart: int = 1) -> "View":
        return cls(face, harmonics(face), t_s, apart)

    def before(self, end_s: float) -> "View":
        part = self.t_s < end_s
        face = Face(self.face.seen[part], self.face.turn, self.face.lively[part])
        return View(face, self.z[part], self.t_s[part], self.apart)


def last_run(view: View) -> tuple[Run, Rest | None, list[float]]:
    """The run that ends the stretch; when it last moved if it stopped; other speeds it may have begun at if not.

    Raises NotDeterminedError where none can be followed.
    """
    rest = rest_seen(view.z, view.t_s, view.apart)
    seeds = (
        _seeds(view)
        if rest is None
        else [(rest.moved_s + JUST_BEFORE_REST_S, 0.0, FALL_AT_REST_REV_S2, sense) for sense in (1, -1)]
    )
    tracks = [(_track(view, *seed), seed[3]) for seed in seeds]
    tracks = [each for each in tracks if len(each[0].t_s) >= TRACKED_BLOCKS]
    if rest is not None:
        tracks = [max(tracks, key=lambda each: float(np.sum(each[0].coherence)))] if tracks else []
    runs = []
    for track, sense in tracks:
        try:
            runs.append(follow(view.face, _in_sense(view.z, sense), view.t_s, track, sense))
        except NotDeterminedError:
            continue
    if rest is None:
        runs = [run for run in runs if _slows(run) and not is_hard(run)]
    if not runs:
        raise NotDeterminedError(
            "something moves in this film, but no spool could be followed: film its mark whole, from the flick to rest"
        )
    best = min(runs, key=_doubt)
    if best.followed < LEAST_FOLLOWED:
        raise NotDeterminedError("the mark could not be followed: it is hidden, too faint, or leaves the picture")
    alike = [run for run in runs if run is not best and _doubt(run) < DOUBT_ALIKE * _doubt(best)]
    speeds = [float(run.fit.speed(best.fit.start_s)) for run in alike]
    return best, rest, [speed for speed in speeds if np.isfinite(speed)]


def _slows(run: Run) -> bool:
    """Whether it slows at all."""
    return run.fit.end_rev_s < (1 - LEAST_SLOWING) * run.fit.start_rev_s


def is_hard(run: Run) -> bool:
    """Whether the mark is so hard to follow that the speed may be wrong."""
    return run.median_off > HARD_OFF_TURNS or run.followed < HARD_FOLLOWED


def _doubt(run: Run) -> float:
    """Small for a long run that keeps to the law: median distance over the seconds followed."""
    length = float(run.fit.time_s[-1]) - run.fit.start_s
    return (run.median_off + DOUBT_OFF_TURNS) / max(run.followed * length, 1e-3)


def _track(view: View, last_s: float, rev_s: float, fall: float, sense: int) -> Track:
    return track_back(_in_sense(view.z, sense), view.t_s, last_s, rev_s, fall)


def _in_sense(z: ComplexArray, sense: int) -> ComplexArray:
    """The harmonics as of a spool that turns forward; turning the other way they are the complex conjugates."""
    return z if sense > 0 else np.conj(z)


def _seeds(view: View) -> list[tuple[float, float, float, int]]:
    """Where no stop is seen: time, speed, deceleration and sense of rotation of the likeliest last speeds."""
    middle = float(view.t_s[-1]) - LAST_BLOCK_S
    block = np.abs(view.t_s - middle) <= LAST_BLOCK_S
    speeds = np.arange(0.0, FASTEST_LAST_REV_S, SPEED_STEP_REV_S)
    falls = np.arange(0.0, STEEPEST_LAST_REV_S2, FALL_STEP_REV_S2)
    ranked: list[tuple[float, float, float, int]] = []
    for sense in (1, -1):
        score = coherence(_in_sense(view.z[block], sense), view.t_s[block] - middle, speeds, falls)
        best = score.max(1)
        for _ in range(GUESSES):
            i = int(best.argmax())
            ranked.append((float(best[i]), float(speeds[i]), float(falls[score[i].argmax()]), sense))
            best[np.abs(speeds - speeds[i]) < GUESSES_APART_REV_S] = -1.0
    ranked.sort(key=lambda each: (-round(each[0], SCORE_DECIMALS), each[1]))
    return [(middle, speed, fall, sense) for _, speed, fall, sense in ranked[:GUESSES]]
