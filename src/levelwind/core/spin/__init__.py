"""How long a spool runs free, and what takes its speed away. So far: the spin time by a stop-watch."""

from levelwind.core.spin.typed import SpinResult, typed

__all__ = ["SpinResult", "typed"]
