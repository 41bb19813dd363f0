"""One run down in a film: phases of every frame, and the law fitted to all of them at once.

The law is fitted first to the later part, where the speed followed backward from rest is surest, and grown towards the
flick for as long as the spool's own picture turns up where the law says it should. A hand in the picture, a spool at
rest before the flick, or a speed followed wrongly ends it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import make_smoothing_spline
from scipy.ndimage import median_filter

from levelwind.core.errors import NotDeterminedError
from levelwind.core.spin.film_phase import Face, Phases, lay_on_template
from levelwind.core.spin.film_track import Track
from levelwind.core.spin.fit import LawFit, fit_phase, rocking_inflation

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
Mask = NDArray[np.bool_]

SPAN = 0.13
"""Turns to either side of what is expected in which a frame's phase is looked for."""
CLOSE = (0.008, 0.04)
"""Turns; bounds of what counts as near once the law is known."""
NEAR = 0.05
"""Turns; where more than a third of a block's phases lie further off, the law does not hold there."""
MOST = 0.65
ALIKE = 0.15
SLOWEST_REV_S = 0.4
"""Below this the spool may rock, and phases say more of its balance than of its losses."""
BLOCK_S = 0.2
SMOOTH_S = 0.1
FIRST_PART = 0.6
FEW = 140
WAVES = (6, 18)
"""Half waves over a run: from the first on a law hardly follows them, past the second they are too quick to matter."""
FASTEST_REV_S = 200.0
CLEAR_S = 0.1
"""Left out after the flick: the block that spoke against it began somewhere in here."""
LEAST_TURNS = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A run down with its phases in turns, and which frames of the film they come from."""

    fit: LawFit
    used: Mask
    turns: FloatArray
    off: FloatArray
    """How far each used phase lies from the fit, in turns."""
    followed: float
    """Part of the frames between start and end that lie near the fit."""
    cost: float
    """Median distance of the phases from the fit, in turns: small where the zone of the frame rate is the right one."""


def follow(face: Face, z: ComplexArray, t_s: FloatArray, track: Track, way: int) -> Run:
    """Fit the law to the frames that ``track`` covers, in the sense of rotation ``way``.

    Raises NotDeterminedError where too little can be followed.
    """
    inside = (t_s >= track.t_s[0]) & (t_s <= track.t_s[-1])
    speed = track.speed(t_s)
    turning = inside & (speed > SLOWEST_REV_S)
    if turning.sum() < 12 or track.turns(t_s[turning][-1:])[0] - track.turns(t_s[turning][:1])[0] < LEAST_TURNS:
        raise NotDeterminedError("too few turns could be followed to tell how the spool slows")
    expected = _anchored(z, t_s, track, inside)
    first, last = t_s[turning][0], t_s[turning][-1]
    learn = turning & (t_s >= last - FIRST_PART * (last - first))
    phases = _laid(face, t_s, expected, learn, way)
    start = float(t_s[learn][0])
    fit = _fitted(t_s, phases, learn, speed, None)
    for _ in range(5):
        turning = (fit.speed(t_s) > SLOWEST_REV_S) & (t_s <= last)
        learn = turning & (t_s >= start)
        phases = _laid(face, t_s, _model(fit, t_s), learn, way)
        sooner = _grown(fit, phases, t_s, start, reach=0.8 * (last - start))
        learn = turning & (t_s >= sooner)
        fit = _fitted(t_s, phases, learn, fit.speed(t_s), fit)
        if sooner > start - BLOCK_S:
            break
        start = sooner
    if start > t_s[0] + BLOCK_S:
        start += CLEAR_S
    learn = (fit.speed(t_s) > SLOWEST_REV_S) & (t_s <= last) & (t_s >= start)
    phases = _laid(face, t_s, _model(fit, t_s), learn, way)
    learn &= t_s >= _clear(_fitted(t_s, phases, learn, fit.speed(t_s), fit))
    used = learn & (phases.likeness > ALIKE)
    fit = _settled(t_s, phases, used, fit)
    off = np.abs(fit.residuals)
    return Run(fit, used, phases.turns, off, float(np.sum(off < NEAR) / max(learn.sum(), 1)), float(np.median(off)))


def _anchored(z: ComplexArray, t_s: FloatArray, track: Track, inside: Mask) -> FloatArray:
    """The track's turns, brought block by block onto the strongest order's phase."""
    order = int(np.argmax(np.sum(np.abs(z[inside]) ** 2, axis=0))) + 1
    turns = track.turns(t_s)
    ahead = z[:, order - 1] * np.exp(-2j * np.pi * order * turns)
    block = np.clip((t_s - track.t_s[0]) / 0.2, 0, None).astype(int)
    total = np.bincount(block[inside], ahead.real[inside]) + 1j * np.bincount(block[inside], ahead.imag[inside])
    off = np.unwrap(np.angle(total)) / (2 * np.pi * order)
    middle = track.t_s[0] + (np.arange(len(total)) + 0.5) * 0.2
    return np.asarray(turns + np.interp(t_s, middle, off))


def _laid(face: Face, t_s: FloatArray, expected: FloatArray, learn: Mask, way: int) -> Phases:
    if learn.sum() < 12:
        raise NotDeterminedError("too few turns could be followed to tell how the spool slows")
    found = lay_on_template(face, way * expected, learn, t_s, SPAN)
    return Phases(way * found.turns, found.sigma, found.likeness)


def _model(fit: LawFit, t_s: FloatArray) -> FloatArray:
    """The law's turns; before its first moment too, where it allows such a speed."""
    turns = fit.phase(t_s)
    return np.where(np.isfinite(turns), turns, fit.offset_turns + (t_s - fit.start_s) * fit.start_rev_s)


