"""Whatever is done with a job in whatever order: no piece is nowhere, no paper says more than was done, no bill passes
the owner's word unseen, and every state has a way on and a way back."""

from collections.abc import Iterator
from contextlib import suppress
from random import Random

import pytest

from levelwind.core import spin
from levelwind.core.codec import as_stored
from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.life import ASKED_OF_AN_OWNER, CLOSED, LIFE, OPEN, OTHER_ENDS, offered, reached
from levelwind.shop.jobs.selectors.jobs import proved_reading, reel_is_open
from levelwind.shop.jobs.selectors.last_step import last_step
from levelwind.shop.jobs.services.comebacks import job_comes_back
from levelwind.shop.jobs.services.jobs import job_step_back, job_take_up_again
from levelwind.shop.jobs.services.looks import job_looked_over
from levelwind.shop.jobs.services.sendings import job_hand_over, job_home_take_back, job_prove
from levelwind.shop.models import Job, Part, Price, Sending, Stage
from levelwind.shop.money.selectors import DraftLine, account_of, agreed_minor, price_latest
from levelwind.shop.money.services.bills import bill_draft_save, bill_make, bill_void
from levelwind.shop.money.services.ledger import credit_give, payment_give_back, payment_reverse, payment_take
from levelwind.shop.money.services.prices import (
    no_answered,
    price_call_back,
    price_copy,
    price_line_add,
    price_send,
    word_for_bill,
    word_record,
)
from levelwind.shop.money.services.sales import SoldReel, counter_sell, reel_bring_back
from levelwind.shop.papers.selectors.done import what_was_done
from levelwind.shop.papers.services.last_step import last_step_take_back
from levelwind.shop.papers.services.sendings import Answers, reel_box, reel_end, reel_send_home
from levelwind.shop.parts.selectors.shelf import part_with_number
from levelwind.shop.parts.services.shelf import part_add, stock_put_back, stock_take
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.people.services import owner_shop
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import reach_choose
from tests.conftest import Figure
from tests.full_size import cases
from tests.shop.readings.reading_rows import a_row
from tests.shop.takedown.pieces_jobs import a_job, a_pattern
from tests.shop.takedown.test_pieces_never_nowhere import MOVES, bring_home, everything_is_somewhere

SAID = Answers(rest="bag", old_parts="bagged")
SPIN = as_stored(spin.typed(11.0))

LIVES, STEPS = cases((0,), range(2)), cases(40, 2000)
"""Seeds of the lives, and how many acts each is long."""
STRETCH = (20, 60)
"""So many acts are drawn from one half of them, before another half is: some ways are only walked without the rest."""


def a_price(job: Job) -> Price:
    """The newest price; a new one with a line where there is none, or where it is sent."""
    latest = price_latest(job)
    price = price_copy(price=latest) if latest and latest.sent_at else latest or Price.objects.create(job=job)
    price_line_add(price=price, kind="work", text="Service", low_minor=4000, likely_minor=5000, high_minor=6000)
    return price


def a_part() -> Part:
    return part_with_number("G-1") or part_add(number="G-1", name="Gear", price_minor=3800, count=99)


def put_back(job: Job) -> None:
    taken = job.stock_entries.filter(why="taken").first()
    if taken:
        stock_put_back(taken=taken)


def newest(job: Job) -> Price:
    return price_latest(job) or a_price(job)


def a_bill(job: Job, pick: int) -> None:
    bill_draft_save(job=job, lines=[DraftLine("work", "Service", 1 + pick % 12000)])
    bill_make(job=job)


def mistyped(job: Job, pick: int) -> None:
    received = job.money.filter(kind__in=["payment", "deposit"], reversed_by=None).last()
    if received:
        payment_reverse(entry=received, why="another sum")


