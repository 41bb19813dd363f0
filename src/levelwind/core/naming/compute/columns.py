"""What is asked of all kinds at once, in columns, made once: a book has thousands of patterns.

Kinds of one family that bear no sign of their own show the same at a look. What they show is told for them together.
"""

from collections.abc import Iterable
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from levelwind.core.naming.compute.marks import Text, letters
from levelwind.core.naming.model import Kind

Array = NDArray[np.float64]
Places = NDArray[np.intp]


class Kinds(tuple[Kind, ...]):
    """The kinds in their order, each with its place."""

    @cached_property
    def weights(self) -> Array:
        return np.array([kind.weight for kind in self], float)

    @cached_property
    def in_book(self) -> NDArray[np.bool_]:
        return np.array([kind.in_book for kind in self], bool)

    @cached_property
    def groups(self) -> tuple[tuple[str, str], ...]:
        """Each family, with the one that it is like in part, once."""
        return tuple(dict.fromkeys((kind.family, kind.like) for kind in self))

    @cached_property
    def group(self) -> Places:
        """For each kind the place of its group."""
        places = {group: place for place, group in enumerate(self.groups)}
        return np.array([places[kind.family, kind.like] for kind in self], np.intp)

    @cached_property
    def signed(self) -> dict[str, list[int]]:
        """By look: the kinds that bear a sign of their own there."""
        found: dict[str, list[int]] = {}
        for place, kind in enumerate(self):
            for look in dict.fromkeys(sign.look for sign in kind.signs):
                found.setdefault(look, []).append(place)
        return found

    @cached_property
    def sizes_mm(self) -> dict[str, Array]:
        """By dimension: each kind's, nan where the book has none."""
        named = dict.fromkeys(name for kind in self for name in kind.sizes_mm)
        return {name: np.array([kind.sizes_mm.get(name, np.nan) for kind in self], float) for name in named}

    def size_mm(self, name: str) -> Array:
        return self.sizes_mm.get(name, np.full(len(self), np.nan))

    @cached_property
    def texts(self) -> tuple[Text, ...]:
        """Each text that a kind bears, once: its letters, and whether with the number that stands in it."""
        return tuple(dict.fromkeys(text for _, text in self._borne))

    @cached_property
    def bears(self) -> tuple[Places, Places]:
        """The kinds that bear texts, and which: a pair for each text of each kind."""
        number = {text: place for place, text in enumerate(self.texts)}
        pairs = [(place, number[text]) for place, text in self._borne]
        kinds, texts = np.array(pairs, np.intp).reshape(-1, 2).T
        return kinds, texts

    @cached_property
    def texts_of_book(self) -> Places:
        """The places of the texts that stand on reels of the book."""
        kinds, texts = self.bears
        return np.unique(texts[self.in_book[kinds]])

    @cached_property
    def marked(self) -> Places:
        """For each kind the place of its marks among all there are, -1 where it has none."""
        known: dict[tuple[str, ...], int] = {}
        return np.array([known.setdefault(kind.marks, len(known)) if kind.marks else -1 for kind in self], np.intp)

    @cached_property
    def _borne(self) -> list[tuple[int, Text]]:
        spelled = {text: letters(text) for text in {text for kind in self for text in kind.marks}}
        return [(n, (spelled[text], not kind.other_size)) for n, kind in enumerate(self) for text in kind.marks]


def in_columns(kinds: Iterable[Kind]) -> Kinds:
    """The same, told already where they were before."""
    return kinds if isinstance(kinds, Kinds) else Kinds(kinds)
