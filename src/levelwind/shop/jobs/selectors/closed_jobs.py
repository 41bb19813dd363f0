"""What the shop's closed jobs teach of a family's faults: only what their pieces were found to be, never a guess.

A fault was there where a piece was judged to be in a state that means this fault and, in that place, no other. It was
not there where every piece that could show it was in the hand and sound. A fault that no state of a piece means (hard
grease, salt) is told by the look made for it. All else stays unknown and teaches nothing.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import cache, lru_cache
from hashlib import sha256
from typing import NamedTuple

from django.db.models import QuerySet

from levelwind.core.hunches import ClosedJob, Net, learn
from levelwind.reference.families import family
from levelwind.reference.faults import load_net
from levelwind.shop.models import ENDED, Job, Lesson, Pattern, Piece, Seen, Stage, StepDone

SOUND = ("good", "clean")
TELLS = 0.95
"""A sight whose one cause is this sure to show in it tells of that cause; our choice."""

NEWEST = 1000
"""Closed jobs of a family that are learnt from, the newest: a judgement is worth ten of them; our choice."""

LAW = 1
"""Of how pieces are read here; one more whenever that changes, and what older books kept of it counts no more."""

Ended = tuple[int, str, datetime]
"""A closed job's key, how it ended, and when."""

_KEPT: dict[str, dict[Ended, ClosedJob | None]] = {}
"""By family: what each of its newest closed jobs told, or that it told nothing."""


class Lay(NamedTuple):
    """A piece as far as it tells something: read by the thousand, and so without a row's model."""

    pk: int
    place: str
    state: str
    replaces: int | None


Judged = Mapping[str, str]
"""What each place's piece was found to be; a place of which nothing is known is not in it."""


def learnt_net(key: str) -> Net:
    """The family's net with its judgements brought up to date by its newest closed jobs.

    One query while no job has been closed or opened again since it was asked last, and then what the new one told
    alone is read: from its lesson, or from its pieces where it ended before there were any.
    """
    newest = _ended(key).order_by("-stage_since", "-pk").values_list("pk", "stage", "stage_since")[:NEWEST]
    return _learnt(key, tuple(newest))


@lru_cache(maxsize=32)
def _learnt(key: str, ended: tuple[Ended, ...]) -> Net:
    net, kept = load_net(key), _KEPT.get(key, {})
    new = [one for one in ended if one not in kept]
    known = kept | (_lessons(key, [pk for pk, *_ in new]) if new else {})
    unread = [one[0] for one in new if one not in known]
    told = _told(net, Job.objects.filter(pk__in=unread)) if unread else {}
    _KEPT[key] = {one: known[one] if one in known else told.get(one[0]) for one in ended}
    return learn(net, [job for job in _KEPT[key].values() if job]) if ended else net


def _lessons(key: str, jobs: Sequence[int]) -> dict[Ended, ClosedJob | None]:
    """What these jobs taught as they ended."""
    rows = Lesson.objects.filter(job__in=jobs, law=law_of(key))
    facts = rows.values_list("job", "stage", "since", "found", "sound", "seen")
    return {
        (job, stage, since): ClosedJob(frozenset(found), frozenset(sound), seen) if found or sound else None
        for job, stage, since, found, sound, seen in facts
    }


@cache
def law_of(key: str) -> str:
    """A sum over all by which pieces of that family are read: what a state means, and what each step frees."""
    net = load_net(key)
    faults = [(fault.key, fault.places, sorted(fault.judged)) for fault in net.faults]
    frees = [(step.key, step.frees) for step in family(key).rules.steps]
    return sha256(repr((LAW, key, faults, sorted(_telling(net).items()), frees)).encode()).hexdigest()[:16]


def lesson_of(job: Job) -> Lesson | None:
    """What an ended job teaches, not yet written; None where its family is not known."""
    if job.pattern is None:
        return None
    key = job.pattern.family
    one = _told(load_net(key), Job.objects.filter(pk=job.pk)).get(job.pk)
    lesson = Lesson(job=job, stage=job.stage, since=job.stage_since, law=law_of(key))
    if one:
        lesson.found, lesson.sound, lesson.seen = sorted(one.found), sorted(one.sound), dict(one.seen)
    return lesson


