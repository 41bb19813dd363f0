"""How often an unknown reel is what its chances say, on made-up reels that know nothing of the program's tables."""

from collections import defaultdict
from collections.abc import Callable, Iterator

import numpy as np
import pytest

from levelwind.core.naming import MARKS, NONE, Key, Naming, Sights, all_kinds, name_reel, next_looks
from levelwind.reference.unknown_reels import commonness, looks_at_unknown
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations.strange_reels import a_strange_mix, as_seen
from tests.simulations.unknown_patterns import Found, a_book, a_found_reel, as_kind
from tests.simulations.unknown_reels import MadeReel, a_reel

HOLD_OUT, HOLD_OUT_BOOKS, STRANGE, STRANGE_BOOKS = 20_261_201, 20_261_202, 20_261_203, 20_261_204
"""Nothing was set on their reels: what is in the program was set on seed 11 (docs/physics/naming.md)."""
REELS, BOOKS, REELS_OF_A_BOOK = cases(12, 500), cases(1, 25), cases(4, 8)
FAMILIES = Key(looks_at_unknown(), all_kinds(commonness(), ()))


def looked_at(key: Key, answer: Callable[[Sights, str], Sights]) -> Iterator[tuple[int, Naming]]:
    """After 4, 8 and 12 looks, each the one the program asks for next; fewer where it asks for no more."""
    sights = Sights()
    for number in range(1, 13):
        if left := next_looks(key, sights):
            sights = answer(sights, left[0].key)
        if number in (4, 8, 12):
            yield number, name_reel(key, sights)


def of_made(reel: MadeReel) -> Callable[[Sights, str], Sights]:
    return lambda sights, look: Sights({**sights.answers, look: reel.answered[look]})


def of_found(reel: Found) -> Callable[[Sights, str], Sights]:
    def answer(sights: Sights, look: str) -> Sights:
        if look in reel.answered:
            return Sights({**sights.answers, look: reel.answered[look]}, sights.sizes_mm, sights.marks, sights.in_vain)
        if look == MARKS and reel.marks:
            return Sights(sights.answers, sights.sizes_mm, reel.marks, sights.in_vain)
        if look in reel.sizes_mm:
            sizes = {**sights.sizes_mm, look: reel.sizes_mm[look]}
            return Sights(sights.answers, sizes, sights.marks, sights.in_vain)
        return Sights(sights.answers, sights.sizes_mm, sights.marks, sights.in_vain | {look})

    return answer


def in_short(naming: Naming) -> dict[str, float]:
    """Each pattern of the book, and for each family what is not in the book, added up."""
    chances: dict[str, float] = defaultdict(float)
    for named in naming.ranked:
        chances[named.kind.key if named.kind.in_book else named.kind.family] += named.probability
    return chances


def as_sure_as_right(said: list[tuple[float, bool]]) -> bool:
    """Whether the mean chance of what was likeliest lies within four standard errors of how often it was so, and five
    hundredths: made-up reels are no truth to a hundredth."""
    chance, right = np.array(said).T
    error = np.sqrt((chance * (1 - chance)).sum()) / len(chance)
    return bool(abs(chance.mean() - right.mean()) < 0.05 + 4 * error)


def tell(figure: Figure, what: str, said: list[tuple[float, bool]]) -> None:
    chance, right = np.array(said).T
    figure(f"{what}: likeliest is right", len(said), f"{right.mean():.1%}", f"{chance.mean():.1%} as said")
    for low, high in ((0.0, 0.6), (0.6, 0.9), (0.9, 1.01)):
        there = (chance >= low) & (chance < high)
        if there.any():
            name = f"{what}: said {low:.0%} to {min(high, 1):.0%}"
            figure(name, int(there.sum()), f"{right[there].mean():.1%}", f"{chance[there].mean():.1%} as said")


