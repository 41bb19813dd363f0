"""Readings as lines of a list: what each says, how far it has come, and where the whole of it is shown."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from levelwind.core.errors import LevelwindError
from levelwind.core.pull.report import average
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.limits import Limit, limits_of
from levelwind.shop.readings.selectors.readings import TYPED
from levelwind.shop.readings.selectors.stored import gauged, pull_result, spin_result
from levelwind.web.readings.spot import Spot


@dataclass(frozen=True, slots=True)
class Fact:
    """One number of a reading; None where it cannot be told. ``key`` is for logic, the name for the screen."""

    key: str
    name: str
    value: Quantity | None
    unit: str


@dataclass(frozen=True, slots=True)
class ReadingLine:
    reading: Reading
    address: str
    facts: tuple[Fact, ...]
    verdict: str


def _known(worked_out: Callable[[], Quantity]) -> Quantity | None:
    try:
        return worked_out()
    except LevelwindError:
        return None


def _pull(reading: Reading, unit: str) -> tuple[Fact, ...]:
    result, per = pull_result(reading), 1 / NEWTONS_PER[unit]
    return (
        Fact("breakaway", "breakaway", _known(lambda: average(result, "breakaway_N").scaled(per)), unit),
        Fact("running", "running", _known(lambda: average(result, "running_N").scaled(per)), unit),
        Fact("startup_ratio", "start-up ratio", _known(lambda: average(result, "startup_ratio")), ""),
    )


def facts(reading: Reading, unit: str) -> tuple[Fact, ...]:
    """What a reading says, forces in ``unit``; nothing while it is being read or where it gave no number."""
    if not reading.gives_number:
        return ()
    if reading.kind == "pull":
        return _pull(reading, unit)
    if reading.kind == "spin":
        result = spin_result(reading)
        return (Fact("spin_time", "spin time", _known(lambda: result.spin_time_s), "s"),)
    return (Fact(reading.kind, "", gauged(reading), TYPED[reading.kind][1]),)


def row(spot: Spot, reading: Reading, unit: str, limits: Mapping[str, Limit]) -> ReadingLine:
    known = facts(reading, unit)
    limit = limits.get(reading.kind)
    verdict = ""
    if limit and known and known[0].value:
        verdict = limit.outside(known[0].value) or f"Within the pattern’s {limit.words}."
    return ReadingLine(reading, spot.url("reading", reading.pk), known, verdict)


def rows_of(spot: Spot, unit: str) -> tuple[ReadingLine, ...]:
    """The spot's readings, newest first, those struck out last."""
    limits = limits_of(spot.job.pattern)
    taken = spot.job.readings.filter(moment=spot.moment).order_by("struck_out", "-at", "-pk")
    return tuple(row(spot, reading, unit, limits) for reading in taken)
