"""One run down in a film: phases of every frame, and the law fitted to all of them at once.

The law is fitted first to the later part, where the speed followed backward from rest is surest, and then extended
towards the flick for as long as the spool's own picture is found where the law says it should be. A hand in the
picture, a spool at rest before the flick, or a speed followed wrongly ends it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import make_smoothing_spline
from scipy.ndimage import median_filter

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import ComplexArray, FloatArray
from levelwind.core.spin.film_phase import Face, Phases, match_template
from levelwind.core.spin.film_track import Track
from levelwind.core.spin.fit import LawFit, fit_phase, rocking_inflation

Mask = NDArray[np.bool_]

SPAN_TURNS = 0.13
"""Turns to either side of what is expected in which a frame's phase is looked for. Our choice: about half the
distance of four even marks, so that the next mark is hardly in reach."""
CLOSE_TURNS = (0.008, 0.04)
"""Turns; least and most distance from the law that counts as near it after the flick, within which five median
distances decide. Our choice, judged on made films."""
_CLOSE_MEDIANS = 5.0
"""Median distances, see ``CLOSE_TURNS``. Our choice."""
NEAR_TURNS = 0.05
"""Turns; a phase further off the law is not where it predicts. Our choice: a twentieth of a turn is several times the
worst phase error of a good film."""
AGREEING = 0.65
"""Part of a block's frames that must lie within ``NEAR_TURNS`` for the law to hold there. Our choice, judged on made
films: docs/decisions/film-backward-from-rest.md."""
LEAST_LIKENESS = 0.15
"""Part of the template's pattern that must be in a frame for its phase to count. Our choice: below, mark or spool is
hidden."""
SLOWEST_REV_S = 0.4
"""rev/s; below this the spool may rock, and phases say more of its balance than of its losses. Our choice."""
GROWTH_BLOCK_S = 0.2
"""Seconds by which the run is extended at a time. Our choice: six frames of a phone and more."""
ALIGNING_BLOCK_S = 0.2
"""Seconds over which the track's turns are brought onto the measured phase. Our choice, likewise."""
SMOOTHING_S = 0.1
"""Seconds of phases averaged before they are smoothed by a spline. Our choice: three frames of a phone and more."""
FIRST_PART = 0.6
"""The later part of the run to which the law is fitted first. Our choice: docs/decisions/film-backward-from-rest.md."""
_GROWTH_ROUNDS, _GROWTH_PART = 5, 0.8
"""Times the run is extended at most, each by at most this part of its length. Our choice: a law predicts its own
length back, but not much more."""
QUICK_FIT_PHASES = 140
"""Phases used for a fit that only decides how far the run goes. Our choice, for speed."""
HALF_WAVES = (6, 18)
"""Half waves over a run: from the first on a law hardly follows them, from the second on they are too quick to matter.
Our choice: five unknowns bend less than six half waves."""
FASTEST_CARRIED_REV_S = 200.0
"""rev/s; the law's speed is taken as no higher where it is carried back before the flick. Our choice: twice the fastest
spool looked for."""
_AFTER_FLICK_S = 0.1
"""Seconds left out where the law stopped agreeing: the block that disagreed began somewhere in here. Our choice: half a
block."""
_FLICK_OVER_S, _FLICK_FRAMES = 1.0, 5
"""Seconds in which the flick is surely over, and frames of the running median by which its end is told. Our choice."""
RUN_TURNS, RUN_FRAMES = 2.0, 12
"""Turns and frames that a run has at the least. Our choice: once-a-turn disturbances need two turns, the unknowns with
them twelve frames."""
TOO_FEW_TURNS = "too few turns could be followed to tell how the spool slows"
_ROWS_REV_S = 30.0
"""rev/s; scale of the rolling shutter's column, so that it is of order 1. Any number does."""
_LEAST_UNBALANCE_REV_S = 0.7
"""rev/s; the column of an unbalance, 1/f², stays at its value here where the spool is slower. Our choice: it would
swamp the rest."""
_SIGMA_BOUNDS = (0.3, 5.0)
"""Median deviations between which every phase's deviation is kept: none so sure that a few frames decide. Our
choice."""
_OUTLIER = 4.0
"""Deviations at which what is left over is cut off before waves or a spline are laid through it. Our choice."""
_BLOCK_PHASES, _SPLINE_BLOCKS = 2, 8
"""Phases in a block, and blocks, that a smoothing spline needs at the least. Our choice."""
_USUAL_SIGMA = 0.75
"""Quantile of the phases' deviations that stands for the usual one there. Our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A run down with its phases in turns, and which frames of the film they come from."""

    fit: LawFit
    used: Mask
    turns: FloatArray
    off: FloatArray
    """Distance of each used phase from the fit, in turns."""
    followed: float
    """Part of the frames between start and end that lie within ``NEAR_TURNS`` of the fit."""
    median_off: float
    """Median distance of the phases from the fit, in turns: small where the speed is not wrong by a frame rate."""


