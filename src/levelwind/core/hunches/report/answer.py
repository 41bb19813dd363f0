"""The whole answer for one reel, as a text a person likes to read or as one JSON object."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Any

from levelwind.core.hunches.compute.choices import NextLook, UnseenOrLook
from levelwind.core.hunches.compute.complaint import Understood
from levelwind.core.hunches.compute.outcomes import settled_looks
from levelwind.core.hunches.compute.posterior import EXPLAINS, Hunch, Hunches
from levelwind.core.hunches.model import Finding, Look, Net
from levelwind.core.hunches.report.rows import HunchRow, basis, hunch_rows, look_rows, reason
from levelwind.core.notes import Note
from levelwind.core.quantities import percent, with_decimals

WIDTH = 100
"""Characters in a line of the terminal's answer. Our choice, as wide as most windows."""
MOST_HUNCHES, FEW_HUNCHES = 10, 3
"""Hunches of a kind told with the reckoning and without it, likeliest first. Our choice: an answer fits a screen."""
MOST_LOOKS = 5
"""Next looks told with the reckoning, best first. Our choice."""
FEW_WAYS = 2
"""What is best renewed unseen, told without the reckoning. Our choice."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What is known of one reel and what follows. ``warnings`` gives the headline of each caution by its key."""

    net: Net
    seen: Mapping[str, bool]
    hunches: Hunches
    looks: Sequence[NextLook]
    ways: Sequence[UnseenOrLook]
    warnings: Mapping[str, str]
    says: Understood | None = None

    @property
    def cautions(self) -> tuple[Note, ...]:
        if any(hunch.interval is None for hunch in self.hunches.ranked):
            return (Note.of("judged", "These probabilities rest on judgement, not on counts of closed jobs."),)
        return ()

    def as_text(self, *, why: bool = True) -> str:
        """Hunches likeliest first, looks best first with the keys to tick, and what is best renewed unseen.

        Without ``why`` it fits a screen: the likeliest few, the one look that comes next, and no reckoning.
        """
        told = (self._hunch_lines(), self._look_lines(), self._unseen_lines(), self._closing())
        short = (
            self._likeliest(),
            self._next_look(),
            self._unseen(),
            (" ".join([*map(str, self.cautions), "More, and why: --why"]),),
        )
        parts = (self._heading(why=why), *(told if why else short))
        return "\n\n".join("\n".join(lines) for lines in map(list, parts) if lines)

    def shown(self) -> dict[str, Any]:
        return {
            "kind": "hunch",
            "status": "ok",
            "family": self.net.family,
            "seen": [key for key, there in self.seen.items() if there],
            "not_seen": [key for key, there in self.seen.items() if not there],
            "no_fault_probability": self.hunches.none,
            "hunches": [_hunch_dict(hunch) for hunch in self.hunches.ranked],
            "explains_complaint": [hunch.fault.key for hunch in self.hunches.explaining],
            "due_anyway": [hunch.fault.key for hunch in self.hunches.due],
            "settled_looks": [self._settled_dict(look) for look in settled_looks(self.net, self.seen)],
            "next_looks": [self._look_dict(look) for look in self.looks if look.tells],
            "unseen_or_look": [_way_dict(way) for way in self.ways],
            "cautions": self.cautions,
        } | ({"says": _says_dict(self.says)} if self.says else {})

    def _settled_dict(self, look: Look) -> dict[str, Any]:
        shown = {finding.key: self.seen[finding.key] for finding in self.net.shown_by(look.key)}
        there, missing = ([key for key, seen in shown.items() if seen is wanted] for wanted in (True, False))
        return {"look": look.key, "do": look.do, "seen": there, "not_seen": missing}

    def _look_dict(self, look: NextLook) -> dict[str, Any]:
        return {
            "look": look.look.key,
            "do": look.look.do,
            "why": reason(look),
            "minutes": look.minutes,
            "value": look.value,
            "cost": look.cost,
            "value_per_minute": look.per_minute,
            "worth_it": look.worth_it,
            "caution": self.warnings[look.look.caution] if look.look.caution else None,
            "findings": [finding.key for finding in self.net.shown_by(look.look.key) if finding.key not in self.seen],
        }

    def _heading(self, *, why: bool) -> Iterator[str]:
        yield self.net.name.capitalize() or "A net without a name"
        if settled := [look.do for look in settled_looks(self.net, self.seen)]:
            yield from wrap("Settled: " + " ".join(settled), WIDTH, subsequent_indent="  ")
        for word, wanted in (("Seen", True), ("Not seen", False)):
            names = [self.net.finding(key).name for key, there in self.seen.items() if there is wanted]
            if names:
                yield from wrap(f"{word}: " + "; ".join(names), WIDTH, subsequent_indent="  ")
        if self.says and self.says.left:
            yield from wrap("Not understood: " + "; ".join(self.says.left), WIDTH, subsequent_indent="  ")
        if not self.seen and why:
            yield "Nothing seen yet. What the owner may have said:"
            yield from _ticks(self.net.said)
        elif not self.seen:
            said = ", ".join(finding.key for finding in self.net.said)
            yield from wrap(f"Nothing seen yet. For --seen, of what the owner says: {said}", WIDTH)

    def _hunch_lines(self) -> Iterator[str]:
        rows = {row.key: row for row in hunch_rows(self.net, self.hunches)}
        explaining, due = self.hunches.explaining, self.hunches.due
        if explaining:
            yield "What explains the complaint"
        for hunch in explaining:
            yield from _hunch_row(rows[hunch.fault.key], hunch)
        yield "What is due anyway" if explaining else "What it may be"
        for hunch in due[:MOST_HUNCHES]:
            yield from _hunch_row(rows[hunch.fault.key], hunch)
        if unlikelier := due[MOST_HUNCHES:]:
            yield f"  and {len(unlikelier)} more, each {percent(unlikelier[0].probability)} or less"
        yield f"  nothing wrong at all: {percent(self.hunches.none)}"

    def _likeliest(self) -> Iterator[str]:
        explaining = self.hunches.explaining
        due = self.hunches.due[:FEW_HUNCHES]
        rows = {row.key: f"{row.moved:>16}  {row.name}" for row in hunch_rows(self.net, self.hunches)}
        if explaining:
            yield "What explains the complaint"
            yield from (rows[hunch.fault.key] for hunch in explaining[:FEW_HUNCHES])
        if due:
            yield "What is due anyway" if explaining else "What it may be"
            yield from (rows[hunch.fault.key] for hunch in due)
        rest = len(rows) - len(explaining[:FEW_HUNCHES]) - len(due)
        yield f"  {f'and {rest} more; ' if rest else ''}nothing wrong at all: {percent(self.hunches.none)}"

    def _next_look(self) -> Iterator[str]:
        look = next((look for look in self.looks if look.tells), None)
        if look is None:
            yield from self._look_lines()
            return
        (row,) = look_rows([look])
        yield from wrap(f"Look next: {row.do} {row.worth.capitalize()}.", WIDTH, subsequent_indent="  ")
        yield from _under(f"CAUTION: {self.warnings[row.caution]}" if row.caution else "", 2)
        if self.seen:
            yield from _ticks(f for f in self.net.shown_by(row.key) if f.key not in self.seen)

    def _unseen(self) -> Iterator[str]:
        unseen = [way for way in self.ways if way.best == "unseen"][:FEW_WAYS]
        if unseen:
            yield "On an open reel, without looking"
        for way in unseen:
            costs = f"costs {with_decimals(way.unseen, 2)}, left alone {with_decimals(way.leave, 2)}"
            yield from wrap(f"{way.fault.mend}: {costs}", WIDTH, initial_indent="  ", subsequent_indent="    ")

    def _look_lines(self) -> Iterator[str]:
        asked = [look for look in self.looks if look.tells]
        if not asked:
            yield "No look that is left would change what to do." if self.looks else "Every look is done."
            return
        yield "Look next"
        for number, row in enumerate(look_rows(asked)[:MOST_LOOKS], 1):
            yield from wrap(f"{number}. {row.do}", WIDTH, initial_indent="  ", subsequent_indent="     ")
            yield from _under(f"{row.why}; {row.worth}", 5)
            yield from _under(f"Tool: {row.tool}" if row.tool else "", 5)
            yield from _under(f"CAUTION: {self.warnings[row.caution]}" if row.caution else "", 5)
            yield from _ticks(f for f in self.net.shown_by(row.key) if f.key not in self.seen)

    def _unseen_lines(self) -> Iterator[str]:
        unseen = [way for way in self.ways if way.best == "unseen"]
        if unseen:
            yield "On an open reel, without looking"
        for way in unseen:
            looked = f", look first {with_decimals(way.look_first, 2)}" if way.look else ""
            money = f"costs {with_decimals(way.unseen, 2)}; left alone {with_decimals(way.leave, 2)}{looked}"
            yield from wrap(f"{way.fault.mend}: {money}", WIDTH, initial_indent="  ", subsequent_indent="     ")
            yield from _under(way.fault.note, 5)

    def _closing(self) -> Iterator[str]:
        yield from map(str, self.cautions)
        yield "Money is in the shop's currency, by rough prices: set your own minute and comeback."


