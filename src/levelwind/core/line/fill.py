"""Line tension at every fill of the spool, and where it passes what the line can hold."""

from dataclasses import dataclass

import numpy as np
from numpy.polynomial.chebyshev import chebpts1, chebvander

from levelwind.core.errors import InputError
from levelwind.core.line.model import CLOSEST_PACKING, LOOSEST_PACKING, SQUARE_PACKING, Filled, Line, Spool
from levelwind.core.line.radius import Floats, Numbers, capacity_m, radius_at_volume_m
from levelwind.core.line.tension import tension_N
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

NEAR_EMPTY = 0.1
"""Share of the top line left that the bench calls near empty: our choice."""

FULL_SHARE = 0.95
"""Share of its room at which a spool counts as full, a little left under the rim: common practice, no source."""

NODES = 16
"""Points of the polynomial in 1 / packing: where packing runs over all it may be, 12 leave an error of 5e-8 of the
tension and 16 less than 1e-9 (measured over the spools of the tests). Our choice."""


@dataclass(frozen=True, slots=True)
class FillCurve:
    """Radius, and tension with its 90 % interval, against line left, full first; all of shape (points,)."""

    left_m: Floats
    radius_m: Floats
    tension_N: Floats
    low_N: Floats
    high_N: Floats

    def at(self, left_m: float) -> Quantity:
        """Tension with ``left_m`` metres left, between the points by straight lines."""
        values = (np.interp(left_m, self.left_m[::-1], y[::-1]) for y in (self.tension_N, self.low_N, self.high_N))
        return Quantity(*(float(value) for value in values))


def filled_to_the_rim(spool: Spool, line: Line, backing: Line | None = None, backing_m: float = 0.0) -> Filled:
    """A spool with as much line over its backing as leaves a little room under the rim.

    >>> from levelwind.core.line.model import Line, Spool
    >>> filled_to_the_rim(Spool(0.010, 0.025, 0.030), Line("0.40 mm nylon", 0.40e-3)).length_m
    293.8
    """
    taken = backing.volume_per_m_m3() * backing_m if backing else 0.0
    line_m = FULL_SHARE * capacity_m(spool, line, SQUARE_PACKING) - taken / line.volume_per_m_m3()
    if line_m <= 0:
        raise InputError("backing, length", f"{written(backing_m)} m", "what leaves room for the line on this spool")
    return Filled(spool, line, line_m, backing, backing_m)


def fill_curve(
    filled: Filled,
    torque_Nm: float,
    torque_draws_Nm: Floats | None = None,
    packing_draws: Floats | None = None,
    guides: Numbers = 1.0,
    points: int = 61,
) -> FillCurve:
    """Tension at ``points`` fills from full to bare (or down to the backing).

    ``torque_Nm`` is the middle torque at the spool; draws of torque, packing and guides, each of shape (n,), give the
    interval. Packing draws that would not let all the line fit are held at what fits: the line is on the spool.

    >>> from levelwind.core.line.model import Line, Spool
    >>> filled = Filled(Spool(0.010, 0.025, 0.030), Line("0.40 mm nylon", 0.40e-3, 75.6), 200.0)
    >>> curve = fill_curve(filled, 0.60, points=3)
    >>> curve.tension_N.tolist()
    [28.62, 36.53, 60.0]
    """
    if points < 2:
        raise InputError("points on the curve", points, "2 or more")
    left = np.linspace(filled.length_m, 0.0, points)
    line_m3 = left * filled.line.volume_per_m_m3()
    radius = radius_at_volume_m(filled.spool, filled.backing_volume_m3() + line_m3 / filled.packing)
    middle = tension_N(torque_Nm, radius, np.median(np.asarray(guides)))
    if torque_draws_Nm is None:
        return FillCurve(left, radius, middle, middle, middle)
    per_Nm = tension_N(1.0, radius)[:, None]
    if packing_draws is not None:
        per_Nm = _per_Nm_draws(filled, line_m3, np.asarray(packing_draws))
    low, high = _middle_nine_tenths(per_Nm * (torque_draws_Nm * np.asarray(guides)))
    return FillCurve(left, radius, middle, np.minimum(low, middle), np.maximum(high, middle))


def left_at_strength_m(curve: FillCurve, strength_N: float) -> float | None:
    """Metres of line left when the middle tension first reaches ``strength_N``; None if it never does.

    >>> curve = FillCurve(np.array([200.0, 0.0]), np.array([0.02, 0.01]), *[np.array([30.0, 60.0])] * 3)
    >>> left_at_strength_m(curve, 45.0)
    100.0
    """
    if curve.tension_N[-1] < strength_N:
        return None
    return float(np.interp(strength_N, curve.tension_N, curve.left_m))


def _per_Nm_draws(filled: Filled, line_m3: Floats, packing: Floats) -> Floats:
    """Tension in N for one N m at each fill and packing, shape (fills, draws).

    At one fill it is a smooth function of 1 / packing: exact at ``NODES`` Chebyshev points and a polynomial between
    them, which is one matrix product for all draws, and within 1e-9 of it for any spool and line that fit together.
    """
    on_spool_m3 = filled.backing_volume_m3() * filled.packing + line_m3
    tightest = max(LOOSEST_PACKING, on_spool_m3[0] / filled.spool.volume_m3())
    looseness = 1 / np.clip(packing, tightest, CLOSEST_PACKING)
    middle, half = (looseness.max() + looseness.min()) / 2, (looseness.max() - looseness.min()) / 2
    nodes = chebpts1(NODES)
    exact = tension_N(1.0, radius_at_volume_m(filled.spool, np.outer(middle + half * nodes, on_spool_m3)))
    polynomials = np.linalg.solve(chebvander(nodes, NODES - 1), exact)
    return np.asarray(polynomials.T @ chebvander((looseness - middle) / (half or 1.0), NODES - 1).T)


def _middle_nine_tenths(drawn: Floats) -> tuple[Floats, Floats]:
    """5th and 95th of a hundred along the last axis, by the nearest draw: a partition is faster than a sort."""
    count = drawn.shape[-1]
    ends = [int(0.05 * (count - 1)), int(np.ceil(0.95 * (count - 1)))]
    parted = np.partition(drawn, ends, axis=-1)
    return parted[..., ends[0]], parted[..., ends[1]]
