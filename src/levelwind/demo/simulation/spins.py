"""How long a simulated spool turns."""

from math import atan, log, sqrt


def spin_time(start_rev_s: float, dry_rev_s2: float, oil_per_s: float, air_per_rev: float) -> float:
    """Seconds from ``start_rev_s`` to rest under dn/dt = -(dry + oil n + air n^2), by the integral of dn over the law.

    Needs ``dry_rev_s2`` above zero: without dry friction a spool never quite stops.

    >>> spin_time(20.0, 2.0, 0.0, 0.0)
    10.0
    >>> spin_time(20.0, 0.5, 0.05, 0.002)
    19.08
    """
    a, b, c = air_per_rev, oil_per_s, dry_rev_s2
    if a == 0:
        return start_rev_s / c if b == 0 else log(1 + b * start_rev_s / c) / b
    square = 4 * a * c - b * b
    if square > 0:
        root = sqrt(square)
        return 2 / root * (atan((2 * a * start_rev_s + b) / root) - atan(b / root))
    if square == 0:
        return 2 / b - 2 / (2 * a * start_rev_s + b)
    root = sqrt(-square)
    top = (2 * a * start_rev_s + b - root) * (b + root)
    return log(top / ((2 * a * start_rev_s + b + root) * (b - root))) / root
