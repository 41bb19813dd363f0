"""Time of a takedown with a choice at every step, against the same programme told when every place comes off.

The answer is the same, exact with its proof; a ratio within one run. Wanted: a tenth; told as it is.
"""

import random
from time import perf_counter
from unittest.mock import patch

from levelwind.core.takedown import choices
from levelwind.core.takedown.least_work import least_work
from levelwind.core.takedown.model import Place, Rules, Step

PLACES, REACH_BACK, REELS = 70, 12, 3


def reel(seed: int) -> Rules:
    """Each place comes off by one of two ways, each after one or two of the places before it."""
    dice = random.Random(seed)
    steps = []
    for n in range(PLACES):
        before = [f"p{k}" for k in range(max(0, n - REACH_BACK), n)]
        ways = [frozenset(dice.sample(before, dice.choice((1, 1, 2)))) for _ in range(2)] if n > 1 else []
        steps.append(
            Step(key=f"s{n}", do="Do it.", frees=(f"p{n}",), minutes=dice.randint(1, 30) / 10, after_any=tuple(ways))
        )
    return Rules(tuple(Place(key=f"p{n}", name=f"p{n}", group="reel") for n in range(PLACES)), tuple(steps))


def run(rules: Rules) -> tuple[float, float]:
    start = perf_counter()
    steps = least_work(rules, frozenset({f"p{PLACES - 1}", f"p{PLACES - 10}"}), frozenset())
    return perf_counter() - start, sum(step.minutes for step in steps)


def one_circle(ways: list[choices.Way]) -> dict[str, int]:
    return {place: 1 for way in ways for place in way.after | way.frees}


def main() -> None:
    least_work(reel(0), frozenset({"p5"}), frozenset())
    fast = slow = 0.0
    for seed in range(REELS):
        rules = reel(seed)
        took, minutes = run(rules)
        with patch.object(choices, "_parts", one_circle):
            took_whole, minutes_whole = run(rules)
        assert abs(minutes - minutes_whole) < 1e-6
        fast, slow = fast + took, slow + took_whole
    print(f"{REELS} reels of {PLACES} places, two ways at each: {fast / slow:.2f} of the time with a turn each")


if __name__ == "__main__":
    main()
