"""Whether a new stack stands as high as the old one, within what the star takes up, and which shim mends it."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np

from levelwind.core.drag.draws import Generator
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity, in_words
from levelwind.core.writing import written

MOST_SHIMS = 3
"""Shims laid on one another at most: our choice."""

USUAL_OFF_M = 0.05e-3
"""m, how far a washer is taken to be off where nobody measured it: our choice."""

SURE = 0.95
"""A stack that fits in this share of draws is said to fit; one that misses in as many, not to (our choice)."""


@dataclass(frozen=True, slots=True)
class Thickness:
    """A piece's thickness in m and how far it may be off either way."""

    name: str
    thickness_m: float
    tolerance_m: float = 0.0

    def __post_init__(self) -> None:
        if not 0 < self.thickness_m <= 0.05:
            raise InputError(
                f"thickness of {self.name}", f"{written(1000 * self.thickness_m)} mm", "over 0 and up to 50 mm"
            )
        if not 0 <= self.tolerance_m < self.thickness_m:
            tolerance = f"{written(1000 * self.tolerance_m)} mm"
            raise InputError(f"tolerance of {self.name}", tolerance, "from 0 to less than the thickness")


@dataclass(frozen=True, slots=True)
class HeightCheck:
    """New stack against old: difference in m, the chance that it fits, and shims that bring it to the middle."""

    difference_m: Quantity
    fits: float
    shims: tuple[Thickness, ...]
    with_shims_m: float
    sentences: tuple[str, ...]


def check_height(
    old: Sequence[Thickness],
    new: Sequence[Thickness],
    lower_m: float,
    higher_m: float,
    shims: Sequence[Thickness],
    rng: Generator,
    draws: int = 10_000,
) -> HeightCheck:
    """Whether ``new`` fits where ``old`` was: up to ``lower_m`` lower or ``higher_m`` higher is taken up by the star.

    If it does not, of up to three ``shims`` (each kind may be used again) the set that brings the difference nearest to
    the middle of what the star takes up; none where the bare stack is nearest.

    >>> one, thin = Thickness("old washer", 1.0e-3), Thickness("new washer", 0.8e-3)
    >>> shim = Thickness("0.1 mm shim", 0.1e-3)
    >>> check = check_height([one] * 3, [thin] * 3, 0.2e-3, 0.2e-3, [shim], np.random.default_rng(1))
    >>> len(check.shims), check.sentences[0]
    (3, 'The new stack stands 0.6 mm lower: outside what star or knob takes up.')
    """
    if lower_m < 0 or higher_m < 0:
        raise InputError(
            "travel of the star",
            f"{written(1000 * lower_m)} and {written(1000 * higher_m)} mm",
            "0 mm or more each way",
        )
    differences = _draw(new, rng, draws) - _draw(old, rng, draws)
    nominal = _sum(new) - _sum(old)
    low, high = np.quantile(differences, [0.05, 0.95])
    difference = Quantity(nominal, min(float(low), nominal), max(float(high), nominal))
    fits = float(np.mean((differences >= -lower_m - 1e-12) & (differences <= higher_m + 1e-12)))
    middle = (higher_m - lower_m) / 2
    sets = _sets(shims) if fits <= SURE else [()]
    chosen = min(sets, key=lambda some: (round(abs(nominal + _sum(some) - middle), 9), len(some)))
    with_shims = nominal + _sum(chosen)
    said = _sentences(difference, fits, chosen, with_shims, (-lower_m, higher_m))
    return HeightCheck(difference, fits, chosen, with_shims, said)


def _draw(pieces: Sequence[Thickness], rng: Generator, draws: int) -> np.ndarray:
    if not pieces:
        raise InputError("pieces of the stack", 0, "1 or more")
    nominal, tolerance = (np.array([getattr(p, key) for p in pieces]) for key in ("thickness_m", "tolerance_m"))
    return np.asarray((nominal + tolerance * rng.uniform(-1, 1, (draws, len(pieces)))).sum(axis=1))


def _sets(shims: Sequence[Thickness]) -> list[tuple[Thickness, ...]]:
    return [some for count in range(MOST_SHIMS + 1) for some in combinations_with_replacement(shims, count)]


def _sum(pieces: Sequence[Thickness]) -> float:
    return sum(piece.thickness_m for piece in pieces)


def _sentences(
    difference: Quantity, fits: float, shims: Sequence[Thickness], with_shims_m: float, travel_m: tuple[float, float]
) -> tuple[str, ...]:
    if difference.low < 0 < difference.high:
        head = f"The new stack differs by {in_words(difference.scaled(1000), 'mm')}"
    else:
        lower = difference.value < 0
        off = in_words(difference.scaled(-1000 if lower else 1000), "mm")
        head = f"The new stack stands {off} {'lower' if lower else 'higher'}"
    within = (
        "within" if fits > SURE else "outside" if fits < 1 - SURE else f"with a chance of {100 * fits:.0f} % within"
    )
    said = [f"{head}: {within} what star or knob takes up."]
    if shims:
        inside = travel_m[0] - 1e-12 <= with_shims_m <= travel_m[1] + 1e-12
        names = " and ".join(f"{count} × {name}" for name, count in Counter(shim.name for shim in shims).items())
        said.append(f"With {names}: {1000 * with_shims_m:+.2f} mm, {'within' if inside else 'still outside'} it.")
    elif fits <= SURE:
        said.append("No shim named brings it nearer.")
    return tuple(said)
