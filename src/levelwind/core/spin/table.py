"""A table in, a spin out: speeds over time, turns counted over time, or the moments a mark went by."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.fitting import FloatArray, Generator
from levelwind.core.notes import Note
from levelwind.core.options import Span
from levelwind.core.spin.fit import LEAST_POINTS, fit_phase, fit_speed
from levelwind.core.spin.model import Spin, SpinResult
from levelwind.core.spin.options import NOTHING_SAID, SpinOptions
from levelwind.core.spin.part import WHAT as PART
from levelwind.core.spin.part import only, part_of
from levelwind.core.spin.verdict import spin_from_fit

FASTEST_TABLED_REV_S = 500.0
"""rev/s; a faster speed in a table is refused as a unit mistaken. Our choice: 30,000 a minute is far above any spool
that a hand flicks (common practice, no source)."""
MOST_ROWS = 4000
"""Rows that are fitted at the most; neighbours are averaged down to it. Our choice, for speed."""
SLOWED = 0.97
"""Part of its first speed; a spool still faster than that at the end of a table hardly slows in it. Our choice."""
AT_REST = 0.01
"""Part of the highest speed below which a spool counts as at rest. Our choice: the last digit of most tables."""
FLICK_RISE = 0.1
"""Part of the highest speed by which speed must rise again for another flick. Our choice: more than a table's
scatter."""


def analyse_speeds(
    t_s: ArrayLike,
    rev_s: ArrayLike,
    rng: Generator,
    *,
    options: SpinOptions = NOTHING_SAID,
    cautions: Iterable[Note] = (),
) -> SpinResult:
    """A spin from a table of speeds in rev/s at times in s; one spin for each flick, of the rows ``between_s``.

    Raises InputError for speeds no spool has, NotDeterminedError where nothing slows.

    >>> t = np.arange(0.0, 11.0)
    >>> analyse_speeds(t, 20 - 2 * t, np.random.default_rng(1)).spins[0].spin_time_s.value
    10.0
    """
    t, speed = np.asarray(t_s, dtype=np.float64), np.asarray(rev_s, dtype=np.float64)
    if not (np.all(np.isfinite(t)) and np.all(np.isfinite(speed)) and np.all(np.diff(t) > 0)):
        raise InputError(
            "the table", "without a finite speed at every rising time", "times that rise, each with a speed"
        )
    rows = _rows(t, options.between_s)
    t, speed = t[rows], np.abs(speed[rows])
    if speed.max(initial=0.0) > FASTEST_TABLED_REV_S:
        raise InputError(
            "speed", f"{speed.max():.0f} rev/s", f"at most {FASTEST_TABLED_REV_S:.0f} rev/s; is the unit right?"
        )
    if speed.max(initial=0.0) == 0.0:
        raise NotDeterminedError("nothing turns in this table: every speed is 0")
    t, speed = _thinned(t), _thinned(speed)
    spins = tuple(_one(t[part], speed[part], rng) for part in _runs(speed))
    return SpinResult(spins, (*cautions, *only(options.between_s), *_several(spins)), "table")


def analyse_passes(
    t_s: ArrayLike,
    rng: Generator,
    *,
    options: SpinOptions = NOTHING_SAID,
    turns: ArrayLike | None = None,
    cautions: Iterable[Note] = (),
) -> SpinResult:
    """A spin from the moments in s at which one of ``marks`` even marks (or the one) went by, or turns counted at them.

    Only moments ``between_s`` count; times stay those of the table. Raises NotDeterminedError where nothing slows.

    >>> t = 10 - np.sqrt(100 - np.arange(0.0, 95.0))
    >>> round(analyse_passes(t, np.random.default_rng(1)).spins[0].initial_rev_s.value, 2)
    20.0
    """
    t = np.asarray(t_s, dtype=np.float64)
    if len(t) and not np.all(np.diff(t) > 0):
        raise InputError("the times", "not rising", "each later than the one before")
    phase = (
        np.arange(len(t)) / (options.marks or 1)
        if turns is None
        else np.abs(np.asarray(turns, dtype=np.float64) - np.asarray(turns)[0])
    )
    rows = _rows(t, options.between_s)
    t, phase = t[rows], phase[rows]
    every = -(-max(len(t), 1) // MOST_ROWS)
    fit = fit_phase(t[::every], phase[::every], bent=True)
    if fit.end_rev_s > SLOWED * fit.start_rev_s:
        raise NotDeterminedError("nothing slows in this table: the turns come as fast at its end as at its start")
    spin = spin_from_fit(fit, rng, stop_seen=False)
    return SpinResult((spin,), (*cautions, *only(options.between_s)), "table")


def _rows(t: FloatArray, between_s: Span | None) -> slice:
    if between_s is None or not len(t):
        return slice(None)
    start, end = part_of(float(t[0]), float(t[-1]), between_s, 0.0)
    rows = slice(int(np.searchsorted(t, start)), int(np.searchsorted(t, end, "right")))
    if rows.stop - rows.start < LEAST_POINTS:
        raise InputError(PART, f"{rows.stop - rows.start} rows", f"at least {LEAST_POINTS} rows of the table")
    return rows


def _thinned(values: FloatArray) -> FloatArray:
    """Neighbours averaged, so that at most ``MOST_ROWS`` are left."""
    every = -(-len(values) // MOST_ROWS)
    whole = len(values) // every * every
    return values[:whole].reshape(-1, every).mean(axis=1) if every > 1 else values


def _runs(speed: FloatArray) -> list[slice]:
    """From each flick to rest or to the next flick, which a rise by ``FLICK_RISE`` shows."""
    starts, low = [0], 0
    for i in range(1, len(speed)):
        low = i if speed[i] < speed[low] else low
        if speed[i] > speed[low] + FLICK_RISE * speed.max():
            starts.append(low)
            low = i
    runs = []
    for a, b in zip(starts, [*starts[1:], len(speed)], strict=True):
        top = a + int(np.argmax(speed[a:b]))
        if b - top >= LEAST_POINTS:
            runs.append(slice(top, b))
    if not runs:
        raise NotDeterminedError("fewer than eight speeds after the flick: too few to tell how the spool slows")
    return runs


def _one(t: FloatArray, speed: FloatArray, rng: Generator) -> Spin:
    still = speed <= AT_REST * speed[0]
    stopped = bool(still[-1])
    last = int(np.flatnonzero(~still)[-1])
    used = slice(0, min(last + 2, len(t)) if stopped else last + 1)
    if last + 1 < LEAST_POINTS:
        raise NotDeterminedError("fewer than eight speeds before the spool is at rest: too few to tell how it slows")
    fit = fit_speed(t[used], speed[used], bent=True)
    notes = [] if speed[last] < SLOWED * speed[0] else [Note.of("hardly_slows", "the spool hardly slows in this table")]
    end, moved = float(t[used][-1]), float(t[last])
    return spin_from_fit(fit, rng, end_s=end, moved_s=moved, stop_seen=stopped, cautions=notes)


def _several(spins: tuple[Spin, ...]) -> list[Note]:
    several = Note.of("flicks", "{flicks} flicks in one table: each is a spin of its own", flicks=len(spins))
    return [several] if len(spins) > 1 else []
