"""How likely each kind is before any look: its family by the trade's mix and the shop's, a pattern by the book's."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from levelwind.core.naming.compute.columns import Kinds
from levelwind.core.naming.model import NONE, Kind

MIX_WORTH = 20.0
"""The shop's own reels shift how often a family comes in as much as this many would, however many it had; our
choice."""
NONE_OF_THESE = 0.08
"""Chance, before any look, that a reel is of no family there is; a judgement."""
LIKE_NOTHING = 0.2
"""Share of those that are not like a family even in part; found on made-up reels, docs/physics/naming.md."""
MOST_IN_BOOK = 0.5
"""Chance, with a full book, that a reel nobody knows is in it all the same: what comes in often is known by sight. A
judgement."""
OTHER_SIZE = 0.5
"""For each reel of a pattern that nobody knows, this many of another size of it come in that the book lacks; a
judgement."""
OTHER_NAME = 0.4
"""For each reel of a pattern that nobody knows, this many of the same make under another name come in; a judgement."""


def family_chances(common: Mapping[str, float], counts: Mapping[str, int]) -> dict[str, float]:
    """How likely each family is: ``common`` practice, with the shop's own ``counts`` of reels as a mild part of it.

    >>> family_chances({"star": 0.75, "fly": 0.25}, {"fly": 200})
    {'star': 0.375, 'fly': 0.625}
    """
    whole = sum(counts.values())
    worth = min(MIX_WORTH, whole) / max(whole, 1)
    mixed = {family: MIX_WORTH * share + worth * counts.get(family, 0) for family, share in common.items()}
    total = sum(mixed.values())
    return {family: each / total for family, each in mixed.items()}


def all_kinds(chances: Mapping[str, float], patterns: Iterable[Kind]) -> Kinds:
    """All that a reel may be, each with its weight: every pattern of the book, its kin, a reel of each family that is
    not in the book, and none of these: what is like nothing, and for each family what is like it in part only.

    A pattern's kin are not in the book: another size of it, which bears the same texts but for a number, and the same
    reel under another name, which has the same sizes. Patterns of a family are alike before any look. The more of them
    there are, the likelier is the reel one of them: MOST_IN_BOOK · n / (n + 1).

    >>> kinds = all_kinds({"fly": 1.0}, [Kind("7", "fly", 1.0, in_book=True)])
    >>> {kind.key: round(kind.weight, 3) for kind in kinds[:3]}, {kind.key: kind.weight for kind in kinds[3:]}
    ({'': 0.016, 'none, like fly': 0.064, 'fly': 0.483}, {'7': 0.23, '7, other size': 0.115, '7, other name': 0.092})
    """
    of: dict[str, list[Kind]] = {family: [] for family in chances}
    for pattern in patterns:
        of[pattern.family].append(pattern)
    kinds = [Kind(NONE, NONE, NONE_OF_THESE * LIKE_NOTHING)]
    for family, chance in chances.items():
        kinds.append(Kind(f"none, like {family}", NONE, NONE_OF_THESE * (1 - LIKE_NOTHING) * chance, like=family))
    for family, chance in chances.items():
        count, whole = len(of[family]), (1 - NONE_OF_THESE) * chance
        in_book = MOST_IN_BOOK * count / (count + 1)
        kinds.append(Kind(family, family, whole * (1 - in_book * (1 + OTHER_SIZE + OTHER_NAME))))
        for pattern in of[family]:
            known = replace(pattern, weight=whole * in_book / count)
            kinds += [known, *_kin(known)]
    return Kinds(kinds)


def _kin(known: Kind) -> tuple[Kind, Kind]:
    other_size = Kind(
        f"{known.key}, other size",
        known.family,
        known.weight * OTHER_SIZE,
        marks=known.marks,
        other_size=True,
    )
    other_name = Kind(f"{known.key}, other name", known.family, known.weight * OTHER_NAME, sizes_mm=known.sizes_mm)
    return other_size, other_name