def closed_jobs(net: Net) -> list[ClosedJob]:
    """Every ended job of the net's family of which its pieces tell something."""
    return list(_told(net, _ended(net.family)).values())


def faults_found(kind: str, jobs: Sequence[int]) -> dict[int, dict[str, str]]:
    """By job of that family, the faults that its pieces or a look told it had: their names by their keys."""
    net = load_net(kind)
    names = {fault.key: fault.name for fault in net.faults}
    told = _told(net, Job.objects.filter(pk__in=jobs))
    return {pk: {key: names[key] for key in sorted(one.found)} for pk, one in told.items() if one.found}


def _told(net: Net, jobs: QuerySet[Job]) -> dict[int, ClosedJob]:
    """What each of these jobs told, where it told something."""
    pieces: dict[int, list[Lay]] = defaultdict(list)
    for job, *lay in Piece.objects.filter(job__in=jobs).values_list("job", *Lay._fields):
        pieces[job].append(Lay(*lay))
    seen: dict[int, dict[str, bool]] = defaultdict(dict)
    for job, finding, present in Seen.objects.filter(job__in=jobs).values_list("job", "finding", "present"):
        seen[job][finding] = present
    opened = _opened(net.family, jobs)
    home = set(jobs.filter(stage=Stage.HOME).values_list("pk", flat=True))
    judged = {job: _judged(rows, opened[job] if job in home else set()) for job, rows in pieces.items()}
    known = {job: judged.get(job, {}) for job in sorted(judged.keys() | seen.keys())}
    telling = _telling(net)
    told = {job: ClosedJob(*_faults(net, telling, states, seen[job]), seen[job]) for job, states in known.items()}
    return {job: one for job, one in told.items() if one.found or one.sound}


def _ended(key: str) -> QuerySet[Job]:
    return Job.objects.filter(stage__in=ENDED, pattern__in=Pattern.objects.filter(family=key))


def _opened(key: str, jobs: QuerySet[Job]) -> dict[int, set[str]]:
    """The places that were taken off, by job."""
    frees = {step.key: step.frees for step in family(key).rules.steps}
    opened: dict[int, set[str]] = defaultdict(set)
    for job, step in StepDone.objects.filter(job__in=jobs, phase="apart").values_list("job", "step"):
        opened[job].update(frees.get(step, ()))
    return opened


def _judged(pieces: Sequence[Lay], opened: set[str]) -> Judged:
    """A piece that was off, drew no remark and went home was good; one renewed without a word is unknown."""
    renewed = {piece.replaces for piece in pieces}
    first = [piece for piece in pieces if piece.replaces is None]
    quiet = {piece.place: "good" for piece in first if piece.place in opened and piece.pk not in renewed}
    return quiet | {piece.place: piece.state for piece in first if piece.state}


def _faults(
    net: Net, telling: Mapping[str, str], judged: Judged, seen: Mapping[str, bool]
) -> tuple[frozenset[str], frozenset[str]]:
    """The faults found, and those found not to be there."""
    looked = {fault: seen[finding] for finding, fault in telling.items() if finding in seen}
    told = [fault for fault in net.faults if fault.judged]
    meant = [
        [fault.key for fault in told if place in fault.places and state in fault.judged]
        for place, state in judged.items()
    ]
    found = {keys[0] for keys in meant if len(keys) == 1} | {fault for fault, there in looked.items() if there}
    sound = {fault.key for fault in told if all(judged.get(place) in SOUND for place in fault.places)}
    return frozenset(found), frozenset(sound | {fault for fault, there in looked.items() if not there})


def _telling(net: Net) -> Mapping[str, str]:
    """Findings that tell one fault which no state of a piece means, by the fault."""
    unjudged = {fault.key for fault in net.faults if not fault.judged}
    telling = {}
    for finding in net.findings:
        means = [key for key, link in finding.links.items() if link >= TELLS]
        if finding.look and means and len(finding.links) == 1 and unjudged.issuperset(means):
            telling[finding.key] = means[0]
    return telling