def follow(face: Face, z: ComplexArray, t_s: FloatArray, track: Track, sense: int) -> Run:
    """Fit the law to the frames that ``track`` covers, in the ``sense`` of rotation, 1 or −1.

    Raises NotDeterminedError where too little can be followed.
    """
    inside = (t_s >= track.t_s[0]) & (t_s <= track.t_s[-1])
    speed = track.speed(t_s)
    turning = inside & (speed > SLOWEST_REV_S)
    if turning.sum() < RUN_FRAMES or track.turns(t_s[turning][-1:])[0] - track.turns(t_s[turning][:1])[0] < RUN_TURNS:
        raise NotDeterminedError(TOO_FEW_TURNS)
    expected = _aligned_turns(z, t_s, track, inside)
    first, last = t_s[turning][0], t_s[turning][-1]
    learn = turning & (t_s >= last - FIRST_PART * (last - first))
    phases = _phases(face, t_s, expected, learn, sense)
    start = float(t_s[learn][0])
    fit = _fit_to(t_s, phases, learn, speed, None)
    for _ in range(_GROWTH_ROUNDS):
        turning = (fit.speed(t_s) > SLOWEST_REV_S) & (t_s <= last)
        learn = turning & (t_s >= start)
        phases = _phases(face, t_s, _law_turns(fit, t_s), learn, sense)
        sooner = _grown_back(fit, phases, t_s, start, reach=_GROWTH_PART * (last - start))
        learn = turning & (t_s >= sooner)
        fit = _fit_to(t_s, phases, learn, fit.speed(t_s), fit)
        if sooner > start - GROWTH_BLOCK_S:
            break
        start = sooner
    if start > t_s[0] + GROWTH_BLOCK_S:
        start += _AFTER_FLICK_S
    learn = (fit.speed(t_s) > SLOWEST_REV_S) & (t_s <= last) & (t_s >= start)
    phases = _phases(face, t_s, _law_turns(fit, t_s), learn, sense)
    learn &= t_s >= _flick_over(_fit_to(t_s, phases, learn, fit.speed(t_s), fit))
    used = learn & (phases.likeness > LEAST_LIKENESS)
    fit = _final_fit(t_s, phases, used, fit)
    if np.ptp(fit.phase(fit.time_s)) < RUN_TURNS:
        raise NotDeterminedError(TOO_FEW_TURNS)
    off = np.abs(fit.residuals)
    return Run(
        fit, used, phases.turns, off, float(np.sum(off < NEAR_TURNS) / max(learn.sum(), 1)), float(np.median(off))
    )