def _hunch_row(row: HunchRow, hunch: Hunch) -> Iterator[str]:
    yield f"{row.moved:>16}  {row.name}"
    explains = [f"explains it: {percent(hunch.explains)}"] if hunch.explains >= EXPLAINS else []
    told = [*explains, *row.reasons[:3], *([row.basis] if row.counted else [])]
    yield from _under("; ".join(told), 18)


def _under(text: str, indent: int) -> list[str]:
    return wrap(text, WIDTH, initial_indent=" " * indent, subsequent_indent=" " * indent)


def _ticks(findings: Iterator[Finding] | Sequence[Finding]) -> Iterator[str]:
    for finding in findings:
        yield f"       {finding.key:<20} {finding.name}"


def _hunch_dict(hunch: Hunch) -> dict[str, Any]:
    return {
        "fault": hunch.fault.key,
        "name": hunch.fault.name,
        "probability": hunch.probability,
        "interval": hunch.interval,
        "basis": basis(hunch),
        "moved": [{"by": move.key, "change": move.change} for move in hunch.moved],
        "explains": hunch.explains,
    }


def _says_dict(says: Understood) -> dict[str, Any]:
    return {"understood": [pointed.finding.key for pointed in says.pointed], "left": list(says.left)}


def _way_dict(way: UnseenOrLook) -> dict[str, Any]:
    return {
        "fault": way.fault.key,
        "best": way.best,
        "leave": way.leave,
        "unseen": way.unseen,
        "look": way.look.key if way.look else None,
        "look_first": way.look_first if way.look else None,
    }
