"""Whether a probability told of a piece is how often it is so, on pieces drawn by another law; nothing was set on them.

The few figures of its law were set on seeds 11 to 16, 40913, 52207 and 61331.
"""

from collections import defaultdict

import numpy as np
import pytest
from scipy.stats import binom

from levelwind.core.fits import recognise
from levelwind.reference.standard_parts import table
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations.held import BY_CHANCE
from tests.simulations.pieces import draw

SEED = 70_117
KINDS = ("thread", "nut", "bearing", "oring", "clip")
PIECES = cases(40, 5_000)
"""Of each kind."""
WITHIN = 0.02
"""Between what is told and what is so, in every decile."""


def honest(told: list[float], so: list[bool]) -> bool:
    """Whether the count is no further off than chance allows where the truth is within two points of what was told."""
    mean, right, count = float(np.mean(told)), sum(so), len(so)
    least = binom.ppf(BY_CHANCE / 2, count, max(0.0, mean - WITHIN))
    most = binom.ppf(1 - BY_CHANCE / 2, count, min(1.0, mean + WITHIN))
    return bool(least <= right <= most)


@pytest.mark.sampled
def test_probabilities_are_honest(figure: Figure) -> None:
    told: dict[int, list[float]] = defaultdict(list)
    so: dict[int, list[bool]] = defaultdict(list)
    sure: list[bool] = []
    for kind in KINDS:
        rows, first = table(kind), []
        for number in range(PIECES):
            piece = draw(rows, np.random.default_rng([SEED, number]))
            answer = recognise(rows, piece.measured, worn=piece.worn)
            every = [(found.probability, found.candidate.name == piece.name) for found in answer.found]
            every.append((answer.none_probability, piece.name is None))
            for probability, right in every:
                told[min(9, int(10 * probability))].append(probability)
                so[min(9, int(10 * probability))].append(right)
            likeliest = max(every)
            first.append(likeliest[1])
            sure += [likeliest[1]] if likeliest[0] >= 0.9 else []
        figure(f"{kind}: the likeliest is right", PIECES, f"{100 * np.mean(first):.1f} %")
    figure("of those told with 90 % and more", len(sure), f"{100 * np.mean(sure):.1f} %", "90 %")
    for decile in sorted(told):
        what = f"told with {10 * decile} to {10 * decile + 10} %, {100 * np.mean(told[decile]):.1f} % in the mean"
        figure(what, len(so[decile]), f"{100 * np.mean(so[decile]):.1f} %", "within 2 points")
    assert np.mean(sure) >= 0.9
    assert not [decile for decile in told if not honest(told[decile], so[decile])]
