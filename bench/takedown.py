"""Time of a takedown with a choice at every step, against HiGHS on the whole of it, and what is told without a proof.

150 places, each by one of two ways. The answer is the same, exact with its proof; a ratio within one run. Then eight
ways at each place: an answer, or how far from the least it may be at most, within ten seconds.
"""

import random
from time import perf_counter
from unittest.mock import patch

from levelwind.core.takedown import Takedown, choices, programme, reach
from levelwind.core.takedown.least_work import _settled
from levelwind.core.takedown.model import Place, Rules, Step

PLACES, REELS = 150, 2
HARD = ((12, 8, (1, 2)), (150, 8, (1, 2)), (150, 8, (2, 3)), (20, 8, (2, 3)))
"""How far rules reach back, ways at each place, places before each way."""


def reel(seed: int, reach_back: int = 12, ways: int = 2, before_each: tuple[int, ...] = (1, 1, 2)) -> Rules:
    """Each place comes off by one of some ways, each after some of the places before it."""
    dice = random.Random(seed)
    steps = []
    for n in range(PLACES):
        before = [f"p{k}" for k in range(max(0, n - reach_back), n)]
        sizes = [min(dice.choice(before_each), len(before)) for _ in range(ways)]
        after = [frozenset(dice.sample(before, size)) for size in sizes] if n > 1 else []
        steps.append(
            Step(key=f"s{n}", do="Do it.", frees=(f"p{n}",), minutes=dice.randint(1, 30) / 10, after_any=tuple(after))
        )
    return Rules(tuple(Place(key=f"p{n}", name=f"p{n}", group="reel") for n in range(PLACES)), tuple(steps))


def run(rules: Rules) -> tuple[float, Takedown]:
    _settled.cache_clear()
    start = perf_counter()
    way = reach(rules, [f"p{PLACES - 1}", f"p{PLACES - 10}"])
    return perf_counter() - start, way


def main() -> None:
    fast = slow = 0.0
    for seed in range(REELS):
        rules = reel(seed)
        took, way = run(rules)
        with patch.object(choices, "order_without_circle", lambda _: None), patch.object(programme, "SECONDS", 300.0):
            took_whole, whole = run(rules)
        assert way.proven and whole.proven and abs(way.minutes - whole.minutes) < 1e-6
        fast, slow = fast + took, slow + took_whole
    print(f"{REELS} reels of {PLACES} places, two ways at each: {fast:.2f} s, {fast / slow:.4f} of HiGHS on the whole")
    for reach_back, ways, before_each in HARD:
        took, way = run(reel(1, reach_back, ways, before_each))
        assert took < 10
        told = "proven" if way.proven else f"at most {way.gap_min:.1f} min from the least"
        which = f"{ways} ways at each, after {before_each} of {reach_back} places"
        print(f"{which}: {took:.2f} s, {way.minutes:.1f} min, {told}")


if __name__ == "__main__":
    main()
