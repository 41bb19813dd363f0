"""What a job's readings say, as found beside as left."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from levelwind.core.changes import change
from levelwind.core.errors import LevelwindError
from levelwind.core.pull import PullResult
from levelwind.core.pull.report import average, verdict
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.documents.scale import ForceCurves, Trace
from levelwind.shop.models import Job, Reading

MOMENTS = ("found", "left")
VALUES = {
    "spin": ("spin_time_s", "Spin time", "s"),
    "end_float": ("end_float_mm", "End float", "mm"),
    "turn": ("torque_Nm", "Handle torque", "N m"),
}


@dataclass(frozen=True, slots=True)
class Pair:
    """One quantity as found and as left, in one unit, with what the difference is worth."""

    name: str
    unit: str
    found: Quantity | None
    left: Quantity | None

    @property
    def difference(self) -> str:
        """In words, where both are there: how much it changed and whether that is more than chance."""
        if self.found is None or self.left is None:
            return ""
        return change(self.name.lower(), self.unit, self.found, self.left).words.partition(": ")[2]


@dataclass(frozen=True, slots=True)
class Readings:
    """All of a job's readings. ``latest`` by kind and moment: the newest not struck out that gave a number."""

    every: tuple[Reading, ...]
    latest: Mapping[tuple[str, str], Reading]
    pairs: tuple[Pair, ...]
    verdict: str
    cautions: tuple[str, ...]

    def has(self, moment: str) -> bool:
        return any(key[1] == moment for key in self.latest)


def readings_of(job: Job, unit: str = "N") -> Readings:
    """``unit``: N, kgf or lbf, in which forces are shown."""
    every = tuple(job.readings.all())
    latest = {(row.kind, row.moment): row for row in every if row.analysis and not row.struck_out}
    pulls = {moment: pull_result(latest.get(("pull", moment))) for moment in MOMENTS}
    words, cautions = _verdict(pulls["found"], pulls["left"], unit)
    pairs = (*_pull_pairs(pulls, unit), *(_pair(latest, kind) for kind in VALUES))
    shown = tuple(pair for pair in pairs if pair.found or pair.left)
    return Readings(every, latest, shown, words, cautions)


def pull_result(reading: Reading | None) -> PullResult | None:
    return PullResult.from_dict(reading.analysis) if reading else None


def _verdict(found: PullResult | None, left: PullResult | None, unit: str) -> tuple[str, tuple[str, ...]]:
    if not found or not left:
        return "", ()
    try:
        both = verdict(found, left, unit)
    except LevelwindError as refusal:
        return "", (str(refusal),)
    return both.words, both.cautions


def _pull_pairs(pulls: Mapping[str, PullResult | None], unit: str) -> list[Pair]:
    per = 1 / NEWTONS_PER[unit]
    rows = (
        ("Breakaway", "breakaway_N", unit, per),
        ("Running drag", "running_N", unit, per),
        ("Start-up ratio", "startup_ratio", "", 1.0),
    )
    return [
        Pair(name, shown, *(_average(pulls[moment], field, factor) for moment in MOMENTS))
        for name, field, shown, factor in rows
    ]


def _average(result: PullResult | None, field: str, factor: float) -> Quantity | None:
    if result is None:
        return None
    try:
        return average(result, field).scaled(factor)
    except LevelwindError:
        return None


def _pair(latest: Mapping[tuple[str, str], Reading], kind: str) -> Pair:
    key, name, unit = VALUES[kind]
    found, left = (latest.get((kind, moment)) for moment in MOMENTS)
    return Pair(name, unit, *(Quantity(**row.analysis[key]) if row else None for row in (found, left)))


def force_curves(readings: Readings, unit: str = "N") -> ForceCurves | None:
    """Both logs from the start of their first pull, for a drawing; None where neither is a log."""
    found, left = (_trace(readings.latest.get(("pull", moment)), unit) for moment in MOMENTS)
    return ForceCurves(found, left, unit) if found or left else None


def _trace(reading: Reading | None, unit: str) -> Trace | None:
    figure: dict[str, Any] = reading.analysis.get("figure", {}) if reading else {}
    points = figure.get("points", [])
    if len(points) < 2:
        return None
    per = 1 / NEWTONS_PER[unit]
    result = pull_result(reading)
    first = result.pulls[0] if result and result.pulls else None
    return Trace(
        tuple(time for time, _ in points),
        tuple(force * per for _, force in points),
        first.breakaway_N.value * per if first else None,
        first.running_N.value * per if first else None,
    )
