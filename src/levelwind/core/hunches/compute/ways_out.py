"""Mend it, part it out, or send it back: the shop's expected money each way."""

from dataclasses import dataclass, fields

from levelwind.core.errors import InputError
from levelwind.core.writing import written


@dataclass(frozen=True, slots=True)
class Stake:
    """What hangs on one reel, in the shop's money, counted from now: what is spent already is spent either way.

    ``price`` the owner pays when it is mended; ``mend`` what that costs in parts and minutes; ``fails`` the chance that
    it turns out to be past mending, ``wasted`` what is spent until that shows; ``comes_back`` the chance of a comeback
    and ``comeback`` its cost. ``spares`` is what its parts are worth in the bone box, ``strip`` what stripping it
    costs, ``buy`` what the owner wants for it dead. ``look_fee`` is what the owner pays for having it looked at, and
    ``post_back`` the postage home that the shop bears when it goes back unmended.
    """

    price: float
    mend: float
    fails: float = 0.0
    wasted: float = 0.0
    comes_back: float = 0.0
    comeback: float = 0.0
    spares: float = 0.0
    strip: float = 0.0
    buy: float = 0.0
    look_fee: float = 0.0
    post_back: float = 0.0

    def __post_init__(self) -> None:
        for entry in fields(self):
            value, most = getattr(self, entry.name), 1.0 if entry.name in ("fails", "comes_back") else 1e9
            if not 0 <= value <= most:
                raise InputError(entry.name.replace("_", " "), value, f"0 to {written(most)}")


@dataclass(frozen=True, slots=True)
class WayOut:
    """One way with its expected money for the shop; ``way`` is "mend", "part out" or "send back"."""

    way: str
    money: float


def ways_out(stake: Stake) -> tuple[WayOut, ...]:
    """The three ways, best first.

    mend = (1 − fails) · (price − mend − comes_back · comeback) − fails · (wasted + post_back)
    part out = spares − strip − buy
    send back = look_fee − post_back

    >>> best = ways_out(Stake(price=90, mend=55, fails=0.1, wasted=20, spares=30, strip=12, buy=5, look_fee=15))[0]
    >>> best.way, round(best.money, 2)
    ('mend', 29.5)
    """
    s = stake
    mended = (1 - s.fails) * (s.price - s.mend - s.comes_back * s.comeback) - s.fails * (s.wasted + s.post_back)
    ways = (
        WayOut("mend", mended),
        WayOut("part out", s.spares - s.strip - s.buy),
        WayOut("send back", s.look_fee - s.post_back),
    )
    return tuple(sorted(ways, key=lambda way: -way.money))
