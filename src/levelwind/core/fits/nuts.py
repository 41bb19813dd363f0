"""From where to where the bore of a nut thread may lie, by each standard's own rule. Lengths in mm."""

from math import sqrt

from levelwind.core.fits.model import Span
from levelwind.core.quantities import INCH

MM_PER_INCH = 1000 * INCH
"""mm in an inch, exact."""

FULL_DEPTH = 5 * sqrt(3) / 8
"""From basic major to basic minor diameter of a 60 degree thread, in pitches: 1.0825, ISO 68-1 and ASME B1.1."""

SMALL_ISO_MM, SMALL_GRADE = 1.4, 0.8
"""Up to M1.4 nuts are of grade 5, whose tolerance is 0.8 of grade 6's: ISO 965-1, from memory."""

INCH_STEP = 0.25
"""in; from this size on ASME B1.1 takes a minor diameter's tolerance from the pitch alone."""

BA_DEPTH, BA_TOLERANCE = 1.2, 0.375
"""In pitches: twice the depth of the British Association thread, and the tolerance of a nut's minor diameter in every
class. BS 93:1951, as a public document states them."""


def iso_nut_mm(major_mm: float, pitch_mm: float) -> Span:
    """6H (5H up to M1.4): D1 = D - 1.0825 P, and above it 433 P - 190 P^1.22 um, from 1 mm of pitch on 230 P^0.7 um.

    Source: ISO 965-1, from memory. The standard rounds tolerances to a series of preferred numbers, by up to 5 %.
    M6 is printed as 4.917 to 5.153.

    >>> iso_nut_mm(6.0, 1.0)
    (4.917, 5.147)
    """
    low = major_mm - FULL_DEPTH * pitch_mm
    wide = 230 * pitch_mm**0.7 if pitch_mm >= 1 else 433 * pitch_mm - 190 * pitch_mm**1.22
    return low, low + wide / 1000 * (SMALL_GRADE if major_mm <= SMALL_ISO_MM else 1.0)


def unified_nut_mm(major_mm: float, pitch_mm: float) -> Span:
    """2B: D1 = D - 1.0825 P; below 1/4 in a tolerance of 0.05 P^(2/3) + 0.03 P/D - 0.002 in.

    That is held between 0.25 P - 0.4 P^2, which is the tolerance from 1/4 in on, and 0.394 P. Source: ASME B1.1,
    from memory. #4-40 is printed as 0.0849 to 0.0939 in.

    >>> [each / 25.4 for each in unified_nut_mm(2.8448, 0.635)]
    [0.0849, 0.0939]
    """
    major, pitch = major_mm / MM_PER_INCH, pitch_mm / MM_PER_INCH
    low, wide = major - FULL_DEPTH * pitch, 0.25 * pitch - 0.4 * pitch**2
    if major < INCH_STEP:
        wide = min(max(0.05 * pitch ** (2 / 3) + 0.03 * pitch / major - 0.002, wide), 0.394 * pitch)
    return MM_PER_INCH * low, MM_PER_INCH * (low + wide)


def association_nut_mm(major_mm: float, pitch_mm: float) -> Span:
    """D - 1.2 p, and 0.375 p above it. Source: BS 93:1951, as a public document states it.

    >>> association_nut_mm(4.7, 0.81)
    (3.728, 4.032)
    """
    low = major_mm - BA_DEPTH * pitch_mm
    return low, low + BA_TOLERANCE * pitch_mm
