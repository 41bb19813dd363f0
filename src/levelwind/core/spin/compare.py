"""Two spins like for like: as found against as left, from one common speed.

A spool flicked harder runs longer and loses a larger part to air, with nothing changed on it. So both are told from
the lower of the two first speeds, through the laws that each recording allows (``LawDraws``): the time from there to
rest, and the shares of the energy lost from there to the higher of the two last speeds.
"""

from dataclasses import dataclass, replace

import numpy as np

from levelwind.core.changes import Change, Verdict, change
from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import FloatArray
from levelwind.core.notes import Note, plain
from levelwind.core.quantities import Quantity, shown_parts, with_decimals
from levelwind.core.spin.law_draws import LawDraws
from levelwind.core.spin.model import LOSS_NAMES, Shares, Spin, SpinResult
from levelwind.core.spin.shares import central_interval, highest_density_interval, settled_early

LOSS_KEYS = ("dry", "oil", "air")
"""As JSON calls the losses."""
LOSSES = tuple(zip(LOSS_NAMES, LOSS_KEYS, strict=True))
REPEATS_TIME, REPEATS_SHARE = 0.02, 0.04
"""Part of a time, and parts of the whole loss, by which two spins of one unchanged spool lie apart, nine times in ten,
beyond the interval of either. Shares of 86 published coast-downs of a wheel and a drum repeat within 0.03 to 0.04; a
time's is our choice: docs/physics/compare.md."""
LEAST_FALL = 0.8
"""Part of the common first speed to which both must have been followed at the least: over less the losses look alike.
Our choice."""
ALIKE = 1.02
"""Ratio of first speeds up to which two flicks are not told apart. Our choice."""
MOST_AHEAD = 10.0
"""Times what was told up to which a draw's stop counts: beyond, it is only far later. Our choice."""
GOLDEN = (5**0.5 - 1) / 2
"""The golden section: its multiples, whole parts left off, leave no gap and make no heap."""
STANDARD_REV_S = (2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0)
"""First speeds from which the time to rest is worked out beforehand, where many reels are set beside one another. Our
choice."""
FLICKS = 1.5
"""Ratio in which the first speeds of two flicks by one hand lie, nine times in ten, where no recording tells them. Our
choice, no source."""


@dataclass(frozen=True, slots=True)
class Rest:
    """How long a spool takes from one speed to rest."""

    from_rev_s: float
    time_s: Quantity


@dataclass(frozen=True, slots=True)
class SpinsCompared(Verdict):
    """What the work did to a spool. Speeds in rev/s, None where two were timed by hand."""

    from_rev_s: float | None = None
    to_rev_s: float | None = None
    to_rest: bool = True
    """Whether the times are those to rest; else they end at ``to_rev_s``."""

    def shown(self) -> dict[str, object]:
        """The one JSON shape: `levelwind compare --json`."""
        return {
            "kind": "compare",
            "status": "ok",
            "of": "spin",
            "from_rev_s": self.from_rev_s,
            "to_rev_s": self.to_rev_s,
            "spin_time_s": self.change("spin_time_s"),
            "energy_share": self._shares or None,
            "cautions": self.cautions,
        }

    @property
    def rests(self) -> tuple[Quantity | None, Quantity | None]:
        """Seconds from the common speed to rest, as found and as left; None where one does not tell it."""
        time = self.change("spin_time_s") if self.to_rest else None
        return (time.found, time.left) if time else (None, None)

    @property
    def _shares(self) -> dict[str, Change]:
        """As parts of one."""
        return {key: each.scaled("", 0.01) for key in LOSS_KEYS if (each := self.change(key))}

    @property
    def shares(self) -> dict[str, Shares]:
        """By moment, "found" and "left", over the speeds in common; empty where they are not told."""
        parts = self._shares.values()
        both = {"found": [each.found for each in parts], "left": [each.left for each in parts]}
        return {moment: Shares(*each) for moment, each in both.items() if each}


