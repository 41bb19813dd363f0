"""Whether a measured piece is worn past its limits, and how near to them a caliper can tell."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from levelwind.core.errors import InputError
from levelwind.core.fits.kinds import INNER
from levelwind.core.fits.model import GAUGE_MM
from levelwind.core.writing import written


@dataclass(frozen=True, slots=True)
class Limit:
    """A dimension in mm as new, and renewed under ``least_mm`` or over ``most_mm``; ``source`` says whose limit."""

    dimension: str
    new_mm: float | None
    least_mm: float | None
    most_mm: float | None
    source: str

    def __post_init__(self) -> None:
        given = [each for each in (self.least_mm, self.new_mm, self.most_mm) if each is not None]
        if self.least_mm is None and self.most_mm is None:
            raise InputError(f"limit of the {self.dimension}", "left out", "a size under or over which it is renewed")
        if any(not 0 < each < 2000 for each in given):
            raise InputError(f"limit of the {self.dimension}", given[0], "more than 0 mm")
        if given != sorted(set(given)):
            shown = ", ".join(written(each) for each in given)
            raise InputError(f"limits of the {self.dimension}", shown, "renew under, then new, then renew over, rising")


@dataclass(frozen=True, slots=True)
class Judged:
    """One dimension beside its limits: ``state`` is good or worn, empty where it lies too near them to tell."""

    state: str
    words: str


def judge(limit: Limit, read_mm: float, *, gauge_mm: float = GAUGE_MM) -> Judged:
    """Good or worn with its reason. A caliper is off by ``gauge_mm``, inside twice that, nine times in ten.

    >>> judge(Limit("thickness", 2.5, 2.3, None, "our choice"), 2.41)
    Judged(state='good', words='thickness 2.41 mm, new 2.50, renew under 2.30 (our choice): good')
    >>> judge(Limit("thickness", 2.5, 2.3, None, "our choice"), 2.29).words
    'thickness 2.29 mm, new 2.50, renew under 2.30 (our choice): too near its limit for a caliper to tell'
    """
    error = gauge_mm * (INNER if limit.dimension == "inner diameter" else 1.0)
    past = max(
        limit.least_mm - read_mm if limit.least_mm is not None else -float("inf"),
        read_mm - limit.most_mm if limit.most_mm is not None else -float("inf"),
    )
    state = "worn" if past > error else "good" if past < -error else ""
    said = [f"{limit.dimension} {written(read_mm, '.2f')} mm"]
    said += [f"new {written(limit.new_mm, '.2f')}"] if limit.new_mm is not None else []
    said += [f"renew under {written(limit.least_mm, '.2f')}"] if limit.least_mm is not None else []
    said += [f"renew over {written(limit.most_mm, '.2f')}"] if limit.most_mm is not None else []
    told = state or "too near its limit for a caliper to tell"
    return Judged(state, f"{', '.join(said)} ({limit.source}): {told}")


def judge_all(limits: Iterable[Limit], read_mm: Mapping[str, float]) -> tuple[str, tuple[str, ...]]:
    """Worn where one dimension is, good where all that have limits were measured and are; the reasons, worn first."""
    limits = tuple(limits)
    judged = [judge(limit, read_mm[limit.dimension]) for limit in limits if limit.dimension in read_mm]
    states = [each.state for each in judged]
    whole = "worn" if "worn" in states else "good" if judged and states == ["good"] * len(limits) else ""
    return whole, tuple(each.words for each in sorted(judged, key=lambda each: each.state != "worn"))
