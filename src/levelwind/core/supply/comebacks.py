"""Whether some reels came back oftener than the others, or only as chance deals them."""

from math import comb

from levelwind.core.errors import InputError


def by_chance(back: int, of: int, all_back: int, all_of: int) -> float:
    """The chance that of ``all_back`` among ``all_of``, dealt out blindly, ``back`` or more fall among ``of``.

    Fisher's exact test on one side (R. A. Fisher, The Design of Experiments, 1935, from memory): the upper tail of the
    hypergeometric distribution.

    >>> by_chance(3, 4, 4, 8)
    0.2429
    """
    if not (0 <= back <= of <= all_of and back <= all_back <= all_of):
        raise InputError(
            "reels that came back", f"{back} of {of}, in all {all_back} of {all_of}", "a share of all that went home"
        )
    most = min(of, all_back)
    ways = sum(comb(all_back, n) * comb(all_of - all_back, of - n) for n in range(back, most + 1))
    return ways / comb(all_of, of)
