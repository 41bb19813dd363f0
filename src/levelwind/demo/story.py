"""What happens to one reel from the box it came in to the box it leaves in, told through the services."""

from collections.abc import Callable
from datetime import timedelta
from random import Random

from levelwind.demo.bench_work import apart, order, put_together
from levelwind.demo.case import Case, Shopful
from levelwind.demo.names import BENCH, CARRIERS
from levelwind.demo.patterns import BY_CODE
from levelwind.demo.proof import box, go_home, measure, prove
from levelwind.demo.stays import WAY, Arrival, Stay
from levelwind.demo.teller import Story
from levelwind.demo.troubles import complaint, trouble
from levelwind.shop.models import Job, Parcel, Price, Stage
from levelwind.shop.selectors.prices import price_latest
from levelwind.shop.services.booking import job_book_in
from levelwind.shop.services.editing import fields_save
from levelwind.shop.services.ends import job_end
from levelwind.shop.services.looks import finding_record, job_looked_over
from levelwind.shop.services.prices import price_draft, price_line_add, price_promise, price_send, word_record

CAME_WITH = (
    "",
    "",
    "line on the spool",
    "line on the spool, rod clamp",
    "cloth bag",
    "box and a spare spool",
    "line on the spool, a spare handle",
    "a letter with the story of the reel",
)
LOOKED_LIKE = (
    "Green round the screws, one screw head chewed.",
    "Honest wear, plating gone at the rim.",
    "Clean outside, dry inside by the feel of it.",
    "Salt in every corner.",
    "Scratched plates, handle knob cracked but tight.",
    "Has been in a tackle box for years.",
)
POSTAGE, POSTAGE_HIGH = 1150, 1600
PRICE_NOTE = "Old parts come back with the reel. Nothing beyond this is done without a word from you."
WORD_NOTES = ("", "", "Asked for the old parts back.", "Wants it by the weekend if it can be.", "Glad to hear it.")
HOW_IT_DOES = (
    "Fishes well.",
    "No trouble since.",
    "Very pleased, two more to come.",
    "Took a big one on it, no trouble.",
)


def arriving(shop: Shopful, arrival: Arrival, rng: Random) -> Story:
    """A parcel is booked in, and each of its reels goes its own way from there."""
    yield shop.clock.moment(arrival.days, 8 + rng.random())
    owner = shop.owners[arrival.owner]
    parcel = Parcel(came_by="counter" if arrival.at_the_counter else "post", note=arrival.note)
    if not arrival.at_the_counter:
        parcel.carrier, parcel.tracking = rng.choice(CARRIERS), tracking(rng)
    reels = [unsaved(shop, stay, rng) for stay in arrival.stays]
    jobs = job_book_in(owner=owner, parcel=parcel, reels=reels, by=BENCH)
    for number, (job, stay) in enumerate(zip(jobs, arrival.stays, strict=True)):
        shop.teller.begin(staying(Case(shop, job, stay, Random(f"{rng.random()} {number}"))))


def tracking(rng: Random) -> str:
    return f"BC {rng.randrange(1000, 9999)} {rng.randrange(1000, 9999)} {rng.randrange(10)}"


def unsaved(shop: Shopful, stay: Stay, rng: Random) -> Job:
    """The reel as it is booked in: what it is, its complaint, what came with it, the line on it."""
    kind = BY_CODE[stay.code]
    job = Job(reel=kind.reel, pattern=shop.patterns[stay.code])
    job.complaint = stay.words or complaint(rng, trouble(kind.family, stay.trouble))
    serial = f"{rng.randrange(10, 99)}{rng.choice('ABCDEK')} {rng.randrange(1000, 9999)}"
    job.serial = serial if rng.random() < 0.6 else ""
    job.came_with, job.looked_like = rng.choice(CAME_WITH), rng.choice(LOOKED_LIKE)
    job.declared_minor = rng.choice((None, 4000, 6000, 8000, 12000, 20000))
    line = kind.line
    job.line_name, job.line_strength_N, job.line_diameter_mm = line.name, line.strength_N, line.diameter_mm
    return job


