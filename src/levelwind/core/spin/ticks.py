"""How many ticks make a turn, and whether the cycle that was followed is one tick, several, or a part of one."""

import numpy as np

from levelwind.core.fitting import FloatArray

MOST_UNLIKE_TICKS = 6
"""Ticks a turn at the most. Our choice: more marks on a spool are not usual (common practice, no source)."""
STANDS_OUT, STANDS_FURTHER = 1.8, 1.3
"""How many times stronger the multiples of the tick's rate are than what lies between them, for a count to be believed,
and by how much more again a higher count must beat a lower one. Our choice, judged on made recordings."""
LOW_MULTIPLES = 3
"""Multiples of the tick's rate that count. Our choice: ticks set a little unevenly fall out of step at the high
ones."""
LINE_OVER_GROUND = 12.0
"""How many times the power beside it a line of unlike ticks must have. Our choice, judged on made recordings."""
GROUND_ORDERS = (-0.037, -0.023, 0.023, 0.037)
"""Parts of the tick's rate off a line at which the ground beside it is taken. Our choice: near it, and on no other."""
CERTAIN_POWER = 40.0
"""Power, over noise's, from which a line between the ticks is no chance: noise alone reaches it once in e⁴⁰. Our
choice."""
MOST_ROUND = 12
"""Ticks in the longest round that is looked for before a shorter one is believed. Our choice: twice the most that is
told."""
LONGER_ROUND = 3.0
"""How many times the power beside them the lines of a longer round must have for a shorter one not to be believed. Our
choice: the mean of four lines of noise reaches it once in four hundred times (a gamma distribution), and
to ask costs little."""
BINS_A_CYCLE, NEAR_BINS = 24, 2
"""Parts of a cycle in which loudness is averaged over all rounds, and how many to either side of the loudest may hold
another tick's peak. Our choice: ticks set unevenly by a twentieth of their distance still count."""
SILENT_PART = 0.25
"""Part of the loudest tick's height below which another is not there. Our choice: loudness is the root of the amplitude
(``sound_envelope``), so that this is one of sixteen times less."""
LEAST_UNLIKE = 0.05
"""Part of the ticks' own power that lines of unlike ticks must have to tell how many make a turn. Our choice."""


def ticks_a_cycle(power: FloatArray) -> int:
    """How many ticks the followed cycle holds, from the power at each of its multiples over noise's.

    With p ticks a cycle only every p-th multiple is strong; weaker ones between show that the ticks are not alike.

    >>> ticks_a_cycle(np.array([1.0, 90.0, 2.0, 80.0, 0.5, 70.0, 1.0, 60.0]))
    2
    """
    best, found = STANDS_OUT, 1
    h = np.arange(1, len(power) + 1)
    for count in range(2, MOST_UNLIKE_TICKS + 1):
        low = h <= LOW_MULTIPLES * count
        on, off = power[low & (h % count == 0)], power[low & (h % count != 0)]
        if len(on) < 1 or on.mean() < CERTAIN_POWER:
            continue
        stands = float(on.mean() / max(off.mean(), 1.0))
        if stands > best:
            best, found = STANDS_FURTHER * stands, count
    return found


def ticks_a_turn(envelope: FloatArray, ticks: FloatArray, *, least: float = LEAST_UNLIKE) -> int | None:
    """How many ticks make a turn, from an envelope and the tick phase at each sample (order spectrum).

    Unlike ticks give lines at k/q of the tick's rate, with q the ticks a turn; a q is believed if the lines that it
    alone has reach ``least`` of the ticks' own power, and no multiple of it has lines of its own: those would be of a
    longer round. None where none is: then the sound does not tell.
    """
    whole = float(np.mean([_line(envelope, ticks, order) for order in (1.0, 2.0)]))
    found = None
    for count in range(2, MOST_UNLIKE_TICKS + 1):
        if found and count % found:
            continue
        power, ground = _own_lines(envelope, ticks, count)
        if power > max(CERTAIN_POWER, least * whole, LINE_OVER_GROUND * ground):
            found = count
    if found is None:
        return None
    longer = (_own_lines(envelope, ticks, count) for count in range(2 * found, MOST_ROUND + 1, found))
    return None if any(power > LONGER_ROUND * ground for power, ground in longer) else found


def one_is_heard(envelope: FloatArray, cycles: FloatArray, count: int) -> bool:
    """Whether of ``count`` cycles in a row only one ticks: then that many cycles are one tick, and tell no turn."""
    bins = count * BINS_A_CYCLE
    place = np.floor((cycles % count) * BINS_A_CYCLE).astype(np.intp) % bins
    total = np.bincount(place, envelope, bins)
    mean = total / np.maximum(np.bincount(place, minlength=bins), 1)
    heard = mean - np.median(mean)
    tick = int(np.argmax(heard)) % BINS_A_CYCLE
    near = (tick + np.arange(-NEAR_BINS, NEAR_BINS + 1) + BINS_A_CYCLE * np.arange(count)[:, None]) % bins
    loud = np.sort(heard[near].max(axis=1))
    return bool(loud[-2] < SILENT_PART * loud[-1])


def _own_lines(envelope: FloatArray, ticks: FloatArray, count: int) -> tuple[float, float]:
    """Mean power of the lines that only a round of ``count`` ticks has, and of the ground beside them."""
    own = [order for order in np.arange(1, 2 * count) / count if _first_at(order) == count]
    return float(np.mean([_line(envelope, ticks, order) for order in own])), _beside(envelope, ticks, own)


def _first_at(order: float) -> int:
    """The smallest number of ticks a turn that makes a line at this part of the tick's rate."""
    return next(q for q in range(1, MOST_ROUND + 1) if abs(order * q - round(order * q)) < 1e-6)


def _line(envelope: FloatArray, ticks: FloatArray, order: float) -> float:
    """Power of the envelope at so many cycles a tick, over that of noise."""
    angle = order * ticks
    # single precision keeps the part of a cycle to 1e-7: enough for a line, and four times quicker
    part = (2 * np.pi * (angle - np.floor(angle))).astype(np.float32)
    # sums and no dot products: those may start threads, and waiting for them takes longer than the sum
    across, along = (float(np.sum(envelope * wave)) for wave in (np.cos(part), np.sin(part)))
    return (across**2 + along**2) / max(float(np.sum(envelope**2)), 1e-12)


def _beside(envelope: FloatArray, ticks: FloatArray, orders: list[float]) -> float:
    """The ground that lines at these orders must stand out of: the median power a little beside them, at least 1."""
    return max(float(np.median([_line(envelope, ticks, o + d) for o in orders for d in GROUND_ORDERS])), 1.0)
