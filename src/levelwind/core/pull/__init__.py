"""Pull: line tension over time in, what the drag did out."""

from levelwind.core.pull.compute import analyse
from levelwind.core.pull.model import Pull, PullResult
from levelwind.core.pull.options import PullOptions
from levelwind.core.pull.typed import typed

__all__ = ["Pull", "PullOptions", "PullResult", "analyse", "typed"]
