"""What a job's readings say, as found beside as left."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from django.db.models import QuerySet

from levelwind.core.changes import Verdict, change
from levelwind.core.errors import LevelwindError
from levelwind.core.notes import Note, plain
from levelwind.core.pull import PullResult
from levelwind.core.pull.report import average
from levelwind.core.pull.report import verdict as pull_verdict
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.core.spin import Spin, SpinResult
from levelwind.core.spin.model import LOSS_NAMES
from levelwind.core.spin.report import longest
from levelwind.core.spin.report import verdict as spin_verdict
from levelwind.shop.models import Job, Reading, Work
from levelwind.shop.readings.selectors.limits import Limit, limits_of
from levelwind.shop.readings.selectors.stored import gauged, pull_result, spin_result

MOMENTS = ("found", "left")
AS = {"found": "as found", "left": "as left"}
TYPED = {
    "end_float": ("End float", "mm"),
    "turn": ("Handle torque", "N m"),
}
HARDER_FLICK = 1.2
"""From this ratio of first speeds on, part of a longer spin is the harder flick: a judgement."""

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
    no_work: str = ""
    """Whose difference it is, where it is none of the work's."""

    @property
    def difference(self) -> str:
        """In words, where both are there: how much it changed and whether that is more than chance."""
        if self.found is None or self.left is None:
            return ""
        return self.no_work or change(self.name.lower(), self.unit, self.found, self.left).by

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
    """By moment, the longest spin that tells dry friction, oil and air apart."""

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
    typed = (_typed_pair(latest, kind, limits.get(kind)) for kind in TYPED)
    pairs = (*_pull_pairs(pulls, unit), *_spin_pairs(spins), *typed)
    words, refusals = _verdicts(pulls, spins, unit)
    notes = dict.fromkeys((*refusals, *_pull_cautions(pulls), *_spin_cautions(spins)))
    cautions = tuple(note.words(unit) for note in notes)
    shown = tuple(pair for pair in pairs if pair.found or pair.left)
    return Readings(every, latest, shown, words, cautions, _told_apart(spins))


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


def _verdicts(pulls: Results, spins: Spins, unit: str) -> tuple[tuple[str, ...], tuple[Note, ...]]:
    """What the work did, by pull and by spin, and why where one of them cannot tell."""
    words, refusals = [], []
    for kind, both in (("pull", pulls), ("spin", spins)):
        found, left = both["found"], both["left"]
        try:
            verdict: Verdict | None = None
            if isinstance(found, PullResult) and isinstance(left, PullResult):
                verdict = pull_verdict(found, left)
            elif isinstance(found, SpinResult) and isinstance(left, SpinResult):
                verdict = spin_verdict(found, left)
        except LevelwindError as refusal:
            refusals.append(Note.from_error(refusal).after(kind))
        else:
            words += [verdict.words(unit)] if verdict else []
    return tuple(words), tuple(refusals)


def _pull_pairs(pulls: Results, unit: str) -> list[Pair]:
    per = 1 / NEWTONS_PER[unit]
    rows = (
        ("breakaway", "Breakaway", "breakaway_N", unit, per),
        ("running", "Running drag", "running_N", unit, per),
        ("startup_ratio", "Start-up ratio", "startup_ratio", "", 1.0),
    )
    found, left = pulls["found"], pulls["left"]
    return [
        Pair(key, name, shown, pull_value(found, field, factor), pull_value(left, field, factor))
        for key, name, field, shown, factor in rows
    ]


def pull_value(result: PullResult | None, field: str, factor: float = 1.0) -> Quantity | None:
    """One field over all pulls of a log, in another unit where a factor is given; None where it is not told."""
    if result is None:
        return None
    try:
        return average(result, field).scaled(factor)
    except LevelwindError:
        return None


def _spin_pairs(spins: Spins) -> Iterator[Pair]:
    """The time to rest, the speed it began with, and what took the speed away where both recordings tell it."""
    yield Pair("spin_time", "Spin time", "s", spin_time(spins["found"]), spin_time(spins["left"]))
    before, after = _longest(spins["found"]), _longest(spins["left"])
    found_speed, left_speed = (spin.initial_rev_s if spin else None for spin in (before, after))
    of_flick = "the flick's, not the reel's"
    yield Pair("first_speed", "First speed", "rev/s", found_speed, left_speed, no_work=of_flick)
    if before and after and before.energy_share and after.energy_share:
        found, left = before.energy_share.percents, after.energy_share.percents
        for name in LOSS_NAMES:
            yield Pair(name, f"Lost to {name}", "%", found[name], left[name])


def spin_time(result: SpinResult | None) -> Quantity | None:
    """From the flick to rest, or None where the recording does not tell."""
    spin = _longest(result)
    return spin.spin_time_s if spin else None


def _longest(result: SpinResult | None) -> Spin | None:
    return longest(result) if result and result.spins else None


def _told_apart(spins: Spins) -> dict[str, Spin]:
    longs = ((moment, _longest(spins[moment])) for moment in MOMENTS)
    return {moment: spin for moment, spin in longs if spin and spin.energy_share}


def _pull_cautions(pulls: Results) -> Iterator[Note]:
    for moment, result in pulls.items():
        if result:
            for note in (*result.cautions, *(note for pull in result.pulls for note in pull.cautions)):
                yield note.after(f"pull {AS[moment]}")


def _spin_cautions(spins: Spins) -> Iterator[Note]:
    first = {}
    for moment, result in spins.items():
        spin = _longest(result)
        if result is None or spin is None:
            continue
        yield from (note.after(f"spin {AS[moment]}") for note in (*result.cautions, *spin.cautions))
        yield from (question.words.after(f"spin {AS[moment]}, to be answered") for question in result.questions)
        if spin.spin_time_s is None:
            untold = Note.of("time_untold", "this recording does not tell how long the spool would have run")
            yield untold.after(f"spin {AS[moment]}")
        first[moment] = spin.initial_rev_s
    found, left = first.get("found"), first.get("left")
    if found and left and (found.high < left.low or left.high < found.low):
        slower, faster = sorted((found, left), key=lambda speed: speed.value)
        if faster.value > HARDER_FLICK * slower.value:
            yield Note.of(
                "flicked_harder",
                "the spool was flicked harder {when} ({faster} against {slower}): "
                "it turns longer for that, and loses a larger share to air",
                when=AS["left" if faster is left else "found"],
                faster=plain(faster.value, figures=3),
                slower=plain(slower.value, "rev/s", figures=3),
            )


def _typed_pair(latest: Mapping[tuple[str, str], Reading], kind: str, limit: Limit | None) -> Pair:
    name, unit = TYPED[kind]
    numbers = _results(latest, kind, gauged)
    return Pair(kind, name, unit, numbers["found"], numbers["left"], limit)
