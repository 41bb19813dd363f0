"""The last step of a job: what was done, the act that takes it back, and why not where that is not safe."""

from dataclasses import dataclass

from levelwind.shop.jobs.life import BACK, LIFE, Act, Need
from levelwind.shop.jobs.selectors.agreed import word_newest
from levelwind.shop.jobs.selectors.jobs import sending_get
from levelwind.shop.models import Job, Stage

ELSEWHERE = {
    "hand_over": "The parcel is handed over: if the reel comes back, it is booked in again.",
    "sell": "It stands on a bill: the reel is brought back there.",
    "book_in": "Nothing was done since. Booked in by mistake, it is taken away under “Was this reel here before?”.",
}
"""Where one press would not do, and what does."""


@dataclass(frozen=True, slots=True)
class LastStep:
    """``back`` takes back what was ``done``; None says ``why_not``. ``press`` tells this moment from a later one."""

    done: Act
    back: Act | None
    why_not: str
    press: str

    @property
    def button(self) -> str:
        """What was ended is more than taken back: the reel is on the bench again."""
        if self.back and self.back.key == "take_up":
            return "Take it up again"
        return f"Take back: {self.done.done}"

    @property
    def asks_why(self) -> bool:
        return self.back is not None and Need.WHY in self.back.needs


def last_step(job: Job) -> LastStep:
    """By the stage the job is at, which is what the reel is, and by what was said or handed over at that stage."""
    done = LIFE[_done(job)]
    back = next((LIFE[key] for key in done.undone_by if LIFE[key] in BACK), None)
    why_not = ELSEWHERE.get(done.key) or (_lacking(job, back) if back else "")
    newest = max((event.pk for event in job.events.all()), default=0)
    return LastStep(done, None if why_not else back, why_not, f"{done.key}-{newest}")


def _done(job: Job) -> str:
    stage = Stage(job.stage)
    if stage == Stage.HOME and sending_get(job).handed_over_at:
        return "hand_over"
    if stage in (Stage.PRICE_SENT, Stage.AGREED):
        word, latest = word_newest(job), job.prices.order_by("-number").first()
        if latest and latest.sent_at and not latest.words.exists():
            return "send_price"
        return "say_no" if word and word.said == "no" else "say_yes"
    return next(act.key for act in LIFE.values() if act.done and act.to == stage)


def _lacking(job: Job, back: Act) -> str:
    """Which need of the act is not met, in a sentence; empty where all are, or the page asks for it."""
    bill = job.bills.filter(voided_at=None).last()
    if Need.UNBILLED in back.needs and bill:
        return f"Bill {bill.number} rests on that word: void it first, or write down another word on Price."
    if back.key == "unsay" and word_newest(job) is None:
        return "It was called agreed without a word of the owner: write down what they said on Price."
    if Need.NOT_STRIPPED in back.needs and job.bone_reels.filter(stripped_on__isnull=False).exists():
        return "It lies stripped in the bone box: its parts are on the shelf."
    if back.key == "close" and not job.steps_done.filter(phase__in=("apart", "together", "gate")).exists():
        return "Nothing is ticked on Apart: tick what was done, or call it together."
    return ""
