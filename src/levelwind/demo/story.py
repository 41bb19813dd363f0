"""What happens to one reel from the box it came in to the box it leaves in, told through the services."""

from collections.abc import Callable
from random import Random

from levelwind.demo.bench_work import apart, put_together
from levelwind.demo.case import Case, Shopful
from levelwind.demo.names import BENCH, CARRIERS
from levelwind.demo.patterns import BY_CODE
from levelwind.demo.pricing import ask_again, draft, end, price, word
from levelwind.demo.proof import box, go_home, measure, prove
from levelwind.demo.stays import Arrival, Stay
from levelwind.demo.teller import Story
from levelwind.demo.troubles import complaint, trouble
from levelwind.shop.editing import fields_save
from levelwind.shop.jobs.selectors.lines import by_tippet
from levelwind.shop.jobs.services.booking import draft_book_in, job_book_in
from levelwind.shop.jobs.services.drafts import draft_begin, draft_reel_add, draft_save
from levelwind.shop.jobs.services.looks import finding_record, job_looked_over
from levelwind.shop.models import Job, Owner, Parcel, Stage

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
UNFINISHED = {
    "owner_name": "Ferris Holloway-Tarn",
    "owner_phone": "555-0177",
    "reel1_reel": "old brass star drag, no name",
    "reel1_complaint": "Found in the boathouse. Will not turn.",
    "reel2_reel": "Ulbren 40",
}
CRATE = 6
"""From so many reels on a parcel is booked in as a crate, with a picture of it."""
HOW_IT_DOES = (
    "Fishes well.",
    "No trouble since.",
    "Very pleased, two more to come.",
    "Took a big one on it, no trouble.",
)


def arriving(shop: Shopful, arrival: Arrival, rng: Random) -> Story:
    """A parcel is booked in, and each of its reels goes its own way from there."""
    yield shop.clock.moment(arrival.days, 8 + rng.random())
    parcel = Parcel(came_by="counter" if arrival.at_the_counter else "post", note=arrival.note)
    if not arrival.at_the_counter:
        parcel.carrier, parcel.tracking = rng.choice(CARRIERS), tracking(rng)
    reels = [unsaved(shop, stay, rng) for stay in arrival.stays]
    jobs = book_in(shop, shop.owners[arrival.owner], parcel, reels)
    for number, (job, stay) in enumerate(zip(jobs, arrival.stays, strict=True)):
        shop.teller.begin(staying(Case(shop, job, stay, Random(f"{rng.random()} {number}"))))


def book_in(shop: Shopful, owner: Owner, parcel: Parcel, reels: list[Job]) -> list[Job]:
    """A reel or two at once; a crate through a booking with a picture of it, which then belongs to every reel."""
    if len(reels) < CRATE:
        return job_book_in(owner=owner, parcel=parcel, reels=reels, by=BENCH)
    begun = draft_begin()
    shop.album.crate(begun)
    return draft_book_in(draft=begun, owner=owner, parcel=parcel, reels=dict(enumerate(reels, 1)), by=BENCH)


def unfinished(shop: Shopful) -> Story:
    """A booking that somebody began and was called away from."""
    yield shop.clock.moment(1, 16.4)
    begun = draft_begin()
    draft_reel_add(draft=begun)
    draft_save(draft=begun, was=dict.fromkeys(UNFINISHED, ""), now=UNFINISHED)


def tracking(rng: Random) -> str:
    return f"BC {rng.randrange(1000, 9999)} {rng.randrange(1000, 9999)} {rng.randrange(10)}"


def unsaved(shop: Shopful, stay: Stay, rng: Random) -> Job:
    """The reel as it is booked in: what it is, its complaint, what came with it, the line on it."""
    kind = BY_CODE[stay.code]
    job = Job(reel=kind.reel, pattern=shop.patterns[stay.code])
    job.complaint = stay.words or complaint(rng, trouble(kind.family, stay.trouble), old=kind.is_old)
    serial = f"{rng.randrange(10, 99)}{rng.choice('ABCDEK')} {rng.randrange(1000, 9999)}"
    job.serial = stay.serial or (serial if rng.random() < 0.6 else "")
    job.came_with, job.looked_like = rng.choice(CAME_WITH), rng.choice(LOOKED_LIKE)
    job.declared_minor = rng.choice((None, 4000, 6000, 8000, 12000, 20000))
    line = kind.line
    job.line_name, job.line_strength_N, job.line_diameter_mm = line.name, line.strength_N, line.diameter_mm
    job.tippet_strength_N = line.strength_N if by_tippet(shop.patterns[stay.code]) else None
    return job


def staying(case: Case) -> Story:
    """Every stage the stay reaches, each at its moment."""
    stay = case.stay
    if stay.shown:
        case.shop.album.outside(case.job, case.kind, "found", both_sides=stay.until in CLOSED)
    for step, stage in enumerate(stay.way):
        yield case.at(step)
        if stage in TOLD:
            yield from TOLD[stage](case)
    if stay.drafted:
        yield case.soon(40)
        draft(case)
    if stay.dearer:
        yield case.soon(30)
        ask_again(case)
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
CLOSED = (Stage.PROVED, Stage.BOXED, Stage.HOME)
