"""Readings put straight into the book, as their analysis leaves them: spins from a table, pulls and the rest typed."""

from typing import Any

import numpy as np

from levelwind.core import pull
from levelwind.core.codec import as_stored
from levelwind.core.quantities import Quantity
from levelwind.core.spin.law_draws import LawDraws
from levelwind.core.spin.model import SpeedCurve, Spin, SpinResult
from levelwind.core.spin.table import analyse_speeds
from levelwind.demo.simulation import spin_time
from levelwind.shop.models import Job, Reading, Work
from levelwind.shop.readings.selectors.brief import brief_to_keep

DIRTY = (30.0, 2.4, 0.02, 0.0015)
CLEAN = (30.0, 0.5, 0.02, 0.0015)
"""First speed in rev/s, dry friction, oil and air."""


def speeds(first: float, dry: float, oil: float, air: float, until: float = 1.0) -> tuple[Any, Any]:
    """Times and speeds of a spool under the three-term law, to rest or to a part of the time that takes."""
    stop = spin_time(first, dry, oil, air)
    times = np.arange(0.0, stop * until + (0.5 if until >= 1 else 0.0), 0.05)
    rates = np.linspace(0.0, first, 4000)
    after = [spin_time(first, dry, oil, air) - (spin_time(rate, dry, oil, air) if rate else 0.0) for rate in rates]
    return times, np.interp(times, after[::-1], rates[::-1], right=0.0)


def a_row(job: Job, kind: str, moment: str, analysis: dict[str, Any], **facts: Any) -> Reading:
    row = Reading(job=job, kind=kind, moment=moment, analysis=analysis, **{"core_version": "0", **facts})
    row.brief = brief_to_keep(row) if row.work == Work.READ else {}
    row.save()
    return row


def a_spin(job: Job, moment: str, law: tuple[float, float, float, float] = CLEAN, **facts: Any) -> Reading:
    """A spin from a table of speeds; ``until`` a part of its time, where the stop was not seen."""
    times, rates = speeds(*law, until=facts.pop("until", 1.0))
    read = np.maximum(0.0, rates + np.random.default_rng(5).normal(0.0, 0.05, len(rates)) * (rates > 0))
    result = analyse_speeds(times, read, np.random.default_rng(3))
    return a_row(job, "spin", moment, as_stored(result), **facts)


def a_known_spin(job: Job, first_rev_s: float, dry_rev_s2: float = 2.0) -> Reading:
    """As left, recorded: a spool that dry friction alone slows, so that it rests after first ÷ dry seconds."""
    column = (dry_rev_s2 * 0.997, dry_rev_s2, dry_rev_s2 * 1.003)
    none = (0.0,) * 3
    draws = LawDraws((first_rev_s,) * 3, column, none, none, (1.0,) * 3, none, (1.0,) * 3, first_rev_s)
    stop = first_rev_s / dry_rev_s2
    known, time = Quantity.exact(first_rev_s), Quantity(stop, stop * 0.997, stop * 1.003)
    curve = SpeedCurve((0.0, stop), (first_rev_s, 0.0))
    one = Spin(0.0, stop, known, time, curve, draws=draws)
    return a_row(job, "spin", "left", as_stored(SpinResult((one,))))


def a_pull(job: Job, moment: str, breakaway_N: float, running_N: float, **facts: Any) -> Reading:
    typed = pull.typed(breakaway_N=breakaway_N, running_N=running_N)
    return a_row(job, "pull", moment, as_stored(typed), **facts)


def a_gauge(job: Job, kind: str, moment: str, value: float, width: float = 0.05) -> Reading:
    """An end float in mm or a handle torque in N m."""
    key = {"end_float": "end_float_mm", "turn": "torque_Nm"}[kind]
    read = Quantity(value, max(0.0, value - width), value + width)
    return a_row(job, kind, moment, {"kind": kind, "status": "ok", key: as_stored(read), "cautions": []})
