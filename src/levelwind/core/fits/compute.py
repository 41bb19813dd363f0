"""Which standard thing a piece is: Bayes over the table, with none of these as an answer."""

import numpy as np

from levelwind.core.errors import InputError
from levelwind.core.fits.apart import alike_to, next_measurement
from levelwind.core.fits.law import density_per_mm
from levelwind.core.fits.model import Answer, Floats, Found, Measured, Table
from levelwind.core.writing import written

FEWEST_PROBABLE, MOST_LISTED = 0.005, 8
"""A candidate less probable than this is not listed, and no more than so many: our choice."""

FEWEST_FORM = 0.05
"""A form less probable than this within its size is not named: our choice."""

HANDS = ("left", "right")


def recognise(
    table: Table,
    measured: Measured,
    *,
    gauge_mm: float | None = None,
    worn: bool = False,
    common: bool = True,
    hand: str | None = None,
) -> Answer:
    """Ranked candidates with their probabilities, and what to measure next.

    ``gauge_mm`` is what the caliper may be off nine times in ten; ``common`` counts what is met on reels; any
    measurement of the kind may be left out, but not all. Raises InputError with what is wrong with them.
    """
    _judge(table, measured, gauge_mm, hand)
    forms, none = posterior(table, measured, gauge_mm=gauge_mm, worn=worn, common=common)
    of_candidate = np.add.reduceat(forms, table.first)
    ranked = [int(n) for n in np.argsort(-of_candidate, kind="stable")[:MOST_LISTED]]
    listed = [n for n in ranked if of_candidate[n] >= FEWEST_PROBABLE]
    found = tuple(_found(table, n, forms, float(of_candidate[n])) for n in listed)
    return Answer(
        kind=table.kind,
        measured=dict(measured),
        found=found,
        none_probability=none,
        next=next_measurement(table, measured, listed, of_candidate, gauge_mm),
        alike=alike_to(table, listed, of_candidate),
        hand=hand,
    )


def posterior(
    table: Table, measured: Measured, *, gauge_mm: float | None = None, worn: bool = False, common: bool = True
) -> tuple[Floats, float]:
    """Probability of each form, and of none of them."""
    weights = table.common if common else np.ones_like(table.common)
    none = table.kind.none_share
    forms = (1 - none) * (weights / weights.sum())[table.of] * table.share
    for key, reading in measured.items():
        row = table.row(key)
        dimension = table.kind.dimensions[row]
        error = reading.error_mm(dimension, gauge_mm)
        forms = forms * density_per_mm(reading.value_mm, error, table.low[row], table.high[row], dimension, worn)
        # Of no standard: any size within reach, as likely between 1 and 2 mm as between 10 and 20.
        none /= reading.value_mm * np.log(dimension.most_mm / dimension.least_mm)
    total = forms.sum() + none
    return forms / total, float(none / total)


def _judge(table: Table, measured: Measured, gauge_mm: float | None, hand: str | None) -> None:
    kind = table.kind
    if not measured:
        names = ", ".join(each.name for each in kind.dimensions)
        raise InputError(f"every measurement of the {kind.name}", "left out", f"to give at least one of {names}")
    if gauge_mm is not None and not 0 < gauge_mm <= 1:
        raise InputError("error of the caliper", f"{written(gauge_mm)} mm", "more than 0 and up to 1 mm")
    if hand is not None and hand not in HANDS:
        raise InputError("hand of the thread", repr(hand), "left or right")
    for key, reading in measured.items():
        each = kind.dimension(key)
        if not each.least_mm <= reading.value_mm <= each.most_mm:
            read = f"{reading.typed or reading.value_mm} ({written(reading.value_mm, '.4g')} mm)"
            raise InputError(each.name, read, f"{written(each.least_mm)} to {written(each.most_mm)} mm")
    for smaller, larger in kind.orders:
        if smaller in measured and larger in measured:
            less, more = measured[smaller], measured[larger]
            if less.value_mm >= more.value_mm:
                name = kind.dimension(smaller).name
                raise InputError(
                    name,
                    less.typed or less.value_mm,
                    f"less than the {kind.dimension(larger).name} of {more.typed or more.value_mm}",
                )


def _found(table: Table, number: int, forms: Floats, probability: float) -> Found:
    own = np.flatnonzero(table.of == number)
    within = forms[own] / probability if probability else table.share[own]
    ranked = sorted(zip((table.forms[n] for n in own), within, strict=True), key=lambda pair: -pair[1])
    likely = tuple((form, float(share)) for form, share in ranked if share >= FEWEST_FORM)
    return Found(table.candidates[number], probability, likely)
