"""What a job's readings say, as found beside as left."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from django.db.models import QuerySet

from levelwind.core.changes import Change, Verdict, change
from levelwind.core.compare import compare
from levelwind.core.errors import LevelwindError
from levelwind.core.notes import Note
from levelwind.core.pull import PullResult
from levelwind.core.pull.report import average
from levelwind.core.quantities import NEWTONS_PER, Quantity, with_decimals
from levelwind.core.spin import Spin, SpinResult
from levelwind.core.spin.compare import LOSS_KEYS, SpinsCompared
from levelwind.core.spin.model import LOSS_NAMES
from levelwind.shop.models import Job, Reading, Work
from levelwind.shop.readings.selectors.limits import Limit, limits_of
from levelwind.shop.readings.selectors.stored import gauged, pull_result, spin_result

MOMENTS = ("found", "left")
AS = {"found": "as found", "left": "as left"}
TYPED = {
    "end_float": ("End float", "mm"),
    "turn": ("Handle torque", "N m"),
}

Result = TypeVar("Result")
Results = Mapping[str, PullResult | None]
Spins = Mapping[str, SpinResult | None]


@dataclass(frozen=True, slots=True)
class Pair:
    """One quantity as found and as left, in one unit, with what the difference is worth and the pattern's limit."""

    key: str
    """By which logic knows it: the name is for the screen."""
    name: str
    unit: str
    found: Quantity | None
    left: Quantity | None
    limit: Limit | None = None
    change: Change | None = None
    """From the one to the other, where both are there and can be compared."""
    no_work: str = ""
    """Whose difference it is, where it is none of the work's."""

    @property
    def difference(self) -> str:
        """In words, where both are there: how much it changed and whether that is more than chance."""
        if self.found is None or self.left is None:
            return ""
        return self.change.by if self.change else self.no_work

    @property
    def outside(self) -> str:
        """Where the pattern's limits are not kept, in words; as it is now where it was measured as left."""
        now = self.left or self.found
        return self.limit.outside(now) if self.limit and now else ""


@dataclass(frozen=True, slots=True)
class Readings:
    """All of a job's readings. ``latest`` by kind and moment: the newest not struck out that gave a number.

    ``verdicts``: the pull, then the spin, as found against as left, each in words. ``unread``: what is still being
    read, or was stopped.
    """

    every: tuple[Reading, ...]
    latest: Mapping[tuple[str, str], Reading]
    pairs: tuple[Pair, ...]
    verdicts: tuple[str, ...]
    cautions: tuple[str, ...]
    apart: Mapping[str, Spin] = field(default_factory=dict)
    """By moment, the spin that stands for the recording, where it tells dry friction, oil and air apart."""
    compared: Mapping[str, Verdict] = field(default_factory=dict)
    """By kind, what the work did, where both moments tell."""

    @property
    def verdict(self) -> str:
        return "; ".join(self.verdicts)

    @property
    def unread(self) -> tuple[Reading, ...]:
        return tuple(row for row in self.every if row.work != Work.READ and not row.struck_out)

    def has(self, moment: str) -> bool:
        return any(key[1] == moment for key in self.latest)

    def pair(self, key: str) -> Pair | None:
        return next((pair for pair in self.pairs if pair.key == key), None)

    @property
    def table(self) -> tuple[Pair, ...]:
        """The pairs without the shares of loss, for where those are drawn as bars."""
        return tuple(pair for pair in self.pairs if pair.key not in LOSS_NAMES)

    def share_difference(self, loss: str) -> str:
        """Of one of ``LOSS_NAMES``; nothing where not both recordings tell it."""
        pair = self.pair(loss)
        return pair.difference if pair else ""


