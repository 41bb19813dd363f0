"""Where a train of ticks truly begins and ends.

Stretches before the flick, and those in which the ticks have sunk into the noise, are laid along the law as well, each
a little further off it than the one before; a law fitted to them follows. So the law is fitted to the middle, and grown
outwards for as long as it foretells the next stretches.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from levelwind.core.spin.fit import LawFit
from levelwind.core.spin.law import Law
from levelwind.core.spin.sound_phase import Followed, fit_followed

FloatArray = NDArray[np.float64]

SURE_PART = 0.7
"""Of the stretches; the middle ones, which an end followed wrongly hardly reaches."""
STEPS = 3
FORETOLD = 0.08
"""In ticks; a law that knows all but the next few stretches is no further out, were they ticks. A judgement."""
DEVIATIONS = 4.0
LEAST = 12


def within_its_ends(followed: Followed, law: Law) -> Followed:
    """Only the stretches that a law fitted to those further in foretells."""
    n = len(followed.time_s)
    if n < LEAST:
        return followed
    edge = round(n * (1 - SURE_PART) / 2)
    first, last = edge, n - edge
    step = max(1, -(-edge // STEPS))
    fit = _fitted(followed, slice(first, last), law, None)
    early = late = True
    while early or late:
        before = _held(followed, fit, list(range(first))[::-1], step) if early else 0
        after = _held(followed, fit, list(range(last, n)), step) if late else 0
        first, last = first - before, last + after
        early, late = before == step and first > 0, after == step and last < n
        if early or late:
            fit = _fitted(followed, slice(first, last), law, fit)
    return _only(followed, slice(first, last)) if last - first < n else followed


def _fitted(followed: Followed, part: slice, law: Law, near: LawFit | None) -> LawFit:
    """The law through a part, from that of a fit that is ``near``, else from the one it was followed along."""
    here = _only(followed, part)
    if near:
        return fit_followed(here, 1, near.law, float(near.speed(here.time_s[0])), coarse=True)
    rate = np.median(np.diff(here.ticks[:4]) / np.diff(here.time_s[:4]))
    return fit_followed(here, 1, law, float(rate), coarse=True)


def _held(followed: Followed, fit: LawFit, outwards: list[int], step: int) -> int:
    """How many of the next stretches ``outwards`` come before two that are not foretold, or the last that is not."""
    near = outwards[: step + 1]
    off = np.abs(followed.ticks[near] - fit.phase(followed.time_s[near]))
    out = ~(off < FORETOLD + DEVIATIONS * followed.sigma[near])
    lost = np.flatnonzero(out & np.append(out[1:], len(near) == len(outwards)))
    return min(int(lost[0]) if len(lost) else step, step, len(outwards))


def _only(followed: Followed, part: slice) -> Followed:
    time = followed.time_s
    middles = np.concatenate([[followed.from_s], (time[1:] + time[:-1]) / 2, [followed.to_s]])
    first, last, _ = part.indices(len(time))
    return replace(
        followed,
        time_s=time[part],
        ticks=followed.ticks[part],
        sigma=followed.sigma[part],
        gain=followed.gain[part],
        from_s=float(middles[first]),
        to_s=float(middles[last]),
        all_windows=followed.all_windows - (len(time) - (last - first)),
    )
