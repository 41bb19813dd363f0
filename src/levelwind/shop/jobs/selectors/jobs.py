"""Jobs as the bench and every job page see them, the parcels they came in, and the box they go home in."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Case, Count, F, Q, QuerySet, Sum, When
from django.db.models.functions import Coalesce
from django.utils import timezone

from levelwind.core.quantities import whole
from levelwind.core.writing import day_in_words
from levelwind.shop.jobs.life import (
    ASK_AGAIN,
    ASKED_OF_AN_OWNER,
    CLOSED,
    GOING_BACK,
    NEXT_MOVE,
    NOTHING_MORE,
    SAY_WHAT_FOLLOWS,
    SELL_IT,
    SEND_IT_BACK,
    Move,
    passed_over,
)
from levelwind.shop.models import ENDED, OPEN, AfterNo, Job, Parcel, Sending, Stage, Turn, Work
from levelwind.shop.people.selectors import shop_get


def next_move(job: Job) -> Move:
    """The next move, as far as it is mine to make: the owner and a part on order can only be waited for."""
    if job.turn == Turn.OWNER:
        asked_long_ago = waited_days(job, timezone.localdate()) >= shop_get().ask_again_days
        return ASK_AGAIN if asked_long_ago else Move("Wait for the owner", "price")
    if job.turn == Turn.PART:
        return _short_move(job)
    if job.after_no == AfterNo.ASK and not job.is_over:
        return SAY_WHAT_FOLLOWS
    if job.after_no == AfterNo.BACK and not job.is_over:
        return GOING_BACK.get(Stage(job.stage), SEND_IT_BACK)
    if job.is_own and job.stage in (Stage.LOOKED_OVER, *ASKED_OF_AN_OWNER):
        return NEXT_MOVE[Stage.AGREED]
    if job.is_own and job.stage in CLOSED and job.stage != Stage.TOGETHER:
        return SELL_IT
    if job.stage == Stage.HOME and not _to_be_asked(job):
        return NOTHING_MORE
    return NEXT_MOVE[Stage(job.stage)]


def _to_be_asked(job: Job) -> bool:
    """Its owner is to say how it is doing; not of a reel of before this book, nor once it was said."""
    sending: Sending | None = getattr(job, "sending", None)
    return sending is not None and not sending.follow_up_note and not sending.came_back


def _short_move(job: Job) -> Move:
    """What is on order can only be waited for; a part that nobody has found can be looked for meanwhile."""
    if not parts_on_order(job):
        return Move("Find the part", "parts")
    unfound = parts_unfound(job)
    if not unfound:
        return Move("Wait for what is on order", "parts")
    return Move(f"Find {unfound} more part{'' if unfound == 1 else 's'}", "parts")


def parts_unfound(job: Job) -> int:
    """How many pieces were judged worn, broken or missing, and have no new one, no order and nothing taken for them."""
    without = job.steps_done.filter(phase="without").values("step")
    first = job.pieces.annotate(instead_of=Coalesce("replaces", 0)).filter(instead_of=0)  # not by all the book's first
    bad = first.filter(state__in=("worn", "broken", "missing"), replaced_by=None)
    bad = bad.exclude(place__in=without).exclude(orders__in=job.part_orders.filter(arrived_on=None))
    return bad.annotate(out=Coalesce(Sum("stock_entries__change"), 0)).filter(out=0).count()


def passes_over(job: Job, to: Stage, includes: tuple[Stage, ...] = ()) -> tuple[Stage, ...]:
    """The stages that a move of this job jumps, as ``passed_over``; of the shop's own reel none where one would ask."""
    return passed_over(job.stage, to, (*includes, *ASKED_OF_AN_OWNER) if job.is_own else includes)


def parts_on_order(job: Job) -> tuple[str, ...]:
    """The names of the parts on order for this job, each once."""
    return tuple(dict.fromkeys(order.part.name for order in job.part_orders.all() if order.arrived_on is None))


def parts_short(job: Job) -> tuple[str, ...]:
    """What the job is short of: the part somebody named, then those on order."""
    return (job.short_of, *parts_on_order(job)) if job.short_of else parts_on_order(job)


def turn_words(job: Job) -> str:
    """Whose turn it is, in words; short of a part, which one, as far as anybody said."""
    short = parts_short(job) if job.turn == Turn.PART else ()
    if len(short) > 1:
        return "short of parts: " + "; ".join(short)
    return ": ".join((job.get_turn_display(), *short))


def waited_days(job: Job, today: date) -> int:
    """Whole days that the owner or a supplier has been waited for; 0 while it is mine, or since an unknown day."""
    return (today - timezone.localdate(job.waiting_since)).days if job.waiting_since else 0


def days_left(job: Job, today: date) -> int | None:
    """Days until the promise, counted from where it paused; None where nothing is promised, or the job is over."""
    if job.promised_on is None or job.is_over:
        return None
    return (job.promised_on - (timezone.localdate(job.paused_since) if job.paused_since else today)).days


def waiting_words(job: Job, today: date) -> str:
    """Since when it is waited for somebody, when each part on order is expected, and that the promise waits."""
    if job.turn == Turn.MINE or job.is_over:
        return ""
    said = []
    if job.waiting_since:
        days = waited_days(job, today)
        since = day_in_words(timezone.localdate(job.waiting_since), year=False)
        said.append(f"since {since}, {days} day{'' if days == 1 else 's'}")
    orders = [order for order in job.part_orders.all() if order.arrived_on is None] if job.turn == Turn.PART else []
    said += [
        f"{order.part.name} expected {day_in_words(order.expected_on, year=False)}"
        for order in orders
        if order.expected_on
    ]
    if job.paused_since and job.promised_on:
        said.append("the promise waits")
    return "; ".join(said)


