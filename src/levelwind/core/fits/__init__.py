"""What standard thing a piece is, from its measurements and their errors, and what to measure next.

Lengths are in mm, as the standards print them.
"""

from levelwind.core.fits.compute import recognise
from levelwind.core.fits.model import Answer, Candidate, Form, Kind, Measurement, Table
from levelwind.core.fits.typed import length, measured, pitch

__all__ = ["Answer", "Candidate", "Form", "Kind", "Measurement", "Table", "length", "measured", "pitch", "recognise"]