def staying(case: Case) -> Story:
    """Every stage the stay reaches, each at its moment."""
    stay = case.stay
    if stay.shown:
        case.shop.album.as_found(case.job, case.kind)
    for step, stage in enumerate(stay.way):
        yield case.at(step)
        if stage in TOLD:
            yield from TOLD[stage](case)
    if stay.drafted:
        yield case.soon(40)
        draft(case)
    if stay.until in (Stage.SENT_BACK, Stage.SPARES):
        yield case.soon(60 * 20)
        end(case)


def look_over(case: Case) -> Story:
    """The looks that such a complaint asks for, and readings as found."""
    for finding in case.what.there:
        finding_record(job=case.job, finding=finding, sight="yes")
    for finding in case.what.not_there if case.stay.full else ():
        finding_record(job=case.job, finding=finding, sight="no")
    yield case.soon(12)
    measure(case, "found")
    job_looked_over(job=case.job, by=BENCH)


def price(case: Case) -> Story:
    made = draft(case)
    yield case.soon(15)
    price_send(price=made, by=BENCH)


def draft(case: Case) -> Price:
    """The price from the hunches, with the way home added, and a day promised."""
    job, stay, clock = case.job, case.stay, case.shop.clock
    made = price_draft(job=job, by=BENCH)
    if job.parcel.came_by == "post":
        sums = {"low_minor": POSTAGE, "likely_minor": POSTAGE, "high_minor": POSTAGE_HIGH}
        price_line_add(price=made, kind="post", text="Return post, insured", **sums)  # type: ignore[arg-type]
    if case.rng.random() < 0.4:
        fields_save(instance=made, was={"note": ""}, now={"note": PRICE_NOTE})
    if stay.promised is not None:
        soonest = clock.now.date() + timedelta(days=3)
        price_promise(job=job, day=max(clock.today + timedelta(days=stay.promised), soonest))
    return made


def word(case: Case) -> Story:
    """What the owner said; a part that the shelf has not is then ordered at once."""
    job, stay, rng = case.job, case.stay, case.rng
    sent = price_latest(job)
    assert sent is not None
    how = "counter" if job.parcel.came_by == "counter" else rng.choice(("phone", "mail", "mail", "letter"))
    likely = sum(line.likely_minor for line in sent.lines.all())
    most = (likely // 500 + 3) * 500 if stay.said == "up_to" else None
    note = "More than it is worth to me." if stay.said == "no" else rng.choice(WORD_NOTES)
    word_record(price=sent, said=stay.said, how=how, up_to_minor=most, note=note, by=BENCH)
    if stay.until == Stage.AGREED and stay.order:
        yield case.soon(30)
        order(case)


def end(case: Case) -> None:
    """After a no: back unmended, or left behind for spares."""
    why = {
        Stage.SENT_BACK: "the owner would rather have it as it is.",
        Stage.SPARES: "left here for its parts, against a washer set for another reel.",
    }
    job_end(job=case.job, stage=case.stay.until, why=why[case.stay.until], by=BENCH)


def home(case: Case) -> Story:
    """On its way; six weeks on, the owner is asked how it does."""
    go_home(case)
    yield case.soon(60 * 24 * (42 + case.rng.randrange(6)) - 120)
    if case.stay.came_back:
        facts = {"came_back": True, "follow_up_note": "Slips again after two trips. Sending it back."}
    elif case.stay.asked:
        facts = {"follow_up_note": case.rng.choice(HOW_IT_DOES)}
    else:
        return
    sending = case.job.sending
    fields_save(instance=sending, was={name: getattr(sending, name) for name in facts}, now=facts)


TOLD: dict[Stage, Callable[[Case], Story]] = {
    Stage.LOOKED_OVER: look_over,
    Stage.PRICE_SENT: price,
    Stage.AGREED: word,
    Stage.APART: apart,
    Stage.TOGETHER: put_together,
    Stage.PROVED: prove,
    Stage.BOXED: box,
    Stage.HOME: home,
}
assert set(TOLD) == set(WAY[1:])
