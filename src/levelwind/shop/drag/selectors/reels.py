"""What a job says of its reel, as far as its drag works against it."""

from dataclasses import dataclass

from levelwind.core.drag.families import Drive
from levelwind.core.errors import LevelwindError
from levelwind.core.line import Line, Spool
from levelwind.reference.families import Family, family
from levelwind.shop.models import Job, Pattern

UNKNOWN_LINE_MM = 0.4
"""mm, stands in for a line whose diameter nobody gave: the radius at a share of the line does not depend on it."""


@dataclass(frozen=True, slots=True)
class Reel:
    """The reel around the drag; ``spool`` is None while it is not measured, ``line_known`` False without a diameter."""

    family: Family
    drive: Drive
    ratio_known: bool
    spool: Spool | None
    line: Line
    line_known: bool
    tippet_N: float | None = None


def reel_of(job: Job) -> Reel:
    """The job's reel as far as its pattern and its line are known. Raises LevelwindError while it has no pattern."""
    if job.pattern is None:
        raise LevelwindError("Choose its pattern first: its drag is laid out from there.")
    pattern, kin = job.pattern, family(job.pattern.family)
    diameter = (job.line_diameter_mm or UNKNOWN_LINE_MM) / 1000
    ratio = (job.build.gear_ratio if job.build else None) or pattern.gear_ratio
    return Reel(
        family=kin,
        drive=Drive(kin.drag_family, ratio or kin.gear_ratio),
        ratio_known=ratio is not None,
        spool=_spool_of(pattern),
        line=Line(job.line_name or "the line", diameter, job.line_strength_N or None),
        line_known=bool(job.line_diameter_mm),
        tippet_N=job.tippet_strength_N,
    )


def _spool_of(pattern: Pattern) -> Spool | None:
    arbor, flange, width = pattern.spool_arbor_mm, pattern.spool_flange_mm, pattern.spool_width_mm
    if not (arbor and flange and width):
        return None
    return Spool(arbor / 2000, flange / 2000, width / 1000)


def clicks_alone(pattern: Pattern, reel: Reel) -> bool:
    """Whether nothing but the click holds the spool: there is no stack to lay out."""
    return not pattern.drag and not reel.family.drag["bodies"]