def compare(found: SpinResult, left: SpinResult) -> SpinsCompared:
    """As found against as left, from one common speed, as far as both recordings bear it.

    Raises NotDeterminedError, in a sentence, where they have nothing in common.

    >>> from levelwind.core.spin import typed
    >>> compare(typed(11.0), typed(34.0)).words()
    'free spin 11.0 to 34.0 s: up by 23 s (11 to 35), real'
    """
    before, after = found.longest, left.longest
    cautions = (*_borne(found, before, "as found"), *_borne(left, after, "as left"))
    if before.draws and after.draws:
        return _by_laws(before, after, cautions)
    if before.speed or after.speed:
        raise NotDeterminedError(_why_not(found, left))
    return _by_hand(before, after, cautions)


def rests(spin: Spin) -> tuple[Rest, ...]:
    """From each standard speed that it was flicked at or above; none where the recording tells no law or no stop."""
    if not (spin.draws and spin.spin_time_s and spin.initial_rev_s):
        return ()
    reached = (speed for speed in STANDARD_REV_S if speed <= spin.initial_rev_s.value)
    return tuple(Rest(speed, _to_rest(spin, speed)) for speed in reached)


def _why_not(found: SpinResult, left: SpinResult) -> Note:
    """Why two spins of which one at least was recorded cannot be told from one speed."""
    both = (("as found", found.longest), ("as left", left.longest))
    by_hand = "timed by hand {moment}, no watch tells from what speed: it is compared only with another time by hand"
    older = "{moment} it was read by an earlier version, which kept no law to tell it from another speed: read it again"
    untold = "{moment} the recording does not tell by what law the spool slows"
    for moment, spin in both:
        if not spin.speed:
            return Note.of("one_by_hand", by_hand, moment=moment)
    moment, spin = next((moment, spin) for moment, spin in both if not spin.draws)
    return Note.of("read_by_earlier", older, moment=moment) if spin.losses else Note.of("no_law", untold, moment=moment)


def _by_hand(before: Spin, after: Spin, cautions: tuple[Note, ...]) -> SpinsCompared:
    """Two times off a stop-watch, each of a flick that nobody measured: a time goes at most as the first speed."""
    if not (before.spin_time_s and after.spin_time_s):
        raise NotDeterminedError("as found and as left have no number in common")
    time = by_hand_changed(before.spin_time_s, after.spin_time_s)
    own = "each is of its own flick, which no watch tells: one by one hand may be {ratio} times as hard as the next"
    return SpinsCompared((time,), (time,), (), cautions, (Note.of("own_flicks", own, ratio=plain(FLICKS)),))


def by_hand_changed(found: Quantity, left: Quantity) -> Change:
    """Two times in s, each of a flick that nobody measured.

    >>> by_hand_changed(Quantity(11.0, 10.4, 11.6), Quantity(14.0, 13.4, 14.6)).by
    'up by 3 s (-2 to 8), too small to tell from chance'
    """
    flicks = max(found.value, left.value) * (1 - 1 / FLICKS)
    return change("free spin", "s", found, left, key="spin_time_s", repeats=flicks)


def _by_laws(before: Spin, after: Spin, cautions: tuple[Note, ...]) -> SpinsCompared:
    assert before.draws and after.draws and before.initial_rev_s and after.initial_rev_s
    firsts = tuple(spin.initial_rev_s.value for spin in (before, after) if spin.initial_rev_s)
    first, last = min(firsts), max(spin.speed[-1][1] for spin in (before, after))
    if last > LEAST_FALL * first:
        raise NotDeterminedError(_apart(before, after))
    shares = _shares(before.draws, after.draws, first, last)
    to_rest = bool(before.spin_time_s and after.spin_time_s)
    time = _time_to_rest(before, after, first) if to_rest else _time_down(before.draws, after.draws, first, last)
    so = tuple(_less_or_more(each) for each in _losses(before.draws, after.draws, first, last) if each.real)
    told = "both are told from {first}, the shares down to {last}"
    if max(firsts) > ALIKE * first:
        told = f"flicked at {{found}} as found and {{left}} as left: {told}"
    speeds = {name: plain(rev_s, "rev/s", decimals=1) for name, rev_s in zip(("found", "left"), firsts, strict=True)}
    low, high = plain(last, "rev/s", decimals=1), plain(first, "rev/s", decimals=1)
    notes = [Note.of("from_one_speed", told, **speeds, first=high, last=low)]
    untold = "one of them does not tell when it comes to rest: the times end at {last}"
    notes += [] if to_rest else [Note.of("time_to_last_speed", untold, last=low)]
    return SpinsCompared((time, *shares), (time,), so, cautions, tuple(notes), first, last, to_rest)


