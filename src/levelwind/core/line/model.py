"""What goes into the line: the spool's own shape, the lines on it, how closely they lie."""

from dataclasses import dataclass
from math import isfinite, pi, sqrt

from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

SQUARE_PACKING = pi / 4
"""Share of the cross-section that is line when each turn sits on top of the one below (a level wind's plain layers)."""

CLOSEST_PACKING = pi / (2 * sqrt(3))
"""Share when each turn lies in the groove below; no winding is closer."""

LOOSEST_PACKING = 0.3
"""Share under which no line is taken to lie on a spool: our choice."""

PACKING = Quantity(SQUARE_PACKING, 0.70, 0.86)
"""Share of the room that is line on a spool as it is wound: plain layers, from loose to pressed in. Our choice."""


@dataclass(frozen=True, slots=True)
class Spool:
    """The room for line: from the arbor out to the rim, as wide at the rim as ``rim_width_m`` says (else parallel).

    >>> Spool(arbor_radius_m=0.010, rim_radius_m=0.025, width_m=0.030).volume_m3()
    4.948e-05
    """

    arbor_radius_m: float
    rim_radius_m: float
    width_m: float
    rim_width_m: float | None = None

    def __post_init__(self) -> None:
        _within("arbor diameter", 2 * self.arbor_radius_m, 1e-3, 0.3)
        _within("rim diameter", 2 * self.rim_radius_m, 1e-3, 0.5)
        _within("width between the flanges", self.width_m, 1e-3, 0.3)
        if self.rim_width_m is not None:
            _within("width at the rim", self.rim_width_m, 1e-3, 0.3)
        if not self.arbor_radius_m < self.rim_radius_m:
            rim = f"less than the rim diameter of {written(2000 * self.rim_radius_m)} mm"
            raise InputError("arbor diameter", f"{written(2000 * self.arbor_radius_m)} mm", rim)

    @property
    def flare(self) -> float:
        """Metres of width gained for each metre of radius."""
        rim_width = self.width_m if self.rim_width_m is None else self.rim_width_m
        return (rim_width - self.width_m) / (self.rim_radius_m - self.arbor_radius_m)

    def volume_m3(self) -> float:
        """Room in m3 from arbor to rim: 2 pi times the integral of r w(r)."""
        depth = self.rim_radius_m - self.arbor_radius_m
        ring = pi * (self.rim_radius_m**2 - self.arbor_radius_m**2) * self.width_m
        return ring + 2 * pi * self.flare * depth**2 * (self.arbor_radius_m / 2 + depth / 3)


@dataclass(frozen=True, slots=True)
class Line:
    """A line: its diameter, and the knotless strength it is sold or tested at, None where nobody knows it.

    >>> Line("30 lb nylon", diameter_m=0.55e-3, strength_N=133.4).volume_per_m_m3()
    2.376e-07
    """

    name: str
    diameter_m: float
    strength_N: float | None = None

    def __post_init__(self) -> None:
        _within(f"diameter of {self.name}", self.diameter_m, 0.02e-3, 5e-3)
        if self.strength_N is not None and not (isfinite(self.strength_N) and 0 < self.strength_N <= 20_000):
            raise InputError(f"strength of {self.name}", f"{self.strength_N} N", "over 0 and up to 20000 N")

    def volume_per_m_m3(self) -> float:
        """Volume of the line itself in m3 for each metre."""
        return pi * self.diameter_m**2 / 4


@dataclass(frozen=True, slots=True)
class Filled:
    """Line on a spool, backing first. ``packing`` is the share of the room that is line, 0.3 to 0.907."""

    spool: Spool
    line: Line
    length_m: float
    backing: Line | None = None
    backing_length_m: float = 0.0
    packing: float = SQUARE_PACKING

    def __post_init__(self) -> None:
        _within("length of line", self.length_m, 0.0, 5000.0)
        _within("length of backing", self.backing_length_m, 0.0, 5000.0)
        if not LOOSEST_PACKING <= self.packing <= CLOSEST_PACKING:
            raise InputError(
                "packing",
                self.packing,
                f"from {written(LOOSEST_PACKING)} (loose) to {written(CLOSEST_PACKING, '.3f')} (closest)",
            )
        if self.backing is None and self.backing_length_m:
            raise InputError("length of backing", f"{written(self.backing_length_m)} m", "0 when no backing is named")
        self._refuse_overfull()

    def backing_volume_m3(self) -> float:
        """Room in m3 that the backing takes."""
        return 0.0 if self.backing is None else self.backing.volume_per_m_m3() * self.backing_length_m / self.packing

    def _refuse_overfull(self) -> None:
        left = self.spool.volume_m3() - self.backing_volume_m3()
        most = left * self.packing / self.line.volume_per_m_m3()
        if most < 0:
            raise InputError(
                "length of backing", f"{written(self.backing_length_m)} m", "what fits under the rim of the spool"
            )
        if self.length_m > most * (1 + 1e-9):
            raise InputError(
                "length of line", f"{written(self.length_m)} m", f"up to {most:.0f} m of {self.line.name} on this spool"
            )


def _within(what: str, value_m: float, least_m: float, most_m: float) -> None:
    if not (isfinite(value_m) and least_m <= value_m <= most_m):
        if most_m > 100:
            raise InputError(what, f"{written(value_m)} m", f"from {written(least_m)} to {written(most_m)} m")
        raise InputError(
            what, f"{written(1000 * value_m)} mm", f"from {written(1000 * least_m)} to {written(1000 * most_m)} mm"
        )
