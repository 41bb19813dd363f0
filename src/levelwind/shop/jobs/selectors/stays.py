"""A reel's stays, one after another; which earlier ones may be the same reel's; how many come back."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q, QuerySet
from django.utils import timezone

from levelwind.shop.models import OPEN, Job, Owner, Sending, Stage
from levelwind.shop.people.selectors import shop_get

GONE = (Stage.HOME, Stage.SENT_BACK)
"""From here a reel can come again."""

MOST_ASKED = 6
"""So many earlier reels are asked about; our choice."""

LOOKED_BACK = timedelta(days=365)
"""Comebacks are counted among what went home within a year; our choice."""


@dataclass(frozen=True, slots=True)
class Earlier:
    """The newest stay of a reel that may be the one in the hand, and what speaks for it."""

    job: Job
    because: str
    sure: bool


def stays_of(job: Job) -> QuerySet[Job]:
    """Every stay of the job's reel, the newest first: at least this one."""
    stays = Job.objects.filter(history=job.history_id) if job.history_id else Job.objects.filter(pk=job.pk)
    return stays.select_related("owner", "pattern", "sending", "comeback_of").order_by("-booked_in_at", "-pk")


def known_before(owner: Owner | None, serials: Collection[str]) -> QuerySet[Job]:
    """Stays that are over, of the owner or under one of these serial numbers; of no reel that is on the bench now."""
    whose = Q(owner=owner) if owner else Q(pk=None)
    for serial in serials:
        whose |= Q(serial__iexact=serial)
    on_the_bench = Job.objects.filter(stage__in=OPEN).exclude(history=None).values("history")
    known = Job.objects.filter(whose, stage__in=GONE).filter(Q(history=None) | ~Q(history__in=on_the_bench))
    return known.select_related("owner", "pattern").order_by("-booked_in_at", "-pk")


def earlier_reels(
    known: Iterable[Job], *, serial: str, pattern_pk: int | None, reel: str, owner: Owner | None
) -> tuple[Earlier, ...]:
    """Of the stays ``known`` before, the newest of each reel that may be this one: first by serial number, whoever
    owned it then, then the owner's. One whose serial number or pattern is known to be another is none of them."""
    found = [one for job in known if (one := _may_be(job, serial.strip(), pattern_pk, reel.strip(), owner))]
    return tuple(_each_reel_once(sorted(found, key=lambda one: not one.sure)))[:MOST_ASKED]


def _may_be(job: Job, serial: str, pattern_pk: int | None, reel: str, owner: Owner | None) -> Earlier | None:
    if pattern_pk and job.pattern_id and job.pattern_id != pattern_pk:
        return None
    if serial and job.serial:
        same = serial.casefold() == job.serial.strip().casefold()
        return Earlier(job, "the same serial number", sure=True) if same else None
    if owner is None or job.owner_id != owner.pk:
        return None
    if pattern_pk and job.pattern_id:
        return Earlier(job, "the same pattern of the same owner", sure=False)
    if reel and reel.casefold() == job.reel.casefold():
        return Earlier(job, "its owner called it so then, too", sure=False)
    return None if serial or pattern_pk or reel else Earlier(job, "a reel of the same owner", sure=False)


def _each_reel_once(found: Iterable[Earlier]) -> Iterator[Earlier]:
    asked: set[int] = set()
    for one in found:
        if one.job.history_id is None or one.job.history_id not in asked:
            asked.add(one.job.history_id or 0)
            yield one


def maybe_earlier(job: Job) -> tuple[Earlier, ...]:
    """Of a job booked in: the reels of earlier stays that it may be, and is not linked to."""
    known = known_before(job.owner, [job.serial.strip()] if job.serial.strip() else [])
    known = known.filter(booked_in_at__lte=job.booked_in_at).exclude(pk=job.pk).exclude(parcel=job.parcel_id)
    if job.history_id:
        known = known.filter(Q(history=None) | ~Q(history=job.history_id))
    return earlier_reels(known, serial=job.serial, pattern_pk=job.pattern_id, reel=job.reel, owner=job.owner)


def is_free(job: Job, day: date) -> bool:
    """Whether the reel, come back on this day, is mended free of charge: it went home within the days the shop sets."""
    went = Sending.objects.filter(job=job).values_list("sent_at", flat=True).first()
    days = shop_get().guarantee_days
    return bool(went and days) and day <= timezone.localdate(went) + timedelta(days=days)


def may_come_back(job: Job) -> bool:
    """It is home, and nothing came of it yet."""
    return job.stage == Stage.HOME and not Job.objects.filter(comeback_of=job).exists()


def stay_before(job: Job) -> Job | None:
    """The stay whose guarantee it came back under, or else the reel's last stay before this one that went home."""
    if job.comeback_of:
        return job.comeback_of
    return stays_of(job).filter(booked_in_at__lt=job.booked_in_at, stage=Stage.HOME).first()


@dataclass(frozen=True, slots=True)
class Comebacks:
    """How many of the reels that went home within a year came back with the same trouble."""

    home: int
    back: int


def comebacks() -> Comebacks:
    home = Sending.objects.filter(sent_at__gte=timezone.now() - LOOKED_BACK)
    return Comebacks(home.count(), home.filter(Q(came_back=True) | Q(job__comeback__isnull=False)).count())
