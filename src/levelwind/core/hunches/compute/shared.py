"""What every kind of reel shares: the net of a reel of which nobody knows yet what kind it is."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from math import prod
from typing import TypeVar

from levelwind.core.errors import InputError
from levelwind.core.hunches.model import Fault, Finding, Look, Net
from levelwind.core.quantities import Quantity

Weighed = Sequence[tuple[Net, float]]
MOST_SURE = 0.99
"""Most that the chance of something else, which kinds do not share, is given; our choice, as a chance is below 1."""


Row = TypeVar("Row", Fault, Look, Finding)


def shared(nets: Weighed, name: str) -> Net:
    """The faults, looks and findings that all these nets have, each net with its weight (above 0, of any sum).

    Chances, minutes and money are weighted means over the nets, the words those of the first. A fault has no places:
    they differ. A finding is shared where all nets show it at one look, or all have it from the owner. The faults that
    are not shared are together what is not on the list: its prior is the chance of any of them, and its link to a
    finding is such that the finding turns up as often as it does with each of them by itself,

        P(any) = 1 − Π (1 − prior),    link = (1 − Π (1 − prior · link)) / P(any).

    Raises InputError without a net or where they share no fault.

    >>> two = [(Net((Fault("salt", "salt", 0.1),), (), ()), 1.0), (Net((Fault("salt", "salt", 0.4),), (), ()), 2.0)]
    >>> round(shared(two, "any").fault("salt").prior, 2)
    0.3
    """
    if not nets or any(not weight > 0 for _, weight in nets):
        raise InputError("nets to share", len(nets), "one or more, each with a weight above 0")
    faults = _in_all(nets, lambda net: net.faults)
    looks = [rows[0] for rows in _in_all(nets, lambda net: net.looks)]
    shown_at = {None, *(look.key for look in looks)}
    findings = [
        rows
        for rows in _in_all(nets, lambda net: net.findings)
        if rows[0].look in shown_at and all(row.look == rows[0].look for row in rows)
    ]
    kept = {rows[0].key for rows in faults}
    others = [_any_other(net, kept) for net, _ in nets]
    unlisted = min(_mean(nets, others), MOST_SURE)
    return Net(
        faults=tuple(_fault(nets, rows) for rows in faults),
        looks=tuple(look for look in looks if any(rows[0].look == look.key for rows in findings)),
        findings=tuple(_finding(nets, rows, kept, unlisted) for rows in findings),
        name=name,
        unlisted=unlisted,
        words=nets[0][0].words,
    )


def _in_all(nets: Weighed, of: Callable[[Net], Sequence[Row]]) -> list[tuple[Row, ...]]:
    """The rows that every net has, each as all nets have it, in the order of the first."""
    by_key: list[Mapping[str, Row]] = [{row.key: row for row in of(net)} for net, _ in nets]
    return [tuple(rows[key] for rows in by_key) for key in by_key[0] if all(key in rows for rows in by_key)]


def _mean(nets: Weighed, values: Sequence[float]) -> float:
    weights = [weight for _, weight in nets]
    return sum(weight * value for weight, value in zip(weights, values, strict=True)) / sum(weights)


def _fault(nets: Weighed, rows: Sequence[Fault]) -> Fault:
    low, likely, high = (_mean(nets, [getattr(row.parts, end) for row in rows]) for end in ("low", "value", "high"))
    return replace(
        rows[0],
        prior=_mean(nets, [row.prior for row in rows]),
        minutes=_mean(nets, [row.minutes for row in rows]),
        soon=_mean(nets, [row.soon for row in rows]),
        parts=Quantity(likely, low, high),
        places=(),
        judged=(),
        renew_unseen=all(row.renew_unseen for row in rows),
    )


def _finding(nets: Weighed, rows: Sequence[Finding], kept: set[str], unlisted: float) -> Finding:
    linked = [key for key in dict.fromkeys(key for row in rows for key in row.links) if key in kept]
    by_others = [_seen_by_others(net, row, kept) for (net, _), row in zip(nets, rows, strict=True)]
    return replace(
        rows[0],
        leak=_mean(nets, [row.leak for row in rows]),
        links={key: _mean(nets, [row.links.get(key, 0.0) for row in rows]) for key in linked},
        unlisted=min(1.0, _mean(nets, by_others) / unlisted) if unlisted else 0.0,
    )


def _any_other(net: Net, kept: set[str]) -> float:
    """Chance that the reel has any fault beside those."""
    return 1 - (1 - net.unlisted) * prod(1 - fault.prior for fault in net.faults if fault.key not in kept)


def _seen_by_others(net: Net, row: Finding, kept: set[str]) -> float:
    """Chance that any fault beside those is there and brings the finding about."""
    off = prod(1 - net.fault(key).prior * link for key, link in row.links.items() if key not in kept)
    return 1 - (1 - net.unlisted * row.unlisted) * off