def disturbances(turns: FloatArray, rev_s: FloatArray) -> FloatArray:
    """What a camera and a spool add to the phase once and twice a turn, shaped (phases, 8).

    A centre found a little wrong and a disc seen aslant (once and twice a turn); rows exposed one after another (once a
    turn, as the speed); a spool out of balance (once a turn, as one over the speed squared).
    """
    angle, slow = 2 * np.pi * turns, np.maximum(rev_s, 0.7)
    once, twice = (np.cos(angle), np.sin(angle)), (np.cos(2 * angle), np.sin(2 * angle))
    rolling, rocking = (c * rev_s / 30.0 for c in once), (c / slow**2 for c in once)
    return np.column_stack([*once, *twice, *rolling, *rocking])


def _fitted(
    t_s: FloatArray, phases: Phases, which: Mask, speed: FloatArray, near: LawFit | None, most: int = FEW
) -> LawFit:
    """Law and disturbances together, by at most so many of the phases, from the law of a fit that is ``near``."""
    picked = np.flatnonzero(which)
    picked = picked[np.unique(np.linspace(0, len(picked) - 1, min(most, len(picked))).astype(int))]
    t, turns = t_s[picked], phases.turns[picked]
    speed = np.clip(speed[picked], 0.0, FASTEST_REV_S)
    start = (float(speed[0]), near.law) if near and speed[0] < FASTEST_REV_S else None
    return fit_phase(t, turns, _weighed(phases.sigma[picked], speed), columns=disturbances(turns, speed), start=start)


def _weighed(sigma: FloatArray, rev_s: FloatArray) -> FloatArray:
    """Deviations, none so small that a few frames decide, and larger where the spool may rock."""
    bounded = np.clip(sigma, *(np.median(sigma) * np.array([0.3, 5.0])))
    return np.asarray(bounded * rocking_inflation(rev_s))


def _settled(t_s: FloatArray, phases: Phases, used: Mask, law: LawFit) -> LawFit:
    """The last fit: disturbances taken off, friction free to rise, and slow errors allowed for.

    What a hand's slow roll or a drifting light adds to the phase bends it as a law would. How much, the residuals tell
    at the rates that a law cannot follow; slower ones are taken to be larger, as in a random walk.
    """
    t, turns, sigma = t_s[used], phases.turns[used], _weighed(phases.sigma[used], law.speed(t_s[used]))
    first = _fitted(t_s, phases, used, law.speed(t_s), law, most=len(t_s))
    turns = turns - disturbances(turns, np.clip(first.speed(t), 0, FASTEST_REV_S)) @ first.nuisance
    waves = np.cos(np.pi * np.arange(1, WAVES[1]) * ((t - t[0]) / (t[-1] - t[0]))[:, None])
    left = np.clip(first.residuals, *(np.array([-4, 4]) * np.median(first.sigma)))
    heights = np.linalg.lstsq(waves, left, rcond=None)[0]
    usual = float(np.sqrt(np.mean(heights[WAVES[0] - 1 :] ** 2)))
    slow = np.arange(1, WAVES[0])
    doubts = usual * (WAVES[0] / slow) * waves[:, : len(slow)]
    return fit_phase(t, turns, sigma, start=(first.start_rev_s, first.law), allow_stribeck=True, common_errors=doubts)


def speed_seen(fit: LawFit, time_s: FloatArray) -> FloatArray:
    """The law's speed in rev/s, with what the phases say beyond it: a spool need not keep to three terms.

    The phases left over, averaged over tenths of a second, are smoothed by a cubic spline whose stiffness they choose
    themselves by generalised cross-validation (Craven and Wahba, Numerische Mathematik 31, 1979, p. 377).
    """
    speed = fit.speed(time_s)
    block = ((fit.time_s - fit.time_s[0]) / SMOOTH_S).astype(int)
    count = np.bincount(block)
    some = count >= 2
    if some.sum() < 8:
        return speed
    when = np.bincount(block, fit.time_s)[some] / count[some]
    left = (
        np.bincount(block, np.clip(fit.residuals, *(np.array([-4, 4]) * np.quantile(fit.sigma, 0.75))))[some]
        / count[some]
    )
    ahead = make_smoothing_spline(when, left, count[some] / count.max())
    inside = np.clip(time_s, when[0], when[-1])
    return np.asarray(np.where(speed > 0, np.maximum(speed + ahead.derivative()(inside), 0.0), 0.0))


def _clear(fit: LawFit) -> float:
    """When the first second's phases come to lie as near the law as all others do: the flick is over by then."""
    near = float(np.clip(5 * np.median(np.abs(fit.residuals)), *CLOSE))
    early = fit.time_s < fit.start_s + 1.0
    off = median_filter((np.abs(fit.residuals[early]) > near).astype(float), 5, mode="nearest")
    late = np.flatnonzero(off)
    return float(fit.time_s[late[-1] + 1]) if len(late) and late[-1] + 1 < early.sum() else fit.start_s


def _grown(fit: LawFit, phases: Phases, t_s: FloatArray, start: float, reach: float) -> float:
    """How far back before ``start`` the picture keeps turning up where the law foretells."""
    off = phases.turns - _model(fit, t_s)
    extra = disturbances(phases.turns, np.clip(fit.speed(t_s), 0, FASTEST_REV_S))
    there = (np.abs(off - extra @ fit.nuisance) < NEAR) & (phases.likeness > ALIKE)
    at, earliest = start, max(float(t_s[0]), start - reach)
    while at > earliest:
        block = (t_s >= at - BLOCK_S) & (t_s < at)
        if block.any() and np.mean(there[block]) < MOST:
            break
        at -= BLOCK_S
    return max(at, float(t_s[0]))
