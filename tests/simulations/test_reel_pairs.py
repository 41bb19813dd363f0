"""How often a whole sheet of an unchanged reel tells of a change, and how often a real one is found."""

from collections import defaultdict
from collections.abc import Iterator

import numpy as np
import pytest

from levelwind.core.changes import Verdict
from levelwind.core.errors import NotDeterminedError
from levelwind.core.pull.compare import compare as compare_pulls
from levelwind.core.spin.compare import compare as compare_spins
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations.held import often_enough, share
from tests.simulations.reel_pairs import MENDED, two_pulls, two_spins

HOLD_OUT = 20_261_130
"""Nothing was set on its pairs: what is real was set on others (docs/physics/compare.md)."""
SHEETS, CHANGED = cases(2, 200), cases(1, 75)


def spins(seed: int, number: int, mended: str = "") -> Iterator[Verdict]:
    """None where the two cannot be compared, and that is said."""
    try:
        yield compare_spins(*two_spins(np.random.default_rng([seed, number]), mended))
    except NotDeterminedError:
        return


def told(verdict: Verdict) -> bool:
    """Whether anything is called real, or a loss less or more than it was."""
    return any(each.real for each in verdict.changes) or any(note.key in ("less", "more") for note in verdict.so)


@pytest.mark.sampled
def test_a_sheet_of_an_unchanged_reel_tells_of_none(figure: Figure) -> None:
    quiet: dict[str, list[bool]] = defaultdict(list)
    for number in range(SHEETS):
        pulls = compare_pulls(*two_pulls(np.random.default_rng([HOLD_OUT, 1, number]), mended=False))
        verdicts = {"pulls": [pulls], "spins": list(spins(HOLD_OUT, number))}
        for kind, each in verdicts.items():
            quiet[kind] += [not told(verdict) for verdict in each]
        quiet["whole sheets"].append(not any(map(told, (*verdicts["pulls"], *verdicts["spins"]))))
    for kind, answers in quiet.items():
        figure(f"{kind} of an unchanged reel without any real difference", len(answers), share(answers), "90 %")
    assert often_enough(quiet["whole sheets"], 0.9)


def test_losses_that_rounding_cannot_tell_apart_are_read_all_the_same() -> None:
    """Dry friction and oil of one of this pair are as alike as the inverse of their matrix can bear."""
    assert list(spins(HOLD_OUT + 1, 12, MENDED[2]))


@pytest.mark.sampled
def test_a_mended_reel_is_found(figure: Figure) -> None:
    found: dict[str, list[bool]] = defaultdict(list)
    for number in range(CHANGED):
        drag = compare_pulls(*two_pulls(np.random.default_rng([HOLD_OUT, 2, number]), mended=True))
        found["a drag set a seventh anew, with less of a jerk"].append(told(drag))
        what = MENDED[number % len(MENDED)]
        found[what] += [told(verdict) for verdict in spins(HOLD_OUT + 1, number, what)]
    for what, answers in found.items():
        figure(f"told as real: {what}", len(answers), share(answers))
    assert often_enough(found[MENDED[0]], 0.8)
