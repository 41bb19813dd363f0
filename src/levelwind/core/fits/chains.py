"""What serves a place though nobody said so: the strongest chain of statements about other places and other parts.

A chain is worth the product of its statements, less a share for each link. Statements go one way only; one that is
denied by another is no link of any chain.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import count

from levelwind.core.fits.model import refuse_unsure

Slot = tuple[int, str]
"""A place of a pattern: which pattern, and the key of the place in it."""

LINK_SHARE = 0.9
"""What is left of a chain's worth for each link behind its first: something nobody wrote down may be otherwise. Our
choice."""

SWAP_SHARE = 0.6
"""What is left where two parts are taken to do for one another because both serve one place: our choice."""

MOST_LINKS = 4
"""Statements in a chain: a longer one tells nothing. Our choice."""


@dataclass(frozen=True, slots=True)
class Serves:
    """A part serves a slot, or, with ``serves`` false, does not; ``sure`` from 0 to 1."""

    part: int
    slot: Slot
    sure: float
    serves: bool = True

    def __post_init__(self) -> None:
        refuse_unsure(self.sure)


@dataclass(frozen=True, slots=True)
class Alike:
    """What serves ``there`` serves ``here``: one number of the maker's, or a pattern made as another (``why``)."""

    here: Slot
    there: Slot
    sure: float
    why: str = ""

    def __post_init__(self) -> None:
        refuse_unsure(self.sure)


@dataclass(frozen=True, slots=True)
class Instead:
    """A part serves wherever the part ``of`` does. It says nothing of the way back."""

    part: int
    of: int
    sure: float

    def __post_init__(self) -> None:
        refuse_unsure(self.sure)


Link = Serves | Alike | Instead


@dataclass(frozen=True, slots=True)
class Chain:
    """Why a part serves a slot, or does not: links from the slot to the part, and what they are worth together."""

    part: int
    slot: Slot
    sure: float
    links: tuple[Link, ...]

    @property
    def swaps(self) -> bool:
        """Whether it rests on two parts that serve one place."""
        return sum(isinstance(link, Serves) for link in self.links) > 1


@dataclass(slots=True)
class Book:
    """What is said, looked up from every side."""

    at: dict[Slot, list[Serves]] = field(default_factory=dict)
    by_part: dict[int, list[Serves]] = field(default_factory=dict)
    alike: dict[Slot, list[Alike]] = field(default_factory=dict)
    instead: dict[int, list[Instead]] = field(default_factory=dict)
    denied: dict[Slot, list[Serves]] = field(default_factory=dict)
    _swaps: dict[int, "tuple[Onward, ...]"] = field(default_factory=dict, init=False, repr=False, compare=False)

    def swaps(self, part: int) -> "tuple[Onward, ...]":
        """The parts that serve where this one does, each by the place that tells most for it: told once a book."""
        if part not in self._swaps:
            best: dict[int, Onward] = {}
            for mine in self.by_part.get(part, ()):
                for theirs in self.at[mine.slot]:
                    worth = SWAP_SHARE * LINK_SHARE * mine.sure * theirs.sure
                    if theirs.part != part and (theirs.part not in best or worth > best[theirs.part][1]):
                        best.pop(theirs.part, None)  # in the order in which the best were met
                        best[theirs.part] = ((mine, theirs), worth, theirs.part)
            self._swaps[part] = tuple(best.values())
        return self._swaps[part]

    @classmethod
    def of(cls, serves: Iterable[Serves], alike: Iterable[Alike], instead: Iterable[Instead]) -> "Book":
        book, said = cls(), list(serves)
        against = {(each.part, each.slot) for each in said if not each.serves}
        for each in said:
            if not each.serves:
                book.denied.setdefault(each.slot, []).append(each)
            elif (each.part, each.slot) not in against:
                book.at.setdefault(each.slot, []).append(each)
                book.by_part.setdefault(each.part, []).append(each)
        for same in alike:
            book.alike.setdefault(same.here, []).append(same)
        for other in instead:
            book.instead.setdefault(other.of, []).append(other)
        return book


def inferred(book: Book, slot: Slot, most: int | None = None, *, swaps: bool = True) -> tuple[Chain, ...]:
    """The best chain of two links or more for every part that has one, the surest first; of so many parts at ``most``.

    Without ``swaps``: the best that rests on no two parts which serve one place.

    The Skerry's ring 1 serves its cap; the maker gives the cap of pattern 2 the same number; 7 replaces 1:

    >>> cap, other = (1, "cap"), (2, "cap")
    >>> book = Book.of([Serves(1, cap, 0.9)], [Alike(other, cap, 0.95)], [Instead(7, 1, 0.9)])
    >>> [(chain.part, round(chain.sure, 3)) for chain in inferred(book, other)]
    [(1, 0.769), (7, 0.623)]
    """
    told = {each.part for each in book.at.get(slot, ())}
    best: dict[int, Chain] = {}
    reached: dict[tuple[int | Slot, bool], float] = {(slot, not swaps): -1.0}
    order = count()
    waiting: list[tuple[float, int, int | Slot, bool, tuple[Link, ...]]] = [(-1.0, next(order), slot, not swaps, ())]
    while waiting:
        worth, _, node, swapped, links = heappop(waiting)
        if worth > reached[node, swapped]:
            continue
        if isinstance(node, int) and len(links) > 1 and node not in told and node not in best:
            best[node] = Chain(node, slot, -worth, links)
            if len(best) == most:
                break
        for link, share, to in _onward(book, node, swapped):
            step, there = worth * share * (LINK_SHARE if links else 1.0), (to, swapped or len(link) > 1)
            if len(links) + len(link) <= MOST_LINKS and step < reached.get(there, 0.0):
                reached[there] = step
                heappush(waiting, (step, next(order), *there, (*links, *link)))
    return tuple(best.values())


def denied(book: Book, slot: Slot) -> tuple[Chain, ...]:
    """Who is said not to serve, here or in a slot that takes the same, the surest first."""
    found = [Chain(each.part, slot, each.sure, (each,)) for each in book.denied.get(slot, ())]
    for same in book.alike.get(slot, ()):
        found += [
            Chain(each.part, slot, same.sure * each.sure * LINK_SHARE, (same, each))
            for each in book.denied.get(same.there, ())
        ]
    return tuple(sorted(found, key=lambda chain: -chain.sure))


Onward = tuple[tuple[Link, ...], float, int | Slot]
"""Links, what they are worth, and where they lead."""


def _onward(book: Book, node: int | Slot, swapped: bool) -> Iterable[Onward]:
    if not isinstance(node, int):
        for each in book.at.get(node, ()):
            yield (each,), each.sure, each.part
        for same in book.alike.get(node, ()):
            yield (same,), same.sure, same.there
        return
    for other in book.instead.get(node, ()):
        yield (other,), other.sure, other.part
    if not swapped:
        yield from book.swaps(node)
