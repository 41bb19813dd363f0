"""Hunches and looks in words, as rows a page can lay out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from levelwind.core.hunches.compute.choices import NextLook
from levelwind.core.hunches.compute.posterior import Hunch, Hunches, Moved
from levelwind.core.hunches.model import Net, Reading
from levelwind.core.quantities import percent, whole, with_decimals, with_figures

NOTABLE = 0.005
"""A change of less than half a percent is not told."""


@dataclass(frozen=True, slots=True)
class HunchRow:
    """``chance`` as "61 %", ``moved`` as "25 → 61 %" where it did not stay where it began; ``basis`` is what the number
    rests on; ``reasons`` say what moved it, most first.

    ``counted``: whether it rests on closed jobs too, and not on a judgement alone.
    """

    key: str
    name: str
    chance: str
    moved: str
    basis: str
    counted: bool
    reasons: tuple[str, ...]
    mend: str
    note: str


@dataclass(frozen=True, slots=True)
class LookRow:
    """``why`` says what the look settles and how long it takes; ``worth`` what it is worth against what it costs."""

    key: str
    do: str
    why: str
    worth: str
    worth_it: bool
    tool: str
    caution: str


def hunch_rows(net: Net, hunches: Hunches, readings: Sequence[Reading] = ()) -> tuple[HunchRow, ...]:
    """One row a fault, likeliest first."""
    names = {finding.key: finding.name for finding in net.findings} | {
        reading.key: reading.name for reading in readings
    }
    return tuple(_hunch_row(hunch, names) for hunch in hunches.ranked)


def look_rows(looks: Sequence[NextLook]) -> tuple[LookRow, ...]:
    """One row a look, the one worth most for its minutes first."""
    return tuple(
        LookRow(n.look.key, n.look.do, reason(n), _worth(n), n.worth_it, n.look.tool, n.look.caution) for n in looks
    )


def basis(hunch: Hunch) -> str:
    """What the probability rests on: the counts and their interval, or that there are none."""
    if hunch.interval is None or hunch.fault.counted is None:
        return "a judgement, no counts"
    low, high = 100 * hunch.interval.low, 100 * hunch.interval.high
    jobs = hunch.fault.counted.jobs
    return f"{whole(low)} to {whole(high)} % (9 in 10), from {jobs} closed job{'s' * (jobs > 1)} and a judgement"


def reason(look: NextLook) -> str:
    """Why to look: "splits worn drag washers from a stuck stack, 4 minutes"."""
    minutes = f"{with_figures(look.minutes, 3)} {'minute' if look.minutes == 1 else 'minutes'}"
    if look.minutes > look.look.minutes:
        minutes += " with the way in" if look.look.reach else " with opening the reel"
    if look.against is None:
        return f"settles {look.settles.name}, {minutes}"
    return f"splits {look.settles.name} from {look.against.name}, {minutes}"


def _hunch_row(hunch: Hunch, names: Mapping[str, str]) -> HunchRow:
    told = tuple(_told(move, names) for move in hunch.moved if abs(move.change) >= NOTABLE)
    fault = hunch.fault
    return HunchRow(
        fault.key,
        fault.name,
        percent(hunch.probability),
        _moved(fault.prior, hunch.probability),
        basis(hunch),
        hunch.interval is not None,
        told,
        fault.mend,
        fault.note,
    )


def _moved(start: float, now: float) -> str:
    """
    >>> _moved(0.62, 0.9412), _moved(0.62, 0.621), _moved(0.3, 0.004)
    ('62 → 94 %', '62 %', '30 → under 1 %')
    """
    first, last = percent(start), percent(now)
    return last if first == last else f"{first.removesuffix(' %')} → {last}"


def _told(move: Moved, names: Mapping[str, str]) -> str:
    return f"{names[move.key]}: {'up' if move.change > 0 else 'down'} {whole(100 * abs(move.change))}"


def _worth(look: NextLook) -> str:
    if look.worth_it:
        return f"saves about {with_decimals(look.value, 2)} for {with_decimals(look.cost, 2)} of time"
    return f"saves about {with_decimals(look.value, 2)}, less than its {with_decimals(look.cost, 2)} of time"