def readings_of(job: Job, unit: str = "N") -> Readings:
    """``unit``: N, kgf or lbf, in which forces are shown."""
    every = tuple(job.readings.all())
    latest = {(row.kind, row.moment): row for row in every if gave_a_number(row)}
    pulls, spins = _results(latest, "pull", pull_result), _results(latest, "spin", spin_result)
    limits = limits_of(job.pattern)
    verdicts, refusals = _verdicts(pulls, spins)
    of_pulls, of_spins = (verdicts.get(kind) for kind in ("pull", "spin"))
    typed = (_typed_pair(latest, kind, limits.get(kind)) for kind in TYPED)
    pairs = (*_pull_pairs(pulls, of_pulls, unit), *_spin_pairs(spins, of_spins), *typed)
    of_both = (note for verdict in verdicts.values() for note in verdict.compared)
    notes = dict.fromkeys((*refusals, *_pull_cautions(pulls), *_spin_cautions(spins), *of_both))
    cautions = tuple(note.words(unit) for note in notes)
    shown = tuple(pair for pair in pairs if pair.found or pair.left)
    words = tuple(verdict.words(unit) for verdict in verdicts.values())
    return Readings(every, latest, shown, words, cautions, _told_apart(spins, of_spins), verdicts)


def gave_a_number(row: Reading) -> bool:
    """Whether a reading counts: read to its end, not struck out, and with something found in it."""
    if row.struck_out or row.work != Work.READ or not row.gives_number:
        return False
    found = row.analysis
    many = {"pull": "pulls", "spin": "spins"}.get(row.kind)
    return bool(many is None or found.get(many) or "spin_time_s" in found)


def latest_with_a_number(job: Job, kind: str, moment: str) -> Reading | None:
    """The newest of the job's readings of one kind and moment that gave a number."""
    taken = Reading.objects.filter(job=job, kind=kind, moment=moment).order_by("-at", "-pk")
    return next((row for row in taken if gave_a_number(row)), None)


def versions_of_file(reading: Reading) -> QuerySet[Reading]:
    """The readings of the same kind and moment that read this one's file, the first first."""
    if not reading.sha256:
        return Reading.objects.filter(pk=reading.pk)
    same = {"job_id": reading.job_id, "kind": reading.kind, "moment": reading.moment, "sha256": reading.sha256}
    return Reading.objects.filter(**same).order_by("at", "pk")


def _results(
    latest: Mapping[tuple[str, str], Reading], kind: str, read: Callable[[Reading], Result]
) -> dict[str, Result | None]:
    """Of one kind, by moment; None where there is no such reading."""
    rows = {moment: latest.get((kind, moment)) for moment in MOMENTS}
    return {moment: read(row) if row else None for moment, row in rows.items()}


def _verdicts(pulls: Results, spins: Spins) -> tuple[dict[str, Verdict], tuple[Note, ...]]:
    """What the work did, by kind: pull, then spin; and why where one of them cannot tell."""
    verdicts: dict[str, Verdict] = {}
    refusals = []
    for kind, both in (("pull", pulls), ("spin", spins)):
        try:
            verdict = compare(both["found"], both["left"])
        except LevelwindError as refusal:
            refusals.append(Note.from_error(refusal).after(kind))
        else:
            verdicts |= {kind: verdict} if verdict else {}
    return verdicts, tuple(refusals)


def _pull_pairs(pulls: Results, verdict: Verdict | None, unit: str) -> Iterator[Pair]:
    """With the wobble only where both logs tell it."""
    per = 1 / NEWTONS_PER[unit]
    rows = (
        ("breakaway", "Breakaway", "breakaway_N", unit, per),
        ("running", "Running drag", "running_N", unit, per),
        ("startup_ratio", "Start-up ratio", "startup_ratio", "", 1.0),
        ("wobble", "Wobble", "wobble_N", unit, per),
    )
    for key, name, of, shown, factor in rows:
        by = verdict.change(of) if verdict else None
        if by or key != "wobble":
            found, left = (pull_value(pulls[moment], of, factor) for moment in MOMENTS)
            yield Pair(key, name, shown, found, left, change=by.in_unit(unit) if by else None)


def pull_value(result: PullResult | None, field: str, factor: float = 1.0) -> Quantity | None:
    """One field over all pulls of a log, in another unit where a factor is given; None where it is not told."""
    if result is None:
        return None
    try:
        return average(result, field).scaled(factor)
    except LevelwindError:
        return None


