"""As found against as left, of whatever two recordings are of: one comparison for page, paper and command line."""

from levelwind.core.changes import Verdict
from levelwind.core.pull import PullResult
from levelwind.core.pull.compare import compare as compare_pulls
from levelwind.core.spin import SpinResult
from levelwind.core.spin.compare import compare as compare_spins

Recorded = PullResult | SpinResult | None


def compare(found: Recorded, left: Recorded) -> Verdict | None:
    """What the work did; None where there are not two of one kind.

    Raises NotDeterminedError, in a sentence, where two of one kind have nothing in common.

    >>> from levelwind.core.spin import typed
    >>> compare(typed(11.0), typed(34.0)).words()
    'free spin 11.0 to 34.0 s: up by 23 s (11 to 35), real'
    """
    if isinstance(found, PullResult) and isinstance(left, PullResult):
        return compare_pulls(found, left)
    if isinstance(found, SpinResult) and isinstance(left, SpinResult):
        return compare_spins(found, left)
    return None
