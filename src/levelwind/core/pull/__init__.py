"""Pull: line tension over time in, what the drag did out."""

from levelwind.core.pull.compute import analyse
from levelwind.core.pull.model import Pull, PullResult
from levelwind.core.pull.typed import typed

__all__ = ["Pull", "PullResult", "analyse", "typed"]
