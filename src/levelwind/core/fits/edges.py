"""Where brightness changes along lines that cross an edge, finer than the picture's own dots."""

import numpy as np

from levelwind.core.fits.model import Floats

PAPER_STEP = 0.06
"""Of the paper's brightness: a change smaller than this all in all is noise or a shadow's rim. Our choice."""


def linear_light(levels: Floats) -> Floats:
    """Light from a picture's levels of 0 to 1: the inverse of the sRGB curve, IEC 61966-2-1.

    >>> linear_light(np.array([0.0, 0.5, 1.0])).round(4).tolist()
    [0.0, 0.214, 1.0]
    """
    return np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)


def slopes(profiles: Floats, blur: float) -> Floats:
    """How steep each line of readings is (lines by readings, per reading), smoothed over ``blur`` readings.

    A derivative of a normal law: its peak lies where an even blur has left the edge.
    """
    half = max(2, int(np.ceil(3 * blur)))
    at = np.arange(-half, half + 1)
    bell = np.exp(-(at**2) / (2 * blur**2))
    kernel = at * bell / (at**2 * bell).sum()
    padded = np.pad(profiles, ((0, 0), (half, half)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, len(at), axis=1)
    return np.asarray(windows @ kernel)


def strongest(profiles: Floats, blur: float, *, rising: bool = True) -> tuple[Floats, Floats]:
    """Of each line: where its steepest rise is (in readings, between them; nan where there is none), and how steep.

    >>> line = np.array([[0, 0, 0, 0, 0.25, 1, 1, 1, 1, 1]], float)
    >>> strongest(line, 1.0)[0].round(2).tolist()
    [4.25]
    """
    steep = slopes(profiles, blur)
    worth = steep if rising else np.abs(steep)
    worth = worth[:, 1:-1]
    peak = worth.argmax(axis=1) + 1
    lines = np.arange(len(peak))
    full = steep if rising else np.abs(steep)
    before, here, after = full[lines, peak - 1], full[lines, peak], full[lines, peak + 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        beside = np.clip((before - after) / (2 * (before - 2 * here + after)), -1, 1)
    seen = (here * 2.5 * blur > PAPER_STEP) & (here >= before) & (here >= after)
    return np.where(seen, peak + np.nan_to_num(beside), np.nan), here


def rises(profiles: Floats, blur: float, least: Floats) -> tuple[Floats, Floats, Floats]:
    """Of each line: its first and its last rise that is at least so steep (in readings; nan where there is none), and
    how steep the first is. Between a piece and the paper there may be its shadow, or its own bright bevel.

    >>> line = np.array([[0, 0, 0, 0, 0.4, 0.4, 0.4, 0.4, 0.4, 0.4, 1, 1, 1, 1]], float)
    >>> first, last, _ = rises(line, 1.0, np.array([0.1]))
    >>> first.round(1).tolist(), last.round(1).tolist()
    ([3.5], [9.5])
    """
    steep = slopes(profiles, blur)
    peaks = np.zeros_like(steep, dtype=bool)
    peaks[:, 1:-1] = (steep[:, 1:-1] >= steep[:, :-2]) & (steep[:, 1:-1] > steep[:, 2:])
    peaks &= steep >= least[:, None]
    lines, some = np.arange(len(steep)), peaks.any(axis=1)
    found = []
    for place in (peaks.argmax(axis=1), steep.shape[1] - 1 - peaks[:, ::-1].argmax(axis=1)):
        at = np.clip(place, 1, steep.shape[1] - 2)
        before, here, after = steep[lines, at - 1], steep[lines, at], steep[lines, at + 1]
        with np.errstate(divide="ignore", invalid="ignore"):
            beside = np.clip(np.nan_to_num((before - after) / (2 * (before - 2 * here + after))), -1, 1)
        found.append(np.where(some, at + beside, np.nan))
    return found[0], found[1], steep[lines, np.clip(peaks.argmax(axis=1), 1, steep.shape[1] - 2)]


def width_of(profiles: Floats) -> float:
    """Blur of an edge in readings: the spread of the normal law that turned a sharp edge into these lines' median.

    The 25th to the 75th part of the step, 1.349 spreads; nan where nothing steps.
    """
    middle = np.median(profiles, axis=0)
    low, high = np.percentile(middle, 3), np.percentile(middle, 97)
    if high - low < PAPER_STEP:
        return float("nan")
    share = np.maximum.accumulate((middle - low) / (high - low))
    ends = np.interp([0.25, 0.75], share, np.arange(len(share)))
    return float((ends[1] - ends[0]) / 1.349)