ACTS = {
    "look over": lambda job, pick: job_looked_over(job=job),
    "step back": lambda job, pick: job_step_back(job=job),
    "take back what was last": lambda job, pick: last_step_take_back(job=job, press=last_step(job).press, why="so"),
    "price": lambda job, pick: a_price(job),
    "send": lambda job, pick: price_send(price=newest(job)),
    "call back": lambda job, pick: price_call_back(price=newest(job)),
    "yes": lambda job, pick: word_record(price=newest(job), said="yes", how="phone"),
    "up to": lambda job, pick: word_record(price=newest(job), said="up_to", up_to_minor=pick % 9000, how="mail"),
    "no": lambda job, pick: word_record(price=newest(job), said="no", how="phone"),
    "measured": lambda job, pick: a_row(job, "spin", "left", SPIN),
    "prove": lambda job, pick: job_prove(job=job),
    "box": lambda job, pick: reel_box(job=job, said=SAID),
    "box, asked nothing": lambda job, pick: reel_box(job=job),
    "home": lambda job, pick: reel_send_home(job=job, said=SAID),
    "hand over": lambda job, pick: job_hand_over(job=job) if pick % 4 == 0 else None,
    "take back": lambda job, pick: job_home_take_back(job=job, why="wrong box"),
    "send back": lambda job, pick: reel_end(job=job, stage=Stage.SENT_BACK, said=SAID),
    "keep": lambda job, pick: reel_end(job=job, stage=Stage.SPARES, said=SAID),
    "take up": lambda job, pick: job_take_up_again(job=job),
    "bill": a_bill,
    "word for the bill": lambda job, pick: word_for_bill(job=job, how="phone"),
    "after a no": lambda job, pick: no_answered(job=job, way=("agreed", "back")[pick % 2]),
    "credit": lambda job, pick: credit_give(job=job, amount_minor=1 + pick % 3000, text="for the wait"),
    "give back": lambda job, pick: payment_give_back(job=job, amount_minor=1 + pick % 3000, text="too much"),
    "mistyped": mistyped,
    "pay": lambda job, pick: payment_take(job=job, amount_minor=1 + pick % 4000, text="card"),
    "take a part": lambda job, pick: stock_take(part=a_part(), job=job, count=1 + pick % 2),
    "put a part back": lambda job, pick: put_back(job),
    "sell": lambda job, pick: counter_sell(reels=[SoldReel(job, pick % 9000)], how="cash"),
    "bring back": lambda job, pick: reel_bring_back(job=job),
    "void a bill": lambda job, pick: bill_void(bill=job.bills.last(), why="wrong") if job.bills.exists() else None,
    **{name: lambda job, pick, move=move: move(job_work(job), pick) for name, move in MOVES.items()},
}


@pytest.mark.sampled
@pytest.mark.django_db
@pytest.mark.parametrize("own", [False, True])
@pytest.mark.parametrize("seed", LIVES)
def test_a_life_of_any_order_stays_true(seed: int, own: bool, figure: Figure) -> None:
    """Of an owner's reel, or of the shop's own; home and handed over, it comes back as another job of the same reel."""
    dice, job = Random(f"{seed} {own}"), booked_in(own)
    for name in drawn(dice):
        job = back_again(job)
        before, stood = Job.objects.get(pk=job.pk), as_it_stands(job)
        bills, told = job.bills.count(), job.events.count()
        try:
            ACTS[name](Job.objects.get(pk=job.pk), dice.randrange(10**6))
        except LevelwindError as refusal:
            assert str(refusal).strip(), "refused without a word"
            if as_it_stands(job) == stood:
                continue
        after = Job.objects.get(pk=job.pk)
        it_is_true(after, name)
        the_ledger_is_true(after)
        jumps_are_recorded(before, after, told)
        if after.bills.count() > bills:
            the_bill_is_within_the_word(after)
    it_has_a_way_home_and_back(Job.objects.get(pk=job.pk))
    figure("acts in one life, all of it true", STEPS, f"{Job.objects.count()} stays")


def as_it_stands(job: Job) -> object:
    """What an act may change: where nothing of it did, what was true before is true still."""
    told, read = job.events.count(), job.readings.count()
    pieces = tuple(job.pieces.order_by("pk").values_list("place", "where", "cell", "state", "fate", "replaces"))
    ticks = tuple(job.steps_done.order_by("pk").values_list("pk", flat=True))
    money = job.money.count(), job.stock_entries.count(), job.prices.count()
    return Job.objects.filter(pk=job.pk).values().get(), told, read, pieces, ticks, money


