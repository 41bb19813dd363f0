"""Small reels to take apart: by hand, and at random."""

from heapq import heappop, heappush
from itertools import combinations

from hypothesis import strategies as st

from levelwind.core.takedown import Place, Rules, Step


def place(key, group="reel", **more):
    return Place(key=key, name=key.replace("_", " "), group=group, **more)


def step(frees, minutes=1.0, after="", after_any=(), key=None, **more):
    """A step from keys parted by spaces."""
    frees = tuple(frees.split())
    return Step(
        key=key or "free_" + "_".join(frees),
        do="Do it.",
        frees=frees,
        minutes=minutes,
        after=frozenset(after.split()),
        after_any=tuple(frozenset(way.split()) for way in after_any),
        **more,
    )


def reel(*steps, **groups):
    """Rules whose places are all that the steps speak of, in the order they are spoken of."""
    spoken = [key for s in steps for key in (*s.frees, *sorted(frozenset().union(*s.ways())))]
    return Rules(tuple(place(key, groups.get(key, "reel")) for key in dict.fromkeys(spoken)), steps)


@st.composite
def reels(draw, most_places=6, most_steps=8):
    """Rules of every sort: circles, places nothing frees, several ways to one place, steps at no cost."""
    keys = [f"p{number}" for number in range(draw(st.integers(1, most_places)))]
    some = st.lists(st.sampled_from(keys), max_size=2).map(frozenset)
    steps = [
        Step(
            key=f"s{number}",
            do="Do it.",
            frees=tuple(draw(st.lists(st.sampled_from(keys), min_size=1, max_size=2, unique=True))),
            minutes=draw(st.integers(0, 40)) / 10,
            after=draw(some),
            after_any=tuple(draw(st.lists(some, max_size=3))),
        )
        for number in range(draw(st.integers(1, most_steps)))
    ]
    places = tuple(Place(key=key, name=key, group=f"g{int(key[1:]) % 2}") for key in keys)
    return Rules(places, tuple(steps))


def reached_by(steps, off):
    """All that comes off when these steps are done as soon as they can be: written anew, not borrowed from core."""
    off = set(off)
    for _ in steps:
        for s in steps:
            sets = s.after_any or (frozenset(),)
            if all(key in off for key in s.after) and any(all(key in off for key in way) for way in sets):
                off.update(s.frees)
    return off


def cheapest_by_trying_all(rules, wanted, off):
    """(minutes, number of steps) of the best set among all sets of steps; None if no set reaches what is wanted."""
    sets = (chosen for size in range(len(rules.steps) + 1) for chosen in combinations(rules.steps, size))
    good = [chosen for chosen in sets if wanted <= reached_by(chosen, off)]
    if not good:
        return None
    return min((round(sum(s.minutes for s in chosen), 9), len(chosen)) for chosen in good)


def cheapest_by_uniform_cost(rules, wanted):
    """Minutes of the best takedown by trying every state of the reel, cheapest first: for some fifteen places."""
    queue, settled = [(0.0, ())], set()
    while queue:
        minutes, off = heappop(queue)
        if wanted <= set(off):
            return minutes
        if off in settled:
            continue
        settled.add(off)
        for s in rules.steps:
            after = tuple(sorted(reached_by((s,), off)))
            if after != off:
                heappush(queue, (minutes + s.minutes, after))
    return None
