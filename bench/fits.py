"""Speed of an answer against the same law in plain Python, row by row; a ratio, so that any machine can tell.

Wanted: an answer under 5 ms, with what to measure next and in words.
"""

from collections.abc import Callable
from math import erf, exp, sqrt
from time import perf_counter

from levelwind.core.fits import length, recognise
from levelwind.core.fits.law import MIDDLE_INSET, MIDDLE_SHARE, WIDE_SHARE, WIDE_TIMES, WORN_UNSAID
from levelwind.core.fits.model import Dimension, Measurement, Table
from levelwind.core.fits.report import as_dict
from levelwind.reference.standard_parts import table


def seconds(what: Callable[[], object], times: int = 50) -> float:
    """Least of many runs: what the work takes when nothing else runs."""
    spans = []
    for _ in range(times):
        start = perf_counter()
        what()
        spans.append(perf_counter() - start)
    return min(spans)


def normal(x: float) -> float:
    return (1 + erf(x / sqrt(2))) / 2


def grown(x: float, error: float, mean: float) -> float:
    tail = normal(x / error - error / mean)
    return normal(x / error) - (exp(error**2 / 2 / mean**2 - x / mean) * tail if tail else 0.0)


def plain_density(value: float, error: float, low: float, high: float, dimension: Dimension) -> float:
    total, inset = 0.0, MIDDLE_INSET * (high - low)
    cases = [
        (often * made, wide, foot, top)
        for often, wide in ((1 - WIDE_SHARE, error), (WIDE_SHARE, WIDE_TIMES * error))
        for made, foot, top in ((1 - MIDDLE_SHARE, low, high), (MIDDLE_SHARE, low + inset, high - inset))
    ]
    for share, wide, low, high in cases:
        whole = (normal((value - low) / wide) - normal((value - high) / wide)) / (high - low)
        at, foot, top = (value, low, high) if dimension.wear_mm > 0 else (-value, -high, -low)
        mean = abs(dimension.wear_mm)
        lost = (grown(at - foot, wide, mean) - grown(at - top, wide, mean)) / (high - low)
        total += share * ((1 - WORN_UNSAID) * whole + WORN_UNSAID * lost)
    return total


def row_by_row(rows: Table, readings: dict[str, Measurement]) -> list[float]:
    weights = [1.0] * len(rows.forms)
    for key, reading in readings.items():
        row = rows.row(key)
        dimension = rows.kind.dimensions[row]
        error = reading.error_mm(dimension)
        for n, form in enumerate(rows.forms):
            weights[n] *= plain_density(reading.value_mm, error, *form.limits[row], dimension)
    return weights


def main() -> None:
    rows = table("oring")
    readings = {"id": length("9.2"), "section": length("1.8")}
    whole = seconds(lambda: as_dict(recognise(rows, readings)))
    plain = seconds(lambda: row_by_row(rows, readings), times=10)
    print(f"an answer over {len(rows.forms)} sizes, in words: {1000 * whole:.2f} ms (wanted: under 5)")
    print(f"the densities alone in plain Python take {plain / whole:.1f} times as long as the whole answer")


if __name__ == "__main__":
    main()