@pytest.mark.sampled
def test_a_family_is_as_likely_as_it_is_said_to_be(figure: Figure) -> None:
    said: dict[int, list[tuple[float, bool]]] = defaultdict(list)
    odd: list[float] = []
    for number in range(REELS):
        reel = a_reel(np.random.default_rng([HOLD_OUT, number]))
        for looks, naming in looked_at(FAMILIES, of_made(reel)):
            family, chance = next(iter(naming.families.items()))
            said[looks].append((chance, family == reel.family))
        odd += [naming.none] if reel.family == NONE else []
    for looks, each in said.items():
        tell(figure, f"family after {looks} looks", each)
        assert as_sure_as_right(each), looks
    if odd:
        figure("reels of no family: mean chance of none of these", len(odd), f"{np.mean(odd):.0%}", "5 % at the start")


@pytest.mark.sampled
def test_a_pattern_is_as_likely_as_it_is_said_to_be(figure: Figure) -> None:
    said: dict[int, list[tuple[float, bool]]] = defaultdict(list)
    in_book: list[tuple[float, bool]] = []
    for number in range(BOOKS):
        dice = np.random.default_rng([HOLD_OUT_BOOKS, number])
        book = a_book(dice)
        kinds = [as_kind(made, str(place)) for place, made in enumerate(book)]
        key = Key(looks_at_unknown(), all_kinds(commonness(), kinds))
        for _ in range(REELS_OF_A_BOOK):
            reel = a_found_reel(dice, book)
            for looks, naming in looked_at(key, of_found(reel)):
                likeliest, chance = max(in_short(naming).items(), key=lambda item: item[1])
                said[looks].append((chance, likeliest == reel.key))
            in_book += [(named.probability, named.kind.key == reel.key) for named in naming.in_book[:1]]
    for looks, each in said.items():
        tell(figure, f"pattern, or not in the book, after {looks} looks", each)
        assert as_sure_as_right(each), looks
    tell(figure, "likeliest pattern of the book after 12 looks", in_book)
    assert as_sure_as_right(in_book)


@pytest.mark.sampled
def test_none_of_these_is_as_likely_as_it_is_said_to_be(figure: Figure) -> None:
    """Odd things, people and shops of which nothing in the program knows: whole, and among the likely and unlikely."""
    said: list[tuple[float, bool]] = []
    family: list[tuple[float, bool]] = []
    for number in range(REELS):
        reel = a_strange_mix(np.random.default_rng([STRANGE, number]))
        *_, (_, naming) = looked_at(FAMILIES, of_made(reel))
        likeliest, chance = next(iter(naming.families.items()))
        said.append((naming.none, reel.family == NONE))
        family.append((chance, likeliest == reel.family))
    tell(figure, "other odd reels and eyes, family after 12 looks", family)
    assert as_sure_as_right(family) and as_sure_as_right(said)
    for low, high in ((0.0, 0.05), (0.05, 0.2), (0.2, 1.01)):
        if there := [each for each in said if low <= each[0] < high]:
            chance, right = np.array(there).T
            name = f"none of these, said {low:.0%} to {min(high, 1):.0%}"
            figure(name, len(there), f"{right.mean():.1%}", f"{chance.mean():.1%} as said")
            assert as_sure_as_right(there), name


@pytest.mark.sampled
def test_not_in_the_book_is_as_likely_as_it_is_said_to_be(figure: Figure) -> None:
    said: list[tuple[float, bool]] = []
    for number in range(BOOKS):
        dice = np.random.default_rng([STRANGE_BOOKS, number])
        book = a_book(dice)
        key = Key(
            looks_at_unknown(), all_kinds(commonness(), [as_kind(made, str(place)) for place, made in enumerate(book)])
        )
        for _ in range(REELS_OF_A_BOOK):
            reel = a_found_reel(dice, book, as_seen)
            *_, (_, naming) = looked_at(key, of_found(reel))
            said.append((naming.not_in_book, not reel.key.isdigit()))
    tell(figure, "not in the book, other eyes", said)
    assert as_sure_as_right(said)
    for low, high in ((0.0, 0.3), (0.3, 0.9), (0.9, 1.01)):
        if there := [each for each in said if low <= each[0] < high]:
            assert as_sure_as_right(there), low