def _aligned_turns(z: ComplexArray, t_s: FloatArray, track: Track, inside: Mask) -> FloatArray:
    """The track's turns, corrected block by block by the measured phase of the strongest order."""
    order = int(np.argmax(np.sum(np.abs(z[inside]) ** 2, axis=0))) + 1
    turns = track.turns(t_s)
    lead = z[:, order - 1] * np.exp(-2j * np.pi * order * turns)
    block = np.clip((t_s - track.t_s[0]) / ALIGNING_BLOCK_S, 0, None).astype(int)
    total = np.bincount(block[inside], lead.real[inside]) + 1j * np.bincount(block[inside], lead.imag[inside])
    off = np.unwrap(np.angle(total)) / (2 * np.pi * order)
    middle = track.t_s[0] + (np.arange(len(total)) + 0.5) * ALIGNING_BLOCK_S
    return np.asarray(turns + np.interp(t_s, middle, off))


def _phases(face: Face, t_s: FloatArray, expected: FloatArray, learn: Mask, sense: int) -> Phases:
    if learn.sum() < RUN_FRAMES:
        raise NotDeterminedError(TOO_FEW_TURNS)
    found = match_template(face, sense * expected, learn, t_s, SPAN_TURNS)
    return Phases(sense * found.turns, found.sigma, found.likeness)


def _law_turns(fit: LawFit, t_s: FloatArray) -> FloatArray:
    """The law's turns; before its first moment too, at constant speed where it allows none that early."""
    turns = fit.phase(t_s)
    return np.where(np.isfinite(turns), turns, fit.offset_turns + (t_s - fit.start_s) * fit.start_rev_s)


def disturbance_columns(turns: FloatArray, rev_s: FloatArray) -> FloatArray:
    """Straight-line columns for what camera and spool add to the phase once and twice a turn, shape (phases, 8).

    A centre found a little wrong and a disc seen aslant (once and twice a turn); rows exposed one after another (once a
    turn, in proportion to the speed); a spool out of balance (once a turn, as one over the speed squared).
    """
    angle, slow = 2 * np.pi * turns, np.maximum(rev_s, _LEAST_UNBALANCE_REV_S)
    once, twice = (np.cos(angle), np.sin(angle)), (np.cos(2 * angle), np.sin(2 * angle))
    rolling, rocking = (c * rev_s / _ROWS_REV_S for c in once), (c / slow**2 for c in once)
    return np.column_stack([*once, *twice, *rolling, *rocking])


def _fit_to(
    t_s: FloatArray, phases: Phases, which: Mask, speed: FloatArray, near: LawFit | None, most: int = QUICK_FIT_PHASES
) -> LawFit:
    """Law and disturbances together, fitted to at most so many of the phases, from the law of a fit that is
    ``near``."""
    picked = np.flatnonzero(which)
    picked = picked[np.unique(np.linspace(0, len(picked) - 1, min(most, len(picked))).astype(int))]
    t, turns = t_s[picked], phases.turns[picked]
    speed = np.clip(speed[picked], 0.0, FASTEST_CARRIED_REV_S)
    start = (float(speed[0]), near.law) if near and speed[0] < FASTEST_CARRIED_REV_S else None
    return fit_phase(
        t, turns, _bounded_sigma(phases.sigma[picked], speed), columns=disturbance_columns(turns, speed), start=start
    )


def _bounded_sigma(sigma: FloatArray, rev_s: FloatArray) -> FloatArray:
    """Deviations kept within ``_SIGMA_BOUNDS``, and larger where the spool may rock."""
    bounded = np.clip(sigma, *(np.median(sigma) * np.array(_SIGMA_BOUNDS)))
    return np.asarray(bounded * rocking_inflation(rev_s))


