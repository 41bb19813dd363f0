"""Hunches and looks in words: rows for a page, a text for a terminal, a dictionary for a program."""

from levelwind.core.hunches.report.answer import Answer
from levelwind.core.hunches.report.rows import (
    HunchRow,
    LookRow,
    basis,
    hunch_rows,
    look_rows,
    reason,
)

__all__ = [
    "Answer",
    "HunchRow",
    "LookRow",
    "basis",
    "hunch_rows",
    "look_rows",
    "reason",
]
