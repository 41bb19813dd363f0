"""Where a train of ticks truly begins and ends.

The path through a recording is laid through noise as well: before the flick, and where the ticks have sunk into the
noise, each stretch lies a little further off the law than the one before, and a law fitted to them bends after them. So
the law is fitted to the middle alone and extended outwards for as long as it predicts the next stretches.
"""

from dataclasses import replace

import numpy as np

from levelwind.core.spin.fit import LawFit
from levelwind.core.spin.law import Law
from levelwind.core.spin.sound_phase import Followed, fit_followed

MIDDLE_PART = 0.7
"""Part of the stretches, the middle ones, to which the law is fitted first. Our choice: an end followed wrongly hardly
reaches so far in (docs/decisions/spin-ends-of-a-train.md)."""
STEPS_OUT = 3
"""Steps in which each end is extended. Our choice: a law predicts a third of an end well, and three fits are quick."""
PREDICTED_TICKS, PREDICTED_DEVIATIONS = 0.08, 4.0
"""Ticks, and standard deviations of the stretch on top, within which a stretch is as predicted. Our choice, judged on
made recordings: docs/decisions/spin-ends-of-a-train.md."""
LEAST_STRETCHES = 12
"""Stretches below which nothing is trimmed. Our choice: the middle of fewer would not fix a law."""


def trimmed(followed: Followed, law: Law) -> Followed:
    """Only the stretches that a law fitted to those further in predicts; ``law``, in ticks, is a first guess."""
    n = len(followed.time_s)
    if n < LEAST_STRETCHES:
        return followed
    edge = round(n * (1 - MIDDLE_PART) / 2)
    first, last = edge, n - edge
    step = max(1, -(-edge // STEPS_OUT))
    fit = _fit_to(followed, slice(first, last), law, None)
    early = late = True
    while early or late:
        before = _predicted(followed, fit, list(range(first))[::-1], step) if early else 0
        after = _predicted(followed, fit, list(range(last, n)), step) if late else 0
        first, last = first - before, last + after
        early, late = before == step and first > 0, after == step and last < n
        if early or late:
            fit = _fit_to(followed, slice(first, last), law, fit)
    return _part(followed, slice(first, last)) if last - first < n else followed


def _fit_to(followed: Followed, part: slice, law: Law, near: LawFit | None) -> LawFit:
    """The law fitted to a part, from that of a fit that is ``near``, else from the one it was followed along."""
    here = _part(followed, part)
    if near:
        return fit_followed(here, 1, near.law, float(near.speed(here.time_s[0])), coarse=True)
    rate = np.median(np.diff(here.ticks[:4]) / np.diff(here.time_s[:4]))
    return fit_followed(here, 1, law, float(rate), coarse=True)


def _predicted(followed: Followed, fit: LawFit, outwards: list[int], step: int) -> int:
    """How many of the next ``step`` stretches ``outwards`` come before two in a row that are not predicted.

    One alone may be chance; the last of all has no second, so it ends the train by itself.
    """
    near = outwards[: step + 1]
    off = np.abs(followed.ticks[near] - fit.phase(followed.time_s[near]))
    out = ~(off < PREDICTED_TICKS + PREDICTED_DEVIATIONS * followed.sigma[near])
    lost = np.flatnonzero(out & np.append(out[1:], len(near) == len(outwards)))
    return min(int(lost[0]) if len(lost) else step, step, len(outwards))


def _part(followed: Followed, part: slice) -> Followed:
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