def _apart(before: Spin, after: Spin) -> Note:
    spans = {
        f"{moment}_{end}": plain(rev_s, "rev/s", decimals=1)
        for moment, spin in (("found", before), ("left", after))
        for end, rev_s in (("first", spin.speed[0][1]), ("last", spin.speed[-1][1]))
    }
    apart = (
        "followed from {found_first} to {found_last} as found and from {left_first} to {left_last} as left: too few "
        "speeds in common to compare"
    )
    return Note.of("no_speeds_in_common", apart, **spans)


def _time_to_rest(before: Spin, after: Spin, first: float) -> Change:
    return timed(
        f"free spin, from {with_decimals(first, 1)} rev/s,", *(_to_rest(spin, first) for spin in (before, after))
    )


def _time_down(before: LawDraws, after: LawDraws, first: float, last: float) -> Change:
    times = [central_interval(draws.seconds(first, last)) for draws in (before, after)]
    return timed(f"time from {with_decimals(first, 1)} to {with_decimals(last, 1)} rev/s,", *times)


def timed(name: str, found: Quantity, left: Quantity) -> Change:
    """Two times in s between the same two speeds."""
    repeats = REPEATS_TIME * max(found.value, left.value)
    return change(name, "s", found, left, key="spin_time_s", repeats=repeats)


def _to_rest(spin: Spin, first: float) -> Quantity:
    """Seconds from the common first speed to rest: what was told of its own flick, less the time down to that speed.

    Of a spool flicked at that very speed it is what was told, with its interval.
    """
    assert spin.draws and spin.spin_time_s and spin.initial_rev_s
    if first >= spin.initial_rev_s.value:
        return spin.spin_time_s
    before = float(np.median(spin.draws.seconds(spin.initial_rev_s.value, first)))
    value = spin.spin_time_s.value - before
    stops = np.minimum(spin.draws.seconds(first, 0.0), MOST_AHEAD * value)
    when = central_interval(settled_early(stops, spin.draws.law, _spread(len(stops))))
    return Quantity(value, max(0.0, value - (when.value - when.low)), value + when.high - when.value)


def _spread(count: int) -> FloatArray:
    """Numbers from −1 to 1, evenly spread in any stretch of them (the golden section): dice would be needless."""
    return np.asarray(2 * np.modf(np.arange(count) * GOLDEN)[0] - 1)


def _shares(before: LawDraws, after: LawDraws, first: float, last: float) -> list[Change]:
    """In per cent of the energy lost between the common speeds."""
    parts = [draws.energy_shares(first, last) for draws in (before, after)]
    found, left = (
        [highest_density_interval(part[:, i], 1.0).scaled(100.0) for i in range(len(LOSSES))] for part in parts
    )
    told = zip(shown_parts(found, beside=left), shown_parts(left, beside=found), strict=True)
    return [
        replace(change(f"share of {name}", "%", *both, key=key, repeats=100 * REPEATS_SHARE), as_parts=as_parts)
        for (name, key), both, as_parts in zip(LOSSES, zip(found, left, strict=True), told, strict=True)
    ]


def _losses(before: LawDraws, after: LawDraws, first: float, last: float) -> list[Change]:
    """What each loss took off the speed in a second, in the mean between the common speeds, rev/s²."""
    rates = [(first - last) / draws.seconds(first, last) for draws in (before, after)]
    both = zip((before, after), rates, strict=True)
    parts = [draws.energy_shares(first, last) * rate[:, None] for draws, rate in both]
    repeats = REPEATS_SHARE * max(float(np.median(rate)) for rate in rates)
    return [
        change(name, "rev/s²", *(central_interval(part[:, i]) for part in parts), key=key, repeats=repeats)
        for i, (name, key) in enumerate(LOSSES)
    ]


def _less_or_more(loss: Change) -> Note:
    if loss.difference.value < 0:
        return Note.of("less", "{loss} takes less off the speed each second", loss=loss.name)
    return Note.of("more", "{loss} takes more off the speed each second", loss=loss.name)


def _borne(result: SpinResult, spin: Spin, moment: str) -> list[Note]:
    return [note.after(moment) for note in (*result.cautions, *spin.cautions)]
