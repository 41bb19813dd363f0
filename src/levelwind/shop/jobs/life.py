"""The life of a job, written down once: at each stage its next move, each act with what it needs and what undoes it.

Services, pages, papers and tests read it from here; ``docs/decisions/life-of-a-job.md`` is drawn from it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from levelwind.shop.models import ENDED, Stage

ORDER = tuple(Stage)
OPEN = tuple(stage for stage in Stage if stage not in ENDED)
CLOSED = (Stage.TOGETHER, Stage.PROVED, Stage.BOXED)
"""A reel at one of these is in one piece: opened, it is apart again."""

OTHER_ENDS = (Stage.SENT_BACK, Stage.SPARES)
ASKED_OF_AN_OWNER = (Stage.PRICE_SENT, Stage.AGREED)
"""A reel of the shop's own passes these without a word: there is nobody to ask."""


class Need(StrEnum):
    """What an act cannot be without, in words; its page says which is lacking, or asks for it."""

    LINE = "a line on the price"
    UNSAID = "no word of the owner on that price"
    WHOLE = "every piece in the reel and every gate answered"
    SHUT = "what was taken off put back"
    READING = "a reading as left, taken since the reel was last open"
    TRAY = "the tray empty, or the fate of each piece said"
    OLD_PARTS = "old parts bagged for the owner, or refused by them"
    NOT_HANDED_OVER = "the parcel not handed over yet"
    NOT_STRIPPED = "the reel not stripped for its parts"
    WHY = "a sentence that says why"
    OWN = "the reel the shop's own"
    UNBILLED = "no bill that holds"


@dataclass(frozen=True, slots=True)
class Move:
    """What a job needs next: in words, and the step of the way where it is done."""

    words: str
    step: str
    asks: bool = True
    """Whether anything is to be done; where not, there is nothing to press."""


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that moves a job: usually done ``at`` these stages, leading ``to`` one (None: to where the reel is).

    An act on the way may also be done from an earlier stage: then it is asked first, and the history says what was
    passed over. Each of ``undone_by`` takes it back.
    """

    key: str
    words: str
    at: tuple[Stage, ...]
    to: Stage | None
    undone_by: tuple[str, ...]
    needs: tuple[Need, ...] = ()
    includes: tuple[Stage, ...] = ()
    """Stages that the act itself passes through: a word on a price also sends it."""
    done: str = ""
    """What was done, where the act can be a job's last step."""


NOTHING_MORE = Move("Nothing more", "box", asks=False)
NEXT_MOVE = {
    Stage.BOOKED_IN: Move("Look it over", "look_over"),
    Stage.LOOKED_OVER: Move("Price it", "price"),
    Stage.PRICE_SENT: Move("Settle it with the owner", "price"),
    Stage.AGREED: Move("Take it apart", "apart"),
    Stage.APART: Move("Renew and put together", "together"),
    Stage.TOGETHER: Move("Prove it", "prove"),
    Stage.PROVED: Move("Bill it and box it", "box"),
    Stage.BOXED: Move("Hand it to the carrier", "box"),
    Stage.HOME: Move("Ask how it is doing", "box"),
    Stage.SENT_BACK: NOTHING_MORE,
    Stage.SPARES: NOTHING_MORE,
    Stage.SOLD: replace(NOTHING_MORE, step="job"),
}

ASK_AGAIN = Move("Ask the owner again", "price")
SAY_WHAT_FOLLOWS = Move("Decide what follows the no", "price")
GOING_BACK = {Stage.APART: Move("Put it together and send it back", "together")}
SEND_IT_BACK = Move("Send it back", "job")
"""What comes next where the owner's newest word is a no."""

SELL_IT = Move("Sell it", "job")
"""What comes next with a reel of the shop's own that is mended."""

ENDING = (Need.TRAY, Need.OLD_PARTS)

WAY = (
    Act(
        "look_over",
        "call it looked over",
        (Stage.BOOKED_IN,),
        Stage.LOOKED_OVER,
        ("look_again",),
        done="called looked over",
    ),
    Act(
        "send_price",
        "call the price sent",
        (Stage.LOOKED_OVER,),
        Stage.PRICE_SENT,
        ("call_back",),
        (Need.LINE,),
        done="the price called sent",
    ),
    Act(
        "say_yes",
        "write down a yes",
        (Stage.PRICE_SENT,),
        Stage.AGREED,
        ("unsay", "say_no"),
        (Need.LINE,),
        includes=(Stage.PRICE_SENT,),
        done="a yes taken down",
    ),
    Act(
        "open",
        "take the first piece off",
        (Stage.AGREED,),
        Stage.APART,
        ("close", "call_together"),
        done="ticks on Apart or Together",
    ),
    Act(
        "call_together",
        "call it together",
        (Stage.APART,),
        Stage.TOGETHER,
        ("open_again", "open"),
        (Need.WHOLE,),
        done="called together",
    ),
    Act(
        "prove",
        "call it proved",
        (Stage.TOGETHER,),
        Stage.PROVED,
        ("prove_again",),
        (Need.SHUT, Need.READING),
        done="called proved",
    ),
    Act("box", "call it boxed", (Stage.PROVED,), Stage.BOXED, ("unbox",), ENDING, done="called boxed"),
    Act(
        "send_home",
        "call it on its way home",
        (Stage.BOXED,),
        Stage.HOME,
        ("take_back",),
        ENDING,
        done="called on its way home",
    ),
)
"""Forward, in order. From an earlier stage than its own each of them is a jump: asked first, and recorded."""

