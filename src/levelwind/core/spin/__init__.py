"""Spin: a spool running down in, its speed over time and what takes its speed away out."""

from levelwind.core.spin.model import Spin, SpinResult
from levelwind.core.spin.options import Bearing, SpinOptions
from levelwind.core.spin.typed import typed

__all__ = ["Bearing", "Spin", "SpinOptions", "SpinResult", "typed"]
