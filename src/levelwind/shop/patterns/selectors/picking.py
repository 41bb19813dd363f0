"""Picking a pattern: from all of a small book, and from a large one by words."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from levelwind.shop.models import Pattern
from levelwind.shop.patterns.selectors.patterns import with_words

FEW = 60
"""As many patterns are offered in one list; of more, those asked for by a word. Our choice: two screens of a phone."""
MOST_FOUND = 12
"""Patterns shown for a word; our choice, for a phone's screen."""


@dataclass(frozen=True, slots=True)
class Offered:
    """Which patterns may be picked: of one ``family`` where one is named, without those ``besides``.

    Those still offered, or the retired ones too but for such as are one with another.
    """

    family: str = ""
    besides: tuple[int, ...] = ()
    retired_too: bool = False

    @property
    def rows(self) -> QuerySet[Pattern]:
        of = Q(family=self.family) if self.family else Q()
        there = Q(merged_into=None) if self.retired_too else Q(retired_on=None)
        return Pattern.objects.filter(of, there).exclude(pk__in=self.besides)

    def found(self, words: str, *, besides: Iterable[int] = ()) -> tuple[Pattern, ...]:
        """Those that have every word in maker, model, size, note or years, one more than are shown at most."""
        rows = with_words(self.rows.exclude(pk__in=[pk for pk in besides if pk]), words)
        return tuple(rows.order_by("maker", "model", "size", "pk")[: MOST_FOUND + 1]) if words.strip() else ()


@dataclass(frozen=True, slots=True)
class Picking:
    """What may be picked; ``known`` are all of it where the book is small (``whole``), else what was picked so far."""

    offered: Offered
    known: Mapping[int, Pattern]
    whole: bool

    def get(self, text: str) -> Pattern | None:
        """The pattern of this key, if it may be picked."""
        if not text.isdecimal() or len(text) > 12:
            return None
        found = self.known.get(int(text))
        return found or (None if self.whole else self.offered.rows.filter(pk=int(text)).first())


def picking(offered: Offered | None = None, picked: Collection[int | None] = ()) -> Picking:
    """What a page offers, with what was ``picked`` there already, be that retired: two questions at most."""
    offered = offered or Offered()
    first = list(offered.rows.order_by("maker", "model", "size", "pk")[: FEW + 1])
    whole = len(first) <= FEW
    known = {pattern.pk: pattern for pattern in first} if whole else {}
    missing = {pk for pk in picked if pk} - known.keys()
    if missing:
        known |= {pattern.pk: pattern for pattern in Pattern.objects.filter(pk__in=missing)}
    return Picking(offered, known, whole)