BACK = (
    Act("look_again", "not looked over after all", (Stage.LOOKED_OVER,), Stage.BOOKED_IN, ("look_over",)),
    Act(
        "call_back",
        "the price was not sent after all",
        (Stage.PRICE_SENT,),
        Stage.LOOKED_OVER,
        ("send_price",),
        (Need.UNSAID,),
    ),
    Act(
        "unsay",
        "that was not said after all",
        (Stage.PRICE_SENT, Stage.AGREED),
        None,
        ("say_yes", "say_no"),
        (Need.UNBILLED,),
    ),
    Act("close", "take the last tick of Apart off again", (Stage.APART,), None, ("open",)),
    Act("open_again", "not together after all", (Stage.TOGETHER,), Stage.APART, ("call_together",)),
    Act("prove_again", "not proved after all", (Stage.PROVED,), Stage.TOGETHER, ("prove",)),
    Act("unbox", "not boxed after all", (Stage.BOXED,), None, ("box",)),
    Act("take_back", "not on its way after all", (Stage.HOME,), None, ("send_home",), (Need.NOT_HANDED_OVER, Need.WHY)),
    Act("bring_back", "it is brought back by who bought it", (Stage.SOLD,), None, ("sell",)),
    Act("take_up", "take it up again", OTHER_ENDS, None, ("send_back", "keep"), (Need.NOT_STRIPPED,)),
)
"""Back, to the stage before or to where the reel is. A yes that was said is taken back by a no."""

ASIDE = (
    Act(
        "say_no",
        "write down a no",
        (Stage.PRICE_SENT, Stage.AGREED),
        None,
        ("unsay", "say_yes"),
        (Need.LINE,),
        done="a no taken down",
    ),
    Act("send_back", "send it back unmended", OPEN, Stage.SENT_BACK, ("take_up",), ENDING, done="sent back unmended"),
    Act("keep", "keep it for spares", OPEN, Stage.SPARES, ("take_up",), ENDING, done="kept for spares"),
    Act(
        "sell",
        "sell it over the counter",
        OPEN,
        Stage.SOLD,
        ("bring_back",),
        (Need.OWN, Need.TRAY),
        done="sold over the counter",
    ),
    Act("hand_over", "the parcel is handed over", (Stage.HOME,), Stage.HOME, ("book_in",), done="handed over"),
    Act(
        "book_in",
        "book it in again",
        (Stage.HOME, Stage.SENT_BACK),
        Stage.BOOKED_IN,
        ("send_home",),
        done="booked in",
    ),
)
"""What leads off the way. What is handed over comes back only by being booked in again, as another job."""

LIFE = {act.key: act for act in (*WAY, *BACK, *ASIDE)}


def reached(stage: str, other: Stage) -> bool:
    """Whether a job at ``stage`` is as far as ``other``."""
    return ORDER.index(Stage(stage)) >= ORDER.index(other)


def offered(stage: str) -> frozenset[str]:
    """The acts a job at this stage can be given: its own, and those further along the way.

    >>> sorted(offered("boxed"))
    ['keep', 'sell', 'send_back', 'send_home', 'unbox']
    """
    ahead = (act.key for act in WAY if stage in OPEN and act.to and not reached(stage, act.to))
    return frozenset(ahead).union(act.key for act in LIFE.values() if stage in act.at)


def passed_over(stage: str, to: Stage, includes: tuple[Stage, ...] = ()) -> tuple[Stage, ...]:
    """The stages that a move jumps, in order; none where it goes back, or to an end that is not home.

    >>> passed_over("agreed", Stage.PROVED)
    (Stage.APART, Stage.TOGETHER)
    """
    if stage not in OPEN or to in (*OTHER_ENDS, Stage.SOLD):
        return ()
    between = ORDER[ORDER.index(Stage(stage)) + 1 : ORDER.index(to)]
    return tuple(one for one in between if one not in includes)


def named(stages: tuple[Stage, ...]) -> str:
    """Stages in words, in order."""
    return ", ".join(str(stage.label) for stage in stages)


def drawing() -> Iterator[str]:
    """The table as a page and a picture of it, line by line."""
    yield "```mermaid"
    yield "stateDiagram-v2"
    for stage in Stage:
        yield f"  {stage.value}: {stage.label}"
    for act in LIFE.values():
        yield from (f"  {at.value} --> {act.to.value}: {act.words}" for at in act.at if act.to and at != act.to)
    yield "```"
    yield ""
    yield "| act | usually at | leads to | cannot be without | taken back by |"
    yield "|---|---|---|---|---|"
    for act in LIFE.values():
        at = "any stage that is not an end" if act.at == OPEN else named(act.at)
        back = "; ".join(LIFE[key].words for key in act.undone_by)
        to = act.to.label if act.to else "where the reel is"
        yield f"| {act.words} | {at} | {to} | {'; '.join(act.needs)} | {back} |"