def drawn(dice: Random) -> Iterator[str]:
    left = STEPS
    while left > 0:
        some, stretch = dice.sample(sorted(ACTS), len(ACTS) // 2), min(left, dice.randint(*STRETCH))
        yield from dice.choices(some, k=stretch)
        left -= stretch


def booked_in(own: bool) -> Job:
    job = a_job(a_pattern(), stage=Stage.BOOKED_IN)
    Job.objects.filter(pk=job.pk).update(owner=owner_shop() if own else job.owner)
    return reached_for(job)


def reached_for(job: Job) -> Job:
    reach_choose(job=job, places=[job_work(job).layout.places[12].key])
    return job


def back_again(job: Job) -> Job:
    """What is handed over lives on as the stay it comes back for."""
    handed_over = Sending.objects.filter(job=job, handed_over_at__isnull=False).exists()
    return reached_for(job_comes_back(job=job)) if handed_over else job


def it_is_true(job: Job, name: str) -> None:
    everything_is_somewhere(job_work(job))
    lying = job.pieces.filter(where="cell")
    in_the_air = lying.filter(fate="").exists()
    if job.stage in (Stage.TOGETHER, Stage.PROVED):
        assert not reel_is_open(job), f"{job.stage} and open after {name}"
    if job.stage == Stage.SOLD:
        assert job.is_own and job.sold_for and not in_the_air, f"sold, and not the shop's or in pieces, after {name}"
    assert (job.stage == Stage.SOLD) == (job.sold_for is not None)
    if job.stage in (Stage.BOXED, *OTHER_ENDS, Stage.HOME):
        assert not (in_the_air and reel_is_open(job)), f"{job.stage} with a piece nobody spoke for, after {name}"
    if job.stage not in (*CLOSED, Stage.HOME, Stage.SOLD, *OTHER_ENDS):
        opened = job.steps_done.filter(phase="apart").exists()
        assert opened == (job.stage == Stage.APART) or job.stage == Stage.APART, f"{job.stage} and opened, after {name}"
    if job.stage == Stage.PROVED:
        assert proved_reading(job)
    papers_say_no_more_than_was_done(job)


def papers_say_no_more_than_was_done(job: Job) -> None:
    inside = set(job.pieces.filter(replaces__isnull=False, where="reel").values_list("name", flat=True))
    for words in what_was_done(job):
        if words.startswith("Opened, and not put together."):
            coming = set(job.pieces.filter(where="order").values_list("name", flat=True))
            assert not coming or "On order: " in words
        if words.endswith(", put together."):
            assert not reel_is_open(job) and not job.pieces.filter(where__in=["cell", "order"]).exists()
        if words.startswith("Renewed: "):
            assert set(words.removeprefix("Renewed: ").removesuffix(".").split(", ")) <= inside
    if job.stage not in (*OTHER_ENDS, Stage.SOLD) and Sending.objects.filter(job=job, sent_at__isnull=False).exists():
        assert job.stage == Stage.HOME, "sent, and on the bench"


def the_ledger_is_true(job: Job) -> None:
    account = account_of(job)
    assert account.received >= 0 or job.money.filter(kind="reversal").exists(), "more given back than was received"
    assert account.creditable >= 0, "more taken off than was charged"
    assert account.owed == sum(entry.amount_minor for entry in job.money.all())


def jumps_are_recorded(before: Job, after: Job, told: int) -> None:
    if (
        before.stage in OPEN
        and after.stage not in (*OTHER_ENDS, Stage.SOLD)
        and reached(after.stage, Stage(before.stage))
    ):
        between = [one for one in Stage if one not in (before.stage, after.stage) and reached(one, Stage(before.stage))]
        between = [one for one in between if not reached(one, Stage(after.stage))]
        said = " ".join(after.events.order_by("pk").values_list("text", flat=True)[told:])
        unasked = ASKED_OF_AN_OWNER if after.is_own else ()
        assert all(one.label in said for one in between if one not in unasked), "a jump without a word"


def the_bill_is_within_the_word(job: Job) -> None:
    agreed = agreed_minor(job, shop_get())
    charged = account_of(job).creditable
    if agreed is None:
        assert job.events.filter(text__contains="without the owner's word").exists()
    else:
        assert charged <= agreed


def it_has_a_way_home_and_back(job: Job) -> None:
    handed_over = Sending.objects.filter(job=job, handed_over_at__isnull=False).exists()
    if job.stage == Stage.HOME and handed_over:
        return
    if job.stage == Stage.SOLD:
        reel_bring_back(job=job)
    if job.stage in OTHER_ENDS:
        job_take_up_again(job=job)
    if job.stage == Stage.HOME:
        job_home_take_back(job=job, why="once more")
    if job.stage == Stage.BOXED:
        job_step_back(job=job)
    with suppress(LevelwindError):
        bring_home(job)
    a_row(job, "spin", "left", SPIN)
    job_prove(job=job)
    reel_box(job=job, said=SAID)
    reel_send_home(job=job, said=SAID)
    assert Job.objects.get(pk=job.pk).stage == Stage.HOME
    job_home_take_back(job=job, why="once more")
    assert Job.objects.get(pk=job.pk).stage == Stage.BOXED


@pytest.mark.parametrize("stage", Stage)
def test_every_stage_has_a_way_on_and_a_way_back(stage: Stage) -> None:
    acts = [LIFE[key] for key in offered(stage)]
    assert acts
    for act in acts:
        assert act.undone_by and set(act.undone_by) <= LIFE.keys()
    if stage in OPEN:
        assert any(act.to and reached(act.to, stage) and act.to != stage for act in acts), "no way on"
    if stage != Stage.BOOKED_IN:
        back = [act for act in acts if act.to is None or not reached(act.to, stage)]
        assert back, "no way back"