OWN_FLICK = "each of its own flick"
"""What stands for a difference between two spins that cannot be told from one speed."""


def _spin_pairs(spins: Spins, verdict: Verdict | None) -> Iterator[Pair]:
    """The time to rest, the speed it began with, and what took the speed away where both recordings tell it.

    Compared, times and shares are those from the common speed; else each is of its own flick.
    """
    by = verdict.change("spin_time_s") if verdict else None
    if by:
        common = isinstance(verdict, SpinsCompared) and verdict.from_rev_s
        name = f"Spin time from {with_decimals(common, 1)} rev/s" if common else "Spin time"
        yield Pair("spin_time", name, "s", by.found, by.left, change=by)
    else:
        found, left = (spin_time(spins[moment]) for moment in MOMENTS)
        yield Pair("spin_time", "Spin time", "s", found, left, no_work=OWN_FLICK)
    before, after = (longest(spins[moment]) for moment in MOMENTS)
    first, second = (spin.initial_rev_s if spin else None for spin in (before, after))
    yield Pair("first_speed", "First speed", "rev/s", first, second, no_work="the flick's, not the reel's")
    own = [spin.energy_share.percents for spin in (before, after) if spin and spin.energy_share]
    for name, key in zip(LOSS_NAMES, LOSS_KEYS, strict=True) if len(own) == 2 else ():
        share = verdict.change(key) if verdict else None
        if share:
            yield Pair(name, f"Lost to {name}", "%", share.found, share.left, change=share)
        else:
            yield Pair(name, f"Lost to {name}", "%", own[0][name], own[1][name], no_work=OWN_FLICK)


def spin_time(result: SpinResult | None) -> Quantity | None:
    """From the flick to rest, or None where the recording does not tell."""
    spin = longest(result)
    return spin.spin_time_s if spin else None


def longest(result: SpinResult | None) -> Spin | None:
    """The spin that stands for a recording."""
    return result.longest if result and result.spins else None


def _told_apart(spins: Spins, verdict: Verdict | None) -> dict[str, Spin]:
    """Where they are compared, with their shares from the common speed."""
    longs = ((moment, longest(spins[moment])) for moment in MOMENTS)
    shares = verdict.shares if isinstance(verdict, SpinsCompared) else {}
    apart = {moment: spin for moment, spin in longs if spin and spin.energy_share}
    return {moment: replace(spin, energy_share=shares.get(moment, spin.energy_share)) for moment, spin in apart.items()}


def _pull_cautions(pulls: Results) -> Iterator[Note]:
    for moment, result in pulls.items():
        if result:
            for note in (*result.cautions, *(note for pull in result.pulls for note in pull.cautions)):
                yield note.after(f"pull {AS[moment]}")


def _spin_cautions(spins: Spins) -> Iterator[Note]:
    for moment, result in spins.items():
        spin = longest(result)
        if result is None or spin is None:
            continue
        yield from (note.after(f"spin {AS[moment]}") for note in (*result.cautions, *spin.cautions))
        yield from (question.words.after(f"spin {AS[moment]}, to be answered") for question in result.questions)
        if spin.spin_time_s is None:
            untold = Note.of("time_untold", "this recording does not tell how long the spool would have run")
            yield untold.after(f"spin {AS[moment]}")


def _typed_pair(latest: Mapping[tuple[str, str], Reading], kind: str, limit: Limit | None) -> Pair:
    name, unit = TYPED[kind]
    numbers = _results(latest, kind, gauged)
    found, left = numbers["found"], numbers["left"]
    return Pair(kind, name, unit, found, left, limit, gauged_change(kind, found, left) if found and left else None)


def gauged_change(kind: str, found: Quantity, left: Quantity) -> Change:
    """Of what is only typed: end float, handle torque."""
    name, unit = TYPED[kind]
    return change(name.lower(), unit, found, left)