def _final_fit(t_s: FloatArray, phases: Phases, used: Mask, law: LawFit) -> LawFit:
    """The last fit: disturbances taken off, power and Stribeck term free, and slow common errors allowed for.

    A hand's slow roll or a drifting light bends the phase as a change of the law would, so that nothing shows of it.
    But such errors have quicker parts too, which no law follows: half waves over the run from ``HALF_WAVES[0]`` on.
    Their size is read off the residuals; slower ones are taken to be larger in inverse proportion, as in a random walk.

    Disturbances are fitted first and taken off. Left in as free columns, they would swallow everything once phases are
    averaged into blocks (docs/decisions/film-backward-from-rest.md).
    """
    t, turns, sigma = t_s[used], phases.turns[used], _bounded_sigma(phases.sigma[used], law.speed(t_s[used]))
    first = _fit_to(t_s, phases, used, law.speed(t_s), law, most=len(t_s))
    turns = turns - disturbance_columns(turns, np.clip(first.speed(t), 0, FASTEST_CARRIED_REV_S)) @ first.nuisance
    waves = np.cos(np.pi * np.arange(1, HALF_WAVES[1]) * ((t - t[0]) / (t[-1] - t[0]))[:, None])
    left = np.clip(first.residuals, *(np.array([-_OUTLIER, _OUTLIER]) * np.median(first.sigma)))
    heights = np.linalg.lstsq(waves, left, rcond=None)[0]
    usual = float(np.sqrt(np.mean(heights[HALF_WAVES[0] - 1 :] ** 2)))
    slow = np.arange(1, HALF_WAVES[0])
    common_errors = usual * (HALF_WAVES[0] / slow) * waves[:, : len(slow)]
    return fit_phase(t, turns, sigma, start=(first.start_rev_s, first.law), bent=True, common_errors=common_errors)


def speed_seen(fit: LawFit, time_s: FloatArray) -> FloatArray:
    """Speed in rev/s: the law's, and what the residuals say beyond it, as a spool need not keep to three terms.

    Residuals averaged over tenths of a second are smoothed by a cubic spline; how stiff it is, generalised
    cross-validation chooses (P. Craven and G. Wahba, Numerische Mathematik 31, 1979, p. 377). Its slope is added.
    """
    speed = fit.speed(time_s)
    block = ((fit.time_s - fit.time_s[0]) / SMOOTHING_S).astype(int)
    count = np.bincount(block)
    some = count >= _BLOCK_PHASES
    if some.sum() < _SPLINE_BLOCKS:
        return speed
    when = np.bincount(block, fit.time_s)[some] / count[some]
    cut = np.array([-_OUTLIER, _OUTLIER]) * np.quantile(fit.sigma, _USUAL_SIGMA)
    left = np.bincount(block, np.clip(fit.residuals, *cut))[some] / count[some]
    beyond = make_smoothing_spline(when, left, count[some] / count.max())
    inside = np.clip(time_s, when[0], when[-1])
    return np.asarray(np.where(speed > 0, np.maximum(speed + beyond.derivative()(inside), 0.0), 0.0))


def _flick_over(fit: LawFit) -> float:
    """When the first second's phases come to lie as near the law as all others do: by then the flick is over."""
    near = float(np.clip(_CLOSE_MEDIANS * np.median(np.abs(fit.residuals)), *CLOSE_TURNS))
    early = fit.time_s < fit.start_s + _FLICK_OVER_S
    off = median_filter((np.abs(fit.residuals[early]) > near).astype(float), _FLICK_FRAMES, mode="nearest")
    late = np.flatnonzero(off)
    return float(fit.time_s[late[-1] + 1]) if len(late) and late[-1] + 1 < early.sum() else fit.start_s


def _grown_back(fit: LawFit, phases: Phases, t_s: FloatArray, start: float, reach: float) -> float:
    """How far back before ``start``, at most by ``reach``, frames show the picture where the law predicts it."""
    off = phases.turns - _law_turns(fit, t_s)
    extra = disturbance_columns(phases.turns, np.clip(fit.speed(t_s), 0, FASTEST_CARRIED_REV_S))
    agrees = (np.abs(off - extra @ fit.nuisance) < NEAR_TURNS) & (phases.likeness > LEAST_LIKENESS)
    at, earliest = start, max(float(t_s[0]), start - reach)
    while at > earliest:
        block = (t_s >= at - GROWTH_BLOCK_S) & (t_s < at)
        if block.any() and np.mean(agrees[block]) < AGREEING:
            break
        at -= GROWTH_BLOCK_S
    return max(at, float(t_s[0]))