def reel_is_open(job: Job) -> bool:
    """A step of the takedown is ticked, and the way back has not undone it."""
    put_back = job.steps_done.filter(phase="together").values("step")
    return job.steps_done.filter(phase="apart").exclude(step__in=put_back).exists()


def proved_reading(job: Job) -> bool:
    """There is a reading as left, taken since the reel was last opened: what it proves is the reel as it is now."""
    left = job.readings.filter(moment="left", struck_out=False, refused="", work=Work.READ)
    opened = job.steps_done.filter(phase="apart").order_by("at").last()
    return left.filter(at__gt=opened.at).exists() if opened else left.exists()


def job_get(tag: str) -> Job:
    """The job with this tag number; raises Job.DoesNotExist."""
    return Job.objects.select_related("owner", "parcel", "pattern", "sending").get(tag=tag)


def job_find(pk: int) -> Job | None:
    return Job.objects.select_related("owner", "pattern").filter(pk=pk).first()


def open_jobs() -> QuerySet[Job]:
    return Job.objects.filter(stage__in=OPEN)


def book_is_empty() -> bool:
    """Whether no reel was ever booked in."""
    return not Job.objects.exists()


DUE = ("week", "late")
"""What a list of jobs may be narrowed to by its promise: kept within a week, or not kept."""


def job_list(*, stage: str = "", turn: str = "", due: str = "", ended: bool = False) -> QuerySet[Job]:
    """Jobs in the order they are wanted: what was promised first comes first, what is not mine to do last."""
    jobs = Job.objects.exclude(stage__in=OPEN) if ended else open_jobs()
    if stage:
        jobs = Job.objects.exclude(~Q(stage=stage)) if stage in ENDED else Job.objects.filter(stage=stage)
    if turn:
        jobs = jobs.filter(turn=turn)
    if due:
        jobs = jobs.filter(_due(timezone.localdate())[due])
    jobs = jobs.select_related("owner", "pattern").prefetch_related("part_orders__part")
    if ended or stage in ENDED:
        return jobs.select_related("sending").order_by("-stage_since", "-pk")
    not_mine = Case(When(turn=Turn.MINE, then=0), default=1)
    return jobs.order_by(not_mine, F("promised_on").asc(nulls_last=True), "booked_in_at", "pk")


@dataclass(frozen=True, slots=True)
class Tally:
    """How many jobs stand where, for the head of the bench."""

    mine: int
    owner: int
    part: int
    late: int
    week: int

    @property
    def open(self) -> int:
        return self.mine + self.owner + self.part


def bench_tally(today: date | None = None) -> Tally:
    counts = {turn: Count("pk", filter=Q(turn=turn)) for turn in Turn.values}
    counts |= {due: Count("pk", filter=which) for due, which in _due(today or timezone.localdate()).items()}
    return Tally(**open_jobs().aggregate(**counts))


def stage_tally() -> dict[str, int]:
    """How many of the open jobs stand at each stage."""
    return dict(open_jobs().order_by().values_list("stage").annotate(Count("pk")))


def _due(today: date) -> dict[str, Q]:
    """A promise that waits is due no day; it is late where it was so before."""
    going = Q(paused_since=None)
    within = going & Q(promised_on__range=(today, today + timedelta(days=6)))
    late = going & Q(promised_on__lt=today) | Q(paused_since__date__gt=F("promised_on"))
    return dict(zip(DUE, (within, late), strict=True))


def crate_jobs(job: Job) -> QuerySet[Job]:
    """The other reels that came in the same parcel."""
    return Job.objects.filter(parcel=job.parcel_id).exclude(pk=job.pk).order_by("tag")


def parcel_get(pk: int) -> Parcel:
    """The parcel with its owner; raises Parcel.DoesNotExist."""
    return Parcel.objects.select_related("owner").get(pk=pk)


def parcel_jobs(parcel: Parcel) -> QuerySet[Job]:
    """All reels of the parcel by tag number, with owner and pattern."""
    return parcel.jobs.select_related("owner", "pattern").prefetch_related("part_orders__part").order_by("tag")


VOLUME_CM3_PER_KG = 5000
"""What carriers charge a light, large box as: so much of its volume counts as a kilogram. Older tariffs say 6 000; the
carrier's rules decide (public pages on dimensional weight, see the shop's cautions)."""


def sending_get(job: Job) -> Sending:
    """The job's box, or an unsaved empty one: looking at the page writes nothing."""
    return Sending.objects.filter(job=job).first() or Sending(job=job)


def old_parts_open(job: Job) -> bool:
    """Old parts lie in the scrap bag, and are neither bagged for the owner nor refused by them."""
    sending = sending_get(job)
    settled = sending.old_parts_bagged or sending.old_parts_refused
    return not settled and job.pieces.filter(where="scrap").exists()


def volume_weight_g(sending: Sending) -> int | None:
    """What the box counts as by its volume, in grams; None until all three sides are known.

    >>> volume_weight_g(Sending(length_mm=300, width_mm=200, height_mm=150))
    1800
    """
    if sending.length_mm is None or sending.width_mm is None or sending.height_mm is None:
        return None
    volume_cm3 = sending.length_mm * sending.width_mm * sending.height_mm / 1000
    return whole(volume_cm3 / VOLUME_CM3_PER_KG * 1000)
